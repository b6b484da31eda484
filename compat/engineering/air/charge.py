"""Pressures of the charge from the filter to the manifold, and the state a compressor map is drawn for.

Boost is gauge, every other pressure absolute.
"""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative, within

__all__ = [
    "MAP_PRESSURE",
    "MAP_TEMPERATURE",
    "corrected_flow",
    "flow_loss",
    "map_absolute",
    "pressure_ratio",
    "shaft_speed",
]

MAP_PRESSURE = 100e3
MAP_TEMPERATURE = 298.15
"""Inlet state of many compressor maps, SAE J1826 (from memory); each map states its own, [Pa] and [K]."""


@formula(
    takes={"ambient_pressure": "kPa", "boost": "kPa"},
    gives="kPa",
    source="plain sum of gauge and ambient pressure",
    sum_of={"ambient_pressure": 1.0, "boost": 1.0},
)
def map_absolute(ambient_pressure: float, boost: float) -> float:
    """Absolute pressure in the manifold.

    Parameters
    ----------
    ambient_pressure : float
        Of the surroundings, [Pa]
    boost : float
        Gauge pressure in the manifold; 0 at full load without a blower, [Pa]

    Returns
    -------
    float
        Absolute pressure, [Pa]

    Raises
    ------
    OutOfRange
        When the ambient pressure is not above zero or no pressure is left.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(map_absolute(ambient_pressure=101.3e3, boost=120e3) / 1e3, 1)
    221.3
    """
    positive(ambient_pressure=ambient_pressure)
    finite(boost=boost)
    if ambient_pressure + boost <= 0:
        raise OutOfRange(
            f"boost must lie above {-ambient_pressure / 1e3:g} kPa (vacuum), got {boost / 1e3:g} kPa"
        )
    return ambient_pressure + boost


@formula(
    takes={"map_absolute": "kPa", "ambient_pressure": "kPa", "charge_loss": "kPa", "filter_loss": "kPa"},
    gives="number",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 6: ratio over the compressor itself",
    rises_with=("map_absolute", "charge_loss", "filter_loss"),
    falls_with=("ambient_pressure",),
)
def pressure_ratio(
    map_absolute: float, ambient_pressure: float, charge_loss: float = 0.0, filter_loss: float = 0.0
) -> float:
    """Pressure ratio over the compressor, with what the pipes, intercooler and filter lose.

    Parameters
    ----------
    map_absolute : float
        Absolute pressure in the manifold, [Pa]
    ambient_pressure : float
        Of the surroundings, [Pa]
    charge_loss : float, optional
        Between compressor and manifold, [Pa]
    filter_loss : float, optional
        Between the surroundings and the compressor, [Pa]

    Returns
    -------
    float
        Absolute outlet pressure over absolute inlet pressure, [-]

    Raises
    ------
    OutOfRange
        When a pressure is not above zero, a loss is negative or the filter takes all there is.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(pressure_ratio(221.3e3, 101.3e3, charge_loss=8e3, filter_loss=3e3), 3)
    2.333
    """
    positive(map_absolute=map_absolute, ambient_pressure=ambient_pressure)
    not_negative(charge_loss=charge_loss, filter_loss=filter_loss)
    within("filter_loss", filter_loss, 0.0, 0.5 * ambient_pressure, "kPa", 1e3)
    return (map_absolute + charge_loss) / (ambient_pressure - filter_loss)


