"""What is kept stays true when others write, fork or own, and leaves the files of others alone."""

from __future__ import annotations

import os
import sqlite3
import stat
import sys
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from compat.cli import complete
from compat.engineering import find
from compat.engineering.formula import Formula
from compat.library import opening, place
from compat.library.kept import kept_listing, shop_file
from compat.library.kept_answers import KeptAnswers, kept_answers
from compat.library.opening import open_library
from compat.library.place import kept_folder, sweep_out
from compat.library.sources import SETTLED, changed_files, demo_folder
from compat.library.store import Draft, Store
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import WorkBound
from compat.shop import shop as shops
from compat.shop.source import Faults, Spot
from compat.shop.specs import Spec
from compat.units import Band
from tests.conftest import Tiny
from tests.library.test_kept_shop import differences, report_of

PARTS = "catalog/parts/extra.yaml"
FACTORY = "catalog/parts/factory.yaml"
SPARE = "- {part: spare, name: Spare, fills: pressure_sensor, leaves_out: [spare_word]}\n"
A_CIRCLE = "- {{part: {0}, name: A, fills: pressure_sensor, includes: [{1}]}}\n"


@pytest.fixture
def path(tiny: Tiny, kept: Path) -> Path:
    """The file in which the small shop is kept."""
    found = shop_file(kept, tiny.folder)
    assert found is not None
    return found


def test_a_feature_that_a_part_leaves_out_and_that_goes_is_noticed(tiny: Tiny) -> None:
    words = tiny.text("catalog/vocabulary.yaml")
    tiny.write("catalog/vocabulary.yaml", words + "- {feature: spare_word, name: Spare, why: None needs it.}\n")
    tiny.write("catalog/parts/spare.yaml", SPARE)
    open_library(tiny.folder)
    tiny.write("catalog/vocabulary.yaml", words)
    assert "is no spec of pressure_sensor and no feature" in str(tiny.faults()[0])


@pytest.mark.parametrize("edited", ["a", "b"])
def test_a_circle_through_two_files_is_told_in_the_same_words(edited: str, tiny: Tiny) -> None:
    for name in ("a", "b"):
        tiny.write(f"catalog/parts/{name}.yaml", f"- {{part: part-{name}, name: A, fills: pressure_sensor}}\n")
    other = {"a": "b", "b": "a"}[edited]
    tiny.write(f"catalog/parts/{other}.yaml", A_CIRCLE.format(f"part-{other}", f"part-{edited}"))
    open_library(tiny.folder)
    tiny.write(f"catalog/parts/{edited}.yaml", A_CIRCLE.format(f"part-{edited}", f"part-{other}"))
    assert "part-a -> part-b -> part-a" in str(tiny.faults()[0])


# others at the same time


def test_a_draft_is_not_begun_with_another_file_than_was_read(tiny: Tiny, kept: Path, path: Path) -> None:
    old = Store(path)
    tiny.edit(PARTS, "640 GBP", "641 GBP")
    open_library(tiny.folder)
    with pytest.raises(OSError, match="another file"):
        Draft(kept, old)
    assert not list(kept.glob(".*.draft"))


def test_what_another_put_in_place_meanwhile_is_not_taken_for_the_own(
    tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = path.read_bytes()
    own = Draft.finish

    def overtaken(self: Draft, to: Path) -> None:
        own(self, to)
        to.write_bytes(before)  # of a slower process, which read the files before the edit

    monkeypatch.setattr(Draft, "finish", overtaken)
    tiny.edit(PARTS, "640 GBP", "641 GBP")
    assert str(open_library(tiny.folder).shop.parts["sport-rod"].sold_by[0].price) == "641.00 GBP"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a system without fork")
def test_a_forked_process_goes_on_with_what_was_made_again(tiny: Tiny, path: Path) -> None:
    library = open_library(tiny.folder)
    raw = path.read_bytes()
    with path.open("r+b") as file:
        file.write(raw[:4096] + bytes(b ^ 0x5A for b in raw[4096:]))
    assert library.shop.parts["sport-rod"].name
    child = os.fork()
    if child == 0:
        try:
            os._exit(0 if library.shop.parts["sport-piston"].name == "Forged piston, floating pin" else 1)
        finally:
            os._exit(4)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


# where it lies


def test_files_of_others_are_never_swept_out(tmp_path: Path) -> None:
    names = ["letter.txt", "photos", "0123456789abcdef01234567.shop", ".x.draft", "my.shop", "house.draft"]
    for name in names:
        (tmp_path / name).write_text("")
        os.utime(tmp_path / name, (1.0, 1.0))
    sweep_out(tmp_path)
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {"house.draft", "letter.txt", "my.shop", "photos"}


def test_what_was_given_up_is_swept_out(tiny: Tiny, path: Path) -> None:
    old, half = path.parent / f"{'0' * 24}.shop", path.parent / ".x.draft"
    for file in (old, half):
        file.write_text("")
        os.utime(file, (1.0, 1.0))
    tiny.edit("catalog/shop.yaml", "name:", "name: ")
    open_library(tiny.folder)
    assert not old.exists()
    assert not half.exists()
    assert path.exists()


def test_without_a_home_nothing_is_kept_in_the_folder_that_one_stands_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COMPAT_CACHE")
    monkeypatch.setattr(place, "_own_folder", lambda: Path("~/.cache/shop-compat"))
    monkeypatch.chdir(tmp_path)
    assert kept_folder() is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="a system without masks")
