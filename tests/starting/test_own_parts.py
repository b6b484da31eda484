"""Parts that a build brings itself: for it alone, until they are kept."""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from compat.library import moving_parts
from compat.library.library import load
from compat.library.moving_parts import keep_parts
from compat.library.opening import open_library
from compat.shop.source import Faults
from tests.cli.conftest import run
from tests.conftest import Tiny
from tests.look import check
from tests.shop.test_together import Killed, killing

__all__ = ["run"]

BUILD = """\
# what the customer wants
- build: {name}
  name: Brought
  variant: hob-13
  fit: {{rod: boot-rod}}
  goal: {{power: 50 kW, at: 6000 rpm}}
  parts:
    # from the boot
    - part: boot-rod      # no name on it

      name: Rod from the boot
      fills: rod
      specs: {{centre_length: 130.00 mm, mass: 500 g}}
    - part: boot-gasket
      name: Gasket from the boot
      fills: head_gasket
  note: as he says
"""


def brought(name: str = "brought") -> str:
    return BUILD.format(name=name)


def test_they_are_read_with_the_shop_both_ways(tiny: Tiny) -> None:
    tiny.write("catalog/builds/brought.yaml", brought())
    read, kept = tiny.load(), open_library(tiny.folder)
    for library in (read, kept):
        assert library.shop.parts["boot-rod"].only_for == "brought"
        assert "boot-rod" not in library.shop.fillers["rod"]
        assert all(one.part != "boot-rod" for one in library.shop.cheapest("position:rod"))
        found = check(library.shop, library.book, "brought").report
        assert found.changed["rod"] == "boot-rod"
    assert dict(read.shop.parts.items()) == dict(kept.shop.parts.items())
    assert check(read.shop, read.book, "brought").report == check(kept.shop, kept.book, "brought").report


@pytest.mark.parametrize("keep", [True, False])
def test_a_draft_outside_the_shop_brings_its_own(tiny: Tiny, tmp_path: Path, keep: bool) -> None:
    from compat.library.library import find_build

    draft = tmp_path / "draft.yaml"
    draft.write_text(brought("draft"), encoding="utf-8")
    library = open_library(tiny.folder, keep, drafts=[draft])
    ready = find_build(library, str(draft))
    assert check(library.shop, library.book, ready).report.changed["rod"] == "boot-rod"
    assert "draft" not in library.shop.builds
    assert "boot-rod" not in open_library(tiny.folder).shop.parts


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("fills: rod\n", "fills: rods\n", "position 'rods' is not known; did you mean 'rod'?"),
        ("mass: 500 g", "mess: 500 g", "did you mean 'mass'?"),
        ("- part: boot-gasket", "- card: boot-gasket", "each of a build's own `parts` starts with 'part'"),
        ("part: boot-rod ", "part: hob-rod ", "part 'hob-rod' is given twice"),
    ],
)
def test_what_is_wrong_with_them_is_told_at_its_place(tiny: Tiny, old: str, new: str, says: str) -> None:
    tiny.write("catalog/builds/brought.yaml", brought().replace(old, new))
    assert any(says in str(fault) for fault in tiny.faults())


def test_another_build_cannot_fit_them(tiny: Tiny) -> None:
    tiny.write("catalog/builds/brought.yaml", brought())
    tiny.write(
        "catalog/builds/other.yaml",
        "- {build: other, name: Other, variant: hob-13, fit: {rod: boot-rod},"
        " goal: {power: 50 kW, at: 6000 rpm}}\n",
    )
    (fault,) = tiny.faults()
    assert "for the build 'brought' alone; `compat keep brought`" in str(fault)


def test_from_a_pipe_they_are_refused_and_not_passed_over(run: Callable[..., Any], tiny: Tiny) -> None:
    said = run(
        "check", "-", "--shop", str(tiny.folder), typed=brought("draft").replace("fit: {rod: boot-rod}", "")
    )
    assert said.status == 2
    assert "a build's own parts are read where" in said.err


def test_keeping_moves_them_as_they_were_written(tiny: Tiny) -> None:
    tiny.write("catalog/builds/brought.yaml", brought())
    before = check(tiny.load().shop, tiny.load().book, "brought").report
    path = keep_parts(tiny.folder, tiny.folder / "catalog/builds/brought.yaml", "brought")
    assert path == tiny.folder / "catalog/parts/kept_from_brought.yaml"
    moved = path.read_text(encoding="utf-8")
    assert "- part: boot-rod      # no name on it\n\n  name: Rod from the boot\n" in moved
    assert "# from the boot" in moved
    left = tiny.text("catalog/builds/brought.yaml")
    head, _, tail = brought().partition("  parts:\n")
    assert left == head + tail[tail.index("  note:") :]
    library = tiny.load()
    assert library.shop.parts["boot-rod"].only_for is None
    assert "boot-rod" in library.shop.fillers["rod"]
    assert check(library.shop, library.book, "brought").report == before
    assert dict(open_library(tiny.folder).shop.parts.items()) == dict(library.shop.parts.items())


