"""Parts, stock and builds are read apart from what they rest on, and come out as if all files had been read.

What stands is not read again: here an edit bears on what it does not touch, by ids, boxes, shelves, remedies
and cards, in one file and in several at once; and edits at random find what nobody thought of.
"""

from __future__ import annotations

import random
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from compat.library import compiling
from compat.library.kept import shop_file
from compat.library.library import Library, load
from compat.library.opening import open_library
from compat.library.search import goods_of
from compat.shop.source import Fault, Faults
from tests.conftest import Tiny
from tests.library.goods_held import holds
from tests.library.test_after_an_edit import ENGINE, FACTORY, PARTS, VOCABULARY
from tests.library.test_kept_shop import differences

BUILD = "catalog/builds/sport.yaml"
MIXED = "catalog/builds/mixed.yaml"
STOCK = "catalog/stock.yaml"
RULES = "rules/rules.yaml"
MEASURED = """
  measured:
    crankshaft.pin_diameter: {pieces: [43.99 mm], uncertainty: 0.002 mm}
"""
ADDED = "  remedies: [{work: tap-knock-boss}, {add: ear}]"
PAIR = "- {part: pair, name: Pair, fills: knock_sensor, includes: [sport-sensor]}\n"
OWN = """\
- build: own
  name: Own
  variant: hob-13
  fit: {knock_sensor: own-ear}
  parts: [{part: own-ear, name: Ear, fills: knock_sensor}]
  goal: {power: 50 kW, at: 6000 rpm}
"""

Edits = tuple[tuple[str, str, str], ...]
"""File, old and new text; without an old text the file is written anew, without either it vanishes."""

