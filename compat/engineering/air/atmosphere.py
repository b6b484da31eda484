"""Surrounding air: standard atmosphere, density, moisture, correction of power to standard air."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "Atmosphere",
    "air_density",
    "dry_air_pressure",
    "j1349_correction",
    "saturation_pressure",
    "standard_atmosphere",
]

_R_DRY = 287.05287  # J/(kg K), ISO 2533
_R_VAPOUR = 461.52  # J/(kg K)
_SEA_PRESSURE = 101325.0
_SEA_TEMPERATURE = 288.15
_LAPSE = 0.0065  # K/m
_GRAVITY = 9.80665
_EARTH = 6356766.0  # m, the radius that ISO 2533 takes


class Atmosphere(NamedTuple):
    """State of the standard atmosphere, [Pa], [K], [kg/m^3]."""

    pressure: float
    temperature: float
    density: float


@formula(
    takes={"altitude": "m"},
    gives={"pressure": "kPa", "temperature": "degC", "density": "kg/m^3"},
    source="ISO 2533, Standard Atmosphere",
)
def standard_atmosphere(altitude: float) -> Atmosphere:
    """Pressure, temperature and density of the standard atmosphere at an altitude.

    Parameters
    ----------
    altitude : float
        Height above mean sea level, [m]

    Returns
    -------
    Atmosphere
        Pressure [Pa], temperature [K] and density [kg/m^3].

    Raises
    ------
    OutOfRange
        When the altitude lies outside -500 to 11 000 m, the lowest layer.

    Notes
    -----
    Altitude is the surveyed height; the standard's geopotential altitude, lower by 0.16 m at 1000 m, is found
    from it. Weather moves the pressure by some 3 % either way.

    References
    ----------
    .. [1] ISO 2533:1975, Standard Atmosphere.

    Examples
    --------
    >>> air = standard_atmosphere(1000)
    >>> round(air.pressure), round(air.temperature, 2), round(air.density, 3)
    (89876, 281.65, 1.112)
    """
    within("altitude", altitude, -500.0, 11000.0, "m")
    geopotential = _EARTH * altitude / (_EARTH + altitude)
    temperature = _SEA_TEMPERATURE - _LAPSE * geopotential
    exponent = _GRAVITY / (_R_DRY * _LAPSE)
    pressure = _SEA_PRESSURE * math.pow(temperature / _SEA_TEMPERATURE, exponent)
    return Atmosphere(pressure, temperature, pressure / (_R_DRY * temperature))


@formula(
    takes={"temperature": "degC"},
    gives="kPa",
    source="Buck, Journal of Applied Meteorology 20 (1981): saturation over water",
)
def saturation_pressure(temperature: float) -> float:
    """Pressure of water vapour in saturated air.

    Parameters
    ----------
    temperature : float
        Of the air, [K]

    Returns
    -------
    float
        Saturation pressure over water, [Pa]

    Raises
    ------
    OutOfRange
        When the temperature lies outside -20 to 60 degC.

    References
    ----------
    .. [1] Buck, New equations for computing vapor pressure and enhancement factor,
       Journal of Applied Meteorology 20 (1981) 1527.

    Examples
    --------
    >>> round(saturation_pressure(293.15))
    2338
    """
    within("temperature", temperature, 253.15, 333.15, "K")
    celsius = temperature - 273.15
    return 611.21 * math.exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


@formula(
    takes={"pressure": "kPa", "temperature": "degC", "relative_humidity": "%"},
    gives="kPa",
    source="Dalton's law",
)
def dry_air_pressure(pressure: float, temperature: float, relative_humidity: float) -> float:
    """Pressure of the air less the part of its water vapour.

    Parameters
    ----------
    pressure : float
        Of the surroundings, absolute, [Pa]
    temperature : float
        Of the air, [K]
    relative_humidity : float
        Share of saturation, [-]

    Returns
    -------
    float
        Pressure of the dry air, [Pa]

    Raises
    ------
    OutOfRange
        When the pressure lies outside 20 to 600 kPa, humidity outside 0 to 100 %, or the air is
        damp and outside -20 to 60 degC.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 3.

    Examples
    --------
    >>> round(dry_air_pressure(101.325e3, 298.15, 0.5))
    99741
    """
    within("pressure", pressure, 20e3, 600e3, "kPa", 1e3)
    positive(temperature=temperature)
    within("relative_humidity", relative_humidity, 0.0, 1.0, "%", 0.01)
    if relative_humidity == 0:
        return pressure
    return pressure - relative_humidity * saturation_pressure(temperature)


@formula(
    takes={"pressure": "kPa", "temperature": "degC", "relative_humidity": "%"},
    gives="kg/m^3",
    source="ideal gas law for dry air and water vapour; ISO 2533 for the constant of air",
)
def air_density(pressure: float, temperature: float, relative_humidity: float = 0.0) -> float:
    """Density of air, dry or damp.

    Parameters
    ----------
    pressure : float
        Absolute, [Pa]
    temperature : float
        Of the air, [K]
    relative_humidity : float, optional
        Share of saturation; 0 for dry air, [-]

    Returns
    -------
    float
        Density, [kg/m^3]

    Raises
    ------
    OutOfRange
        When the pressure lies outside 20 to 600 kPa, humidity outside 0 to 100 %, or the air is
        damp and outside -20 to 60 degC.

    Notes
    -----
    Within 0.1 % of the real gas near the surroundings' state, 0.2 % at 400 kPa.

    References
    ----------
    .. [1] ISO 2533:1975, Standard Atmosphere.

    Examples
    --------
    >>> round(air_density(101.325e3, 288.15), 3)
    1.225
    """
    dry = dry_air_pressure(pressure, temperature, relative_humidity)
    return (dry / _R_DRY + (pressure - dry) / _R_VAPOUR) / temperature


@formula(
    takes={"dry_air_pressure": "kPa", "inlet_temperature": "degC"},
    gives="number",
    source="SAE J1349 (from memory): spark-ignition power corrected to 990 hPa of dry air and 25 degC",
)
def j1349_correction(dry_air_pressure: float, inlet_temperature: float) -> float:
    """Factor from measured power to power in standard air; spark ignition, full throttle.

    Parameters
    ----------
    dry_air_pressure : float
        Pressure of the air less its water vapour, [Pa]
    inlet_temperature : float
        Air at the inlet, [K]

    Returns
    -------
    float
        Factor on the measured power, [-]

    Raises
    ------
    OutOfRange
        When pressure or temperature lie outside 60 to 110 kPa and -10 to 50 degC.

    Notes
    -----
    Takes the mechanical efficiency as 85 %. The standard wants tests between 15 and 35 degC and between
    900 and 1050 hPa; beyond that the factor is an extrapolation.

    References
    ----------
    .. [1] SAE J1349, Engine Power Test Code, from memory.

    Examples
    --------
    >>> round(j1349_correction(dry_air_pressure=99e3, inlet_temperature=298.15), 6)
    1.0
    """
    within("dry_air_pressure", dry_air_pressure, 60e3, 110e3, "kPa", 1e3)
    within("inlet_temperature", inlet_temperature, 263.15, 323.15, "K")
    # The standard counts T + 273, so its reference of 298 is 25 degC; here that is 298.15 K.
    return 1.180 * (99e3 / dry_air_pressure) * math.sqrt(inlet_temperature / 298.15) - 0.180
