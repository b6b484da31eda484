"""Air and fuel that a four-stroke takes in, and what a power goal asks for."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "air_flow",
    "air_flow_for_power",
    "fuel_flow_for_power",
    "manifold_pressure_for_air_flow",
]

_R_AIR = 287.05287  # J/(kg K), dry air, ISO 2533


@formula(
    takes={
        "displacement": "cm^3",
        "speed": "rpm",
        "volumetric_efficiency": "%",
        "air_density": "kg/m^3",
    },
    gives="g/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
)
def air_flow(displacement: float, speed: float, volumetric_efficiency: float, air_density: float) -> float:
    """Mass flow of air into a four-stroke.

    Parameters
    ----------
    displacement : float
        Swept volume of the whole engine, [m^3]
    speed : float
        Crank speed, [rad/s]
    volumetric_efficiency : float
        Air taken in over what fills the swept volume at the given density, [-]
    air_density : float
        Density in the place that the efficiency refers to, usually the manifold, [kg/m^3]

    Returns
    -------
    float
        Mass flow, [kg/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the efficiency exceeds 200 %.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(air_flow(1998e-6, 5800 * math.pi / 30, 0.95, 1.18) * 1e3, 1)
    108.3
    """
    positive(displacement=displacement, speed=speed, air_density=air_density)
    positive(volumetric_efficiency=volumetric_efficiency)
    within("volumetric_efficiency", volumetric_efficiency, 0.0, 2.0, "%", 0.01)
    return volumetric_efficiency * air_density * displacement * speed / (4 * math.pi)


@formula(
    takes={"power": "kW", "specific_consumption": "g/(kW*h)"},
    gives="g/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2: definition of specific fuel consumption",
    rises_with=("power", "specific_consumption"),
)
def fuel_flow_for_power(power: float, specific_consumption: float) -> float:
    """Mass flow of fuel that a power asks for.

    Parameters
    ----------
    power : float
        Power at the flywheel, [W]
    specific_consumption : float
        Brake specific fuel consumption, [kg/J]

    Returns
    -------
    float
        Mass flow, [kg/s]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    Notes
    -----
    Petrol at full load takes about 0.45 to 0.55 lb/hp.h (270 to 335 g/kW.h) naturally aspirated and
    0.55 to 0.65 (335 to 395) turbocharged: common practice. Ethanol takes about 1.4 times as much.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(fuel_flow_for_power(92e3, 290e-3 / 3.6e6) * 1e3, 2)
    7.41
    """
    positive(power=power, specific_consumption=specific_consumption)
    return power * specific_consumption


@formula(
    takes={"power": "kW", "specific_consumption": "g/(kW*h)", "air_fuel_ratio": "number"},
    gives="g/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("power", "specific_consumption", "air_fuel_ratio"),
)
def air_flow_for_power(power: float, specific_consumption: float, air_fuel_ratio: float) -> float:
    """Mass flow of air that a power asks for.

    Parameters
    ----------
    power : float
        Power at the flywheel, [W]
    specific_consumption : float
        Brake specific fuel consumption, [kg/J]
    air_fuel_ratio : float
        Air over fuel by mass, as run at full load, [-]

    Returns
    -------
    float
        Mass flow, [kg/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(air_flow_for_power(147e3, 340e-3 / 3.6e6, 11.8) * 1e3, 1)
    163.8
    """
    positive(air_fuel_ratio=air_fuel_ratio)
    return air_fuel_ratio * fuel_flow_for_power(power, specific_consumption)


@formula(
    takes={
        "air_flow": "g/s",
        "displacement": "cm^3",
        "speed": "rpm",
        "volumetric_efficiency": "%",
        "charge_temperature": "degC",
    },
    gives="kPa",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, with the ideal gas law",
)
def manifold_pressure_for_air_flow(
    air_flow: float,
    displacement: float,
    speed: float,
    volumetric_efficiency: float,
    charge_temperature: float,
) -> float:
    """Absolute manifold pressure at which a four-stroke takes in an air flow.

    Parameters
    ----------
    air_flow : float
        Mass flow wanted, [kg/s]
    displacement : float
        Swept volume of the whole engine, [m^3]
    speed : float
        Crank speed, [rad/s]
    volumetric_efficiency : float
        Referred to the state in the manifold, [-]
    charge_temperature : float
        In the manifold, [K]

    Returns
    -------
    float
        Absolute pressure, [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the efficiency exceeds 200 %.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> pressure = manifold_pressure_for_air_flow(0.1638, 1998e-6, 5600 * math.pi / 30, 0.95, 318.15)
    >>> round(pressure / 1e3, 1)
    168.9
    """
    positive(
        air_flow=air_flow,
        displacement=displacement,
        speed=speed,
        volumetric_efficiency=volumetric_efficiency,
        charge_temperature=charge_temperature,
    )
    within("volumetric_efficiency", volumetric_efficiency, 0.0, 2.0, "%", 0.01)
    density = air_flow * 4 * math.pi / (displacement * speed * volumetric_efficiency)
    return density * _R_AIR * charge_temperature
