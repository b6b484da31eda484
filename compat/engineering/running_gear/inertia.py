"""Forces of the moving masses and of the gas on piston, rod and rod bolts."""

from __future__ import annotations

import math

from compat.engineering.cylinder.crank_motion import piston_acceleration
from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative

__all__ = [
    "gas_load",
    "reciprocating_force",
    "reciprocating_load",
    "rod_bolt_load",
]


@formula(
    takes={"reciprocating_mass": "g", "stroke": "mm", "centre_length": "mm", "speed": "rpm"},
    gives="kN",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2; Shigley, Mechanical Engineering Design",
    rises_with=("reciprocating_mass", "stroke", "speed"),
    falls_with=("centre_length",),
)
def reciprocating_load(reciprocating_mass: float, stroke: float, centre_length: float, speed: float) -> float:
    """Pull of the reciprocating masses on the rod at top dead centre of the gas exchange.

    Parameters
    ----------
    reciprocating_mass : float
        Piston, pin, clips, rings and the reciprocating share of the rod, [kg]
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Force in the rod's small end, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the rod is no longer than the crank throw.

    Notes
    -----
    Exact at top dead centre, where the two-term series and exact kinematics agree. Gas pressure at that
    top dead centre is small and relieves the rod: left out on the safe side.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(reciprocating_load(0.605, 0.087, 0.148, 6500 * math.pi / 30))
    15777
    """
    positive(reciprocating_mass=reciprocating_mass)
    return reciprocating_mass * piston_acceleration(stroke, centre_length, 0.0, speed)


@formula(
    takes={
        "reciprocating_mass": "g",
        "stroke": "mm",
        "centre_length": "mm",
        "speed": "rpm",
        "crank_angle": "deg",
        "series": ("exact", "two_term"),
    },
    gives="kN",
    source="Shigley and Uicker, Theory of Machines and Mechanisms (two-term); plain kinematics (exact)",
)
def reciprocating_force(
    reciprocating_mass: float,
    stroke: float,
    centre_length: float,
    speed: float,
    crank_angle: float,
    series: str = "exact",
) -> float:
    """Inertia force of the reciprocating masses at any crank angle, positive away from the crank.

    Parameters
    ----------
    reciprocating_mass : float
        Piston, pin, clips, rings and the reciprocating share of the rod, [kg]
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    speed : float
        Crank speed, [rad/s]
    crank_angle : float
        From top dead centre, [rad]
    series : str, optional
        ``exact`` kinematics, or the first and second order terms (``two_term``).

    Returns
    -------
    float
        Force along the cylinder axis, positive when it pulls the rod, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the rod is no longer than the throw, or the word is unknown.

    Notes
    -----
    The two-term series is within about 1.5 % of the greatest force for rods of 1.5 strokes and longer.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(reciprocating_force(0.605, 0.087, 0.148, 6500 * math.pi / 30, math.pi))
    -8610
    """
    positive(reciprocating_mass=reciprocating_mass)
    exact = piston_acceleration(stroke, centre_length, crank_angle, speed)
    if series == "exact":
        return reciprocating_mass * exact
    if series != "two_term":
        raise OutOfRange(f"series must be exact or two_term, got {series}")
    throw = stroke / 2
    second = throw / centre_length * math.cos(2 * crank_angle)
    return reciprocating_mass * throw * speed**2 * (math.cos(crank_angle) + second)


@formula(
    takes={
        "reciprocating_load": "kN",
        "rotating_mass": "g",
        "cap_mass": "g",
        "stroke": "mm",
        "speed": "rpm",
        "bolts": "number",
    },
    gives="kN",
    source="Shigley, Mechanical Engineering Design; common practice for the split at the cap",
    rises_with=("reciprocating_load", "rotating_mass", "stroke", "speed"),
    falls_with=("cap_mass", "bolts"),
)
def rod_bolt_load(
    reciprocating_load: float,
    rotating_mass: float,
    cap_mass: float,
    stroke: float,
    speed: float,
    bolts: float = 2,
) -> float:
    """Pull on each rod bolt at top dead centre of the gas exchange.

    Parameters
    ----------
    reciprocating_load : float
        Pull of the reciprocating masses, [N]
    rotating_mass : float
        Rotating share of the rod, cap and bolts with it, [kg]
    cap_mass : float
        Cap and bolts, which lie on the far side of the joint, [kg]
    stroke : float
        Piston travel, [m]
    speed : float
        Crank speed, [rad/s]
    bolts : float, optional
        Bolts in one rod, [-]

    Returns
    -------
    float
        Load of each bolt, [N]

    Raises
    ------
    OutOfRange
        When the cap weighs more than the rotating share, or an argument is not above zero.

    Notes
    -----
    Direct pull only: bending of the cap adds to it, which the headroom over preload must cover.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8 for the joint under load.

    Examples
    --------
    >>> round(rod_bolt_load(15777, 0.360, 0.120, 0.087, 6500 * math.pi / 30))
    10307
    """
    not_negative(reciprocating_load=reciprocating_load, rotating_mass=rotating_mass, cap_mass=cap_mass)
    positive(stroke=stroke, speed=speed, bolts=bolts)
    if cap_mass > rotating_mass:
        raise OutOfRange(
            f"cap_mass ({cap_mass * 1e3:g} g) must not exceed rotating_mass ({rotating_mass * 1e3:g} g), "
            "of which it is a part"
        )
    return (reciprocating_load + (rotating_mass - cap_mass) * stroke / 2 * speed**2) / bolts


@formula(
    takes={"peak_pressure": "bar", "bore": "mm"},
    gives="kN",
    source="Khurmi and Gupta, A Textbook of Machine Design, connecting rods",
    rises_with=("peak_pressure", "bore"),
)
def gas_load(peak_pressure: float, bore: float) -> float:
    """Force of the gas on a circle of the given diameter.

    Parameters
    ----------
    peak_pressure : float
        Pressure above the crankcase, [Pa]
    bore : float
        Cylinder bore for rod, pin and crank; gasket opening for the lift of the head, [m]

    Returns
    -------
    float
        Force, [N]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Khurmi and Gupta, A Textbook of Machine Design, example of a connecting rod.

    Examples
    --------
    >>> round(gas_load(peak_pressure=3.15e6, bore=0.100))
    24740
    """
    positive(peak_pressure=peak_pressure, bore=bore)
    return peak_pressure * math.pi / 4 * bore**2
