"""Verdicts where they turn: shared tolerances, two gaps, limits on either side, lists of words.

Each on the small shop with a rule of its own; dimensions worked by hand from the shop's files.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

HEIGHT = "measure: rod.centre_length"
"""130.00 mm ±0.03 on the factory rod."""
UNSTATED = "piston.least_clearance"
"""Not stated of the sport piston."""
SPORT = "fit: {piston: sport-piston}"


# limits


def test_dimensions_that_add_up_to_their_limit_are_within_it(tiny: Any) -> None:
    """0.1 mm and 0.2 mm shims make up 0.3 mm, whatever binary floats make of it."""
    assert tiny.finds("measure: 0.3*mm\nat_least: 0.1*mm + 0.2*mm").verdict == "ok"
    assert tiny.finds("measure: 0.1*mm + 0.2*mm\nat_most: 0.3*mm").verdict == "ok"


@pytest.mark.parametrize(("value", "limit"), [("1.2", 1.0), ("5.8", 6.0)])
def test_the_limit_told_of_a_good_value_is_the_nearer_one(value: str, limit: float, tiny: Any) -> None:
    finding = tiny.finds(f"measure: {value}*mm\nat_least: 1 mm\nat_most: 6 mm")
    assert (finding.verdict, finding.limit) == ("ok", pytest.approx(limit))


def test_of_two_limits_within_tolerance_the_worse_one_is_told(tiny: Any) -> None:
    """A rod of 130.00 mm ±0.03 may be under 129.98 and over 130.02: the first is what it is measured for."""
    finding = tiny.finds(f"{HEIGHT}\nat_least: 129.98 mm\nat_most: 130.02 mm")
    assert finding.verdict == "measure"
    assert finding.limit == pytest.approx(129.98)
    assert "less than" in finding.because


@pytest.mark.parametrize(
    "known",
    [
        f"{HEIGHT}\nat_least: 129 mm",  # ok
        f"{HEIGHT}\nat_least: 129.98 mm",  # to be measured
        f"{HEIGHT}\nat_least: 131 mm\nbelow: caution",  # worth a word
    ],
)
def test_a_limit_nobody_stated_is_not_passed_over_for_the_other_one(known: str, tiny: Any) -> None:
    finding = tiny.finds(f"{known}\nat_most: 10000*{UNSTATED}", SPORT)
    assert finding.verdict == "unknown"
    assert finding.unstated == (UNSTATED,)


def test_likely_spread_is_root_sum_square_of_all_tolerances(tiny: Any) -> None:
    """Bore +0.02/-0 and skirt ±0.005: half widths of 0.010 and 0.005 mm; JCGM 100:2008, 5.1.2, from memory."""
    finding = tiny.finds("measure: block.bore - piston.skirt_diameter\nat_least: 0 mm")
    assert finding.likely == pytest.approx(math.hypot(0.010, 0.005), rel=1e-6)
    assert finding.high - finding.low == pytest.approx(2 * 0.015, rel=1e-6)


def test_the_scatter_of_a_model_adds_to_the_tolerance_of_the_parts(tiny: Any) -> None:
    """Rod pull is an estimate ±10 %, on a mass ±1 % and a stroke of 75.40 mm ±0.05."""
    finding = tiny.finds("measure: rod_pull\nat_most: 1000 kN")
    assert (finding.high - finding.low) / 2 / finding.value == pytest.approx(0.1 + 0.01 + 0.05 / 75.4, rel=1e-6)


# load and capacity


def test_a_load_and_a_capacity_that_nobody_stated_are_both_named(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", ", gears: 7", "")
    finding = tiny.finds(f"load: {UNSTATED}/(1*mm)\ncapacity: fuel_pump.gears\nheadroom: 0.1", SPORT)
    assert finding.verdict == "unknown"
    assert finding.unstated == (
        "fuel_pump.gears",
        UNSTATED,
    )
    assert len(finding.remedies) == 2


def test_headroom_that_is_just_what_is_asked_is_enough(tiny: Any) -> None:
    """1.15 / 1 - 1 is a hair under 0.15 in binary floats."""
    finding = tiny.finds("load: 1*kN\ncapacity: 1.15*kN\nheadroom: 0.15")
    assert finding.headroom < 0.15
    assert finding.verdict == "ok"


def test_a_load_that_may_be_higher_leaves_less_headroom(tiny: Any) -> None:
    finding = tiny.finds("load: rod.centre_length*kN/mm\ncapacity: 130.02*kN\nheadroom: 0")
    assert finding.headroom == pytest.approx(130.02 / 130 - 1)
    assert finding.low == pytest.approx(130.02 / 130.03 - 1)
    assert finding.verdict == "caution"


def test_a_load_below_zero_is_no_load_to_bear(tiny: Any) -> None:
    finding = tiny.finds("load: 1*kN - 2*kN\ncapacity: 1*kN\nheadroom: 0.5")
    assert (finding.verdict, finding.headroom) == ("ok", None)


def test_a_tolerance_that_load_and_capacity_share_is_not_what_most_hangs_on(tiny: Any) -> None:
    """A longer rod raises both alike; only the gasket tells."""
    finding = tiny.finds(
        "load: rod.centre_length + 0.001*head_gasket.thickness\ncapacity: 2*rod.centre_length\nheadroom: 0.5"
    )
    assert finding.contributor == "head_gasket.thickness"


def test_without_a_load_the_capacity_still_says_what_it_hangs_on(tiny: Any) -> None:
    finding = tiny.finds("load: 0*mm\ncapacity: rod.centre_length\nheadroom: 0.5")
    assert finding.contributor == "rod.centre_length"


# match


@pytest.mark.parametrize(
    ("pair", "expected"),
    [
        # both may be off: what counts is the sum of both tolerances, ±0.03 and ±0.05
        ("[rod.centre_length, block.deck_height - 69.94*mm]", "ok"),
        ("[rod.centre_length, block.deck_height - 69.90*mm]", "conflict"),
        # a list and a word, either way round
        ("[rod.small_ends, '\"plain\"']", "ok"),
        ("['\"bushed\"', rod.small_ends]", "ok"),
        ("[rod.small_ends, '\"ball\"']", "conflict"),
        ("['\"ball\"', rod.small_ends]", "conflict"),
        # two lists need one word in common, no more
        ('[rod.small_ends, \'["ball", "plain"]\']', "ok"),
        ("['[\"plain\"]', rod.small_ends]", "ok"),
        ("[rod.small_ends, '[\"plain\"]']", "ok"),
        ('[rod.small_ends, \'["ball", "needle"]\']', "conflict"),
    ],
)
def test_what_matches(pair: str, expected: str, tiny: Any) -> None:
    assert tiny.finds(f"match: {pair}").verdict == expected


def test_within_nothing_means_nothing_whatever_the_tolerances(tiny: Any) -> None:
    assert tiny.finds("match: [rod.centre_length, 130.01*mm]").verdict == "ok"
    assert tiny.finds("match: [rod.centre_length, 130.01*mm]\nwithin: 0 mm").verdict == "conflict"
    # but decimals that binary floats hold a hair off are the same
    assert tiny.finds("match: [0.3*mm, 0.1*mm + 0.2*mm]\nwithin: 0 mm").verdict == "ok"


def test_every_pair_that_nobody_stated_is_named(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", "deck_height: 200.00 mm ±0.05, ", "")
    finding = tiny.finds(f"match: [[{UNSTATED}, block.bore], [block.bore, block.deck_height]]", SPORT)
    assert finding.verdict == "unknown"
    assert finding.unstated == (
        "block.deck_height",
        UNSTATED,
    )


# the summary


@pytest.mark.parametrize(
    ("at_most", "expected"),
    [("1 mm", {"conflict": 1}), ("9 mm", {"ok": 1}), ("1 mm\nabove: caution", {"caution": 1})],
)
def test_a_verdict_nobody_gave_is_counted_nought_times(
    at_most: str, expected: dict[str, int], tiny: Any
) -> None:
    """A build with nothing in order must not read as if one thing were."""
    tiny.write("rules/rules.yaml", "")
    tiny.rule(f"measure: 2*mm\nat_most: {at_most}")
    summary = tiny.report().summary
    assert {verdict: count for verdict, count in summary.counts.items() if count} == expected
    assert summary.verdict == next(iter(expected))
    tiny.rule("where: fitted(knock_sensor)\nnote: Nothing here.")
    assert not any(tiny.report().summary.counts.values())
