"""What came of trying remedies is told again only of the same build, in the same shop, by the same program."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from compat.checking.answers import Answers, Behind
from compat.checking.check import Checked
from compat.checking.check import check as checking
from compat.library.kept_answers import KeptAnswers
from compat.library.library import Library, build_of_id, find_build
from compat.library.opening import open_library
from compat.library.sources import demo_folder
from compat.shop.builds import ReadyBuild
from compat.words import remedying
from compat.words.remedying import Remedier
from compat.words.report import Finding, WayOut
from compat.words.reporting import report
from tests.checking.walks import steps
from tests.conftest import Tiny

PARTS = "catalog/parts/extra.yaml"
WIDE, WIDER = "20.012 mm ±0.003", "20.042 mm ±0.003"
"""Small end of the forged rod: with the first a floating pin runs as it should, with the other it is loose."""
CLEARANCE = "pin-running-clearance"
CARRIED = """
build: carried
name: On a rod of its own
variant: hob-13
fit: {piston: sport-piston, rod: turned-rod}
goal: {power: 60 kW, at: 6000 rpm, rev_limit: 7200 rpm}
parts:
  - part: turned-rod
    name: Turned rod
    fills: rod
    families: [hob]
    specs:
      centre_length: 130.00 mm ±0.02
      big_end_bore: 47.000 mm +0.013/-0
      small_end_bore: 19.995 mm ±0.003
      mass: 500 g
      tensile_limit: 60 kN
      small_ends: [bushed]
"""

Told = tuple[tuple[Finding, ...], Sequence[tuple[WayOut, ...]], tuple[WayOut, ...]]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "x.answers"


def told(checked: Checked, system: str = "metric", thorough: bool = True) -> Told:
    """Every finding with what was tried, what only moves the trouble, and what clears all against the build."""
    trying = Remedier(checked, system, thorough=thorough)
    said = report(checked, system)
    findings = trying.report(said).findings
    against = [one.rule for one in findings if one.verdict in ("conflict", "shortfall")]
    return findings, [trying.moving(one) for one in said.findings], trying.of_cause("piston", against)


def tell(library: Library, ready: ReadyBuild, behind: Behind | None) -> Told:
    found = told(checking(library.shop, library.book, ready, Answers(behind=behind)))
    if isinstance(behind, KeptAnswers):
        behind.write()  # only what is written is read
    return found


def ways(library: Library, name: str, behind: Behind | None, rule: str = CLEARANCE) -> list[str]:
    """What is told to do about one finding."""
    ready = find_build(library, name)
    return [text for one in tell(library, ready, behind)[0] if one.rule == rule for text in one.remedies]


def refuse(*_: object) -> Any:
    raise AssertionError("something is tried that was kept")


def test_kept_ways_are_those_found_afresh(tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In both systems, thorough or not, all in one file."""
    library = open_library(tiny.folder)
    ready, kept = build_of_id(library.shop, "mixed"), KeptAnswers(path)
    asked = list(product(["metric", "imperial"], [True, False]))

    def each(behind: Behind | None) -> list[Told]:
        checked = checking(library.shop, library.book, ready, Answers(behind=behind))
        return [told(checked, *how) for how in asked]

    fresh, first = each(None), each(kept)
    kept.write()
    monkeypatch.setattr(remedying, "_Stage", refuse)
    assert fresh == first == each(KeptAnswers(path))
    assert all(any(one.ways_out for one in findings) for findings, *_ in fresh)