@pytest.mark.parametrize(
    "parts",
    [
        "[{part: boot-rod, name: Rod, fills: rod}]",
        "\n  - part: boot-rod\n    name: Rod\n    fills: rod",
        "   # flush\n    - {part: boot-rod, name: Rod, fills: rod}\n\n\n",
        "\n    - {part: boot-rod,\n  name: Rod, fills: rod}",
    ],
)
def test_however_they_are_written_they_are_moved_whole_or_left(tiny: Tiny, parts: str) -> None:
    text = "- build: brought\n  name: Brought\n  variant: hob-13\n  goal: {power: 50 kW, at: 6000 rpm}\n"
    text += f"  parts: {parts}\n  fit: {{rod: boot-rod}}\n"
    file = "catalog/builds/brought.yaml"
    tiny.write(file, text)
    tiny.load()
    told = ""
    try:
        keep_parts(tiny.folder, tiny.folder / file, "brought")
    except Faults as refused:
        told = str(refused)
    part = tiny.load().shop.parts["boot-rod"]
    assert ("move the entries by hand" in told) == (tiny.text(file) == text) == (part.only_for == "brought")


def test_nothing_is_written_over(tiny: Tiny) -> None:
    tiny.write("catalog/builds/brought.yaml", brought())
    tiny.write("catalog/parts/kept_from_brought.yaml", "[]\n")
    with pytest.raises(FileExistsError):
        keep_parts(tiny.folder, tiny.folder / "catalog/builds/brought.yaml", "brought")
    assert tiny.text("catalog/builds/brought.yaml") == brought()


@pytest.mark.parametrize("at", range(1, 40))
def test_broken_off_at_any_step_the_shop_is_the_old_or_the_new(
    tiny: Tiny, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    file = tiny.folder / "catalog/builds/brought.yaml"
    tiny.write("catalog/builds/brought.yaml", brought())
    with monkeypatch.context() as patch:
        killing(patch, at)
        with suppress(Killed):
            keep_parts(tiny.folder, file, "brought")
    part = load(tiny.folder).shop.parts["boot-rod"]
    assert (part.only_for is None) == ("part: boot-rod" not in tiny.text("catalog/builds/brought.yaml"))
    if part.only_for:
        keep_parts(tiny.folder, file, "brought")
    assert load(tiny.folder).shop.parts["boot-rod"].only_for is None
    assert not (tiny.folder / ".coming").exists()


def test_a_draft_whose_parts_are_in_the_shop_already_gives_them_up(
    run: Callable[..., Any], tiny: Tiny, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    draft = tmp_path / "draft.yaml"
    draft.write_text(brought("draft"), encoding="utf-8")
    with monkeypatch.context() as patch:
        patch.setattr(moving_parts, "write_whole", lambda *_: (_ for _ in ()).throw(Killed))
        with pytest.raises(Killed):
            keep_parts(tiny.folder, draft)
    assert load(tiny.folder).shop.parts["boot-rod"].only_for is None
    assert draft.read_text(encoding="utf-8") == brought("draft")
    said = run("keep", str(draft), "--shop", str(tiny.folder))
    assert (said.status, said.err) == (0, "")
    assert said.out.strip().endswith("kept_from_draft.yaml")
    assert "boot-rod      #" not in draft.read_text(encoding="utf-8")
    assert run("check", str(draft), "--shop", str(tiny.folder)).status in (0, 1, 3)


def test_into_the_demo_shop_nothing_is_kept(run: Callable[..., Any], tmp_path: Path) -> None:
    draft = tmp_path / "draft.yaml"
    draft.write_text(brought("draft"), encoding="utf-8")
    said = run("keep", str(draft))
    assert (said.status, said.out) == (2, "")
    assert "the demo shop comes with the program and stays as it is" in said.err


def test_what_goes_in_names_the_part_that_the_build_brings_as_standing_there(
    tiny: Tiny, run: Callable[..., Any]
) -> None:
    tiny.write("catalog/builds/brought.yaml", brought())
    told = run("fits", "rod", "brought", "--json", "--shop", tiny.folder)
    assert told.status == 0, told.err
    there = [one["part"] for one in json.loads(told.out)["candidates"] if one["stands"]]
    assert there == ["boot-rod"]
    told = run("fits", "rod", "hob-13", "--json", "--shop", tiny.folder)
    assert "boot-rod" not in told.out
