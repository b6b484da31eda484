"""Boost that a power goal asks for: pressure and temperature of the charge solved together.

Pressures are absolute; boost is over the surroundings.
"""

from __future__ import annotations

from typing import NamedTuple

from compat.engineering.air.breathing import manifold_pressure_for_air_flow
from compat.engineering.air.charge import pressure_ratio
from compat.engineering.air.charge_heat import charge_temperature, compressor_outlet_temperature
from compat.engineering.formula import OutOfRange, formula, positive

__all__ = ["Charge", "charge_for_air_flow"]

_MOST_RATIO = 8.0  # as far as the compressor formulas reach


class Charge(NamedTuple):
    """State of the charge that feeds a wanted air flow, [Pa], [Pa], [K], [-]."""

    manifold_pressure: float
    boost: float
    temperature: float
    pressure_ratio: float


@formula(
    takes={
        "air_flow": "g/s",
        "displacement": "cm^3",
        "speed": "rpm",
        "volumetric_efficiency": "%",
        "ambient_pressure": "kPa",
        "ambient_temperature": "degC",
        "compressor_efficiency": "number",
        "effectiveness": "number",
        "charge_loss": "kPa",
        "filter_loss": "kPa",
    },
    gives={
        "manifold_pressure": "kPa",
        "boost": "kPa",
        "temperature": "degC",
        "pressure_ratio": "number",
    },
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2 and 6, solved for the pressure",
)
def charge_for_air_flow(
    air_flow: float,
    displacement: float,
    speed: float,
    volumetric_efficiency: float,
    ambient_pressure: float,
    ambient_temperature: float,
    compressor_efficiency: float = 0.72,
    effectiveness: float = 0.0,
    charge_loss: float = 0.0,
    filter_loss: float = 0.0,
) -> Charge:
    """Manifold pressure, boost, charge temperature and pressure ratio that feed an air flow.

    Parameters
    ----------
    air_flow : float
        Mass flow wanted, [kg/s]
    displacement, speed, volumetric_efficiency : float
        As for `manifold_pressure_for_air_flow`, [m^3], [rad/s], [-]
    ambient_pressure, ambient_temperature : float
        Of the surroundings, [Pa], [K]
    compressor_efficiency, effectiveness : float, optional
        Of compressor and intercooler, [-]
    charge_loss, filter_loss : float, optional
        Lost after and before the compressor, [Pa]

    Returns
    -------
    Charge
        Absolute manifold pressure [Pa], boost over the surroundings [Pa], charge temperature [K]
        and pressure ratio of the compressor [-].

    Raises
    ------
    OutOfRange
        When an argument lies outside what the parts of it allow, or the pressure ratio would pass 8.

    Notes
    -----
    More pressure heats the charge, which asks for more pressure again: solved by secants. An engine that
    needs no boost gets ambient temperature, a pressure ratio of 1 and a boost of zero or less (throttled).

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2 and 6.

    Examples
    --------
    >>> from math import pi
    >>> charge = charge_for_air_flow(0.1638, 1998e-6, 5600 * pi / 30, 0.95, 101e3, 293.15, 0.72, 0.7)
    >>> round(charge.boost / 1e3, 1), round(charge.temperature - 273.15, 1)
    (64.4, 38.5)
    """
    positive(ambient_pressure=ambient_pressure, ambient_temperature=ambient_temperature)

    def needed(ratio: float) -> tuple[float, float]:
        outlet = compressor_outlet_temperature(ambient_temperature, ratio, compressor_efficiency)
        temperature = charge_temperature(outlet, ambient_temperature, effectiveness)
        pressure = manifold_pressure_for_air_flow(
            air_flow, displacement, speed, volumetric_efficiency, temperature
        )
        return pressure, temperature

    def surplus(ratio: float) -> float:
        return ratio - pressure_ratio(needed(ratio)[0], ambient_pressure, charge_loss, filter_loss)

    if surplus(1.0) >= 0:
        pressure, temperature = needed(1.0)
        return Charge(pressure, pressure - ambient_pressure, temperature, 1.0)
    if surplus(_MOST_RATIO) < 0:
        raise OutOfRange(
            f"air_flow of {air_flow * 1e3:.0f} g/s would ask for a pressure ratio beyond {_MOST_RATIO:g} "
            "at this speed"
        )
    # The surplus is convex in the ratio, so the secant through both ends closes in from one side.
    low, low_value, high = 1.0, surplus(1.0), _MOST_RATIO
    for _ in range(100):
        high_value = surplus(high)
        step = high_value * (high - low) / (high_value - low_value)
        if abs(step) < 1e-13:
            break
        low, low_value, high = high, high_value, high - step
        if abs(low_value) < 1e-14:
            high = low
            break
    pressure, temperature = needed(high)
    return Charge(pressure, pressure - ambient_pressure, temperature, high)