def test_answers_are_the_users_own_whatever_the_mask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COMPAT_CACHE", str(tmp_path / "mine"))
    before = os.umask(0o002)
    try:
        answers = kept_answers()
        assert answers is not None
        answers.put("one", {"": 1.0})
        answers.write()
    finally:
        os.umask(before)
    assert stat.S_IMODE(answers.path.stat().st_mode) == 0o600
    assert kept_answers() is answers  # and shops that are opened again and again open no more files
    assert KeptAnswers(answers.path).get("one") == {"": 1.0}


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such names")
def test_a_name_that_is_no_text_costs_nothing_but_time(tiny: Tiny) -> None:
    odd = os.fsencode(tiny.folder) + b"/catalog/parts/\xff.yaml"
    Path(os.fsdecode(odd)).write_text("- {part: odd, name: Odd, fills: pressure_sensor}\n")
    library = open_library(tiny.folder)
    assert "odd" in library.shop.parts
    assert list(differences(tiny.load(), library)) == []


def test_a_file_whose_times_alone_changed_is_read_once(
    tiny: Tiny, kept: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_library(tiny.folder)
    monkeypatch.setattr("compat.library.sources.SETTLED", -SETTLED)  # as if some time had gone by
    (tiny.folder / PARTS).touch()
    open_library(tiny.folder)
    _, stamps = opening._kept(tiny.folder, path)
    assert changed_files(stamps, tiny.folder)[1:] == ([], {})
    before = path.stat().st_ino
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    assert path.stat().st_ino == before


def test_what_can_be_read_and_not_written_is_read(
    tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_library(tiny.folder)
    monkeypatch.setattr("compat.library.sources.SETTLED", -SETTLED)
    (tiny.folder / PARTS).touch()

    def refused(*_: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(Draft, "__init__", refused)
    monkeypatch.setattr(opening, "load", lambda folder: pytest.fail("its files were read"))
    assert open_library(tiny.folder).shop.parts["sport-rod"].name


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such names")
def test_a_shop_in_a_folder_whose_name_is_no_text_is_read(tiny: Tiny, tmp_path: Path) -> None:
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/\xff"))
    tiny.folder.rename(odd)
    assert report_of(odd) == report_of(odd, cache=False)
    assert kept_listing(odd) is None


def test_words_are_completed_of_the_files_where_what_is_kept_is_broken(
    tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COMPAT_SHOP", str(tiny.folder))
    whole = complete.rules("")
    assert whole
    with sqlite3.connect(path) as database:
        database.execute("UPDATE entries SET value = x'00' WHERE key = 'ids/rule'")
    database.close()
    assert complete.rules("") == whole


# memory


def test_what_is_held_of_a_great_shop_has_a_bound(tiny: Tiny, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("compat.library.rows.HELD", 3)
    monkeypatch.setattr("compat.library.stored.HELD", 3)
    monkeypatch.setattr(shops, "STATED", 3)
    library = open_library(tiny.folder)
    for part in library.shop.parts.values():
        library.shop.stated(part.fills[0], part.part)
        library.book.conditions.get(("part", part.part, "needs", 0))
    assert len(library.shop.parts) > 10
    rows = library.shop.rows  # type: ignore[attr-defined]
    assert (
        max(len(rows._more), len(rows._bare), len(library.book.conditions._read), len(library.shop._stated))
        <= 3
    )  # type: ignore[attr-defined]
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)


def test_a_shop_that_is_faulty_leaves_no_draft(tiny: Tiny, kept: Path) -> None:
    tiny.edit(PARTS, "640 GBP", "640")
    with pytest.raises(Faults):
        open_library(tiny.folder)
    assert not list(kept.glob(".*.draft"))


def test_a_disk_that_is_full_at_the_last_leaves_no_draft(
    tiny: Tiny, kept: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = Draft.put

    def full(self: Draft, key: str, text: bytes | str, pack: bool = True) -> None:
        if key == "made":
            raise OSError(28, "No space left on device")
        own(self, key, text, pack)

    monkeypatch.setattr(Draft, "put", full)
    tiny.edit(PARTS, "640 GBP", "641 GBP")
    assert report_of(tiny.folder) == report_of(tiny.folder, cache=False)
    assert not list(kept.glob(".*.draft"))


def test_every_field_of_what_is_written_by_hand_is_kept() -> None:
    given: dict[type[Any], tuple[str, ...]] = {
        Band: ("nominal", "low", "high", "dimension", "unit"),
        Spec: ("value", "basis", "note", "spot"),
        Expression: ("text", "tree", "type"),
        Spot: ("file", "line", "column"),
    }
    for kind, names in given.items():  # another field wants a place on the card
        assert tuple(one.name for one in fields(kind)) == names
    formula = find("swept_volume")
    assert formula is not None
    assert set(formula.card()) == {one.name for one in fields(Formula)}
    tools = {"rule", "unit", "measure", "at_least", "at_most"}
    for bounds in open_library(demo_folder()).book.bounds.values():
        for bound in bounds.values():
            assert bound == WorkBound(**{name: getattr(bound, name) for name in tools})
