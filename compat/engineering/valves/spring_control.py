"""Whether the spring keeps the valve on its cam, over the whole lobe."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.valves.cam_profile import half_length
from compat.engineering.valves.cam_shape import PROFILES, Shape, TableLift, shape_of, spline_of_table
from compat.engineering.valves.valve_spring import spring_rate

__all__ = ["SpringControl", "spring_control", "spring_control_of_table"]


class SpringControl(NamedTuple):
    """The place of the lobe where spring and inertia come closest."""

    force_ratio: float
    spring_force: float
    inertia_force: float
    float_speed: float


def _control(
    shape: Shape,
    start: float,
    end: float,
    steps: int,
    scale: tuple[float, float],
    force: tuple[float, float],
    mass: float,
    speed: float,
) -> SpringControl:
    """Where slowing over spring force is greatest; `scale` turns the shape into lift and acceleration."""
    lift_scale, bend_scale = scale
    seat, rate = force

    def demand(x: float) -> float:
        lift, _, bend = shape(x)
        if lift <= 0:  # on the seat; a smoothed table may ripple there
            return 0.0
        return max(0.0, -bend) * bend_scale * mass / (seat + rate * lift * lift_scale)

    grid = [start + (end - start) * i / steps for i in range(steps + 1)]
    best = max(range(steps + 1), key=lambda i: demand(grid[i]))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, steps)]
    golden = (math.sqrt(5) - 1) / 2
    for _ in range(24):
        one, two = high - golden * (high - low), low + golden * (high - low)
        if demand(one) > demand(two):
            high = two
        else:
            low = one
    at = max((0.5 * (low + high), grid[best]), key=demand)
    lift, _, bend = shape(at)
    inertia = -bend * bend_scale * mass
    if inertia <= 0:
        raise OutOfRange("the lift curve never slows the valve: it is no lift curve")
    spring = seat + rate * lift * lift_scale
    ratio = spring / inertia
    return SpringControl(ratio, spring, inertia, speed * math.sqrt(ratio))


_CONTROL_FIELDS = {"force_ratio": "number", "spring_force": "N", "inertia_force": "N", "float_speed": "rpm"}


@formula(
    takes={
        "profile": PROFILES,
        "max_lift": "mm",
        "duration": "deg",
        "duration_lift": "mm",
        "seat_load": "N",
        "nose_load": "N",
        "moving_mass": "g",
        "rev_limit": "rpm",
    },
    gives=_CONTROL_FIELDS,
    source="Norton, Cam Design and Manufacturing Handbook (from memory)",
    scatter={"force_ratio": 0.15, "inertia_force": 0.15, "float_speed": 0.08},
    scatter_source="common practice: a real lobe against a shape of the same lift and duration",
)
def spring_control(
    profile: str,
    max_lift: float,
    duration: float,
    duration_lift: float,
    seat_load: float,
    nose_load: float,
    moving_mass: float,
    rev_limit: float,
) -> SpringControl:
    """Spring force against the inertia of the valve, where the two come closest.

    Parameters
    ----------
    profile : str
        Shape of the lift curve.
    max_lift : float
        At the valve, [m]
    duration, duration_lift : float
        Crank angle [rad] at that lift [m]
    seat_load, nose_load : float
        Spring with the valve shut and at `max_lift`, [N]
    moving_mass : float
        At the valve, [kg]
    rev_limit : float
        Crank speed, [rad/s]

    Returns
    -------
    SpringControl
        force_ratio, spring over inertia [-]; spring_force and inertia_force there [N]; float_speed,
        the crank speed at which the ratio would be 1 [rad/s]

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    Notes
    -----
    A stiff train, no lash. The headroom asked of the ratio (1.15 on the street, common practice)
    covers spring surge and the give of the drive.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> control = spring_control("polynomial_2_8_14_20", 8.6e-3, math.radians(210), 1e-3,
    ...                          210, 480, 0.114, 6500 * math.pi / 30)
    >>> round(control.force_ratio, 2), round(control.float_speed * 30 / math.pi)
    (1.58, 8178)
    """
    positive(moving_mass=moving_mass, rev_limit=rev_limit)
    rate = spring_rate(seat_load, nose_load, max_lift)
    cam = half_length(profile, max_lift, duration, duration_lift) / 2
    bend_scale = max_lift * (rev_limit / 2 / cam) ** 2
    scale = (max_lift, bend_scale)
    return _control(shape_of(profile), 0.0, 1.0, 40, scale, (seat_load, rate), moving_mass, rev_limit)


@formula(
    takes={
        "lift_table": table("deg", "mm"),
        "seat_load": "N",
        "nose_load": "N",
        "moving_mass": "g",
        "rev_limit": "rpm",
        "reading_step": "mm",
    },
    gives=_CONTROL_FIELDS,
    source="Norton, Cam Design and Manufacturing Handbook (from memory); smoothing spline of the table",
    scatter={"force_ratio": 0.15, "inertia_force": 0.15, "float_speed": 0.08},
    scatter_source="trial on known shapes: lifts rounded to 0.01 mm, steps of 5 degrees",
    heavy=True,
    sensitive_to=("seat_load", "nose_load"),
)
def spring_control_of_table(
    lift_table: TableLift,
    seat_load: float,
    nose_load: float,
    moving_mass: float,
    rev_limit: float,
    reading_step: float = 0.01e-3,
) -> SpringControl:
    """Spring force against the inertia of the valve, from a table of its lift.

    Parameters
    ----------
    lift_table : tuple of rows
        Crank angle [rad] and valve lift [m], rising angles, shut to shut.
    seat_load, nose_load : float
        Spring with the valve shut and at the table's greatest lift, [N]
    moving_mass : float
        At the valve, [kg]
    rev_limit : float
        Crank speed, [rad/s]
    reading_step : float, optional
        To which the lifts were read; 0 takes them as exact, [m]

    Returns
    -------
    SpringControl
        As of `spring_control`.

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    References
    ----------
    .. [1] Norton, Cam Design and Manufacturing Handbook, Industrial Press.

    Examples
    --------
    >>> from compat.engineering.valves.cam_profile import valve_lift
    >>> rows = tuple((math.radians(a), valve_lift("polynomial_2_8_14_20", 8.6e-3, math.radians(210), 1e-3,
    ...               math.radians(a))) for a in range(-140, 141, 4))
    >>> round(spring_control_of_table(rows, 210, 480, 0.114, 6500 * math.pi / 30).force_ratio, 2)
    1.58
    """
    positive(moving_mass=moving_mass, rev_limit=rev_limit)
    spline = spline_of_table(lift_table, reading_step)
    rate = spring_rate(seat_load, nose_load, max(row[1] for row in lift_table))
    start, end = lift_table[0][0], lift_table[-1][0]
    steps = 4 * (len(lift_table) - 1)
    scale = (1.0, rev_limit**2)
    return _control(spline, start, end, steps, scale, (seat_load, rate), moving_mass, rev_limit)
