"""Charge, turbine and intercooler against property libraries and facts of the trade."""

from __future__ import annotations

import math

import pytest

from compat.engineering.air.airflow import duct_air_speed, inlet_mach_index, port_air_speed
from compat.engineering.air.breathing import air_flow_for_power
from compat.engineering.air.charge import (
    corrected_flow,
    flow_loss,
    pressure_ratio,
)
from compat.engineering.air.charge_heat import (
    charge_temperature,
    compressor_outlet_temperature,
    compressor_power,
    intercooler_effectiveness,
)
from compat.engineering.air.turbine import (
    exhaust_back_pressure,
    turbine_balance,
    turbine_match,
    wastegate_range,
)
from compat.engineering.formula import OutOfRange

RPM = math.pi / 30


@pytest.mark.parametrize("ratio", [1.2, 1.6, 2.0, 2.5, 3.0])
def test_compressor_outlet_against_coolprop(ratio):
    """Isentropic and real outlet of dry air with true properties (library CoolProp)."""
    properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
    inlet = 298.15
    entropy = properties("S", "T", inlet, "P", 1e5, "Air")
    enthalpy = properties("H", "T", inlet, "P", 1e5, "Air")
    ideal = properties("H", "S", entropy, "P", 1e5 * ratio, "Air")
    for efficiency in (1.0, 0.72):
        work = (ideal - enthalpy) / efficiency
        outlet = properties("T", "H", enthalpy + work, "P", 1e5 * ratio, "Air")
        assert compressor_outlet_temperature(inlet, ratio, efficiency) == pytest.approx(outlet, abs=2.0)
        assert compressor_power(1.0, inlet, ratio, efficiency) == pytest.approx(work, rel=0.01)


@pytest.mark.parametrize("ratio", [1.2, 1.5, 2.0, 2.5])
def test_turbine_drop_against_coolprop(ratio):
    """Expansion of hot air with true properties; exhaust holds a few per cent more heat than air."""
    properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
    hot = 1173.15
    entropy = properties("S", "T", hot, "P", 1e5 * ratio, "Air")
    drop = properties("H", "T", hot, "P", 1e5 * ratio, "Air") - properties("H", "S", entropy, "P", 1e5, "Air")
    balance = turbine_balance(drop * 0.66, 1.0, hot, 1e5, 0.66)
    assert balance.expansion_ratio == pytest.approx(ratio, rel=0.02)


def test_compressed_air_is_as_hot_as_the_trade_says():
    # common practice, no source: 1 bar of boost at 70 % leaves near 115 to 120 degC on a 25 degC day
    assert 388 < compressor_outlet_temperature(298.15, 2.0, 0.70) < 393.5


def test_turbine_match_balances_and_chokes():
    match = turbine_match(22.8e3, 0.27, 1173.15, 110e3, 0.18)
    through = 0.27 * (1 - match.wastegate_share)
    # the same power by the plain balance with that flow
    assert turbine_balance(22.8e3, through, 1173.15, 110e3).inlet_pressure == pytest.approx(
        match.inlet_pressure
    )
    # critical pressure ratio of gas with k = 1.333 is 0.540 (any gas dynamics text, from memory):
    # beyond it corrected flow stands still
    flows = []
    for power in (60e3, 70e3):
        choked = turbine_match(power, 0.4, 1173.15, 110e3, 0.18)
        assert 1 / choked.expansion_ratio < 0.540
        flows.append(
            0.4 * (1 - choked.wastegate_share) * math.sqrt(1173.15 / 288.15) * 1e5 / choked.inlet_pressure
        )
    assert flows == pytest.approx([0.18, 0.18], rel=1e-9)


def test_turbine_size_moves_pressure_and_flow_apart():
    small, large = (turbine_match(22.8e3, 0.27, 1173.15, 110e3, size) for size in (0.14, 0.30))
    assert small.inlet_pressure > large.inlet_pressure
    assert small.wastegate_share > large.wastegate_share
    # far too large: the exhaust cannot drive it to this power, and the size of the lack is told
    assert turbine_match(22.8e3, 0.10, 1173.15, 110e3, 0.30).wastegate_share < 0
    with pytest.raises(OutOfRange, match="kW"):
        turbine_match(500e3, 0.27, 1173.15, 110e3, 0.18)
    with pytest.raises(OutOfRange, match="kW"):
        turbine_balance(500e3, 0.27, 1173.15, 110e3)


