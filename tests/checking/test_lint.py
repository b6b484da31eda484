"""What lint remarks: a small shop with one oversight planted at a time, and nothing else said of it."""

from __future__ import annotations

from typing import Protocol

import pytest

from compat.checking.lint import lint
from compat.library.library import Library


class Shop(Protocol):
    """The small shop of the tests, in a folder of its own."""

    def load(self) -> Library: ...
    def write(self, file: str, text: str) -> None: ...
    def edit(self, file: str, old: str, new: str) -> None: ...


def remarks(shop: Shop) -> list[str]:
    return [str(remark) for remark in lint(shop.load())]


def planted(shop: Shop, before: list[str]) -> list[str]:
    """Remarks that were not there before, without their place."""
    return [text.partition(": ")[2] for text in remarks(shop) if text not in before]


EXTRA = "catalog/planted.yaml"
PLANTS = [
    (
        "- position: heater\n  name: Heater\n  system: cooling\n  specs: {core_width: mm}\n"
        "- part: spare-heater\n  name: Spare heater\n  fills: heater\n"
        "  sold_by: [{supplier: quayside, price: 10 GBP}]\n",
        {"position 'heater' is looked at by no rule", "spec 'heater.core_width' is used by no rule or figure"},
    ),
    (
        "- position: heater\n  name: Heater\n  system: cooling\n",
        {"position 'heater' is looked at by no rule", "no part fills position 'heater'"},
    ),
    (
        "- part: orphan\n  name: Orphan\n  fills: oil\n",
        {"part 'orphan' is sold by nobody and in no variant"},
    ),
    (
        "- family: unborn\n  name: Unborn\n  numbers: {cylinders: 2, banks: 1, main_journals: 3,"
        " cams: 1, inlet_valves: 2, exhaust_valves: 2, valves: 4}\n"
        "- part: too-early\n  name: Too early\n  fills: oil\n  families: [unborn]\n"
        "  sold_by: [{supplier: quayside, price: 10 GBP}]\n",
        {"part 'too-early' fits nowhere: no variant of unborn"},
    ),
    (
        "- feature: heater_pipe\n  name: Heater pipe\n",
        {"feature 'heater_pipe' is offered by nobody", "feature 'heater_pipe' is needed by nobody"},
    ),
    (
        "- feature: heater_pipe\n  name: Heater pipe\n- part: piped\n  name: Piped\n  fills: oil\n"
        "  offers: [heater_pipe]\n  sold_by: [{supplier: quayside, price: 10 GBP}]\n",
        {"feature 'heater_pipe' is needed by nobody"},
    ),
    (
        "- joint: heater_joint\n  name: Heater joint\n  behind: [oil]\n",
        {"joint 'heater_joint' has no renew rule, so opening it asks for nothing"},
    ),
    (
        "- family: nab\n  name: Nab\n  numbers: {cylinders: 4, banks: 1, main_journals: 5, cams: 1,"
        " inlet_valves: 4, exhaust_valves: 4, valves: 8}\n"
        "- variant: nab-10\n  name: Nab 1.0\n  family: nab\n  rated: {power: 40 kW, at: 5600 rpm}\n"
        "  setup: {injection: bank, knock_control: no}\n  parts: {block: hob-block}\n"
        "- part: kit\n  name: Kit\n  fills: oil\n  families: [hob, nab]\n  includes: [sport-rod]\n"
        "  sold_by: [{supplier: quayside, price: 10 GBP}]\n",
        {
            "'hob-block' is not made for the family of nab-10, which left the factory with it",
            "'sport-rod' comes with 'kit' and is not made for nab",
        },
    ),
    (
        "- part: foreign\n  name: Foreign\n  fills: oil\n  sold_by: [{supplier: quayside, price: 10 EUR}]\n",
        {"quayside sells in GBP, the price is in EUR"},
    ),
    (
        "- supplier: fjord\n  name: Fjord\n  currency: SEK\n",
        {"'fjord' sells in SEK, and the shop's `rates` do not say what one is in GBP"},
    ),
    (
        "- work: hone\n  name: Hone\n  on: block\n  hours: 2\n  done_by: quayside\n",
        {"'quayside' does it; neither it states a `rate` nor the work a `price`: no quote has it"},
    ),
]


@pytest.mark.parametrize(("text", "expected"), PLANTS)
def test_one_oversight_one_remark(tiny: Shop, text: str, expected: set[str]) -> None:
    before = remarks(tiny)
    tiny.write(EXTRA, text)
    assert set(planted(tiny, before)) == expected


TWO_MORE = """
- part: pipe-{n}
  name: Pipe sensor {n}
  fills: pressure_sensor
  needs: [analogue_input]
  sold_by: [{{supplier: quayside, price: 10 GBP}}]
"""
DEAF = """
- part: deaf
  name: Deaf
  fills: pressure_sensor
  {says}
  sold_by: [{{supplier: quayside, price: 10 GBP}}]
"""


@pytest.mark.parametrize(
    ("others", "says", "remarked"),
    [
        (2, "note: Says nothing.", True),
        (2, "leaves_out: [analogue_input]", False),
        (2, "needs: [{any_of: [analogue_input, cam_signal]}]", False),
    ],
)
def test_a_card_that_leaves_out_what_its_like_state(tiny: Shop, others: int, says: str, remarked: bool) -> None:
    before = remarks(tiny)
    tiny.write(EXTRA, "".join(TWO_MORE.format(n=n) for n in range(others)) + DEAF.format(says=says))
    found = [text for text in planted(tiny, before) if "analogue_input" in text]
    assert len(found) == remarked
    if remarked:
        assert found[0].startswith(
            "part 'deaf' needs no analogue_input; all others like it in pressure_sensor do: "
        )


