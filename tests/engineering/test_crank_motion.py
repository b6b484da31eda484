"""Properties of piston motion and of the forces that come from it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.cylinder.crank_motion import (
    mean_piston_speed,
    peak_piston_speed,
    piston_acceleration,
    piston_position,
    piston_velocity,
    rod_angle,
)
from compat.engineering.running_gear.inertia import (
    gas_load,
    reciprocating_force,
    reciprocating_load,
    rod_bolt_load,
)

STROKES = st.floats(0.04, 0.16)
RATIOS = st.floats(0.8, 3.0)
ANGLES = st.floats(-4 * math.pi, 4 * math.pi)
SPEEDS = st.floats(10, 1500)


@given(stroke=STROKES, ratio=RATIOS, angle=ANGLES)
def test_position_stays_in_the_stroke_and_repeats(stroke: float, ratio: float, angle: float) -> None:
    rod = stroke * ratio
    here = piston_position(stroke, rod, angle)
    assert -1e-12 <= here <= stroke + 1e-12
    assert piston_position(stroke, rod, -angle) == pytest.approx(here, abs=1e-12)
    assert piston_position(stroke, rod, angle + 2 * math.pi) == pytest.approx(here, abs=1e-12)
    assert piston_position(stroke, rod, 0.0) == pytest.approx(0.0, abs=1e-15)
    assert piston_position(stroke, rod, math.pi) == pytest.approx(stroke)


@given(stroke=STROKES, ratio=RATIOS, angle=st.floats(0.05, 3.0), speed=SPEEDS)
def test_a_rod_leaves_the_piston_past_half_way_at_a_quarter_turn(
    stroke: float, ratio: float, angle: float, speed: float
) -> None:
    rod = stroke * ratio
    assert piston_position(stroke, rod, math.pi / 2) > stroke / 2
    assert piston_velocity(stroke, rod, angle, speed) > 0
    assert rod_angle(stroke, rod, angle) > 0
    assert rod_angle(stroke, rod, math.pi / 2) == pytest.approx(math.asin(stroke / 2 / rod))


@given(stroke=STROKES, ratio=RATIOS, speed=SPEEDS)
def test_speeds_are_in_order(stroke: float, ratio: float, speed: float) -> None:
    peak = peak_piston_speed(stroke, stroke * ratio, speed)
    # A pure sine peaks at pi/2 of its mean; the rod adds to it.
    assert peak >= math.pi / 2 * mean_piston_speed(stroke, speed) * (1 - 1e-12)
    assert peak >= piston_velocity(stroke, stroke * ratio, 1.2, speed) - 1e-9
    assert peak_piston_speed(stroke, stroke * ratio * 1.1, speed) < peak


@given(stroke=STROKES, ratio=st.floats(1.3, 3.0), angle=ANGLES, speed=SPEEDS, mass=st.floats(0.1, 2))
def test_force_is_greatest_at_top_dead_centre(
    stroke: float, ratio: float, angle: float, speed: float, mass: float
) -> None:
    rod = stroke * ratio
    top = reciprocating_load(mass, stroke, rod, speed)
    for series in ("exact", "two_term"):
        assert reciprocating_force(mass, stroke, rod, speed, angle, series) <= top * (1 + 1e-12)
        assert reciprocating_force(mass, stroke, rod, speed, 0.0, series) == pytest.approx(top)
    assert reciprocating_load(mass, stroke, rod, 2 * speed) == pytest.approx(4 * top)
    assert reciprocating_load(mass, stroke, rod * 1.1, speed) < top


@given(stroke=STROKES, ratio=st.floats(1.3, 3.0), speed=SPEEDS)
def test_force_averages_to_nothing_over_a_turn(stroke: float, ratio: float, speed: float) -> None:
    steps = 720
    turn = (2 * math.pi * step / steps for step in range(steps))
    accelerations = [piston_acceleration(stroke, stroke * ratio, angle, speed) for angle in turn]
    assert abs(sum(accelerations)) / steps < 1e-9 * max(accelerations)


@given(pull=st.floats(1e3, 4e4), rotating=st.floats(0.2, 0.6), share=st.floats(0.0, 1.0), speed=SPEEDS)
def test_rod_bolts_share_the_pull(pull: float, rotating: float, share: float, speed: float) -> None:
    two = rod_bolt_load(pull, rotating, share * rotating, 0.087, speed)
    assert two >= pull / 2 * (1 - 1e-12)
    assert rod_bolt_load(pull, rotating, share * rotating, 0.087, speed, bolts=4) == pytest.approx(two / 2)
    # All the rotating mass in the cap: nothing but the pistons hangs on the joint.
    assert rod_bolt_load(pull, rotating, rotating, 0.087, speed) == pytest.approx(pull / 2)


@given(pressure=st.floats(1e5, 3e7), bore=st.floats(0.05, 0.15))
def test_gas_load_grows_with_pressure_and_area(pressure: float, bore: float) -> None:
    here = gas_load(pressure, bore)
    assert gas_load(2 * pressure, bore) == pytest.approx(2 * here)
    assert gas_load(pressure, 2 * bore) == pytest.approx(4 * here)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: piston_position(0.09, 0.045, 1.0), "centre_length must be more than half the stroke"),
        (lambda: piston_velocity(0.09, 0.15, math.inf, 500.0), "crank_angle must be a finite number"),
        (lambda: mean_piston_speed(0.09, -1.0), "speed must be above zero"),
        (lambda: rod_bolt_load(1e4, 0.1, 0.2, 0.087, 600.0), "cap_mass .* must not exceed rotating_mass"),
        (lambda: reciprocating_force(0.6, 0.087, 0.148, 600.0, 1.0, "three_term"), "series must be"),
    ],
)
def test_nonsense_is_refused_in_words(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRange, match=words):
        call()
