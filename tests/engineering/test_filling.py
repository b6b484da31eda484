"""Filling moves with the hardware as breathing does: each direction with its reason, no figure beyond reason.

The directions are those of Taylor, vol. 1, ch. 6 and Heywood, ch. 6, unless another source stands beside them.
"""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from compat.engineering.air.breather import Breather
from compat.engineering.air.filling import Filling, volumetric_efficiency
from compat.engineering.formula import OutOfRange

RPM, DEGREE = math.pi / 30, math.pi / 180
ENGINE = Breather(
    bore=0.0855,
    stroke=0.087,
    rod_length=0.148,
    compression_ratio=10.0,
    speed=5800 * RPM,
    inlet_valves=2,
    inlet_valve_diameter=0.0325,
    inlet_lift=8.6e-3,
    inlet_duration=208 * DEGREE,
    inlet_closes=32 * DEGREE,
    inlet_port_area=820e-6,
    runner_area=820e-6,
    runner_length=0.33,
    port_length=0.095,
    exhaust_valves=2,
    exhaust_valve_diameter=0.028,
    exhaust_lift=8.4e-3,
    exhaust_duration=206 * DEGREE,
    exhaust_opens=33 * DEGREE,
    exhaust_port_area=660e-6,
    manifold_pressure=100e3,
    exhaust_pressure=111e3,
    charge_temperature=298.0,
    stoichiometric_ratio=14.4,
    relative_air_fuel_ratio=0.88,
    heat_of_vaporisation=380e3,
    primary_length=0.14,
)


def at(speed: float, **other: float) -> Filling:
    return volumetric_efficiency(dataclasses.replace(ENGINE, speed=speed * RPM, **other))


def filled(speed: float, **other: float) -> float:
    return at(speed, **other).volumetric_efficiency


UP, ALL = (5800, 7400), (2000, 4200, 5800, 7400)
DIRECTIONS = [
    # argument, its steps, speeds, why filling rises from step to step
    ("inlet_valve_diameter", (0.028, 0.030, 0.0325, 0.035), UP, "the same charge goes in more slowly"),
    ("inlet_lift", (7e-3, 8.6e-3, 10e-3, 12e-3), UP, "more curtain area"),
    ("inlet_duration", tuple(x * DEGREE for x in (195, 208, 225, 250)), UP, "more time for the same charge"),
    ("inlet_port_area", (500e-6, 650e-6, 820e-6, 1000e-6), UP, "the port stands behind the valves"),
    ("exhaust_pressure", (200e3, 150e3, 111e3, 100e3), ALL, "burned gas that leaves makes room"),
    ("exhaust_valve_diameter", (0.020, 0.024, 0.028, 0.032), UP, "less pressure in the exhaust stroke"),
    ("exhaust_port_area", (300e-6, 450e-6, 660e-6, 900e-6), UP, "less pressure in the exhaust stroke"),
    ("compression_ratio", (8.0, 10.0, 12.0), UP, "less room for what the exhaust holds back; Heywood, eq. 6.2"),
    ("evaporated_share", (0.0, 0.3, 0.6, 1.0), ALL, "cooled charge is denser; its vapour takes less than that"),
]


@pytest.mark.parametrize(
    ("argument", "steps", "speeds", "reason"), DIRECTIONS, ids=[row[0] for row in DIRECTIONS]
)
def test_direction(argument: str, steps: tuple[float, ...], speeds: tuple[int, ...], reason: str) -> None:
    for speed in speeds:
        values = [filled(speed, **{argument: step}) for step in steps]
        assert values == sorted(values), (argument, speed, values, reason)
        assert values[-1] - values[0] > 1e-4, (argument, speed, values)


def test_large_valves_lose_a_little_where_they_are_not_needed() -> None:
    """Slow charge has no momentum against the rising piston; common practice."""
    small, large = (filled(2500, inlet_valve_diameter=d) for d in (0.028, 0.036))
    assert small - 0.01 < large < small


def test_a_late_closing_gains_at_high_speed_what_it_loses_at_low() -> None:
    """At low speed the piston pushes charge back out, at high speed it still flows in; Taylor, fig. 6-16."""
    early, late = 20 * DEGREE, 60 * DEGREE
    assert filled(1500, inlet_closes=late) < filled(1500, inlet_closes=early) - 0.05
    assert filled(7400, inlet_closes=late) > filled(7400, inlet_closes=early) + 0.03


def test_a_phaser_closes_where_the_flow_turns_and_never_loses() -> None:
    """It goes early for low speed and late for high, and does no worse than a fixed cam."""
    parked = 55 * DEGREE
    phased = [at(speed, inlet_closes=parked, phaser_advance=50 * DEGREE) for speed in (1500, 3000, 5000, 7000)]
    angles = [each.closes_at for each in phased]
    assert angles == sorted(angles)
    assert angles[0] < angles[-1] - 20 * DEGREE
    for speed, each in zip((1500, 3000, 5000, 7000), phased, strict=True):
        assert each.volumetric_efficiency >= filled(speed, inlet_closes=parked) - 1e-12