def test_a_feature_that_only_a_condition_asks_for_is_needed(tiny: Shop) -> None:
    before = remarks(tiny)
    tiny.write(
        EXTRA,
        "- feature: heater_pipe\n  name: Heater pipe\n- part: piped\n  name: Piped\n  fills: oil\n"
        "  offers: [heater_pipe, {feature: cam_signal, when: 'offered(\"heater_pipe\") > 0'}]\n"
        "  sold_by: [{supplier: quayside, price: 10 GBP}]\n",
    )
    assert planted(tiny, before) == []


def test_a_stated_figure_that_the_parts_contradict(tiny: Shop) -> None:
    """Cards round to three digits: half a per cent is no contradiction, one is."""
    before = remarks(tiny)
    tiny.edit("catalog/engine.yaml", "swept_volume: 1297 cm^3", "swept_volume: 1302 cm^3")
    assert planted(tiny, before) == []
    tiny.edit("catalog/engine.yaml", "swept_volume: 1302 cm^3", "swept_volume: 1311 cm^3")
    (said,) = planted(tiny, before)
    assert "1311 cm^3" in said
    assert "1297" in said
    assert "contradict" in said


def test_a_stated_figure_that_cannot_be_computed(tiny: Shop) -> None:
    before = remarks(tiny)
    tiny.edit("catalog/parts/factory.yaml", "specs: {stroke: 75.40 mm ±0.05, ", "specs: {")
    (said,) = [text for text in planted(tiny, before) if "swept_volume" in text]
    assert "crankshaft.stroke" in said or "stroke" in said


def test_a_spec_for_the_bench_sheet_alone_is_no_oversight(tiny: Shop) -> None:
    before = remarks(tiny)
    tiny.write(
        EXTRA,
        "- position: hose\n  name: Hose\n  system: cooling\n  required: false\n"
        "  specs: {clamp_torque: {unit: N*m, sheet: yes}}\n"
        "- part: hose\n  name: Hose\n  fills: hose\n  needs: [analogue_input]\n"
        "  sold_by: [{supplier: quayside, price: 1 GBP}]\n",
    )
    assert planted(tiny, before) == []


def test_remarks_say_where_and_come_in_order(tiny: Shop) -> None:
    tiny.write(EXTRA, "- feature: b\n  name: B\n- feature: a\n  name: A\n")
    found = [remark for remark in lint(tiny.load()) if "planted" in str(remark)]
    assert [(remark.spot.line, remark.spot.column) for remark in found] == sorted(
        (remark.spot.line, remark.spot.column) for remark in found
    )
    assert all(str(remark).startswith(f"{EXTRA}:") for remark in found)
    assert len(found) == 4


RULE = """
- rule: planted
  title: Planted
  where: {where}
  note: Look.
  why: Because.
  source: common practice
"""


@pytest.mark.parametrize(
    ("where", "hidden"),
    [
        ("stated(piston.least_clearance)", ["piston.least_clearance"]),
        ("piston.skirt_diameter > 1*mm and stated(rod.mass)", ["rod.mass"]),
        ("not (not stated(quench_gap) or goal.boost > 1*kPa)", ["quench_gap"]),
        ("not stated(piston.least_clearance)", []),  # it says that it is not stated: nothing is hidden
        ("stated(goal.torque)", []),  # nobody need ask for a torque
        ("measured(piston.skirt_diameter) or piston.skirt_diameter > 1*mm", []),
        ("computed(quench_gap)", []),
    ],
)
def test_a_rule_that_falls_silent_where_something_is_not_stated(
    where: str, hidden: list[str], tiny: Shop
) -> None:
    before = remarks(tiny)
    tiny.write("rules/planted.yaml", RULE.format(where=where))
    said = planted(tiny, before)
    assert [text.split("'")[3] for text in said] == hidden
    assert all(text.startswith("rule 'planted' is silent where") for text in said)


def test_a_stated_spec_that_a_formula_is_not_given(tiny: Shop) -> None:
    """Young's modulus of the rod may be left out of Euler's column, which then takes that of steel."""
    tiny.edit("catalog/vocabulary.yaml", "tensile_limit: kN", "tensile_limit: kN\n    elastic_modulus: GPa")
    figure = (
        "- figure: buckling\n  unit: kN\n  formula: rod_buckling_load.least\n  table: yes\n"
        "  takes: {centre_length: rod.centre_length, least_section_area: 180*mm**2, in_plane_gyration: 7*mm, "
        "side_gyration: 4*mm, yield_strength: 800*MPa{more}}\n"
        "- figure: stiff\n  unit: kN/mm\n  is: rod.elastic_modulus*180*mm**2/rod.centre_length\n  table: yes\n"
    )
    tiny.write("rules/planted.yaml", figure.replace("{more}", ", elastic_modulus: rod.elastic_modulus"))
    before = remarks(tiny)
    tiny.write("rules/planted.yaml", figure.replace("{more}", ""))
    (said,) = planted(tiny, before)
    assert said.startswith("figure 'buckling' leaves 'elastic_modulus' to the formula's own default")