def test_causes_and_moved_trouble_of_the_demo_are_kept(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    library = open_library(demo_folder())
    ready = build_of_id(library.shop, "first-draft")

    def asked(behind: Behind | None) -> list[object]:
        checked = checking(library.shop, library.book, ready, Answers(behind=behind))
        trying, said = Remedier(checked), report(checked)
        on_crank = [one for one in said.findings if "tarn-22-long-crankshaft" in one.parts]
        some = [trying.finding(one) for one in on_crank[:6]]
        moving = [trying.moving(one) for one in on_crank[:6]]
        return [trying.of_cause("crankshaft", [one.rule for one in on_crank]), some, moving]

    kept = KeptAnswers(path)
    fresh, first = asked(None), asked(kept)
    kept.write()
    monkeypatch.setattr(remedying, "_Stage", refuse)
    assert fresh == first == asked(KeptAnswers(path))
    assert fresh[0]


def test_every_finding_of_a_walk_is_told_as_afresh(tiny: Tiny, path: Path) -> None:
    library = open_library(tiny.folder)
    kept = KeptAnswers(path)
    start = build_of_id(library.shop, "mixed")
    tried = 0
    for number, ready in enumerate(steps(start, 300, seed=7)):
        fresh = tell(library, ready, None)
        assert tell(library, ready, kept) == fresh, number
        assert tell(library, ready, kept) == fresh, number
        tried += any(one.ways_out for one in fresh[0])
    assert tried > 30


def test_an_edit_of_the_shop_is_tried_anew(tiny: Tiny, path: Path) -> None:
    """The rod that would settle it is no part of the build: nothing but the bytes of the shop tells of it."""
    kept = KeptAnswers(path)
    before = ways(open_library(tiny.folder), "mixed", kept)
    assert any("sport-rod" in way for way in before)
    tiny.edit(PARTS, WIDE, WIDER)
    library = open_library(tiny.folder)
    after = ways(library, "mixed", kept)
    assert after == ways(library, "mixed", None)
    assert not any("Fit sport-rod" in way for way in after)
    tiny.edit(PARTS, WIDER, WIDE)
    assert ways(open_library(tiny.folder), "mixed", kept) == before


def test_an_edit_of_a_rule_is_tried_anew(tiny: Tiny, path: Path) -> None:
    kept = KeptAnswers(path)
    before = ways(open_library(tiny.folder), "mixed", kept)
    tiny.edit("rules/rules.yaml", "remedies: [{swap: rod}, ", "remedies: [{swap: piston}, ")
    library = open_library(tiny.folder)
    after = ways(library, "mixed", kept)
    assert after == ways(library, "mixed", None)
    assert after != before


def test_parts_that_a_build_file_carries_are_tried_anew_when_they_are_edited(
    tiny: Tiny, tmp_path: Path, path: Path
) -> None:
    """What the build says of itself stays as it was, and the finding too: the rod is only weaker elsewhere."""
    kept, file = KeptAnswers(path), tmp_path / "carried.yaml"
    file.write_text(CARRIED)
    before = ways(open_library(tiny.folder, drafts=[file]), str(file), kept)
    assert any("Fit sport-rod" in way and "clears" not in way for way in before)
    file.write_text(CARRIED.replace("tensile_limit: 60 kN", "tensile_limit: 3 kN"))
    library = open_library(tiny.folder, drafts=[file])
    after = ways(library, str(file), kept)
    assert after == ways(library, str(file), None)
    assert any("Fit sport-rod" in way and "clears 1 more" in way for way in after)


@pytest.mark.parametrize(
    "change",
    [
        lambda ready: ready.aiming(power="61 kW"),
        lambda ready: ready.fitting(knock_sensor=None),
        lambda ready: ready.changed(measured={"piston.skirt_diameter": "73.920 mm ±0.002"}),
        lambda ready: ready.changed(renew="all"),
        lambda ready: ready.measuring({"piston.pin_diameter": "19.999 mm"}),
    ],
)
def test_another_build_is_tried_anew(
    change: Callable[[ReadyBuild], ReadyBuild], tiny: Tiny, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = open_library(tiny.folder)
    ready = build_of_id(library.shop, "mixed")
    kept, other = KeptAnswers(path), change(ready)
    tell(library, ready, kept)
    stage, made = remedying._Stage, []
    monkeypatch.setattr(remedying, "_Stage", lambda *given: made.append(given) or stage(*given))
    assert tell(library, ready, kept)
    assert not made
    afresh = tell(library, other, kept)
    assert made
    assert afresh == tell(library, other, None)


class Noting:
    """Keeps nothing, and notes what it is asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    def get(self, question: str) -> Any | None:
        self.asked.append(question)
        return None

    def put(self, question: str, answer: Any) -> None:
        self.asked.append(question)


def test_what_was_not_read_from_files_as_they_are_keeps_nothing(tiny: Tiny) -> None:
    library = open_library(tiny.folder)
    ready = build_of_id(library.shop, "mixed")
    both, noting = (library.shop, library.book), Noting()
    told(checking(*both, ready, Answers(behind=noting)))
    assert any(CLEARANCE in question for question in noting.asked)
    read = tiny.load()
    assert (library.shop.stamp, replace(library.book).stamp, read.shop.stamp) == (library.book.stamp, "", "")
    for shop, book in ((library.shop, read.book), (read.shop, library.book), (read.shop, read.book)):
        noting = Noting()
        told(checking(shop, book, build_of_id(shop, "mixed"), Answers(behind=noting)))
        assert not any(CLEARANCE in question for question in noting.asked)


def test_a_stamp_is_of_the_bytes_of_every_file(tiny: Tiny) -> None:
    first = open_library(tiny.folder).shop.stamp
    assert first
    stamps = {first}
    for path in sorted(tiny.folder.rglob("*.yaml")):
        text = path.read_bytes()
        path.write_bytes(text + b"# a word more\n")
        stamps.add(open_library(tiny.folder).shop.stamp)
        path.write_bytes(text)
    assert len(stamps) == 1 + len(list(tiny.folder.rglob("*.yaml")))
    assert open_library(tiny.folder).shop.stamp == first


@pytest.mark.parametrize(
    "broken",
    [
        lambda raw: b"",
        lambda raw: raw[:5000],
        lambda raw: raw[:4096] + bytes(b ^ 0x3C for b in raw[4096:]),
        lambda raw: raw[:-3000] + bytes(3000),
        lambda raw: raw.replace(b"sport-rod", b"sport-ear"),
    ],
)
def test_a_broken_file_changes_nothing_but_time(
    broken: Callable[[bytes], bytes], tiny: Tiny, path: Path
) -> None:
    library = open_library(tiny.folder)
    ready = build_of_id(library.shop, "mixed")
    kept = KeptAnswers(path)
    fresh = tell(library, ready, kept)
    raw = path.read_bytes()
    assert broken(raw) != raw
    path.write_bytes(broken(raw))
    assert tell(library, ready, KeptAnswers(path)) == fresh


@pytest.mark.parametrize("strange", [None, 3, [], {}, {"ways_out": []}, {"": 1.0}, ["OutOfRange", "no"]])
def test_what_is_no_answer_is_not_told(strange: Any, tiny: Tiny) -> None:
    class Strange(Noting):
        def get(self, question: str) -> Any | None:
            return strange if question.startswith("((") and "Finding(" in question else None

    library = open_library(tiny.folder)
    ready = build_of_id(library.shop, "mixed")
    assert tell(library, ready, Strange()) == tell(library, ready, None)
