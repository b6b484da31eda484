"""Mean air speeds in duct, throttle, port and valve, and the limit they put on breathing."""

from __future__ import annotations

import math

from compat.engineering.air.charge_heat import AIR_GAS_CONSTANT
from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = ["duct_air_speed", "inlet_mach_index", "port_air_speed"]


@formula(
    takes={
        "mass_flow": "kg/s",
        "pressure": "kPa",
        "temperature": "degC",
        "bore": "mm",
        "passages": "number",
    },
    gives="m/s",
    source="continuity",
    rises_with=("mass_flow", "temperature"),
    falls_with=("pressure", "bore", "passages"),
)
def duct_air_speed(
    mass_flow: float, pressure: float, temperature: float, bore: float, passages: float = 1.0
) -> float:
    """Mean air speed in a round duct, throttle or charge pipe.

    Parameters
    ----------
    mass_flow : float
        Air through all passages together, [kg/s]
    pressure, temperature : float
        Of the air there, absolute, [Pa] and [K]
    bore : float
        Inside diameter of one passage, [m]
    passages : float, optional
        How many lie side by side, [-]

    Returns
    -------
    float
        Mean speed, [m/s]; up to 60 m/s at peak power costs about 2 kPa (common practice)

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    Density is that of the still air, so speeds above about 100 m/s are underread by some per cent.

    References
    ----------
    .. [1] Any text on fluid mechanics.

    Examples
    --------
    >>> round(duct_air_speed(0.12, 100e3, 293.15, 0.060), 1)
    35.7
    """
    positive(mass_flow=mass_flow, pressure=pressure, temperature=temperature, bore=bore, passages=passages)
    density = pressure / (AIR_GAS_CONSTANT * temperature)
    return mass_flow / (density * passages * math.pi / 4 * bore**2)


@formula(
    takes={"bore": "mm", "stroke": "mm", "speed": "rpm", "port_area": "mm^2"},
    gives="m/s",
    source="continuity at mean piston speed; Heywood, Internal Combustion Engine Fundamentals, ch. 6",
)
def port_air_speed(bore: float, stroke: float, speed: float, port_area: float) -> float:
    """Mean air speed in the inlet ports while the piston goes down.

    Parameters
    ----------
    bore, stroke : float
        Cylinder diameter and piston travel, [m]
    speed : float
        Crank speed, [rad/s]
    port_area : float
        Least section of all inlet ports of one cylinder, [m^2]

    Returns
    -------
    float
        Mean speed, [m/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the ports are larger than the bore.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(port_air_speed(0.0855, 0.087, 6500 * math.pi / 30, 1100e-6), 1)
    98.4
    """
    positive(bore=bore, stroke=stroke, speed=speed, port_area=port_area)
    piston_area = math.pi / 4 * bore**2
    if port_area >= piston_area:
        raise OutOfRange(
            f"port_area must be below the piston's area of {piston_area * 1e6:.0f} mm^2, "
            f"got {port_area * 1e6:.0f} mm^2"
        )
    return stroke * speed / math.pi * piston_area / port_area


@formula(
    takes={
        "bore": "mm",
        "stroke": "mm",
        "speed": "rpm",
        "valve_diameter": "mm",
        "valves": "number",
        "flow_coefficient": "number",
        "inlet_temperature": "degC",
    },
    gives="number",
    source="Taylor, The Internal Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory)",
    scatter=0.1,
    scatter_source="common practice: mean flow coefficient of an unmeasured port",
)
def inlet_mach_index(
    bore: float,
    stroke: float,
    speed: float,
    valve_diameter: float,
    valves: float,
    flow_coefficient: float = 0.35,
    inlet_temperature: float = 298.15,
) -> float:
    """Inlet valve Mach index Z: mean piston speed carried through the valves, over the speed of sound.

    Parameters
    ----------
    bore, stroke : float
        Cylinder diameter and piston travel, [m]
    speed : float
        Crank speed, [rad/s]
    valve_diameter : float
        Head diameter of one inlet valve, [m]
    valves : float
        Inlet valves of one cylinder, [-]
    flow_coefficient : float, optional
        Mean over the lift period, against head area; 0.3 to 0.4, [-]
    inlet_temperature : float, optional
        [K]

    Returns
    -------
    float
        Z, [-]; filling falls away above about 0.5 to 0.6

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the coefficient lies outside 0.1 to 0.8.

    References
    ----------
    .. [1] Taylor, The Internal Combustion Engine in Theory and Practice, MIT Press, vol. 1, ch. 6.

    Examples
    --------
    >>> round(inlet_mach_index(0.0855, 0.087, 6500 * math.pi / 30, 0.0325, 2), 2)
    0.54
    """
    positive(
        bore=bore,
        stroke=stroke,
        speed=speed,
        valve_diameter=valve_diameter,
        valves=valves,
        inlet_temperature=inlet_temperature,
    )
    within("flow_coefficient", flow_coefficient, 0.1, 0.8)
    sound = math.sqrt(1.4 * AIR_GAS_CONSTANT * inlet_temperature)
    return bore**2 / (valves * valve_diameter**2) * stroke * speed / math.pi / (flow_coefficient * sound)
