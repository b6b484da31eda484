"""What tests of lists share: the command line, and shops of their own with lists beside them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from compat.library.library import Library
from tests.cli.conftest import Ran, Run, run
from tests.conftest import Tiny
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


@pytest.fixture
def brought(tmp_path: Path, run: Run, demo: Library) -> Brought:
    """Nothing is brought yet."""
    (tmp_path / "lists").mkdir()
    shop = tmp_path / "shop"
    shop.mkdir()
    return Brought(own_shop(shop), three(tmp_path / "lists", demo), run)


@pytest.fixture
def fewer(tmp_path: Path, run: Run, demo: Library) -> Brought:
    """The same with an eighth of the rows."""
    (tmp_path / "lists").mkdir()
    shop = tmp_path / "shop"
    shop.mkdir()
    return Brought(own_shop(shop), three(tmp_path / "lists", demo, share=8), run)


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
