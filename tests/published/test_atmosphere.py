"""Surrounding air against ISO 2533, a real-gas library, CIPM air density and SAE J1349."""

from __future__ import annotations

import math

import pytest

from compat.engineering.air.atmosphere import (
    air_density,
    dry_air_pressure,
    j1349_correction,
    saturation_pressure,
    standard_atmosphere,
)

EARTH = 6356766.0


def test_sea_level_of_iso_2533() -> None:
    air = standard_atmosphere(0.0)
    assert air.pressure == pytest.approx(101325)
    assert air.temperature == pytest.approx(288.15)
    assert air.density == pytest.approx(1.225, abs=5e-5)


@pytest.mark.parametrize(
    ("geopotential", "pressure", "temperature"),
    [(500, 95461, 284.90), (1000, 89875, 281.65), (2000, 79495, 275.15), (5000, 54020, 255.65)],
)
def test_table_of_iso_2533(geopotential: float, pressure: float, temperature: float) -> None:
    """ISO 2533 tables by geopotential altitude (from memory)."""
    altitude = EARTH * geopotential / (EARTH - geopotential)
    air = standard_atmosphere(altitude)
    assert air.pressure == pytest.approx(pressure, abs=1.0)
    assert air.temperature == pytest.approx(temperature, abs=0.005)


@pytest.mark.parametrize("altitude", [-400, 0, 100, 1000, 2500, 5000, 10900])
def test_standard_atmosphere_agrees_with_a_reference_library(altitude: float) -> None:
    """fluids 1.3 (MIT), the U.S. standard atmosphere of 1976, the same as ISO 2533 in this layer."""
    fluids = pytest.importorskip("fluids.atmosphere")
    expected = fluids.ATMOSPHERE_1976(altitude)
    air = standard_atmosphere(altitude)
    assert air.pressure == pytest.approx(expected.P, rel=2e-6)
    assert air.temperature == pytest.approx(expected.T, rel=1e-6)
    assert air.density == pytest.approx(expected.rho, rel=5e-6)


@pytest.mark.parametrize("pressure", [80e3, 101.325e3, 200e3, 400e3])
@pytest.mark.parametrize("temperature", [273.15, 293.15, 333.15, 423.15])
def test_dry_density_agrees_with_a_real_gas(pressure: float, temperature: float) -> None:
    """CoolProp (MIT), equation of state of air."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    expected = coolprop.PropsSI("D", "P", pressure, "T", temperature, "Air")
    assert air_density(pressure, temperature) == pytest.approx(expected, rel=0.0025)


@pytest.mark.parametrize("temperature", [263.15, 273.15, 283.15, 293.15, 303.15, 313.15])
def test_saturation_agrees_with_a_reference_library(temperature: float) -> None:
    """CoolProp, IAPWS equation of water above freezing; Buck, 1981, quotes 0.05 % in this range."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    if temperature <= 273.16:
        # Over supercooled water at -10 degC 286.5 Pa, at 0 degC 611.2 Pa (Smithsonian tables, from memory).
        expected = {263.15: 286.5, 273.15: 611.2}[temperature]
        assert saturation_pressure(temperature) == pytest.approx(expected, rel=0.002)
    else:
        expected = coolprop.PropsSI("P", "T", temperature, "Q", 0, "Water")
        assert saturation_pressure(temperature) == pytest.approx(expected, rel=0.001)


@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.9])
def test_damp_density_agrees_with_a_reference_library(humidity: float) -> None:
    """CoolProp humid air (ASHRAE RP-1485)."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    volume = coolprop.HAPropsSI("Vha", "P", 101325, "T", 303.15, "R", humidity)
    assert air_density(101325, 303.15, humidity) == pytest.approx(1 / volume, rel=0.001)


def test_damp_density_of_cipm_2007() -> None:
    """CIPM-2007 (from memory): 20 degC, 101 325 Pa, 50 % gives 1.1993 kg/m^3."""
    assert air_density(101325, 293.15, 0.5) == pytest.approx(1.1993, rel=5e-4)


# SAE J1349 (from memory): cf = 1.180 (990/pd) sqrt((T + 273)/298) - 0.180, pd in hPa, T in degC.
@pytest.mark.parametrize("hectopascals", [900.0, 950.0, 990.0, 1020.0])
@pytest.mark.parametrize("celsius", [15.0, 25.0, 35.0])
def test_j1349(hectopascals: float, celsius: float) -> None:
    expected = 1.180 * (990 / hectopascals) * math.sqrt((celsius + 273) / 298) - 0.180
    found = j1349_correction(hectopascals * 100, celsius + 273.15)
    assert found == pytest.approx(expected, rel=2e-5)


def test_j1349_is_one_in_standard_air() -> None:
    """SAE J1349: 100 kPa with 1 kPa of water vapour at 25 degC is the reference state."""
    assert j1349_correction(99e3, 298.15) == pytest.approx(1.0, abs=1e-12)
    humidity = 1e3 / saturation_pressure(298.15)
    assert dry_air_pressure(100e3, 298.15, humidity) == pytest.approx(99e3)


def test_j1349_takes_85_percent_mechanical_efficiency() -> None:
    """Indicated power goes with the air, friction does not: slope 1/0.85, rounded to 1.18."""
    step = 1e-4
    slope = (j1349_correction(99e3 / (1 + step), 298.15) - 1) / step
    assert slope == pytest.approx(1 / 0.85, rel=0.004)
