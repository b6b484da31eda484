"""Motion of piston and rod against crank angle, exact for a pin on the cylinder axis.

Angles count from top dead centre. Positions and velocities are positive downwards, away
from the head; accelerations are positive downwards too.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite

__all__ = [
    "mean_piston_speed",
    "peak_piston_speed",
    "piston_acceleration",
    "piston_descent",
    "piston_position",
    "piston_velocity",
    "rod_angle",
    "rod_ratio",
]


def piston_descent(stroke: float, centre_length: float) -> Callable[[float], float]:
    """By crank angle what `piston_position` gives: the lengths are looked at once for many angles.

    >>> descent = piston_descent(0.087, 0.148)
    >>> round(descent(math.radians(90)) * 1e3, 2)
    50.04
    """
    _rod_reach(stroke, centre_length, 0.0)
    throw = stroke / 2

    def descent(crank_angle: float) -> float:
        reach = math.sqrt(centre_length**2 - (throw * math.sin(crank_angle)) ** 2)
        return throw * (1 - math.cos(crank_angle)) + centre_length - reach

    return descent


def _rod_reach(stroke: float, centre_length: float, crank_angle: float) -> float:
    """Height of the small end above the crankpin: sqrt(l^2 - r^2 sin^2)."""
    positive(stroke=stroke, centre_length=centre_length)
    finite(crank_angle=crank_angle)
    if centre_length <= stroke / 2:
        raise OutOfRange(
            f"centre_length must be more than half the stroke, got {centre_length * 1e3:g} mm "
            f"for a stroke of {stroke * 1e3:g} mm: the crank could not turn"
        )
    return math.sqrt(centre_length**2 - (stroke / 2 * math.sin(crank_angle)) ** 2)


@formula(
    takes={"stroke": "mm", "centre_length": "mm", "crank_angle": "deg"},
    gives="mm",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("stroke",),
    falls_with=("centre_length",),
)
def piston_position(stroke: float, centre_length: float, crank_angle: float) -> float:
    """Distance of the piston below its top dead centre.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    crank_angle : float
        From top dead centre, [rad]

    Returns
    -------
    float
        Distance below top dead centre, [m]

    Raises
    ------
    OutOfRange
        When a length is not above zero or the rod is no longer than the crank throw.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(piston_position(0.087, 0.148, math.radians(90)) * 1e3, 2)
    50.04
    """
    finite(crank_angle=crank_angle)
    return piston_descent(stroke, centre_length)(crank_angle)


@formula(
    takes={"stroke": "mm", "centre_length": "mm", "crank_angle": "deg", "speed": "rpm"},
    gives="m/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, differentiated once",
)
def piston_velocity(stroke: float, centre_length: float, crank_angle: float, speed: float) -> float:
    """Piston velocity, positive away from the head.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    crank_angle : float
        From top dead centre, [rad]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Velocity, [m/s]

    Raises
    ------
    OutOfRange
        When a length or the speed is not above zero or the rod is no longer than the throw.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(piston_velocity(0.087, 0.148, math.radians(90), 6500 * math.pi / 30), 2)
    29.61
    """
    positive(speed=speed)
    reach = _rod_reach(stroke, centre_length, crank_angle)
    throw = stroke / 2
    return speed * throw * math.sin(crank_angle) * (1 + throw * math.cos(crank_angle) / reach)


@formula(
    takes={"stroke": "mm", "centre_length": "mm", "crank_angle": "deg", "speed": "rpm"},
    gives="m/s^2",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2, differentiated twice",
)
def piston_acceleration(stroke: float, centre_length: float, crank_angle: float, speed: float) -> float:
    """Piston acceleration, positive away from the head; greatest at top dead centre.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    crank_angle : float
        From top dead centre, [rad]
    speed : float
        Crank speed, steady, [rad/s]

    Returns
    -------
    float
        Acceleration, [m/s^2]

    Raises
    ------
    OutOfRange
        When a length or the speed is not above zero or the rod is no longer than the throw.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(piston_acceleration(0.087, 0.148, 0.0, 6500 * math.pi / 30))
    26078
    """
    positive(speed=speed)
    reach = _rod_reach(stroke, centre_length, crank_angle)
    throw = stroke / 2
    sine = math.sin(crank_angle)
    rod = (throw * centre_length**2 * math.cos(2 * crank_angle) + throw**3 * sine**4) / reach**3
    return speed**2 * throw * (math.cos(crank_angle) + rod)


@formula(
    takes={"stroke": "mm", "centre_length": "mm", "crank_angle": "deg"},
    gives="deg",
    source="plain geometry of the slider-crank",
)
def rod_angle(stroke: float, centre_length: float, crank_angle: float) -> float:
    """Lean of the rod from the cylinder axis.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    crank_angle : float
        From top dead centre, [rad]

    Returns
    -------
    float
        Angle, positive on the first half turn, [rad]

    Raises
    ------
    OutOfRange
        When a length is not above zero or the rod is no longer than the crank throw.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> round(math.degrees(rod_angle(0.087, 0.148, math.radians(90))), 2)
    17.09
    """
    _rod_reach(stroke, centre_length, crank_angle)
    return math.asin(stroke / 2 * math.sin(crank_angle) / centre_length)


@formula(
    takes={"centre_length": "mm", "stroke": "mm"},
    gives="number",
    source="common practice: rod length over stroke",
    rises_with=("centre_length",),
    falls_with=("stroke",),
)
def rod_ratio(centre_length: float, stroke: float) -> float:
    """Rod length over stroke, as the trade quotes it.

    Parameters
    ----------
    centre_length, stroke : float
        Rod length between bore centres and piston travel, [m]

    Returns
    -------
    float
        Ratio, [-]; usual road engines lie between 1.5 and 1.8.

    Raises
    ------
    OutOfRange
        When either length is not above zero.

    Notes
    -----
    Some texts mean rod length over crank throw, which is twice this.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(rod_ratio(centre_length=0.148, stroke=0.087), 2)
    1.7
    """
    positive(centre_length=centre_length, stroke=stroke)
    return centre_length / stroke


@formula(
    takes={"stroke": "mm", "speed": "rpm"},
    gives="m/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("stroke", "speed"),
)
def mean_piston_speed(stroke: float, speed: float) -> float:
    """Mean speed of the piston over one turn: twice the stroke times the turns each second.

    Parameters
    ----------
    stroke : float
        Piston travel, [m]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Mean piston speed, [m/s]

    Raises
    ------
    OutOfRange
        When either is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(mean_piston_speed(stroke=0.087, speed=6500 * math.pi / 30), 2)
    18.85
    """
    positive(stroke=stroke, speed=speed)
    return stroke * speed / math.pi


@formula(
    takes={"stroke": "mm", "centre_length": "mm", "speed": "rpm"},
    gives="m/s",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2: greatest of the velocity",
)
def peak_piston_speed(stroke: float, centre_length: float, speed: float) -> float:
    """Greatest speed of the piston in a turn, a little before the crank stands square.

    Parameters
    ----------
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Greatest speed, [m/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the rod is no longer than the crank throw.

    Notes
    -----
    Found by bisection of the exact acceleration, which changes sign once between 0 and 90 degrees;
    the speed is flat there, so the angle need not be found to the last digit.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(peak_piston_speed(0.087, 0.148, 6500 * math.pi / 30), 2)
    30.87
    """
    low, high = 0.0, math.pi / 2
    for _ in range(26):
        middle = (low + high) / 2
        if piston_acceleration(stroke, centre_length, middle, speed) > 0:
            low = middle
        else:
            high = middle
    return piston_velocity(stroke, centre_length, (low + high) / 2, speed)
