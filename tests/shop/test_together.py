"""Several files written as one: broken off anywhere, the next opening finds the old shop or the new one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.library.library import load
from compat.shop.source import COMING, Faults
from compat.shop.together import finish_writing, write_together

OLD = {"catalog/a.yaml": "a: old\n", "catalog/b.yaml": "b: old\n"}
NEW = {"catalog/a.yaml": "a: new\n", "catalog/b.yaml": "b: new\n", "lists/c.json": "{}\n"}


class Killed(BaseException):
    """Stands for the end of the process: nothing after it runs."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in OLD.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def before(folder: Path) -> dict[str, bytes | None]:
    return {name: (folder / name).read_bytes() if (folder / name).exists() else None for name in NEW}


def held(folder: Path) -> dict[str, str]:
    return {name: (folder / name).read_text() for name in NEW if (folder / name).exists()}


def test_all_are_written_and_nothing_is_left_lying(folder: Path) -> None:
    write_together(folder, NEW, before(folder))
    assert held(folder) == NEW
    assert sorted(path.name for path in folder.iterdir()) == ["catalog", "lists"]


STEPS = ("mkdtemp", "open", "fsync", "rename", "replace", "rmtree", "mkdir")


def killing(monkeypatch: pytest.MonkeyPatch, at: int) -> list[int]:
    """End the process at the so-many-th step on the file system; gives how many there were."""
    count = [0]

    def step(real: Callable[..., Any]) -> Callable[..., Any]:
        def stepped(*args: Any, **named: Any) -> Any:
            count[0] += 1
            if count[0] == at:
                raise Killed
            return real(*args, **named)

        return stepped

    for name in ("open", "rename", "replace", "mkdir"):
        monkeypatch.setattr(Path, name, step(getattr(Path, name)))
    monkeypatch.setattr(os, "fsync", step(os.fsync))

    def cleaning(real: Callable[..., Any]) -> Callable[..., Any]:
        def cleaned(*args: Any, **named: Any) -> Any:
            if count[0] >= at:
                return None  # a process that is gone cleans nothing up
            return step(real)(*args, **named)

        return cleaned

    monkeypatch.setattr(shutil, "rmtree", cleaning(shutil.rmtree))
    return count


@pytest.mark.parametrize("at", range(1, 40))
def test_broken_off_at_any_step_it_is_the_old_or_the_new(
    folder: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    was = before(folder)
    with monkeypatch.context() as patch:
        count = killing(patch, at)
        try:
            write_together(folder, NEW, was)
            ended = True
        except Killed:
            ended = False
    if ended:
        assert count[0] < at
        assert held(folder) == NEW
        return
    finish_writing(folder)
    assert held(folder) in (OLD, NEW)
    write_together(folder, NEW, before(folder))
    assert held(folder) == NEW
    assert sorted(path.name for path in folder.iterdir()) == ["catalog", "lists"]


def test_every_step_is_tried(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        count = killing(patch, 10_000)
        write_together(folder, NEW, before(folder))
    assert 15 < count[0] < 39


def test_a_file_changed_meanwhile_is_told_and_kept(folder: Path) -> None:
    was = before(folder)
    (folder / "catalog/b.yaml").write_text("b: mine\n")
    with pytest.raises(Faults, match=r"catalog/b.yaml.*was changed meanwhile; nothing was written"):
        write_together(folder, NEW, was)
    assert held(folder) == {**OLD, "catalog/b.yaml": "b: mine\n"}


def test_an_edit_after_it_was_broken_off_is_not_written_over(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(Killed))
        with pytest.raises(Killed):
            write_together(folder, NEW, before(folder))
    (folder / "catalog/b.yaml").write_text("b: mine\n")
    with pytest.raises(Faults, match=r"catalog/b.yaml: was changed while it was being written"):
        finish_writing(folder)
    assert (folder / "catalog/b.yaml").read_text() == "b: mine\n"
    assert (folder / COMING / "1.new").read_text() == "b: new\n"


@pytest.mark.parametrize(
    "text", ["", "[]x", '[{"file": "../out", "was": null, "becomes": "x"}]', '{"a": 1}', "[1]"]
)
def test_what_is_no_list_of_texts_is_told(folder: Path, text: str) -> None:
    (folder / COMING).mkdir()
    (folder / COMING / "files.json").write_text(text)
    with pytest.raises(Faults, match="is not whole"):
        finish_writing(folder)
    assert held(folder) == OLD


def test_opening_a_shop_finishes_what_was_begun(tiny: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    text = tiny.text("catalog/shop.yaml")
    new = text.replace("name: Quayside Parts", "name: Quayside Stores")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", lambda *_: (_ for _ in ()).throw(Killed))
        with pytest.raises(Killed):
            write_together(tiny.folder, {"catalog/shop.yaml": new}, {"catalog/shop.yaml": text.encode()})
    assert load(tiny.folder).shop.suppliers["quayside"].name == "Quayside Stores"
    assert not (tiny.folder / COMING).exists()
