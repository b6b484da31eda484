"""What a spec is once the bench is done: amounts nobody stated, tolerances that add up, figures that follow.

Read from the finding of a rule that measures the spec, on the small shop: a deck of 200.00 mm ±0.05, a bore
of 74.000 mm +0.02/-0.
"""

from __future__ import annotations

from typing import Any

import pytest

DECK = "measure: block.deck_height\nat_least: 1 mm"
BORE = "measure: block.bore\nat_least: 1 mm"
CHANGE = "{spec: block.deck_height, by: -depth, tolerance: ±0.02 mm}"
TO_SIZE = "{spec: block.bore, to: size, tolerance: +0.01/-0 mm}"


def ends(finding: Any) -> tuple[float, float]:
    return round(finding.low, 6), round(finding.high, 6)


def test_work_by_an_amount_nobody_stated_leaves_the_spec_unknown(tiny: Any) -> None:
    """The deck is lower than the card says and nobody knows by how much: the card no longer counts."""
    tiny.edit("catalog/work.yaml", CHANGE, "{spec: block.deck_height, by: -0.1*mm*fuel_pump.gears}")
    tiny.edit("catalog/parts/factory.yaml", ", gears: 7", "")
    finding = tiny.finds(DECK, "work: [{work: deck-block, depth: 0.2 mm}]")
    assert finding.verdict == "unknown"
    assert finding.unstated == ("block.deck_height",)
    assert tiny.finds(DECK).verdict == "ok"


def test_work_by_a_dimension_of_a_part_left_out_leaves_the_spec_unknown(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", CHANGE, "{spec: block.deck_height, by: -0.1*mm*fuel_pump.gears}")
    says = "work: [{work: deck-block, depth: 0.2 mm}]"
    assert tiny.finds(DECK, says).value == pytest.approx(199.3)
    assert tiny.finds(DECK, f"{says}\nleave_out: [fuel_pump]").verdict == "unknown"


def test_a_depth_with_a_tolerance_to_one_side_is_taken_at_its_middle(tiny: Any) -> None:
    """0.20 mm +0.02/-0 takes off between 0.20 and 0.22."""
    tiny.edit("catalog/work.yaml", CHANGE, "{spec: block.deck_height, by: -depth}")
    finding = tiny.finds(DECK, "work: [{work: deck-block, depth: 0.20 mm +0.02/-0}]")
    assert ends(finding) == (199.73, 199.85)


def test_a_fixed_cut_widens_by_its_own_tolerance(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", CHANGE, "{spec: block.deck_height, by: -0.20 mm ±0.01}")
    assert ends(tiny.finds(DECK, "work: [{work: deck-block, depth: 1 mm}]")) == (199.74, 199.86)


def test_a_fixed_size_keeps_the_side_its_tolerance_lies_on(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", TO_SIZE, "{spec: block.bore, to: 74.50 mm +0.02/-0}")
    assert ends(tiny.finds(BORE, "work: [bore-block]")) == (74.5, 74.52)


def test_a_size_asked_for_with_a_tolerance_keeps_it(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", TO_SIZE, "{spec: block.bore, to: size}")
    assert ends(tiny.finds(BORE, "work: [{work: bore-block, size: 75.00 mm ±0.01}]")) == (74.99, 75.01)


def test_taking_off_an_exact_amount_keeps_the_tolerance_on_its_side(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", TO_SIZE, "{spec: block.bore, by: 0.5 mm}")
    assert ends(tiny.finds(BORE, "work: [bore-block]")) == (74.5, 74.52)


def test_a_figure_that_the_work_itself_reads_is_worked_out_anew_after_it(tiny: Any) -> None:
    """Decked by its own deck clearance, a block has none left."""
    tiny.edit("catalog/work.yaml", CHANGE, "{spec: block.deck_height, by: -deck_clearance}")
    clearance = "measure: deck_clearance\nat_least: -1 mm"
    assert tiny.finds(clearance).value == pytest.approx(0.3)
    assert tiny.finds(clearance, "work: [{work: deck-block, depth: 0.2 mm}]").value == pytest.approx(
        0, abs=1e-9
    )


def test_a_formula_does_without_what_is_not_fitted_and_not_without_what_is_not_stated(tiny: Any) -> None:
    """The gasket's thickness is a spare argument of the ratio: none fitted is none, a silent card asks."""
    for name, gasket in (("with_gasket", "gasket_thickness: head_gasket.thickness, "), ("without", "")):
        tiny.write(
            f"rules/{name}.yaml",
            f"- figure: {name}\n  name: Ratio\n  unit: number\n  formula: compression_ratio\n"
            f"  takes: {{{gasket}bore: block.bore, stroke: crankshaft.stroke, chamber_volume: 40*cm**3}}\n",
        )

    def ratio(figure: str, more: str = "") -> Any:
        return tiny.finds(f"measure: {figure}\nat_least: 1", more)

    assert ratio("with_gasket").value < ratio("without").value
    empty = ratio("with_gasket", "leave_out: [head_gasket]")
    assert empty.verdict == "ok"
    assert empty.value == pytest.approx(ratio("without").value, rel=1e-12)
    tiny.edit("catalog/parts/factory.yaml", "thickness: 1.20 mm ±0.05, ", "")
    found = ratio("with_gasket")
    assert (found.verdict, found.unstated) == ("unknown", ("head_gasket.thickness",))
