"""The report on a terminal: the answer in the first line, worst first, names and units of the reader."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

import pytest
from rich.console import Console

from compat.library.library import Library
from compat.paper.causes import Background
from compat.paper.lines import print_rows
from compat.paper.terminal import FEW, View, answer, print_report
from compat.rulebook.models import AGAINST, VERDICTS
from compat.words.report import Finding, Report, Summary
from tests.look import checked_once

# Lines, order and groups are the house's own; nothing outside to hold them against.
BUILDS = ("first-draft", "street-turbo", "fell-30-top-end", "tarn-20-base")


@pytest.fixture(scope="module")
def checked(demo: Library) -> dict[tuple[str, str], Report]:
    found = {}
    for build in BUILDS:
        for system in ("metric", "imperial"):
            found[build, system] = checked_once(build).reported(system, loads=True)
    return found


@pytest.fixture(scope="module")
def background(demo: Library) -> Background:
    return Background(
        systems={name: place.system for name, place in demo.shop.positions.items()},
        kinds={name: bound.rule.sort for name, bound in demo.book.rules.items()},
        deciding=frozenset(name for name, bound in demo.book.rules.items() if bound.rule.decides),
    )


def printed(
    report: Report,
    background: Background | None = None,
    system: str = "metric",
    width: int = 100,
    **view: Any,
) -> str:
    out = io.StringIO()
    console = Console(file=out, width=width, highlight=False, markup=False)
    print_report(console, report, system, View(**view), background)
    return out.getvalue()


def told(text: str) -> list[str]:
    """Ids of the findings that a report tells, each in brackets behind its title."""
    flat = " ".join(text.split())
    return [rule for group in re.findall(r"\[([a-z0-9, -]+)\]", flat) for rule in group.split(", ")]


def summary(**counts: int) -> Report:
    worst: Any = next((verdict for verdict in VERDICTS if counts.get(verdict)), "ok")
    goal = {"power": "100 kW", "speed": "6000 rpm", "duty": "street"}
    return Report("mule", "", "", goal, Summary(worst, **counts), [], [], [], [], [])


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ({"conflict": 1}, "mule does NOT go together: 1 conflict."),
        ({"conflict": 2, "missing": 1}, "mule does NOT go together: 2 conflicts, 1 thing missing."),
        ({"shortfall": 1, "unknown": 3}, "mule does NOT go together: 1 shortfall, 3 open questions."),
        ({"unknown": 1}, "mule is NOT proven: nothing found wrong, but 1 open question."),
        ({"unknown": 2, "measure": 1}, "mule is NOT proven: nothing found wrong, but 2 open questions."),
        ({"caution": 4}, "mule goes together: nothing conflicts, falls short or is missing."),
        ({}, "mule goes together: nothing conflicts, falls short or is missing."),
    ],
)
def test_answer(counts: dict[str, int], says: str) -> None:
    assert answer(summary(**counts)) == says


@pytest.mark.parametrize("build", BUILDS)
def test_first_line_is_the_answer(build: str, checked: Any) -> None:
    report = checked[build, "metric"]
    first = printed(report).splitlines()[0]
    assert first == answer(report)
    assert len(first) <= 100


@pytest.mark.parametrize("view", [{}, {"everything": True}, {"notes": True}], ids=["", "all", "notes"])
@pytest.mark.parametrize(
    ("system", "width"), [("metric", 40), ("metric", 80), ("imperial", 60), ("metric", 120)]
)
@pytest.mark.parametrize("build", BUILDS)
def test_lines_fit_the_window(
    build: str, system: str, width: int, view: dict[str, bool], checked: Any, background: Background
) -> None:
    for line in printed(checked[build, system], background, system, width, **view).splitlines():
        assert line == line.rstrip()
        # a single word longer than the window stands whole, to be copied
        assert len(line) <= width or len(line.split()) == 1, line


@pytest.mark.parametrize("build", BUILDS)
def test_every_finding_is_told_once(build: str, checked: Any, background: Background) -> None:
    report = checked[build, "metric"]
    everything = sorted(finding.rule for finding in report.findings)
    assert sorted(told(printed(report, background, everything=True))) == everything
    notes = {
        finding.rule
        for finding in report.findings
        if finding.verdict == "caution" and background.kinds.get(finding.rule) == "note"
    }
    shown = sorted(finding.rule for finding in report.findings if finding.verdict != "ok")
    assert sorted(told(printed(report, background, notes=True))) == shown
    assert sorted(told(printed(report, background))) == [rule for rule in shown if rule not in notes]
    line = f"{len(notes)} standing notes; --notes shows them."
    assert (line in " ".join(printed(report, background).split())) == bool(notes)
    assert "--notes" not in printed(report, background, notes=True)


def test_a_long_draft_is_told_on_a_few_pages_and_in_full_with_one_option(
    checked: Any, background: Background
) -> None:
    report = checked["first-draft", "metric"]
    report = replace(report, figures={})
    assert len(printed(report, background).splitlines()) < 250
    full = " ".join(printed(report, background, everything=True).split())
    for finding in report.findings:
        assert " ".join(finding.because.split())[1:] in full, finding.rule
        for remedy in finding.remedies:
            assert f"-> {' '.join(remedy.split())}" in full
    for joint in report.opened_joints:
        assert joint.because in full


def test_with_what_clears_it_the_draft_stays_as_short(demo: Library, background: Background) -> None:
    from compat.words.remedying import Remedier

    found = checked_once("first-draft")
    out = io.StringIO()
    console = Console(file=out, width=100, highlight=False, markup=False)
    print_report(console, found.report, "metric", View(), background, Remedier(found.checked))
    assert len(out.getvalue().splitlines()) < 250
    assert out.getvalue().count("  -> ") > 4


def test_a_part_stands_with_what_hangs_on_it(checked: Any, background: Background) -> None:
    """Part by part as one would by hand: who is named most among what is left comes next."""
    report = checked["first-draft", "metric"]
    text = printed(report, background)
    groups = [
        (match[1], match[2], told(match[3]))
        for match in re.finditer(
            r"^(\S+) \((\w+)\): \d[^\n]*\n(.*?)(?:\n\n|\Z)", text, re.MULTILINE | re.DOTALL
        )
    ]
    assert len(groups) > 3
    left = {
        finding.rule: finding.parts
        for finding in report.findings
        if finding.verdict in AGAINST and not background.out_of_reach(finding)
    }
    for part, position, rules in groups:
        assert report.changed[position] == part
        hanging = {
            other: [rule for rule, parts in left.items() if other in parts] for other in report.changed.values()
        }
        assert sorted(rules) == sorted(hanging[part])
        assert len(rules) == max(map(len, hanging.values())) > 1
        for rule in rules:
            del left[rule]
    alone = text.partition("\nEach on its own: ")[2].partition("\n\n")[0]
    assert sorted(told(alone)) == sorted(left)


def test_the_heavier_comes_first() -> None:
    def limit(rule: str, value: float, most: float, **more: Any) -> Finding:
        return Finding(rule, "conflict", rule, "x", value=value, limit=most, at_most=most, **more)

    def load(rule: str, headroom: float, asked: float) -> Finding:
        return Finding(rule, "shortfall", rule, "x", headroom=headroom, headroom_asked=asked)

    findings = [
        Finding("c-none", "caution", "t", "x"),
        load("s-little", 0.10, 0.15),
        limit("k-tenth", 1.1, 1.0),
        Finding("k-word-fuel", "conflict", "t", "x", positions=["pump"]),
        load("s-much", -0.30, 0.15),
        Finding("k-word-block", "conflict", "t", "x", positions=["block"]),
        limit("k-double", 3.0, 1.0),
        limit("k-below-nought", 0.2, 0.0, positions=["block"]),
    ]
    report = replace(summary(conflict=5, shortfall=2, caution=1), findings=tuple(findings))
    systems = {"block": "short-block", "pump": "fuel"}
    rules = re.findall(r"^[a-z]+ +(\S+): ", printed(report, Background(systems), brief=True), re.MULTILINE)
    # a third of what is allowed is 2 over 1; what has no number counts as wholly out, as does 0.2 over 0
    assert rules == [
        "k-double", "k-word-block", "k-below-nought", "k-word-fuel", "k-tenth", "s-much", "s-little", "c-none",
    ]  # fmt: skip


@pytest.mark.parametrize("build", BUILDS)
def test_a_line_a_finding(build: str, checked: Any, background: Background) -> None:
    report = replace(checked[build, "metric"], figures={})
    lines = printed(report, background, width=60, brief=True).splitlines()
    found = [line for line in lines if line.split()[:1] and line.split()[0] in VERDICTS and ": " in line]
    wanted = [
        finding
        for finding in report.findings
        if finding.verdict != "ok" and background.kinds.get(finding.rule) != "note"
    ]
    assert sorted(line.split()[1].rstrip(":") for line in found) == sorted(finding.rule for finding in wanted)
    # what puts the goal out of reach stands before all else
    beyond = sum(background.out_of_reach(finding) for finding in wanted)
    assert {line.split()[1].rstrip(":") for line in found[:beyond]} <= background.deciding
    verdicts = [line.split()[0] for line in found[beyond:]]
    assert verdicts == sorted(verdicts, key=list(VERDICTS).index)
    assert len(lines) <= len(found) + 14


ONLY = [
    (["conflict"], lambda finding, systems: finding.verdict == "conflict"),
    (["conflict", "missing"], lambda finding, systems: finding.verdict in ("conflict", "missing")),
    (["crankshaft"], lambda finding, systems: "crankshaft" in finding.positions and finding.verdict != "ok"),
    (["oil"], lambda finding, systems: "oil" in finding.positions and finding.verdict != "ok"),
    (["exhaust"], lambda finding, systems: "exhaust" in systems(finding) and finding.verdict != "ok"),
    (
        ["conflict", "lubrication"],
        lambda finding, systems: finding.verdict == "conflict" and "lubrication" in systems(finding),
    ),
    (["deck-clearance"], lambda finding, systems: finding.rule == "deck-clearance"),
    (["compressor-flow"], lambda finding, systems: finding.rule == "compressor-flow"),  # it is fine
    (["lifting"], lambda finding, systems: finding.rule == "lifting"),  # a standing note
    (["ok", "ignition"], lambda finding, systems: finding.verdict == "ok" and "ignition" in systems(finding)),
    (["conflict", "hot-running"], lambda finding, systems: False),
]


@pytest.mark.parametrize(("words", "wanted"), [pytest.param(*case, id=" ".join(case[0])) for case in ONLY])
def test_only_what_was_asked_for(words: list[str], wanted: Any, checked: Any, background: Background) -> None:
    report = checked["first-draft", "metric"]

    def systems(finding: Finding) -> set[str]:
        return {background.systems[position] for position in finding.positions}

    asked = {finding.rule for finding in report.findings if wanted(finding, systems)}
    if len(words) == 1 and words[0] not in background.kinds:
        assert asked
        asked -= {finding.rule for finding in report.findings if background.is_note(finding)}
    text = printed(report, background, only=words)
    assert set(told(text)) == asked
    assert text.splitlines()[0] == answer(report)
    assert "EXTRA PARTS" not in text
    assert f"{len(asked)} of {len(report.findings)} findings; " in " ".join(text.split())


def test_few_findings_are_told_in_full(checked: Any, background: Background) -> None:
    report = checked["street-turbo", "metric"]
    told_of = [f for f in report.findings if f.verdict != "ok" and not background.is_note(f)]
    assert 0 < len(told_of) <= FEW
    text = " ".join(printed(report, background).split())
    for finding in told_of:
        assert finding.because[1:] in text
        assert all(remedy in text for remedy in finding.remedies)


@pytest.mark.parametrize("everything", [False, True])
def test_every_extra_part_has_its_position(everything: bool, checked: Any, background: Background) -> None:
    """In short the id itself may say it, or, where an opened joint consumes the part, `renew: all` does."""
    text = " ".join(
        printed(report := checked["first-draft", "metric"], background, everything=everything).split()
    )
    assert len(report.extra_parts) > 20
    joints = {f"{joint.name} is opened" for joint in report.opened_joints}
    for part in report.extra_parts:
        count = f"{part.count} x " if part.count > 1 else ""
        spoken = part.position.replace("_", "-") in part.part or part.because in joints
        place = "" if spoken and not everything else rf" \(?{part.position}\b"
        assert re.search(rf"{re.escape(count + part.part)}{place}", text), part.part


def test_a_question_about_a_note_is_no_standing_note() -> None:
    question = Finding("low-octane", "unknown", "Octane", "not stated: octane", unstated=("fuel.octane",))
    report = replace(summary(unknown=1), findings=(question,))
    text = printed(report, Background(kinds={"low-octane": "note"}))
    assert "UNKNOWN (1)" in text
    assert "standing note" not in text


def test_sections_stand_in_order(checked: Any, background: Background) -> None:
    text = printed(checked["first-draft", "metric"], background, everything=True)
    sections = [
        "tarn-22-long-crankshaft", "Each on its own", "UNKNOWN", "MEASURE", "CAUTION", "OK", "EXTRA PARTS",
        "EXTRA WORK", "JOINTS OPENED", "NOT STATED", "WHAT THE GOAL ASKS", "LOAD AND", "Advice on",
    ]  # fmt: skip
    places = [text.index(f"\n{section}") for section in sections]
    assert places == sorted(places)


def test_what_stands_against_the_build_says_what_to_do(checked: dict[tuple[str, str], Report]) -> None:
    for result in checked.values():
        for finding in result.findings:
            if finding.verdict in ("conflict", "shortfall", "missing", "unknown", "measure"):
                assert finding.remedies, finding.rule
            for remedy in finding.remedies:
                assert remedy[:1].isupper(), remedy
                assert remedy.endswith((".", "!")), remedy


def test_sentences_hold_no_ids_of_specs_or_floats(checked: dict[tuple[str, str], Report]) -> None:
    for result in checked.values():
        for finding in result.findings:
            # a code of the catalogue may hold anything; a dotted name of a spec only the rule's author knows
            assert not re.search(r"\b[a-z]+(?:_[a-z]+)*\.[a-z]+_[a-z]+", finding.because), finding.because
            assert not re.search(r"\d\.\d{7,}|\de-\d", finding.because), finding.because


def test_a_number_without_unit_says_what_it_is(checked: dict[tuple[str, str], Report]) -> None:
    plain = [
        finding
        for result in checked.values()
        for finding in result.findings
        if finding.value is not None and finding.unit in ("", "number") and finding.verdict != "ok"
    ]
    assert plain
    for finding in plain:
        assert re.match(r"[A-Za-z](?!t comes).* comes to -?[\d.]+ ?", finding.because), finding.because


def test_imperial_sentences_hold_no_metric_dimension(checked: dict[tuple[str, str], Report]) -> None:
    for build in BUILDS:
        for finding in checked[build, "imperial"].findings:
            if finding.value is not None or finding.load is not None:
                assert not re.search(r"\d (mm|kPa|bar|MPa|kN|N\*m|kW|degC|L/h)(?![\\w/])", finding.because), (
                    finding.because
                )


def test_units_change_words_only(checked: dict[tuple[str, str], Report]) -> None:
    for build in BUILDS:
        metric, imperial = checked[build, "metric"], checked[build, "imperial"]
        for one, other in zip(metric.findings, imperial.findings, strict=True):
            assert (one.rule, one.verdict, one.value, one.limit, one.load, one.unit) == (
                other.rule, other.verdict, other.value, other.limit, other.load, other.unit
            )  # fmt: skip


def test_rows_fold() -> None:
    out = io.StringIO()
    rows = [
        ("10 x", "a-bolt", "Joint is opened"),
        ("1 x", "a-long-name-of-a-gasket", "needed by the pump " * 3),
    ]
    print_rows(Console(file=out, width=40), rows)
    assert out.getvalue().splitlines() == [
        "  10 x  a-bolt",
        "          Joint is opened",
        "   1 x  a-long-name-of-a-gasket",
        "          needed by the pump needed by",
        "          the pump needed by the pump",
    ]
    out = io.StringIO()
    print_rows(Console(file=out, width=80), rows)
    assert out.getvalue().splitlines()[0] == "  10 x  a-bolt                   Joint is opened"


def test_the_two_sides_of_a_pair_are_told_apart(checked: dict[tuple[str, str], Report]) -> None:
    """A rod's bolt thread and a rod bolt's thread are two things with one name."""
    pairs = [f for result in checked.values() for f in result.findings if f.rule == "rod-bolt-thread"]
    assert pairs
    for finding in pairs:
        left, right = re.split(r" (?:matches|does not match) ", finding.because)
        assert left.partition(" (")[0] == "connecting rod bolt's thread"
        assert right.partition(" (")[0] == "connecting rod's bolt thread"


def test_no_sentence_begins_with_a_bare_number(checked: dict[tuple[str, str], Report]) -> None:
    for result in checked.values():
        for finding in result.findings:
            assert finding.because[:1].isalpha(), (finding.rule, finding.because)


def test_a_nose_without_a_key_has_no_keyway(checked: dict[tuple[str, str], Report]) -> None:
    """Its card says 0 mm, which is no width."""
    for system in ("metric", "imperial"):
        found = {finding.rule: finding for finding in checked["first-draft", system].findings}
        assert "crankshaft nose key width (no keyway)" in found["key-fits-nose"].because
