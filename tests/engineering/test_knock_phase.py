"""How far a charge is from knock, in degrees of phasing, against the search for it."""

from __future__ import annotations

import math

import pytest

from compat.engineering import find
from compat.engineering.cycle.knock_phase import knock_margin
from tests.engineering.test_operating_point import ASPIRATED, DEGREE, KNOCKING, TURBO

operating_point = find("operating_point").function
knock_limited_ca50 = find("knock_limited_ca50").function


def test_where_knock_holds_the_ignition_back_the_edge_is_where_it_burns() -> None:
    point = operating_point(**KNOCKING)
    assert point.knock_phase == pytest.approx(point.knock_retard, abs=0.001 * DEGREE)
    assert point.cost_curve * point.knock_retard**2 == pytest.approx(point.boost_cost, rel=1e-3)


@pytest.mark.parametrize("goal", [ASPIRATED | {"compression_ratio": 12.0}, TURBO], ids=["aspirated", "turbo"])
def test_room_that_is_left_is_used_up_by_so_much_octane(goal: dict[str, float]) -> None:
    """With as many points less as the slopes say, the charge knocks at the best timing and hardly before."""
    point = operating_point(**goal)
    assert point.knock_phase < -4 * DEGREE
    index = goal["octane"] - 5.0
    spare = -point.knock_phase / point.phase_per_log  # in the log of the integral
    octane = index * math.exp(-spare / 3.402) + 5.0
    at_the_edge = operating_point(**(goal | {"octane": octane}))
    assert at_the_edge.knock_phase == pytest.approx(0.0, abs=0.5 * DEGREE)


@pytest.mark.parametrize("goal", [ASPIRATED, TURBO, KNOCKING], ids=["aspirated", "turbo", "knocking"])
@pytest.mark.parametrize(
    ("argument", "slope", "step", "near"),
    [
        # at a held charge: that a higher ratio needs less of it, and hot air costs work, is left out
        ("compression_ratio", "phase_per_ratio", 0.1, 0.4),
        ("charge_temperature", "phase_per_kelvin", 3.0, 0.35),
        ("octane", "phase_per_octane", 0.5, 0.06),
    ],
)
def test_slopes_are_those_of_the_whole_search(
    goal: dict[str, float], argument: str, slope: str, step: float, near: float
) -> None:
    low, high = (operating_point(**(goal | {argument: goal[argument] + s * step})) for s in (-1, 1))
    searched = (high.knock_phase - low.knock_phase) / (2 * step)
    assert getattr(operating_point(**goal), slope) == pytest.approx(searched, rel=near)


def test_doubt_of_a_third_is_some_degrees() -> None:
    """Douaud and Eyzat on Livengood and Wu miss knock limits by degrees (common practice, no source)."""
    for goal in (ASPIRATED, TURBO, KNOCKING):
        assert 4.0 < 0.3 * operating_point(**goal).phase_per_log / DEGREE < 9.0


@pytest.mark.parametrize("goal", [ASPIRATED, TURBO], ids=["aspirated", "turbo"])
def test_margin_in_degrees_is_the_margin_of_the_integral(goal: dict[str, float]) -> None:
    point = operating_point(**goal)
    assert knock_margin(point.knock_phase, point.phase_per_log) == pytest.approx(point.knock_margin, rel=1e-9)
