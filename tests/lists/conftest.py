"""What tests of lists share: the command line, and shops of their own with lists beside them."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from compat.library.kept import shop_file
from compat.library.library import Library
from compat.library.opening import open_library
from compat.library.store import Store
from tests.cli.conftest import Ran, Run, run
from tests.conftest import Tiny, keep_copy
from tests.lists.small import Small
from tests.lists.three import DATED, SupplierList, own_shop, three

__all__ = ["Brought", "Run", "run"]


@dataclass(frozen=True)
class Brought:
    """A shop, the lists, and how to bring one."""

    shop: Path
    lists: list[SupplierList]
    run: Run

    def bring(self, one: SupplierList, *more: object, by: Path | None = None) -> Ran:
        return self.run("bring", one.file, "--by", by or one.map, "--shop", self.shop, *DATED, *more)


@pytest.fixture(scope="session")
def first_shop(kept: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop to which lists are brought, before any of them."""
    folder = own_shop(tmp_path_factory.mktemp("first"))
    open_library(folder)
    return folder


@pytest.fixture
def shop(tmp_path: Path, kept: Path, first_shop: Path) -> Path:
    """A copy of it that lists can be brought to, kept as it was before that."""
    folder, path = tmp_path / "shop", shop_file(kept, first_shop)
    assert path is not None
    shutil.copytree(first_shop, folder)
    keep_copy(kept, Store(path), folder)
    return folder


@pytest.fixture
def brought(tmp_path: Path, run: Run, demo: Library, shop: Path) -> Brought:
    """Nothing is brought yet."""
    (tmp_path / "lists").mkdir()
    return Brought(shop, three(tmp_path / "lists", demo), run)


@pytest.fixture
def fewer(tmp_path: Path, run: Run, demo: Library, shop: Path) -> Brought:
    """The same with an eighth of the rows."""
    (tmp_path / "lists").mkdir()
    return Brought(shop, three(tmp_path / "lists", demo, share=8), run)


@pytest.fixture
def small(tiny: Tiny, run: Run, tmp_path: Path) -> Small:
    """The small shop and a list of three pistons."""
    return Small(tiny, run, tmp_path)


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of a shop and what it holds."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
