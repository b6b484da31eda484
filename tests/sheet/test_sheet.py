"""The sheet: its numbers are the report's, its form is read back word for word, a bad build shows its face."""

from __future__ import annotations

import json
import re
from typing import Any

import jsonschema
import pytest

from compat.bench.sheet import BenchSheet, bench_sheet
from compat.library.library import Library
from compat.paper.document import Picture, Row, Table, Together
from compat.paper.schemas import report_json
from compat.paper.sheet import sheet_document
from compat.paper.sheet_form import COLUMNS, measured_form
from compat.paper.sheet_measures import limits_text, proven_text, value_text
from compat.shop.specs import gauges_of
from compat.units import read_band, unit
from compat.words.wording import in_sentence
from tests.look import checked_once, published

BUILDS = [
    "endurance-ethanol",
    "fell-30-top-end",
    "first-draft",
    "long-stroke-20",
    "phase-upgrade",
    "street-turbo",
]
VARIANTS = ["tarn-20-base", "tarn-20-phase", "tarn-20-turbo", "tarn-22-long", "fell-30-base"]
SYSTEMS = ["metric", "imperial"]


def sheet_of(demo: Library, name: str, system: str = "metric", *, whole: bool = False) -> BenchSheet:
    return bench_sheet(checked_once(name).checked, system, whole=whole)


def tables(blocks: Any) -> list[Table]:
    found = []
    for block in blocks:
        if isinstance(block, Together):
            found += tables(block.blocks)
        elif isinstance(block, Table):
            found.append(block)
    return found


@pytest.mark.parametrize("name", BUILDS + VARIANTS)
def test_every_clearance_has_the_numbers_of_its_finding(demo: Library, name: str) -> None:
    report = json.loads(report_json(checked_once(name).report))
    of_rule = {finding["rule"]: finding for finding in report["findings"]}
    document = sheet_document(sheet_of(demo, name), demo.shop.info)
    data = json.loads(json.dumps(document.data))
    jsonschema.validate(data, published()["sheet"])
    rows = [row for step in data["steps"] for row in step["clearances"]]
    assert len(rows) > 20
    assert len({row["rule"] for row in rows}) == len(rows), "each clearance once"
    for row in rows:
        finding = of_rule[row["rule"]]
        for key in ("verdict", "title", "unit", "value", "low", "high", "at_least", "at_most"):
            assert row[key] == finding[key], (row["rule"], key)


@pytest.mark.parametrize("name", ["street-turbo", "fell-30-top-end", "first-draft"])
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_printed_is_that_number_rounded(demo: Library, name: str, system: str) -> None:
    sheet = sheet_of(demo, name, system)
    printed = {
        str(row.cells[0]): [str(cell) for cell in row.cells[1:3]]
        for table in tables(sheet_document(sheet, demo.shop.info, system).blocks)
        if table.columns[1].title == "As computed, worst case"
        for row in table.rows
    }
    told = 0
    for step in sheet.steps:
        for clearance in step.clearances:
            finding = clearance.finding
            value, limits = printed[finding.title]
            assert [value, limits] == [value_text(finding, system), limits_text(finding, system)]
            if finding.value is None:
                assert value in ("not stated: measure it", "not known")
                continue
            own = unit(finding.unit)
            label = value.split(" (")[0]
            for text, number in (
                (label, finding.value),
                *zip(numbers_of(limits, label), limits_of(finding), strict=True),
            ):
                read = read_band(text)
                digits = len(text.split()[0].partition(".")[2])
                size = unit(read.unit).factor if read.unit else 1.0
                step_of = 10.0**-digits * size
                assert abs(read.nominal - own.to_si(number)) <= 0.51 * step_of + 1e-12, (finding.rule, text)
                told += 1
    assert told > 40


def numbers_of(limits: str, label: str) -> list[str]:
    words = limits.split()
    name = words[-1] if not re.fullmatch(r"-?[\d.]+(e-?\d+)?", words[-1]) else ""
    return [f"{word} {name}".strip() for word in words if re.fullmatch(r"-?[\d.]+(e-?\d+)?", word)]


def limits_of(finding: Any) -> list[float]:
    return [number for number in (finding.at_least, finding.at_most) if number is not None]


