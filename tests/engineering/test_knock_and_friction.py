"""Delay, knock limit, friction and pumping by themselves, and the root finder."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.engineering import find
from compat.engineering.cycle.friction import friction_mean_effective_pressure, pumping_mean_effective_pressure
from compat.engineering.cycle.knock import autoignition_delay, integral_limit, octane_extrapolation
from compat.engineering.cycle.knock_limit import least_retard
from compat.engineering.formula import OutOfRange
from compat.engineering.numerics.bracketing import bracketed_root

knock_limited_ca50 = find("knock_limited_ca50").function  # by keyword, as figures call it
DEGREE, RPM = math.pi / 180, math.pi / 30
CHARGE = {
    "bore": 0.086,
    "stroke": 0.086,
    "rod_length": 0.145,
    "compression_ratio": 9.0,
    "speed": 3000 * RPM,
    "manifold_pressure": 180e3,
    "charge_temperature": 320.0,
    "volumetric_efficiency": 0.9,
    "octane": 95.0,
    "stoichiometric_ratio": 14.6,
    "heating_value": 43e6,
    "heat_of_vaporisation": 350e3,
    "relative_air_fuel_ratio": 0.9,
    "exhaust_pressure": 190e3,
}


def test_delay_falls_with_pressure_and_heat_and_grows_with_octane():
    base = autoignition_delay(40e5, 850.0, 95.0)
    assert autoignition_delay(50e5, 850.0, 95.0) < base
    assert autoignition_delay(40e5, 900.0, 95.0) < base
    assert autoignition_delay(40e5, 850.0, 98.0) > base


@pytest.mark.parametrize(
    "nonsense",
    [(0.0, 850.0, 95.0), (40e5, 0.0, 95.0), (40e5, math.nan, 95.0), (1e-30, 850.0, 95.0), (4e6, 850.0, 0.0)],
)
def test_delay_refuses_nonsense(nonsense):
    with pytest.raises(OutOfRange):
        autoignition_delay(*nonsense)


def test_limit_tightens_outside_the_measured_octanes():
    assert integral_limit(80.0) == integral_limit(100.0) == integral_limit(90.0) < 1.0
    assert integral_limit(105.0) < integral_limit(100.0)
    assert integral_limit(75.0) < integral_limit(80.0)
    assert octane_extrapolation(75.0) == 5.0
    assert integral_limit(100.0) - integral_limit(100.001) < 1e-4  # no step at the edge


def test_knock_limit_holds_the_integral():
    limit = knock_limited_ca50(**CHARGE)
    assert limit.retard > 0
    assert limit.knock_integral == pytest.approx(limit.integral_limit, rel=1e-4)
    quiet = knock_limited_ca50(**(CHARGE | {"manifold_pressure": 90e3, "exhaust_pressure": 105e3}))
    assert quiet.retard == 0.0
    assert quiet.efficiency_cost == 0.0
    assert quiet.knock_integral < quiet.integral_limit


@pytest.mark.parametrize(
    ("changes", "later"),
    [
        ({"compression_ratio": 10.0}, True),
        ({"charge_temperature": 340.0}, True),
        ({"octane": 98.0}, False),
        ({"speed": 4000 * RPM}, False),
        ({"manifold_pressure": 200e3}, True),
        ({"evaporated_share": 0.8}, False),
        ({"octane_sensitivity": 0.0}, False),
    ],
)
def test_what_moves_the_knock_limit(changes, later):
    base, moved = knock_limited_ca50(**CHARGE).ca50, knock_limited_ca50(**(CHARGE | changes)).ca50
    assert (moved > base) is later


def test_knock_that_no_retard_cures_is_refused():
    with pytest.raises(OutOfRange, match="knocks at 400 kPa"):
        knock_limited_ca50(**(CHARGE | {"manifold_pressure": 400e3, "compression_ratio": 12.0, "octane": 88.0}))
    with pytest.raises(OutOfRange, match="ca50_latest"):
        knock_limited_ca50(**(CHARGE | {"ca50_latest": 0.0}))


def test_least_retard_finds_the_first_crossing():
    crossing = least_retard(lambda angle: 1.0 - angle / 0.3, 0.1, 0.6)
    assert crossing == pytest.approx(0.3, abs=1e-5)
    assert least_retard(lambda angle: -1.0, 0.1, 0.6) == 0.1
    assert least_retard(lambda angle: 1.0, 0.1, 0.6) is None


def test_friction():
    assert friction_mean_effective_pressure(80e5, 0.087, 5000 * RPM) > friction_mean_effective_pressure(
        60e5, 0.087, 5000 * RPM
    )
    # A warm two-litre loses some 1.5 to 2.8 bar at 6000 rpm: common practice, no source.
    assert 1.5e5 < friction_mean_effective_pressure(65e5, 0.087, 6000 * RPM) < 2.8e5
    with pytest.raises(OutOfRange, match="mean piston speed"):
        friction_mean_effective_pressure(60e5, 0.087, 20000 * RPM)
    with pytest.raises(OutOfRange):
        friction_mean_effective_pressure(60e5, 0.087, 5000 * RPM, base=-1.0)


def test_pumping():
    throttled = pumping_mean_effective_pressure(40e3, 105e3, 0.086, 2000 * RPM)
    assert throttled == pytest.approx(65e3, rel=0.05)
    assert pumping_mean_effective_pressure(200e3, 150e3, 0.086, 2000 * RPM) < 0  # boost does work
    with pytest.raises(OutOfRange):
        pumping_mean_effective_pressure(0.0, 105e3, 0.086, 2000 * RPM)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.floats(0.01, 0.99), st.sampled_from([0.5, 1.0, 3.0, 9.0]), st.booleans())
def test_bracketed_root(root, power, falling):
    sign = -1.0 if falling else 1.0

    def curve(x: float) -> float:
        return sign * (math.copysign(abs(x - root) ** power, x - root))

    found = bracketed_root(curve, 0.0, 1.0, curve(0.0), curve(1.0), 1e-10)
    assert found == pytest.approx(root, abs=2e-10)


def test_bracketed_root_wants_a_bracket():
    with pytest.raises(ValueError, match="same sign"):
        bracketed_root(lambda x: 1.0 + x, 0.0, 1.0, 1.0, 2.0, 1e-9)
    assert bracketed_root(lambda x: x, 0.0, 1.0, 0.0, 1.0, 1e-9) == 0.0
    assert bracketed_root(lambda x: x - 1, 0.0, 1.0, -1.0, 0.0, 1e-9) == 1.0
