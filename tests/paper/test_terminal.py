"""The report on a terminal: the answer in the first line, worst first, names and units of the reader."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from rich.console import Console

from compat.library.library import Library
from compat.paper.terminal import answer, print_report, print_rows
from compat.rulebook.models import VERDICTS
from compat.words.report import Report, Summary
from tests.look import check

BUILDS = ("first-draft", "street-turbo", "fell-30-top-end", "tarn-20-base")


@pytest.fixture(scope="module")
def checked(demo: Library) -> dict[tuple[str, str], Report]:
    found = {}
    for build in BUILDS:
        for system in ("metric", "imperial"):
            found[build, system] = check(demo.shop, demo.book, build).reported(system, loads=True)
    return found


def printed(report: Report, system: str = "metric", width: int = 100, *, everything: bool = False) -> str:
    out = io.StringIO()
    print_report(Console(file=out, width=width, highlight=False, markup=False), report, system, everything)
    return out.getvalue()


def summary(**counts: int) -> Report:
    worst: Any = next((verdict for verdict in VERDICTS if counts.get(verdict)), "ok")
    return Report("mule", "", "", {}, Summary(worst, **counts), [], [], [], [], [])


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ({"conflict": 1}, "mule does NOT go together: 1 conflict."),
        ({"conflict": 2, "missing": 1}, "mule does NOT go together: 2 conflicts, 1 thing missing."),
        ({"shortfall": 1, "unknown": 3}, "mule does NOT go together: 1 shortfall."),
        ({"unknown": 1}, "mule goes together as far as it is known: 1 question open for want of a spec."),
        ({"caution": 4}, "mule goes together: nothing conflicts, falls short or is missing."),
        ({}, "mule goes together: nothing conflicts, falls short or is missing."),
    ],
)
def test_answer(counts: dict[str, int], says: str) -> None:
    assert answer(summary(**counts)) == says


@pytest.mark.parametrize("build", BUILDS)
def test_first_line_is_the_answer(build: str, checked: dict[tuple[str, str], Report]) -> None:
    report = checked[build, "metric"]
    first = printed(report).splitlines()[0]
    assert first == answer(report)
    assert len(first) <= 100


@pytest.mark.parametrize("system", ["metric", "imperial"])
@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_lines_fit_the_window(
    build: str, system: str, width: int, checked: dict[tuple[str, str], Report]
) -> None:
    for line in printed(checked[build, system], system, width, everything=True).splitlines():
        assert line == line.rstrip()
        # a single word longer than the window stands whole, to be copied
        assert len(line) <= width or len(line.split()) == 1, line


def test_findings_stand_worst_first(checked: dict[tuple[str, str], Report]) -> None:
    text = printed(checked["first-draft", "metric"], everything=True)
    headings = re.findall(r"^([A-Z]+) \(\d+\)$", text, re.MULTILINE)
    verdicts = [word.lower() for word in headings if word.lower() in VERDICTS]
    assert verdicts == [v for v in VERDICTS if v in verdicts]
    assert "conflict" in verdicts
    assert "ok" in verdicts
    sections = ["EXTRA PARTS", "EXTRA WORK", "JOINTS OPENED", "NOT STATED", "WHAT THE GOAL ASKS", "LOAD AND"]
    places = [text.index(f"\n{section}") for section in sections]
    assert places == sorted(places)
    assert text.index("no warranty") > places[-1]


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
        assert re.match(r"[A-Za-z].*: -?[\d.]+ ", finding.because), finding.because


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