APART: dict[str, tuple[Edits, Edits, str]] = {
    "a build names another part": ((), ((BUILD, "rod: sport-rod", "rod: hob-rod"),), ""),
    "a build names a part that is none": ((), ((BUILD, "rod: sport-rod", "rod: sport-rood"),), "sport-rod'"),
    "a part that a build names goes": ((), ((PARTS, "- part: sport-rod\n", "- part: a-rod\n"),), "sport-rod"),
    "build and part take another name together": (
        (),
        ((PARTS, "- part: sport-rod\n", "- part: a-rod\n"), (BUILD, "rod: sport-rod", "rod: a-rod")),
        "",
    ),
    "a part moves to another file": (
        (),
        ((PARTS, PAIR, ""), ("catalog/parts/a.yaml", "", PAIR)),
        "",
    ),
    "a part stands in two files": ((), (("catalog/parts/a.yaml", "", PAIR),), "is given twice"),
    "a build stands in two files": ((), ((MIXED, "- build: mixed", "- build: sport"),), "is given twice"),
    "a build is called as a variant": ((), ((MIXED, "- build: mixed", "- build: hob-15"),), "is a variant"),
    "a file of builds vanishes": ((), ((MIXED, "", ""),), ""),
    "a file of parts vanishes": ((), ((PARTS, "", ""),), "is not known"),
    "a file of stock vanishes": ((), ((STOCK, "", ""),), ""),
    "a vocabulary vanishes": ((), ((VOCABULARY, "", ""),), "is not known"),
    "a file of builds and a price": ((), ((MIXED, "", ""), (PARTS, "640 GBP", "650 GBP")), ""),
    "what is on the shelf": ((), ((STOCK, "count: 2", "count: 3"),), ""),
    "a part on the shelf goes": (
        ((STOCK, "oil-10w40", "pair"),),
        ((PARTS, "- {part: pair,", "- {part: pear,"),),
        "part 'pair' is not known",
    ),
    "a part that a remedy adds goes": (
        ((VOCABULARY, "  remedies: [{work: tap-knock-boss}]", ADDED.replace("ear", "pair")),),
        ((PARTS, "- {part: pair,", "- {part: pear,"),),
        "part 'pair' is not known",
    ),
    "a part that a variant has fills another place": (
        (),
        ((FACTORY, "  name: Block, Hob\n  fills: block", "  name: Block, Hob\n  fills: rod"),),
        "not 'block'",
    ),
    "the card of a measured part makes its pieces impossible": (
        ((MIXED, "  measured: {piston.skirt_diameter: 73.928 mm ±0.002}\n", MEASURED),),
        ((FACTORY, "87.20 mm ±0.05, pin_diameter: 44.000", "87.20 mm ±0.05, pin_diameter: 64.000"),),
        "outside anything possible",
    ),
    "the card of a part beside a measured one": (
        ((MIXED, "  measured: {piston.skirt_diameter: 73.928 mm ±0.002}\n", MEASURED),),
        ((FACTORY, "75.40 mm ±0.05, pin_diameter: 44.000", "75.40 mm ±0.05, pin_diameter: 64.000"),),
        "",
    ),
    "what comes in a box comes in it no more": (
        (
            (MIXED, "knock_sensor: ear", "knock_sensor: pair"),
            (
                MIXED,
                "measured: {piston.skirt_diameter: 73.928 mm ±0.002}",
                "measured: {pressure_sensor.range: {pieces: [300 kPa], uncertainty: 1 kPa}}",
            ),
            (
                VOCABULARY,
                "- position: pressure_sensor\n",
                "- position: pressure_sensor\n  specs: {range: kPa}\n",
            ),
            (PARTS, "  fills: pressure_sensor\n", "  fills: pressure_sensor\n  specs: {range: 250 kPa}\n"),
        ),
        ((PARTS, "  specs: {range: 250 kPa}\n", "  specs: {range: 25 kPa}\n"),),
        "outside anything possible",
    ),
    "a build brings a part of its own": ((), (("catalog/builds/own.yaml", "", OWN),), ""),
    "a build's own part is fitted by another": (
        (("catalog/builds/own.yaml", "", OWN),),
        ((MIXED, "knock_sensor: ear", "knock_sensor: own-ear"),),
        "is for the build 'own' alone",
    ),
    "a build's own part goes": (
        (("catalog/builds/own.yaml", "", OWN),),
        (("catalog/builds/own.yaml", "part: own-ear", "part: their-ear"),),
        "own-ear",
    ),
    "a file of builds gets a word": (
        (),
        ((BUILD, "- build: sport\n", "- {feature: new, name: New, why: None.}\n- build: sport\n"),),
        "",
    ),
    "a file of builds gets a part, which another names": (
        (),
        (
            (BUILD, "- build: sport\n", "- {part: new, name: New, fills: knock_sensor}\n- build: sport\n"),
            (MIXED, "knock_sensor: ear", "knock_sensor: new"),
        ),
        "",
    ),
    "a unit, and a part that states it": (
        (),
        (
            (VOCABULARY, "tensile_limit: kN", "tensile_limit: MPa"),
            (PARTS, "tensile_limit: 60 kN", "tensile_limit: 60 MPa"),
        ),
        "tensile_limit",
    ),
    "a word that rules name, and a price": (
        (),
        ((VOCABULARY, "small_end_bore: mm", "little_end_bore: mm"), (PARTS, "640 GBP", "650 GBP")),
        "small_end_bore",
    ),
    "a rule, and a build that is faulty": (
        (),
        ((RULES, "title: ", "title: Now "), (BUILD, "rod: sport-rod", "rod: none")),
        "part 'none' is not known",
    ),
    "a part in the box of a part of another file goes": (
        ((PARTS, PAIR, ""), ("catalog/parts/a.yaml", "", PAIR)),
        (
            (PARTS, "- part: sport-sensor\n", "- part: a-sensor\n"),
            (PARTS, "includes: [sport-sensor]", "includes: [a-sensor]"),
        ),
        "part 'sport-sensor' is not known",
    ),
    "a box in a box goes in a circle": (
        (),
        ((PARTS, "  fills: pressure_sensor\n", "  fills: pressure_sensor\n  includes: [pair]\n"),),
        "goes in a circle",
    ),
    "an own name of a part that nobody names": ((), ((PARTS, "part: pair", "part: pear"),), ""),
}