def test_warm_air_does_not_move_a_phaser() -> None:
    """What the strength of parts rests on must not turn about with the weather."""
    angles = [
        at(4000, inlet_closes=55 * DEGREE, phaser_advance=50 * DEGREE, charge_temperature=t).closes_at
        for t in (260.0, 298.0, 340.0)
    ]
    assert max(angles) - min(angles) < 1e-9


def test_a_longer_runner_brings_its_gain_at_a_lower_speed() -> None:
    """The column is heavier; Heywood, section 6.3, and Engelman."""
    assert at(4000, runner_length=0.45).tuned_speed < at(4000, runner_length=0.25).tuned_speed
    assert filled(3200, runner_length=0.45) > filled(3200, runner_length=0.20)
    assert filled(6500, runner_length=0.45) < filled(6500, runner_length=0.20)


def test_a_narrow_runner_helps_below_and_hurts_above() -> None:
    """Fast gas has more head to give, until the runner itself is what restricts."""
    assert filled(3000, runner_area=600e-6) > filled(3000, runner_area=1000e-6)
    assert filled(7400, runner_area=600e-6) < filled(7400, runner_area=1000e-6)


def test_primaries_draw_where_they_are_tuned_and_nowhere_else() -> None:
    """3 per cent at most; common practice."""
    tuned = [filled(speed, primary_length=0.70) / filled(speed, primary_length=0.0) for speed in (2000, 5800)]
    assert tuned[0] == pytest.approx(1.0, abs=0.003)
    assert 1.02 < tuned[1] < 1.031


def test_filling_has_one_peak_over_speed() -> None:
    speeds = range(1000, 9001, 200)
    curve = [filled(speed) for speed in speeds]
    top = curve.index(max(curve))
    assert 3500 < speeds[top] < 5000
    assert curve[top:] == sorted(curve[top:], reverse=True)
    # below, backflow and the first of the ram leave it within a few hundredths
    assert min(curve[:top]) > 0.86


@pytest.mark.parametrize(
    ("narrowed", "named"),
    [
        ({"inlet_valve_diameter": 0.020}, "valves"),
        ({"inlet_lift": 4.5e-3}, "valves"),
        ({"inlet_port_area": 350e-6}, "port"),
        ({"runner_area": 280e-6}, "runner"),
        ({"runner_length": 1.2}, "tuning"),
        ({"inlet_closes": -30 * DEGREE}, "closing"),
        ({"exhaust_pressure": 320e3}, "exhaust"),
    ],
)
def test_what_was_made_narrow_is_what_is_named(narrowed: dict[str, float], named: str) -> None:
    before, after = at(5800), at(5800, **narrowed)
    gains = {name: getattr(after, name) - getattr(before, name) for name in after._fields[4:]}
    assert max(gains, key=gains.__getitem__) == named, gains
    assert after.volumetric_efficiency < before.volumetric_efficiency


@given(
    speed=some.floats(800, 9500),
    diameter=some.floats(0.024, 0.042),
    lift=some.floats(6e-3, 14e-3),
    duration=some.floats(180, 280),
    closes=some.floats(0, 80),
    area=some.floats(400e-6, 1600e-6),
    length=some.floats(0.05, 0.8),
    pressure=some.floats(60e3, 300e3),
    back=some.floats(0.95, 1.8),
    share=some.floats(0.0, 1.0),
)
@settings(max_examples=300, deadline=None)
def test_no_engine_fills_beyond_reason(
    speed: float,
    diameter: float,
    lift: float,
    duration: float,
    closes: float,
    area: float,
    length: float,
    pressure: float,
    back: float,
    share: float,
) -> None:
    """The best race engines with tuned pipes fill 1.25 to 1.3 of their volume (common practice)."""
    found = at(
        speed,
        inlet_valve_diameter=diameter,
        inlet_lift=lift,
        inlet_duration=duration * DEGREE,
        inlet_closes=closes * DEGREE,
        inlet_port_area=area,
        runner_area=area,
        runner_length=length,
        manifold_pressure=pressure,
        exhaust_pressure=pressure * back,
        evaporated_share=share,
    )
    assert 0.1 < found.volumetric_efficiency < 1.30
    for name in ("valves", "port", "runner", "tuning", "closing"):
        assert getattr(found, name) >= -1e-12, name


@pytest.mark.parametrize("name", ["bore", "speed", "inlet_lift", "runner_length", "manifold_pressure"])
def test_nonsense_is_refused_by_name(name: str) -> None:
    for bad in (-1.0, 1e9, math.nan, math.inf):
        with pytest.raises(OutOfRange, match=name):
            volumetric_efficiency(dataclasses.replace(ENGINE, **{name: bad}))
