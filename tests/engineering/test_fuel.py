"""Properties of injectors, pump and surrounding air."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.air.atmosphere import (
    air_density,
    dry_air_pressure,
    j1349_correction,
    standard_atmosphere,
)
from compat.engineering.fuel.injectors import (
    injector_duty,
    injector_flow,
    injector_flow_needed,
    injector_pressure_difference,
)
from compat.engineering.fuel.supply import fuel_volume_flow, line_velocity, pump_flow_at

FLOWS = st.floats(1e-3, 0.1)
PRESSURES = st.floats(150e3, 800e3)
CURVE = ((0.0, 300 / 3.6e6), (300e3, 255 / 3.6e6), (400e3, 225 / 3.6e6), (600e3, 130 / 3.6e6))


@given(flow=FLOWS, density=st.floats(650, 850), number=st.integers(1, 12), duty=st.floats(0.2, 1.0))
def test_needed_flow_gives_the_duty_back(flow: float, density: float, number: int, duty: float) -> None:
    each = injector_flow_needed(flow, density, number, duty)
    assert injector_duty(flow, density, number, each) == pytest.approx(duty)
    assert fuel_volume_flow(flow, density) * density == pytest.approx(flow)


@given(rated=st.floats(1e-6, 3e-5), first=PRESSURES, second=PRESSURES, third=PRESSURES)
def test_restating_an_injector_twice_is_restating_it_once(
    rated: float, first: float, second: float, third: float
) -> None:
    once = injector_flow(rated, first, third)
    assert injector_flow(injector_flow(rated, first, second), second, third) == pytest.approx(once)
    assert injector_flow(rated, first, first) == pytest.approx(rated)
    there = injector_flow(rated, first, second)
    # Pressures one rounding apart may give one flow, never the wrong order.
    assert (there - rated) * (second - first) >= 0
    if abs(second - first) > 1e-12 * first:
        assert (there > rated) == (second > first)


def test_fixed_rail_loses_what_boost_gains() -> None:
    assert injector_pressure_difference(380e3, 100e3, "none") == 280e3
    assert injector_pressure_difference(300e3, 100e3, "vacuum") == 300e3
    # Throttled, a fixed rail has more across the injector than its gauge shows.
    assert injector_pressure_difference(380e3, -60e3, "none") == 440e3


@given(pressure=st.floats(0, 599e3), step=st.floats(1.0, 1e3))
def test_pump_flow_falls_with_pressure_without_a_jump(pressure: float, step: float) -> None:
    here, there = pump_flow_at(CURVE, pressure), pump_flow_at(CURVE, pressure + step)
    steepest = max((a[1] - b[1]) / (b[0] - a[0]) for a, b in pairwise(CURVE))
    assert 0 <= here - there <= steepest * step * (1 + 1e-9)


def test_pump_curve_is_met_at_its_points() -> None:
    for pressure, flow in CURVE:
        assert pump_flow_at(CURVE, pressure) == pytest.approx(flow)
        assert pump_flow_at(CURVE, pressure, voltage=14.0, curve_voltage=13.0) == pytest.approx(1.1 * flow)


@given(altitude=st.floats(-500, 10000), step=st.floats(1, 500))
def test_air_thins_with_height(altitude: float, step: float) -> None:
    low, high = standard_atmosphere(altitude), standard_atmosphere(altitude + step)
    assert high.pressure < low.pressure
    assert high.temperature < low.temperature
    assert high.density < low.density
    assert air_density(low.pressure, low.temperature) == pytest.approx(low.density)
    # Hydrostatic balance over a small step, dp = -rho g dz.
    near = standard_atmosphere(altitude + 1.0)
    assert low.pressure - near.pressure == pytest.approx(low.density * 9.80665, rel=5e-3)


@given(humidity=st.floats(0, 1), celsius=st.floats(-20, 50))
def test_damp_air_is_lighter(humidity: float, celsius: float) -> None:
    temperature = celsius + 273.15
    damp = air_density(101325, temperature, humidity)
    assert damp <= air_density(101325, temperature)
    assert dry_air_pressure(101325, temperature, humidity) <= 101325


@given(pressure=st.floats(80e3, 105e3), celsius=st.floats(0, 45))
def test_thin_or_warm_air_corrects_upwards(pressure: float, celsius: float) -> None:
    here = j1349_correction(pressure, celsius + 273.15)
    assert j1349_correction(pressure * 0.99, celsius + 273.15) > here
    assert j1349_correction(pressure, celsius + 274.15) > here


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: injector_pressure_difference(300e3, 320e3, "none"), "leaves nothing across an injector"),
        (lambda: injector_pressure_difference(300e3, 0.0, "boost"), "reference must be vacuum or none"),
        (lambda: injector_flow_needed(0.01, 745.0, 4, 1.2), "duty must lie between 0 and 100 %, got 120 %"),
        (
            lambda: pump_flow_at(CURVE, 700e3),
            "pressure must lie on the pump's curve, 0 to 600 kPa, got 700 kPa",
        ),
        (lambda: pump_flow_at(CURVE[:1], 300e3), "at least two points"),
        (lambda: pump_flow_at(CURVE[::-1], 300e3), "must rise in pressure"),
        (lambda: pump_flow_at(((0.0, 1e-5), (1e5, 2e-5)), 5e4), "must not rise in flow"),
        (lambda: pump_flow_at(CURVE, 300e3, voltage=8.0), "voltage must lie within 4 V"),
        (lambda: line_velocity(1e-4, 0.0), "bore must be above zero"),
        (lambda: standard_atmosphere(12e3), "altitude must lie between -500 and 11000 m"),
        (lambda: j1349_correction(40e3, 298.0), "dry_air_pressure must lie between 60 and 110 kPa"),
        (lambda: air_density(101325, 293.15, 1.4), "relative_humidity must lie between 0 and 100 %"),
    ],
)
def test_nonsense_is_refused_in_words(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRange, match=words):
        call()