@formula(
    takes={
        "mass_flow": "kg/s",
        "inlet_pressure": "kPa",
        "inlet_temperature": "degC",
        "reference_pressure": "kPa",
        "reference_temperature": "degC",
    },
    gives="kg/s",
    source="similarity of turbomachines; reference state of SAE J1826 (from memory)",
    rises_with=("mass_flow", "inlet_temperature", "reference_pressure"),
    falls_with=("inlet_pressure", "reference_temperature"),
)
def corrected_flow(
    mass_flow: float,
    inlet_pressure: float,
    inlet_temperature: float,
    reference_pressure: float = MAP_PRESSURE,
    reference_temperature: float = MAP_TEMPERATURE,
) -> float:
    """Air flow turned to the inlet state for which a compressor map is drawn.

    Parameters
    ----------
    mass_flow : float
        True flow, [kg/s]
    inlet_pressure, inlet_temperature : float
        At the compressor's mouth, absolute, [Pa] and [K]
    reference_pressure, reference_temperature : float, optional
        State stated on the map, [Pa] and [K]

    Returns
    -------
    float
        Corrected flow, [kg/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Maps differ in their reference state: read it on the sheet, the difference between two of
    them is a few per cent.

    References
    ----------
    .. [1] SAE J1826, turbocharger gas stand test code.

    Examples
    --------
    >>> round(corrected_flow(0.25, 95e3, 308.15), 4)
    0.2675
    """
    positive(
        mass_flow=mass_flow,
        inlet_pressure=inlet_pressure,
        inlet_temperature=inlet_temperature,
        reference_pressure=reference_pressure,
        reference_temperature=reference_temperature,
    )
    return (
        mass_flow * math.sqrt(inlet_temperature / reference_temperature) * reference_pressure / inlet_pressure
    )


@formula(
    takes={"corrected_speed": "rpm", "inlet_temperature": "degC", "reference_temperature": "degC"},
    gives="rpm",
    source="similarity of turbomachines; reference state of SAE J1826 (from memory)",
    rises_with=("corrected_speed", "inlet_temperature"),
    falls_with=("reference_temperature",),
)
def shaft_speed(
    corrected_speed: float, inlet_temperature: float, reference_temperature: float = MAP_TEMPERATURE
) -> float:
    """True speed of a turbocharger's shaft from the speed read on the compressor map.

    Parameters
    ----------
    corrected_speed : float
        Read on the map, [rad/s]
    inlet_temperature : float
        At the compressor's mouth, [K]
    reference_temperature : float, optional
        Stated on the map, [K]

    Returns
    -------
    float
        True speed, [rad/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] SAE J1826, turbocharger gas stand test code.

    Examples
    --------
    >>> round(shaft_speed(150e3, 318.15))
    154949
    """
    positive(
        corrected_speed=corrected_speed,
        inlet_temperature=inlet_temperature,
        reference_temperature=reference_temperature,
    )
    return corrected_speed * math.sqrt(inlet_temperature / reference_temperature)


@formula(
    takes={"rated_loss": "kPa", "rated_flow": "kg/s", "mass_flow": "kg/s", "density_ratio": "number"},
    gives="kPa",
    source="turbulent loss grows with the square of the flow; any text on fluid mechanics",
    scatter=0.05,
    scatter_source="common practice: measured cores follow a power of 1.8 to 2.0",
    rises_with=("rated_loss", "mass_flow"),
    falls_with=("rated_flow", "density_ratio"),
)
def flow_loss(rated_loss: float, rated_flow: float, mass_flow: float, density_ratio: float = 1.0) -> float:
    """Pressure lost in a filter, intercooler or pipe at another flow than its card states.

    Parameters
    ----------
    rated_loss : float
        Stated loss, [Pa]
    rated_flow, mass_flow : float
        Flow at which it is stated, and flow asked for, [kg/s]
    density_ratio : float, optional
        Density of the air over that at which the loss is stated, [-]

    Returns
    -------
    float
        Loss, [Pa]

    Raises
    ------
    OutOfRange
        When a flow or the ratio is not above zero or the loss is negative.

    References
    ----------
    .. [1] Any text on fluid mechanics.

    Examples
    --------
    >>> round(flow_loss(6e3, 0.20, 0.25) / 1e3, 2)
    9.38
    """
    positive(rated_flow=rated_flow, mass_flow=mass_flow, density_ratio=density_ratio)
    not_negative(rated_loss=rated_loss)
    return rated_loss * (mass_flow / rated_flow) ** 2 / density_ratio