def change(tiny: Tiny, edits: Edits) -> None:
    for file, old, new in edits:
        if old:
            tiny.edit(file, old, new)
        elif new:
            tiny.write(file, new)
        else:
            (tiny.folder / file).unlink()


def faults_of(opened: Callable[[], Library]) -> Library | list[Fault]:
    """A shop, or what is wrong with it."""
    try:
        return opened()
    except Faults as told:
        return list(told.faults)


def as_read_anew(tiny: Tiny) -> str:
    """Hold that an edit comes out as all files read anew; gives what is wrong with them."""
    anew = faults_of(tiny.load)
    for _ in range(2):  # of the edit, and of what was kept of it
        edited = faults_of(lambda: open_library(tiny.folder))
        if isinstance(anew, list) or isinstance(edited, list):
            assert edited == anew
            return str(edited)
        assert list(differences(anew, edited)) == []
        assert holds(goods_of(edited.shop)) == holds(goods_of(anew.shop))
    return ""


@pytest.mark.parametrize("name", APART)
def test_what_is_read_apart_is_held_against_what_stands(name: str, tiny: Tiny) -> None:
    before, edits, told = APART[name]
    tiny.write(PARTS, tiny.text(PARTS) + PAIR)
    change(tiny, before)
    assert as_read_anew(tiny) == ""
    texts = {path: path.read_bytes() for path in tiny.folder.rglob("*.yaml")}
    change(tiny, edits)
    said = as_read_anew(tiny)
    assert told in said
    assert bool(told) is bool(said)
    for path in tiny.folder.rglob("*.yaml"):
        path.unlink()
    for path, raw in texts.items():
        path.write_bytes(raw)
    assert as_read_anew(tiny) == ""


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Files of the shop in the order in which they are read."""
    own, names = compiling.read_bytes, list[str]()

    def reading(path: Path, shown: str) -> bytes:
        names.append(shown)
        return own(path, shown)

    monkeypatch.setattr(compiling, "read_bytes", reading)
    return names


@pytest.mark.parametrize("file", [PARTS, FACTORY, BUILD, STOCK, ENGINE])
def test_an_edit_of_what_is_read_apart_reads_its_file_alone(file: str, tiny: Tiny, read: list[str]) -> None:
    tiny.write(file, "# ours\n" + tiny.text(file))
    edited = open_library(tiny.folder)
    assert (read == [file]) is (file != ENGINE)
    assert list(differences(tiny.load(), edited)) == []


@pytest.fixture
def draft(tmp_path: Path) -> Path:
    """A build outside of the shop, with a part of its own."""
    path = tmp_path / "draft.yaml"
    path.write_text(OWN, "utf-8")
    return path


def test_the_parts_of_a_draft_are_read_beside_what_stands(draft: Path, tiny: Tiny, read: list[str]) -> None:
    both = open_library(tiny.folder, drafts=[draft])
    assert read == [str(draft)]
    anew = load(tiny.folder, [draft])
    assert "own-ear" in both.shop.parts
    assert list(differences(anew, both)) == []
    assert holds(goods_of(both.shop)) == holds(goods_of(anew.shop))
    assert "own-ear" not in open_library(tiny.folder).shop.parts


def test_a_draft_beside_a_broken_file_changes_nothing_but_time(draft: Path, tiny: Tiny, kept: Path) -> None:
    path, dice = shop_file(kept, tiny.folder), random.Random(8)
    assert path is not None
    whole = path.read_bytes()
    anew = load(tiny.folder, [draft])
    for _ in range(25):
        raw = bytearray(whole)
        for _ in range(20):
            raw[dice.randrange(100, len(raw))] ^= 0x5A
        path.write_bytes(raw)
        both = open_library(tiny.folder, drafts=[draft])
        assert list(differences(anew, both)) == []
    for key in ("thing/part/sport-rod", "things/rule", "asked", "fills/rod"):
        path.write_bytes(whole)
        with sqlite3.connect(path) as database:
            database.execute("DELETE FROM entries WHERE key = ?", (key,))
        database.close()
        assert list(differences(anew, open_library(tiny.folder, drafts=[draft]))) == [], key


def test_an_edit_of_a_shop_of_which_an_entry_was_lost_changes_nothing_but_time(tiny: Tiny, kept: Path) -> None:
    path = shop_file(kept, tiny.folder)
    assert path is not None
    with sqlite3.connect(path) as database:
        keys = [key for (key,) in database.execute("SELECT key FROM entries ORDER BY key")]
    database.close()
    whole = path.read_bytes()
    tiny.edit(PARTS, "640 GBP", "650 GBP")
    anew = tiny.load()
    for key in [*random.Random(4).sample(keys, 25), "fills/rod", "thing/part/hob-rod", "mentions", "census"]:
        path.write_bytes(whole)
        with sqlite3.connect(path) as database:
            database.execute("DELETE FROM entries WHERE key = ?", (key,))
        database.close()
        assert list(differences(anew, open_library(tiny.folder))) == [], key


@pytest.mark.parametrize("seed", range(4))
def test_edits_at_random(seed: int, tiny: Tiny) -> None:
    """Entries go, come twice, move and change words, one file or several at a time; faults are mended again."""
    dice = random.Random(seed)
    sound = {path: path.read_text("utf-8") for path in sorted(tiny.folder.rglob("*.yaml"))}
    outcomes = []
    for _ in range(20):
        now = dict(sound)
        for _ in range(dice.choice((1, 1, 2))):
            _spoil(now, dice)
        _put(tiny.folder, now)
        wrong = as_read_anew(tiny)
        outcomes.append(bool(wrong))
        if not wrong:
            sound = now
        elif dice.random() < 0.7:
            _put(tiny.folder, sound)
            assert as_read_anew(tiny) == ""
    assert any(outcomes)
    assert not all(outcomes)


def _put(folder: Path, texts: dict[Path, str]) -> None:
    for path in folder.rglob("*.yaml"):
        if path not in texts:
            path.unlink()
    for path, text in texts.items():
        if not path.exists() or path.read_text("utf-8") != text:
            path.write_text(text, "utf-8")


def _spoil(texts: dict[Path, str], dice: random.Random) -> None:
    """Change one thing in the texts of a shop."""
    apart = [path for path in texts if path.parent.name in ("parts", "builds") or path.name == "stock.yaml"]
    path = dice.choice(apart if dice.random() < 0.8 else list(texts))
    entries = re.split(r"(?m)^(?=- )", texts[path])
    some = dice.randrange(len(entries))
    match dice.randrange(7):
        case 0:
            del entries[some]
        case 1:  # to another file, or into it too
            other = dice.choice([*texts, path.with_name(f"new_{dice.randrange(9)}.yaml")])
            texts[other] = texts.get(other, "") + "\n" + entries[some].strip() + "\n"
            if dice.random() < 0.7:
                del entries[some]
        case 2:  # a word of it for another
            words = sorted({*re.findall(r"[a-z][a-z0-9_-]{3,}", "".join(texts.values()))})
            found = list(re.finditer(r"[a-z][a-z0-9_-]{3,}", entries[some]))
            if found:
                at = dice.choice(found)
                entries[some] = entries[some][: at.start()] + dice.choice(words) + entries[some][at.end() :]
        case 3:
            entries.append(entries[some].replace(": ", f": new-{dice.randrange(9)}", 1))
        case 4:
            del texts[path]
            return
        case _:
            entries[some] = re.sub(
                r"(?<=[ :])(\d+)(?=(?:\.\d+)? (?:mm|g|GBP|kW|kN|kPa)\b)",
                lambda found: str(int(found[0]) + dice.randrange(3)),
                entries[some],
            )
    texts[path] = "".join(entries)