@pytest.mark.parametrize("name", BUILDS)
def test_torques_stand_in_both_systems(demo: Library, name: str) -> None:
    document = sheet_document(sheet_of(demo, name), demo.shop.info)
    both = 0
    for table in tables(document.blocks):
        if table.columns[1].title != "Torque or turn":
            continue
        for row in table.rows:
            metric = re.fullmatch(r"([\d.]+) N\*m", str(row.cells[1]))
            if metric:
                imperial = re.fullmatch(r"([\d.]+) lbf\*ft", str(row.cells[2]))
                assert imperial, row
                assert float(imperial[1]) == pytest.approx(float(metric[1]) / 1.355818, abs=0.55)
                both += 1
    assert both > 15


def test_clearances_stand_where_they_can_be_measured(demo: Library) -> None:
    """Common practice, no source: which step a clearance is read at."""
    at = {c.finding.rule: step.id for step in sheet_of(demo, "street-turbo").steps for c in step.clearances}
    assert at["piston-skirt-clearance"] == "piston"
    assert at["main-bearing-clearance"] == "crankshaft"
    assert at["big-end-clearance"] == "rod_bearing"
    assert at["crank-end-float"] == "main_fastener"
    assert at["top-ring-gap"] == "ring_set"
    assert at["rod-side-clearance"] == at["deck-clearance"] == "rod_fastener"
    assert at["cam-end-float"] == "cam_cap"
    assert "big-end-film" not in at, "what a model says no gauge reads"


def test_pieces_are_measured_as_often_as_the_engine_has_them(demo: Library) -> None:
    four = {p.what: (p.pieces, p.places) for s in sheet_of(demo, "tarn-20-base").steps for p in s.pieces}
    six = {p.what: (p.pieces, p.places) for s in sheet_of(demo, "fell-30-base").steps for p in s.pieces}
    assert four["block.bore_diameter"] == (4, ("top", "middle", "foot"))
    assert (four["crankshaft.main_journal_diameter"][0], six["crankshaft.main_journal_diameter"][0]) == (5, 4)
    assert (six["piston.skirt_diameter"][0], six["ring_set.top_gap"][0]) == (6, 6)
    assert (four["valve_guide.bore"][0], six["valve_guide.bore"][0]) == (16, 24)
    assert four["main_bearing.grade"][0] == 5


def test_lash_and_cam_timing_go_with_their_work(demo: Library) -> None:
    steps = {step.id: step for step in sheet_of(demo, "fell-30-top-end").steps}
    assert [piece.what for piece in steps["degree-cams"].pieces] == [
        "camshaft_inlet.lobe_centre", "camshaft_exhaust.lobe_centre",
    ]  # fmt: skip
    assert not steps["set-lash"].pieces, "hydraulic tappets have no lash to set"
    assert not [
        piece for piece in steps["camshaft_inlet"].pieces if piece.what.endswith(("lash", "lobe_centre"))
    ]


def test_lash_is_measured_at_the_cam_where_no_work_sets_it(demo: Library) -> None:
    steps = {step.id: step for step in sheet_of(demo, "tarn-20-base").steps}
    assert ("camshaft_inlet.lash", 8) in [(p.what, p.pieces) for p in steps["camshaft_inlet"].pieces]


def test_cautions_stand_at_their_step_and_none_is_lost(demo: Library) -> None:
    sheet = sheet_of(demo, "street-turbo")
    placed = {step.id: step.cautions for step in sheet.steps}
    assert any("Sodium" in text for text in placed["exhaust_valve"])
    assert any("springs" in text for text in placed["collet"])
    assert any("The crank is locked by its own tool" in text for text in placed["crank_seal_front"])
    told = [text for step in sheet.steps for text in step.cautions] + list(sheet.cautions)
    for finding in sheet.report.findings:
        if finding.verdict == "caution":
            # what is said of several in the same words stands there once, below all their titles
            titled = (finding.title, in_sentence(finding.title))
            heads = [text.partition(f": {finding.because}")[0] for text in told if finding.because in text]
            assert sum(any(title in head for title in titled) for head in heads) == 1, finding.rule


def test_what_nobody_has_stated_is_to_be_measured(demo: Library) -> None:
    sheet = sheet_of(demo, "first-draft")
    pieces = {piece.what: piece for step in sheet.steps for piece in step.pieces}
    assert pieces["piston.skirt_diameter"].stated is None
    skirt = next(c for s in sheet.steps for c in s.clearances if c.finding.rule == "piston-skirt-clearance")
    assert value_text(skirt.finding) == "not stated: measure it"


