"""Properties of power, mean pressure, air, fuel and boost."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.air.boost_goal import Charge, charge_for_air_flow
from compat.engineering.air.breathing import (
    air_flow,
    air_flow_for_power,
    fuel_flow_for_power,
    manifold_pressure_for_air_flow,
)
from compat.engineering.cycle.performance import (
    bmep,
    bmep_from_power,
    power_from_bmep,
    power_from_torque,
    specific_power,
    torque_from_bmep,
    torque_from_power,
)

RPM = math.pi / 30
POWERS = st.floats(10e3, 600e3)
SPEEDS = st.floats(100, 1200)
ENGINES = st.floats(0.3e-3, 7e-3)


@given(power=POWERS, speed=SPEEDS, displacement=ENGINES)
def test_power_torque_and_mean_pressure_undo_each_other(
    power: float, speed: float, displacement: float
) -> None:
    torque = torque_from_power(power, speed)
    assert power_from_torque(torque, speed) == pytest.approx(power)
    mean = bmep(torque, displacement)
    assert mean == pytest.approx(bmep_from_power(power, speed, displacement))
    assert torque_from_bmep(mean, displacement) == pytest.approx(torque)
    assert power_from_bmep(mean, displacement, speed) == pytest.approx(power)
    assert specific_power(power, displacement) * displacement == pytest.approx(power)


@given(
    speed=SPEEDS,
    displacement=ENGINES,
    efficiency=st.floats(0.3, 1.3),
    temperature=st.floats(250, 400),
    pressure=st.floats(30e3, 400e3),
)
def test_air_flow_and_manifold_pressure_undo_each_other(
    speed: float, displacement: float, efficiency: float, temperature: float, pressure: float
) -> None:
    flow = air_flow(displacement, speed, efficiency, pressure / (287.05287 * temperature))
    back = manifold_pressure_for_air_flow(flow, displacement, speed, efficiency, temperature)
    assert back == pytest.approx(pressure)


@given(power=POWERS, consumption=st.floats(200, 450), ratio=st.floats(6, 20))
def test_air_is_fuel_times_the_ratio(power: float, consumption: float, ratio: float) -> None:
    each = consumption * 1e-3 / 3.6e6
    fuel = fuel_flow_for_power(power, each)
    assert air_flow_for_power(power, each, ratio) == pytest.approx(ratio * fuel)
    assert fuel * 3.6e6 == pytest.approx(power / 1e3 * consumption)  # g/h


FLOWS = st.floats(0.01, 0.33)
COOLERS = st.floats(0.0, 1.0)
LOSSES = st.floats(0.0, 10e3)


def _charge(flow: float, cooler: float = 0.7, charge_loss: float = 0.0, filter_loss: float = 0.0) -> Charge:
    return charge_for_air_flow(
        flow, 1998e-6, 6000 * RPM, 0.95, 101e3, 293.15, 0.72, cooler, charge_loss, filter_loss
    )


@given(flow=FLOWS, cooler=COOLERS, charge_loss=LOSSES, filter_loss=LOSSES)
def test_charge_feeds_the_flow_it_was_solved_for(
    flow: float, cooler: float, charge_loss: float, filter_loss: float
) -> None:
    try:
        charge = _charge(flow, cooler, charge_loss, filter_loss)
    except OutOfRange:
        assert flow > 0.25  # hot, such a flow runs away from its own heating
        return
    density = charge.manifold_pressure / (287.05287 * charge.temperature)
    assert air_flow(1998e-6, 6000 * RPM, 0.95, density) == pytest.approx(flow, rel=1e-9)
    assert charge.boost == pytest.approx(charge.manifold_pressure - 101e3)
    assert charge.temperature >= 293.15 - 1e-9
    if charge.pressure_ratio > 1:
        across = (charge.manifold_pressure + charge_loss) / (101e3 - filter_loss)
        assert across == pytest.approx(charge.pressure_ratio, rel=1e-9)
    else:
        assert charge.boost <= 1e-6


@given(flow=st.floats(0.02, 0.2), cooler=st.floats(0.0, 0.95))
def test_more_air_wants_more_boost_without_a_jump(flow: float, cooler: float) -> None:
    here, there = _charge(flow, cooler), _charge(flow * 1.0001, cooler)
    assert 0 < there.manifold_pressure - here.manifold_pressure < 1e-3 * here.manifold_pressure
    assert there.temperature >= here.temperature
    better = _charge(flow, cooler + 0.05)
    assert better.manifold_pressure <= here.manifold_pressure
    assert better.temperature <= here.temperature


def test_naturally_aspirated_goal_needs_no_boost() -> None:
    flow = air_flow_for_power(92e3, 290e-3 / 3.6e6, 12.8)
    charge = charge_for_air_flow(flow, 1998e-6, 5800 * RPM, 0.95, 101e3, 293.15)
    assert charge.pressure_ratio == 1
    assert -20e3 < charge.boost <= 0


def test_road_turbo_comes_out_near_its_stated_boost() -> None:
    """The demo family's turbo: 147 kW at 5600 rpm on 70 kPa; rich full load, usual efficiencies."""
    flow = air_flow_for_power(147e3, 340e-3 / 3.6e6, 11.8)
    charge = charge_for_air_flow(flow, 1998e-6, 5600 * RPM, 0.92, 101e3, 293.15, 0.72, 0.70, 8e3, 3e3)
    assert charge.boost == pytest.approx(70e3, abs=8e3)
    assert charge.temperature < 293.15 + 25


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: torque_from_power(92e3, 0.0), "speed must be above zero"),
        (lambda: air_flow(2e-3, 600.0, 2.5, 1.2), "volumetric_efficiency must lie between 0 and 200 %"),
        (lambda: _charge(5.0), "would ask for a pressure ratio beyond 8"),
        (lambda: fuel_flow_for_power(math.nan, 1e-7), "power must be a finite number"),
    ],
)
def test_nonsense_is_refused_in_words(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(OutOfRange, match=words):
        call()
