"""Injectors, fuel and air for a power against the trade's sizing rules, in the trade's units."""

from __future__ import annotations

import math

import pytest

from compat.engineering.air.breathing import air_flow_for_power, fuel_flow_for_power
from compat.engineering.fuel.injectors import injector_duty, injector_flow, injector_flow_needed
from compat.engineering.fuel.supply import pump_flow_at

POUND = 0.45359237
HORSEPOWER = 745.6999  # NIST SP 811, appendix B.8
DENSITY = 745.0


@pytest.mark.parametrize(
    ("power", "consumption", "number", "duty", "pounds"),
    [(500, 0.60, 8, 0.80, 46.9), (400, 0.50, 8, 0.80, 31.25)],
)
def test_injector_size_by_the_trade_s_formula(
    power: float, consumption: float, number: int, duty: float, pounds: float
) -> None:
    """Common practice, no source: power x specific consumption over number x duty, in lb/h."""
    needed = fuel_flow_for_power(power * HORSEPOWER, consumption * POUND / 3600 / HORSEPOWER)
    each = injector_flow_needed(needed, DENSITY, number, duty)
    assert each * DENSITY / POUND * 3600 == pytest.approx(pounds, abs=0.05)
    assert injector_duty(needed, DENSITY, number, each) == pytest.approx(duty)


def test_pounds_an_hour_and_cubic_centimetres_a_minute() -> None:
    """Common practice, no source: 1 lb/h is about 10.5 cm3/min, which wants a fuel of 0.72 kg/L."""
    cubic = POUND / 3600 / 720 * 60e6
    assert cubic == pytest.approx(10.5, abs=0.02)


def test_flow_at_another_pressure() -> None:
    """Common practice, no source: 3 to 4 bar gives 15.5 % more flow; half the pressure, 0.707."""
    rated = 440e-6 / 60
    assert injector_flow(rated, 300e3, 400e3) / rated == pytest.approx(1.155, abs=0.0005)
    assert injector_flow(rated, 300e3, 150e3) / rated == pytest.approx(math.sqrt(0.5))


@pytest.mark.parametrize("consumption", [0.45, 0.50, 0.55])
def test_air_for_a_power(consumption: float) -> None:
    """Common practice, no source: 1 lb/min of air for each 9.5 to 10.5 hp on petrol.

    With a full-load ratio of 12.5 and the usual specific consumption of natural aspiration the formula gives
    8.7 to 10.7 hp: the rule is its middle.
    """
    air = air_flow_for_power(HORSEPOWER, consumption * POUND / 3600 / HORSEPOWER, 12.5)
    horsepower_for_each_pound = POUND / 60 / air
    assert 8.7 <= horsepower_for_each_pound <= 10.7
    if consumption == 0.50:
        assert 9.5 <= horsepower_for_each_pound <= 10.5


def test_specific_consumption_in_both_units() -> None:
    """NIST SP 811: 1 lb/(hp h) is 608.28 g/(kW h); the rule's 0.45 to 0.55 is 274 to 335."""
    for pounds, grams in ((0.45, 273.7), (0.50, 304.1), (0.55, 334.6), (0.65, 395.4)):
        flow = fuel_flow_for_power(100 * HORSEPOWER, pounds * POUND / 3600 / HORSEPOWER)
        assert fuel_flow_for_power(100 * HORSEPOWER, grams * 1e-3 / 3.6e6) == pytest.approx(flow, rel=3e-4)


def test_a_volt_costs_a_tenth_of_the_pump() -> None:
    """Common practice, no source: one volt lost in the wiring costs about a tenth of the pump's flow."""
    curve = ((300e3, 255 / 3.6e6), (500e3, 195 / 3.6e6))
    assert pump_flow_at(curve, 400e3, voltage=12.5) / pump_flow_at(curve, 400e3) == pytest.approx(0.9)
