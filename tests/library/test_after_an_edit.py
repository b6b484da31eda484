"""An edit is read alone, and comes out as if all files had been read: the same shop, the same faults."""

from __future__ import annotations

import os
import random
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from compat.library.kept import shop_file
from compat.library.opening import open_library
from compat.library.sources import SETTLED, Stamp, looks_like_more
from tests.conftest import Tiny
from tests.library.test_kept_shop import differences, report_of

PARTS = "catalog/parts/extra.yaml"
FACTORY = "catalog/parts/factory.yaml"
ENGINE = "catalog/engine.yaml"
VOCABULARY = "catalog/vocabulary.yaml"

SOUND = [
    ("a price", PARTS, "640 GBP", "655.50 GBP"),
    ("a dearer part", PARTS, "58 GBP", "5800 GBP"),
    ("a measure", PARTS, "centre_length: 130.00 mm ±0.02", "centre_length: 131.00 mm ±0.02"),
    ("another feature", PARTS, "count: 2}, cam_signal]", "count: 3}]"),
    ("a part alone in its file", PARTS, "- part: ear\n", "- part: new-ear\n"),
    ("a comment", PARTS, "- part: sport-rod", "# ours\n- part: sport-rod"),
    ("the unit of a spec", VOCABULARY, "tensile_limit: kN", "tensile_limit: lbf"),
    ("a declaration more", VOCABULARY, "    code: text\n", "    code: text\n    colour: text\n"),
    ("a title", "rules/rules.yaml", "title: ", "title: Now "),
    ("a goal", ENGINE, "power: 48 kW", "power: 49 kW"),
    ("work", "catalog/work.yaml", "hours: 1.5", "hours: 1.75"),
]

FAULTY = [
    ("a position that parts of another file fill", VOCABULARY, "- position: rod\n", "- position: rood\n"),
    ("a spec that parts state", VOCABULARY, "    centre_length: mm\n", ""),
    ("a spec of another kind", VOCABULARY, "    centre_length: mm\n", "    centre_length: kPa\n"),
    ("a family that parts are made for", ENGINE, "- family: hob\n", "- family: hub\n"),
    ("a supplier that sells", "catalog/shop.yaml", "- supplier: quayside", "- supplier: keyside"),
    ("a part that a variant has", FACTORY, "- part: hob-crank\n", "- part: hob-krank\n"),
    ("a part that a build fits", PARTS, "- part: ear\n", "- part: ears\n"),
    ("a part that comes with another", PARTS, "- part: sport-sensor\n", "- part: sport-sender\n"),
    ("a part given twice", PARTS, "- part: ear\n", "- part: hob-rod\n"),
    ("a part given twice, the first one new", FACTORY, "- part: hob-rod\n", "- part: ear\n"),
    ("a part that fills another position", PARTS, "fills: knock_sensor", "fills: pressure_sensor"),
    ("a circle", PARTS, "  fills: pressure_sensor\n", "  fills: pressure_sensor\n  includes: [sport-piston]\n"),
    ("a part that is none", PARTS, "fills: control_unit", "fils: control_unit"),
    ("two at once", PARTS, "58 GBP", "58"),
    ("no YAML", PARTS, "- part: sport-box\n", "- part: [sport-box\n"),
    ("no YAML where rules are", "rules/figures.yaml", "- figure: ", "- figure: ["),
    ("a figure that rules ask for", "rules/figures.yaml", "- figure: swept_volume\n", "- figure: swept\n"),
    ("work that a build has done", "catalog/work.yaml", "- work: final-wash\n", "- work: first-wash\n"),
]


@pytest.mark.parametrize(("file", "old", "new"), [pytest.param(*case[1:], id=case[0]) for case in SOUND])
def test_an_edit_comes_out_as_all_files_read_anew(file: str, old: str, new: str, tiny: Tiny) -> None:
    if "new-ear" in new:
        tiny.edit("catalog/builds/mixed.yaml", "knock_sensor: ear", "knock_sensor: new-ear")
    tiny.edit(file, old, new)
    edited = open_library(tiny.folder)
    assert list(differences(tiny.load(), edited)) == []
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


@pytest.mark.parametrize(("file", "old", "new"), [pytest.param(*case[1:], id=case[0]) for case in FAULTY])
def test_what_an_edit_breaks_is_told_in_the_same_words(file: str, old: str, new: str, tiny: Tiny) -> None:
    text = tiny.text(file)
    tiny.edit(file, old, new)
    assert tiny.faults()  # holds the faults of the edit against those of all files
    tiny.write(file, text)
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


