"""Flat tappets, the mass that moves with a valve, and the speed at which it floats."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import not_negative

__all__ = [
    "float_speed",
    "moving_valve_mass",
    "tappet_offset",
    "valve_inertia_force",
]


@formula(
    takes={"lobe_velocity": "mm/deg"},
    gives="mm",
    source="kinematics of a flat tappet; Norton, Cam Design and Manufacturing Handbook",
)
def tappet_offset(lobe_velocity: float) -> float:
    """Distance of the lobe's contact from the middle of a flat tappet, where the lobe is fastest.

    Parameters
    ----------
    lobe_velocity : float
        Greatest lift velocity per cam angle, [m/rad]

    Returns
    -------
    float
        Offset, to be at least 0.5 mm less than the tappet's radius, [m]

    Raises
    ------
    OutOfRange
        When the velocity is not above zero.

    Notes
    -----
    For a flat face the offset equals lift per radian of cam: mm/deg times 57.3 gives mm.
    Followers with a radius or roller obey other limits.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> round(tappet_offset(0.225e-3 / math.radians(1)) * 1e3, 2)
    12.89
    """
    positive(lobe_velocity=lobe_velocity)
    return lobe_velocity


@formula(
    takes={
        "valve_mass": "g",
        "retainer_mass": "g",
        "collet_mass": "g",
        "spring_mass": "g",
        "tappet_mass": "g",
    },
    gives="g",
    source="Norton, Cam Design and Manufacturing Handbook; a third of the spring (Rayleigh)",
)
def moving_valve_mass(
    valve_mass: float,
    retainer_mass: float,
    collet_mass: float,
    spring_mass: float,
    tappet_mass: float = 0.0,
) -> float:
    """Mass that moves with one valve, reckoned at the valve.

    Parameters
    ----------
    valve_mass, retainer_mass, collet_mass : float
        Of one valve, its retainer and its pair of collets, [kg]
    spring_mass : float
        Of all springs on the valve; a third of it moves, [kg]
    tappet_mass : float, optional
        Of a bucket with its shim; of a finger, its inertia about the pivot over the square of the
        distance from pivot to valve, [kg]

    Returns
    -------
    float
        Mass, [kg]

    Raises
    ------
    OutOfRange
        When the valve's mass is not above zero or another is negative.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> round(moving_valve_mass(0.042, 0.010, 0.002, 0.045, 0.045) * 1e3)
    114
    """
    positive(valve_mass=valve_mass)
    not_negative(
        retainer_mass=retainer_mass,
        collet_mass=collet_mass,
        spring_mass=spring_mass,
        tappet_mass=tappet_mass,
    )
    return valve_mass + retainer_mass + collet_mass + spring_mass / 3 + tappet_mass


@formula(
    takes={"moving_mass": "g", "nose_acceleration": "mm/deg^2", "speed": "rpm"},
    gives="N",
    source="mass times acceleration at half crank speed",
)
def valve_inertia_force(moving_mass: float, nose_acceleration: float, speed: float) -> float:
    """Spring force that keeps the valve on the cam over the nose.

    Parameters
    ----------
    moving_mass : float
        At the valve, [kg]
    nose_acceleration : float
        Greatest slowing near the nose, per cam angle squared, [m/rad^2]
    speed : float
        Crank speed, [rad/s]

    Returns
    -------
    float
        Force, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> nose = 0.0060e-3 / math.radians(1) ** 2
    >>> round(valve_inertia_force(0.114, nose, 6500 * math.pi / 30))
    260
    """
    positive(moving_mass=moving_mass, nose_acceleration=nose_acceleration, speed=speed)
    return moving_mass * nose_acceleration * (speed / 2) ** 2


@formula(
    takes={"moving_mass": "g", "nose_acceleration": "mm/deg^2", "nose_load": "N"},
    gives="rpm",
    source="speed at which inertia over the nose equals the spring",
    rises_with=("nose_load",),
    falls_with=("moving_mass", "nose_acceleration"),
)
def float_speed(moving_mass: float, nose_acceleration: float, nose_load: float) -> float:
    """Crank speed at which the valve leaves the cam over the nose, from a cam card's figures.

    Parameters
    ----------
    moving_mass : float
        At the valve, [kg]
    nose_acceleration : float
        Greatest slowing near the nose, per cam angle squared, [m/rad^2]
    nose_load : float
        Of the spring at full lift, [N]

    Returns
    -------
    float
        Crank speed, [rad/s]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    A stiff train. Real ones bounce some per cent earlier from the surge of spring and cam drive,
    which the headroom asked for covers.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> nose = 0.0060e-3 / math.radians(1) ** 2
    >>> round(float_speed(0.114, nose, 480) * 30 / math.pi)
    8830
    """
    positive(moving_mass=moving_mass, nose_acceleration=nose_acceleration, nose_load=nose_load)
    return 2 * math.sqrt(nose_load / (moving_mass * nose_acceleration))
