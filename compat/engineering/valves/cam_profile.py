"""Lift of a valve and its speed and acceleration, from a published cam shape or a lift table.

Angles and durations are crank degrees; velocities and accelerations of a lobe are given per
cam degree, as cam cards state them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import finite, not_negative, within
from compat.engineering.valves.cam_shape import PROFILES, TableLift, extremes, reach, shape_of, spline_of_table

__all__ = ["CamMotion", "cam_motion", "duration_at_lift", "half_length", "lift_table_motion", "valve_lift"]

_SHAPE_SOURCE = "Stoddart 1953 and Norton, Cam Design and Manufacturing Handbook (from memory)"


class CamMotion(NamedTuple):
    """Greatest velocity and accelerations of a lobe, per cam angle."""

    velocity: float
    opening_acceleration: float
    nose_acceleration: float


def half_length(profile: str, max_lift: float, duration: float, duration_lift: float) -> float:
    """Crank angle from greatest lift to the seat, [rad], from a duration at a stated lift."""
    positive(max_lift=max_lift, duration=duration)
    not_negative(duration_lift=duration_lift)
    within("max_lift", max_lift, 0.5e-3, 25e-3, "mm", 1e-3)
    within("duration", duration, math.radians(60), math.radians(400), "deg crank", math.radians(1))
    if duration_lift > 0.5 * max_lift:
        raise OutOfRange(
            f"duration_lift must lie between 0 and half of max_lift ({max_lift * 500:g} mm), "
            f"got {duration_lift * 1e3:g} mm"
        )
    return duration / 2 / reach(profile, duration_lift / max_lift)


@formula(
    takes={
        "profile": PROFILES,
        "max_lift": "mm",
        "duration": "deg",
        "duration_lift": "mm",
        "angle": "deg",
    },
    gives="mm",
    source=_SHAPE_SOURCE,
)
def valve_lift(profile: str, max_lift: float, duration: float, duration_lift: float, angle: float) -> float:
    """Lift of a valve at a crank angle from its greatest lift.

    Parameters
    ----------
    profile : str
        Shape of the lift curve.
    max_lift : float
        At the valve, lash taken off, [m]
    duration : float
        Crank angle between the two points of `duration_lift`, [rad]
    duration_lift : float
        Lift at which the duration is stated, [m]
    angle : float
        Crank angle from greatest lift, either way, [rad]

    Returns
    -------
    float
        Lift, 0 outside the lobe, [m]

    Raises
    ------
    OutOfRange
        When lift or duration lie outside usual sizes.

    Notes
    -----
    The shape stands in for a cam that was not measured; opening ramps are left out, so lift
    below 0.2 mm is not to be relied on.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> lift = valve_lift("polynomial_2_6_8_10", 9.6e-3, math.radians(220), 1e-3, math.radians(110))
    >>> round(lift * 1e3, 6)
    1.0
    """
    finite(angle=angle)
    length = half_length(profile, max_lift, duration, duration_lift)
    return max_lift * max(0.0, shape_of(profile)(abs(angle) / length)[0])


@formula(
    takes={
        "profile": PROFILES,
        "max_lift": "mm",
        "duration": "deg",
        "duration_lift": "mm",
        "wanted_lift": "mm",
    },
    gives="deg",
    source=_SHAPE_SOURCE,
    scatter=0.03,
    scatter_source="common practice: shapes of one duration at 1 mm differ by some degrees at other lifts",
    rises_with=("duration", "duration_lift"),
    falls_with=("wanted_lift",),
)
def duration_at_lift(
    profile: str, max_lift: float, duration: float, duration_lift: float, wanted_lift: float
) -> float:
    """Duration of a cam at another lift than its card states, so that two cards can be compared.

    Parameters
    ----------
    profile : str
        Shape of the lift curve.
    max_lift : float
        At the valve, [m]
    duration, duration_lift : float
        As stated: crank angle [rad] at that lift [m]
    wanted_lift : float
        Lift at which the duration is wanted; 0 for the whole lobe without ramps, [m]

    Returns
    -------
    float
        Duration in crank angle, [rad]

    Raises
    ------
    OutOfRange
        When lift or duration lie outside usual sizes.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> at_half = duration_at_lift("polynomial_2_6_8_10", 9.6e-3, math.radians(220), 1e-3, 0.5e-3)
    >>> round(math.degrees(at_half), 1)
    237.9
    """
    not_negative(wanted_lift=wanted_lift)
    if wanted_lift >= max_lift:
        raise OutOfRange(
            f"wanted_lift must lie below max_lift ({max_lift * 1e3:g} mm), got {wanted_lift * 1e3:g} mm"
        )
    length = half_length(profile, max_lift, duration, duration_lift)
    return 2 * length * reach(profile, wanted_lift / max_lift)


@formula(
    takes={"profile": PROFILES, "max_lift": "mm", "duration": "deg", "duration_lift": "mm"},
    gives={"velocity": "mm/deg", "opening_acceleration": "mm/deg^2", "nose_acceleration": "mm/deg^2"},
    source=_SHAPE_SOURCE,
    scatter={"velocity": 0.05, "opening_acceleration": 0.3, "nose_acceleration": 0.15},
    scatter_source="common practice: real lobes against a shape of the same lift and duration",
)
def cam_motion(profile: str, max_lift: float, duration: float, duration_lift: float) -> CamMotion:
    """Greatest velocity and acceleration of a lobe, per cam degree.

    Parameters
    ----------
    profile : str
        Shape of the lift curve.
    max_lift : float
        At the valve, [m]
    duration, duration_lift : float
        Crank angle [rad] at that lift [m]

    Returns
    -------
    CamMotion
        velocity [m/rad of cam]; opening_acceleration, greatest away from the seat, and
        nose_acceleration, greatest towards it, both as positive numbers [m/rad^2 of cam]

    Raises
    ------
    OutOfRange
        When lift or duration lie outside usual sizes.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> motion = cam_motion("polynomial_2_8_14_20", 8.6e-3, math.radians(210), 1e-3)
    >>> round(motion.velocity * 1e3 * math.radians(1), 3)
    0.227
    """
    cam = half_length(profile, max_lift, duration, duration_lift) / 2
    slope, opening, closing = extremes(profile)
    return CamMotion(max_lift * slope / cam, max_lift * opening / cam**2, max_lift * closing / cam**2)


@formula(
    takes={"lift_table": table("deg", "mm"), "reading_step": "mm"},
    gives={"velocity": "mm/deg", "opening_acceleration": "mm/deg^2", "nose_acceleration": "mm/deg^2"},
    source="smoothing spline, Reinsch, Numerische Mathematik 10 (1967)",
    scatter={"velocity": 0.01, "opening_acceleration": 0.05, "nose_acceleration": 0.15},
    scatter_source="trial on known shapes: lifts rounded to 0.01 mm, steps of 5 degrees",
    heavy=True,
    sensitive_to=(),
)
def lift_table_motion(lift_table: TableLift, reading_step: float = 0.01e-3) -> CamMotion:
    """Greatest velocity and acceleration of a lobe from a table of its lift, per cam degree.

    Parameters
    ----------
    lift_table : tuple of rows
        Crank angle [rad] and valve lift [m], rising angles, shut to shut; steps of 5 degrees or less.
    reading_step : float, optional
        To which the lifts were read or rounded; 0 takes them as exact, [m]

    Returns
    -------
    CamMotion
        velocity [m/rad of cam]; opening_acceleration and nose_acceleration [m/rad^2 of cam]

    Raises
    ------
    OutOfRange
        When the table is too short, unordered, or does not begin and end shut.

    References
    ----------
    .. [1] C. H. Reinsch, Smoothing by spline functions, Numerische Mathematik 10 (1967).

    Examples
    --------
    >>> rows = tuple(
    ...     (math.radians(a), valve_lift("cycloidal", 9e-3, math.radians(240), 0.0, math.radians(a)))
    ...     for a in range(-120, 121, 4))
    >>> round(lift_table_motion(rows).velocity * 1e3 * math.radians(1), 2)
    0.3
    """
    spline = spline_of_table(lift_table, reading_step)
    angles = [row[0] for row in lift_table]
    # the curvature is straight between the points, so its extremes lie at them; the slope's at its zeros
    bends = [spline(a)[2] for a in angles]
    turning = [
        a + (b - a) * low / (low - high)
        for a, b, low, high in zip(angles, angles[1:], bends, bends[1:], strict=False)
        if low * high < 0
    ]
    fastest = max(abs(spline(a)[1]) for a in angles + turning)
    return CamMotion(2 * fastest, 4 * max(bends), -4 * min(bends))