def test_files_that_come_and_go(tiny: Tiny) -> None:
    tiny.write("catalog/parts/a_new.yaml", "- {part: another-ear, name: Ear, fills: knock_sensor}\n")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []
    assert "another-ear" in open_library(tiny.folder).shop.fillers["knock_sensor"]
    (tiny.folder / "catalog/parts/a_new.yaml").rename(tiny.folder / "catalog/parts/z_new.yaml")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []
    (tiny.folder / "catalog/parts/z_new.yaml").unlink()
    kept = open_library(tiny.folder)
    assert list(differences(tiny.load(), kept)) == []
    assert "another-ear" not in kept.shop.parts
    # the last part of a file goes, and then everything beside parts comes into it
    tiny.write("catalog/parts/a_new.yaml", "- {part: another-ear, name: Ear, fills: knock_sensor}\n")
    open_library(tiny.folder)
    tiny.write("catalog/parts/a_new.yaml", "# nothing\n")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []
    tiny.write("catalog/parts/a_new.yaml", "- {supplier: new, name: New, currency: GBP}\n")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


def test_parts_among_other_things(tiny: Tiny) -> None:
    tiny.write("catalog/shop.yaml", tiny.text("catalog/shop.yaml") + tiny.text(PARTS))
    (tiny.folder / PARTS).unlink()
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []
    tiny.edit("catalog/shop.yaml", "58 GBP", "59 GBP")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


def test_a_file_that_looks_like_parts_alone(tiny: Tiny) -> None:
    path = tiny.folder / "catalog/parts/odd.yaml"
    odd = "- part: another-ear\n  name: Ear\n  fills: knock_sensor\n"
    odd += "- \n  supplier: new\n  name: N\n  currency: GBP\n"
    tiny.write("catalog/parts/odd.yaml", odd)
    assert not looks_like_more(path)
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []
    tiny.edit("catalog/parts/odd.yaml", "name: N", "name: New")
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


def test_a_walk_of_edits(tiny: Tiny) -> None:
    chance = random.Random(11)
    files = [FACTORY, PARTS, ENGINE, "catalog/work.yaml"]
    for step in range(25):
        file = chance.choice(files)
        text = tiny.text(file)
        found = chance.choice(list(re.finditer(r"(?<=[ :])(\d+)(?=(?:\.\d+)? (?:mm|g|GBP|kW|kN)\b)", text)))
        tiny.write(file, f"{text[: found.start()]}{int(found[0]) + 1}{text[found.end() :]}")
        assert list(differences(tiny.load(), open_library(tiny.folder))) == [], (step, file)


def forged(path: Path, edit: Callable[[], None]) -> None:
    """Edit a file and give it back its old time, as copying tools do."""
    before = path.stat()
    edit()
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def test_an_edit_of_the_same_size_and_time_is_noticed(tiny: Tiny) -> None:
    open_library(tiny.folder)
    forged(tiny.folder / PARTS, lambda: tiny.edit(PARTS, "640 GBP", "641 GBP"))
    assert str(open_library(tiny.folder).shop.parts["sport-rod"].sold_by[0].price) == "641.00 GBP"
    assert list(differences(tiny.load(), open_library(tiny.folder))) == []


def test_an_edit_in_the_same_moment_is_noticed(tiny: Tiny) -> None:
    for price in range(700, 712):  # quicker than some file systems tell times apart
        tiny.write(
            PARTS,
            re.sub(r"price: \d+ GBP, pack: 4, lead", f"price: {price} GBP, pack: 4, lead", tiny.text(PARTS)),
        )
        assert open_library(tiny.folder).shop.parts["sport-rod"].sold_by[0].price.amount == price


def test_a_stamp_is_sure_only_when_it_is_older_than_the_clock_is_coarse() -> None:
    told = Stamp(size=10, changed=5 * SETTLED, node=1, looked=5 * SETTLED + 1)
    assert not told.agrees(told)
    later = replace(told, looked=told.changed + SETTLED + 1)
    assert later.agrees(told)
    assert not later.agrees(Stamp(size=11, changed=told.changed, node=1, looked=0))
    assert not later.agrees(Stamp(size=10, changed=told.changed + 1, node=1, looked=0))
    assert not later.agrees(Stamp(size=10, changed=told.changed, node=2, looked=0))


def test_a_copied_shop_is_another_shop(tiny: Tiny, kept: Path, tmp_path: Path) -> None:
    open_library(tiny.folder)
    shutil.copytree(tiny.folder, tmp_path / "copy")
    assert shop_file(kept, tiny.folder) != shop_file(kept, tmp_path / "copy")
    assert report_of(tmp_path / "copy") == report_of(tiny.folder)