def test_a_bad_build_carries_its_findings_on_its_face(demo: Library) -> None:
    sheet = sheet_of(demo, "first-draft")
    document = sheet_document(sheet, demo.shop.info)
    assert document.across == "DESPITE FINDINGS"
    assert {finding.verdict for finding in sheet.against} == {"conflict", "shortfall", "missing", "unknown"}
    counts = sheet.report.summary.counts
    assert len(sheet.against) == sum(counts[v] for v in ("conflict", "shortfall", "missing", "unknown"))
    assert sheet_document(sheet_of(demo, "street-turbo"), demo.shop.info).across == ""


def test_only_what_is_consumed_or_bought_is_called_new(demo: Library) -> None:
    parts = {p.position: p.origin for s in sheet_of(demo, "street-turbo").steps for p in s.parts}
    assert (parts["block"], parts["crankshaft"], parts["camshaft_inlet"]) == ("factory",) * 3
    assert (parts["piston"], parts["main_fastener"], parts["cam_seal"], parts["sump_gasket"]) == ("new",) * 4


def test_drawings_stand_with_what_is_tightened(demo: Library) -> None:
    document = sheet_document(sheet_of(demo, "fell-30-base", whole=True), demo.shop.info)
    shown = [b.shows for block in document.blocks if isinstance(block, Together)
             for b in block.blocks if isinstance(b, Picture)]  # fmt: skip
    assert len(shown) >= 9
    assert sum(text.startswith("8 fasteners") for text in shown) >= 2, "head and mains of the V6"


# the form that is filled in


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_form_has_a_row_for_every_piece_and_place(demo: Library, system: str) -> None:
    sheet = sheet_of(demo, "street-turbo", system)
    (table,) = measured_form(sheet, demo.shop.info, system).blocks
    assert isinstance(table, Table)
    assert table.name == "Measured"
    assert tuple(column.title for column in table.columns) == COLUMNS
    rows = [tuple(row.cells) for row in table.rows if isinstance(row, Row)]
    bores = [row for row in rows if row[0] == "block.bore_diameter"]
    assert [(row[1], row[2]) for row in bores] == [
        (n, at) for n in range(1, 5) for at in ("top", "middle", "foot")
    ]
    assert {row[4] for row in bores} == {"mm" if system == "metric" else "in"}
    assert all(row[3] is None for row in rows)
    asked = {piece.what for step in sheet.steps for piece in step.pieces if piece.unit}
    assert {row[0] for row in rows} == asked
    assert len(rows) > 150


# what the shop's gauges leave open


def test_limits_are_narrowed_by_the_gauges(demo: Library) -> None:
    """By hand from the gauges in catalog/shop.yaml: ISO 14253-1 takes the uncertainty off either limit."""
    found = {c.finding.rule: c for s in sheet_of(demo, "street-turbo").steps for c in s.clearances}
    # bore gauge 0.004 and micrometer 0.003, root of squares: 0.005
    skirt = found["piston-skirt-clearance"]
    assert skirt.uncertainty == pytest.approx(0.005)
    assert skirt.proven == pytest.approx((0.045, 0.065))
    # bore gauge 0.004, ball micrometer 0.002 on two shells, micrometer 0.003
    assert found["big-end-clearance"].uncertainty == pytest.approx((0.004**2 + 0.004**2 + 0.003**2) ** 0.5)
    # read direct with one gauge
    assert found["crank-end-float"].uncertainty == pytest.approx(0.005)
    assert found["crank-end-float"].proven == pytest.approx((0.085, 0.245))
    # at most 0.005 with a micrometer that may be off by 0.003; at least 0.43 with feelers of 0.010
    assert found["crank-journal-taper"].proven == (None, pytest.approx(0.002))
    assert found["top-ring-gap"].proven == (pytest.approx(0.44), None)


def test_gauges_too_coarse_to_prove_anything_say_so(demo: Library) -> None:
    found = {c.finding.rule: c for s in sheet_of(demo, "street-turbo").steps for c in s.clearances}
    # limits 0.008 apart, uncertainty 0.005 either side
    pin = found["pin-in-piston"]
    assert pin.proven is not None
    assert proven_text(pin) == "nothing: the gauges are too coarse"


def test_every_gauge_of_the_demo_shop_is_known_by_its_uncertainty(demo: Library) -> None:
    assert demo.shop.info is not None
    read = {gauge for gauge in gauges_of(demo.shop.kinds) if not gauge.startswith("mark")}
    assert read == set(demo.shop.info.gauges)
