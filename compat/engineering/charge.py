"""Pressure, temperature and boost of the charge between surroundings and manifold.

Pressures are absolute unless a name says gauge or boost.
"""

from __future__ import annotations

from typing import NamedTuple

from compat.engineering.breathing import manifold_pressure_for_air_flow
from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.ranges import finite, not_negative, within

__all__ = [
    "Charge",
    "charge_for_air_flow",
    "charge_temperature",
    "compressor_outlet_temperature",
    "map_absolute",
    "pressure_ratio",
]

_KAPPA = 1.4  # of cold air


@formula(
    takes={"boost": "kPa", "ambient_pressure": "kPa"},
    gives="kPa",
    source="common practice: gauge plus surroundings",
)
def map_absolute(boost: float, ambient_pressure: float) -> float:
    """Absolute manifold pressure behind a boost gauge's reading.

    Parameters
    ----------
    boost : float
        Gauge pressure, negative for vacuum, [Pa]
    ambient_pressure : float
        Of the surroundings, [Pa]

    Returns
    -------
    float
        Absolute pressure, [Pa]

    Raises
    ------
    OutOfRange
        When the surroundings' pressure is not above zero or the sum not positive.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(map_absolute(boost=120e3, ambient_pressure=101e3) / 1e3)
    221
    """
    finite(boost=boost)
    positive(ambient_pressure=ambient_pressure)
    total = ambient_pressure + boost
    if total <= 0:
        raise OutOfRange(
            f"boost must lie above {-ambient_pressure / 1e3:g} kPa, a full vacuum, got {boost / 1e3:g} kPa"
        )
    return total


@formula(
    takes={
        "manifold_pressure": "kPa",
        "ambient_pressure": "kPa",
        "charge_loss": "kPa",
        "intake_loss": "kPa",
    },
    gives="number",
    source="common practice: pressures at the compressor's own flanges",
)
def pressure_ratio(
    manifold_pressure: float, ambient_pressure: float, charge_loss: float = 0.0, intake_loss: float = 0.0
) -> float:
    """Pressure ratio of the compressor between its own flanges.

    Parameters
    ----------
    manifold_pressure : float
        Absolute, [Pa]
    ambient_pressure : float
        Of the surroundings, [Pa]
    charge_loss : float, optional
        Lost in intercooler and pipes after the compressor, [Pa]
    intake_loss : float, optional
        Lost in filter and duct before it, [Pa]

    Returns
    -------
    float
        Outlet over inlet, absolute, [-]

    Raises
    ------
    OutOfRange
        When a pressure is not above zero, a loss is negative, or the intake loss uses up the surroundings.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(pressure_ratio(201e3, 101e3, charge_loss=8e3, intake_loss=3e3), 2)
    2.13
    """
    positive(manifold_pressure=manifold_pressure, ambient_pressure=ambient_pressure)
    not_negative(charge_loss=charge_loss, intake_loss=intake_loss)
    inlet = ambient_pressure - intake_loss
    if inlet <= 0:
        raise OutOfRange(
            f"intake_loss must be less than ambient_pressure ({ambient_pressure / 1e3:g} kPa), "
            f"got {intake_loss / 1e3:g} kPa"
        )
    return (manifold_pressure + charge_loss) / inlet


@formula(
    takes={"inlet_temperature": "degC", "pressure_ratio": "number", "compressor_efficiency": "%"},
    gives="degC",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6: isentropic efficiency of a compressor",
)
def compressor_outlet_temperature(
    inlet_temperature: float, pressure_ratio: float, compressor_efficiency: float
) -> float:
    """Temperature of the air as it leaves the compressor.

    Parameters
    ----------
    inlet_temperature : float
        At the compressor's inlet, [K]
    pressure_ratio : float
        Outlet over inlet, absolute, [-]
    compressor_efficiency : float
        Isentropic, total to total, [-]

    Returns
    -------
    float
        Outlet temperature, [K]

    Raises
    ------
    OutOfRange
        When the temperature is not above zero, the ratio below 1, or the efficiency not between 0 and 100 %.

    Notes
    -----
    Air with a ratio of specific heats of 1.4: up to a ratio of 4 within about 1 K of real air.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(compressor_outlet_temperature(293.15, 2.0, 0.72) - 273.15, 1)
    109.2
    """
    positive(inlet_temperature=inlet_temperature, compressor_efficiency=compressor_efficiency)
    within("compressor_efficiency", compressor_efficiency, 0.0, 1.0, "%", 0.01)
    within("pressure_ratio", pressure_ratio, 1.0, 10.0)
    rise: float = pressure_ratio ** ((_KAPPA - 1) / _KAPPA) - 1
    return inlet_temperature * (1 + rise / compressor_efficiency)


@formula(
    takes={"outlet_temperature": "degC", "cooling_temperature": "degC", "effectiveness": "%"},
    gives="degC",
    source="Incropera, Fundamentals of Heat and Mass Transfer, ch. 11: effectiveness of a heat exchanger",
)
def charge_temperature(outlet_temperature: float, cooling_temperature: float, effectiveness: float) -> float:
    """Temperature of the charge behind the intercooler.

    Parameters
    ----------
    outlet_temperature : float
        Out of the compressor, [K]
    cooling_temperature : float
        Of the air or water that cools it, [K]
    effectiveness : float
        Drop obtained over drop possible; 0 without an intercooler, [-]

    Returns
    -------
    float
        Charge temperature, [K]

    Raises
    ------
    OutOfRange
        When a temperature is not above zero or the effectiveness not between 0 and 100 %.

    References
    ----------
    .. [1] Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, Wiley, ch. 11.

    Examples
    --------
    >>> round(charge_temperature(382.35, 293.15, 0.70) - 273.15, 1)
    46.8
    """
    positive(outlet_temperature=outlet_temperature, cooling_temperature=cooling_temperature)
    within("effectiveness", effectiveness, 0.0, 1.0, "%", 0.01)
    return outlet_temperature - effectiveness * (outlet_temperature - cooling_temperature)


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
        "compressor_efficiency": "%",
        "effectiveness": "%",
        "charge_loss": "kPa",
        "intake_loss": "kPa",
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
    intake_loss: float = 0.0,
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
    charge_loss, intake_loss : float, optional
        Lost after and before the compressor, [Pa]

    Returns
    -------
    Charge
        Absolute manifold pressure [Pa], boost over the surroundings [Pa], charge temperature [K]
        and pressure ratio of the compressor [-].

    Raises
    ------
    OutOfRange
        When an argument lies outside what the parts of it allow, or the pressure ratio would pass 10.

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
        return ratio - pressure_ratio(needed(ratio)[0], ambient_pressure, charge_loss, intake_loss)

    if surplus(1.0) >= 0:
        pressure, temperature = needed(1.0)
        return Charge(pressure, pressure - ambient_pressure, temperature, 1.0)
    if surplus(10.0) < 0:
        raise OutOfRange(
            f"air_flow of {air_flow * 1e3:.0f} g/s would ask for a pressure ratio beyond 10 at this speed"
        )
    # The surplus is convex in the ratio, so the secant through both ends closes in from one side.
    low, low_value, high = 1.0, surplus(1.0), 10.0
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