def test_turbine_pressure_near_boost_on_a_street_engine():
    # common practice, no source: pressure before the turbine is 1 to 2 times boost, gauge, at peak power
    power = compressor_power(0.25, 298.15, pressure_ratio(201e3, 101e3, 8e3, 3e3), 0.72)
    match = turbine_match(power, 0.27, 1173.15, 101e3 + 15e3, 0.19)
    assert 1.0 < (match.inlet_pressure - 101e3) / 100e3 < 2.0
    assert 0.0 < match.wastegate_share < 0.5


def test_air_for_power():
    # common practice, no source: 1 lb/min of air for each 9.5 to 10.5 hp on petrol
    horsepower, pound_hour, pound_minute = 745.6999, 0.45359237 / 3600, 0.45359237 / 60
    flow = air_flow_for_power(300 * horsepower, 0.50 * pound_hour / horsepower, 12.0)
    assert 9.5 <= 300 / (flow / pound_minute) <= 10.5


def test_intercooler_against_library_ht():
    """At the rated flow the stated figure; off it the curve of package ht (one stream in plenty)."""
    ht = pytest.importorskip("ht")
    rated = ht.effectiveness_from_NTU(NTU=1.3, Cr=0.0, subtype="counterflow")
    for flow in (0.5, 1.0, 1.7):
        expected = ht.effectiveness_from_NTU(NTU=1.3 / math.sqrt(flow), Cr=0.0, subtype="counterflow")
        assert intercooler_effectiveness(rated, 1.0, flow) == pytest.approx(expected, rel=1e-9)
    assert charge_temperature(400.0, 300.0, 1.0) == 300.0
    assert charge_temperature(400.0, 300.0, 0.0) == 400.0


def test_corrected_flow_on_a_mountain():
    # worked by hand: 80 kPa and 5 degC: 0.2*sqrt(278.15/298.15)*100/80
    assert corrected_flow(0.2, 80e3, 278.15) == pytest.approx(0.24147, rel=1e-4)


def test_losses_scale():
    assert flow_loss(6e3, 0.2, 0.4) == pytest.approx(24e3)
    assert exhaust_back_pressure(15e3, 0.2, 0.2, 101.325e3, 973.15, 973.15) == pytest.approx(15e3)
    # small losses: the incompressible square law
    assert exhaust_back_pressure(10.0, 0.2, 0.4, 101.325e3, 900.0, 900.0) == pytest.approx(40.0, rel=1e-3)
    # thinner air, same mass flow: more
    assert exhaust_back_pressure(15e3, 0.2, 0.2, 80e3, 973.15, 973.15) > 15e3


def test_throttle_speed_of_the_trade():
    # common practice, no source: 60 m/s at peak power costs about 2 kPa; that is its dynamic pressure
    density = 100e3 / (287.05 * 293.15)
    assert 0.5 * density * 60**2 == pytest.approx(2.1e3, rel=0.05)
    area = math.pi / 4 * 0.060**2
    assert duct_air_speed(density * area * 60, 100e3, 293.15, 0.060) == pytest.approx(60)
    assert duct_air_speed(density * area * 60, 100e3, 293.15, 0.060, 2) == pytest.approx(30)


def test_mach_index_and_port_speed():
    # Taylor (from memory): volumetric efficiency falls away above Z of 0.5 to 0.6; a usual
    # sixteen-valve two-litre reaches that near its power peak
    assert 0.40 < inlet_mach_index(0.0855, 0.087, 5800 * RPM, 0.0325, 2) < 0.60
    # volume swept in half a turn through the port: the mean speed again
    swept = math.pi / 4 * 0.0855**2 * 0.087
    assert port_air_speed(0.0855, 0.087, 6000 * RPM, 1.1e-3) == pytest.approx(swept / (1.1e-3 * 30 / 6000))


def test_wastegate():
    assert wastegate_range(50e3) == (50e3, 100e3)
    assert wastegate_range(50e3, 1.0).most_boost == 50e3
    with pytest.raises(OutOfRange, match="boost_multiple"):
        wastegate_range(50e3, 0.5)
