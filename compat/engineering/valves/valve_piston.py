"""How close valve and piston come: shut at top dead centre, and over the overlap.

The gap is measured along the valve, to a pocket floor that lies parallel to the valve's head.
The piston moves along the cylinder, so a step down of the piston, a thicker gasket or a deeper
pocket opens the gap by its cosine of the valve angle. Crank degrees throughout.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from compat.engineering.cylinder.crank_motion import piston_descent
from compat.engineering.formula import OutOfRange, Takes, formula, positive, table
from compat.engineering.numerics.ranges import finite, not_negative, within
from compat.engineering.valves.cam_profile import half_length
from compat.engineering.valves.cam_shape import PROFILES, TableLift, shape_of, spline_of_table

__all__ = ["ValveApproach", "static_valve_gap", "valve_approach", "valve_approach_of_table"]

_SIDES = ("inlet", "exhaust")
_RANGE = math.radians(75)  # from top dead centre of overlap; beyond it the piston is far down
_STEPS = 30
_LOBE: dict[str, Takes] = {"profile": PROFILES, "max_lift": "mm", "duration": "deg", "duration_lift": "mm"}
_TOLERANCED = (
    "max_lift",
    "duration",
    "lobe_centre",
    "valve_angle",
    "stroke",
    "centre_length",
    "cam_shift",
)
_PLACE = {"lobe_centre": "deg", "valve_angle": "deg", "stroke": "mm", "centre_length": "mm"}


class ValveApproach(NamedTuple):
    """How far the valve closes in on the piston, against both at rest at top dead centre."""

    approach: float
    crank_angle: float


def _closest(
    lift: Callable[[float], float], middle: float, valve_angle: float, stroke: float, centre_length: float
) -> ValveApproach:
    """Least of piston descent less lift, along the valve; `middle` is the lobe's crank angle."""
    positive(stroke=stroke, centre_length=centre_length)
    within("valve_angle", valve_angle, 0.0, math.radians(60), "deg", math.radians(1))
    lean, descent = math.cos(valve_angle), piston_descent(stroke, centre_length)

    def gap(angle: float) -> float:
        return descent(angle) * lean - lift(angle - middle)

    step = 2 * _RANGE / _STEPS
    grid = [-_RANGE + step * i for i in range(_STEPS + 1)]
    start = min(grid, key=gap)
    low, high = start - step, start + step
    golden = (math.sqrt(5) - 1) / 2
    one, two = high - golden * (high - low), low + golden * (high - low)
    gap_one, gap_two = gap(one), gap(two)
    for _ in range(24):
        if gap_one < gap_two:
            high, two, gap_two = two, one, gap_one
            one = high - golden * (high - low)
            gap_one = gap(one)
        else:
            low, one, gap_one = one, two, gap_two
            two = low + golden * (high - low)
            gap_two = gap(two)
    angle = 0.5 * (low + high)
    return ValveApproach(gap(angle), angle)


def _middle(side: str, lobe_centre: float, cam_shift: float) -> float:
    if side not in _SIDES:
        raise OutOfRange(f"side must be inlet or exhaust, got {side}")
    within("lobe_centre", lobe_centre, math.radians(60), math.radians(160), "deg crank", math.radians(1))
    within("cam_shift", cam_shift, -math.radians(90), math.radians(90), "deg crank", math.radians(1))
    return (lobe_centre if side == "inlet" else -lobe_centre) + cam_shift


@formula(
    takes={"side": _SIDES, **_LOBE, **_PLACE, "cam_shift": "deg"},
    gives={"approach": "mm", "crank_angle": "deg"},
    source="exact slider-crank and the cam's lift curve, swept over the overlap",
    scatter={"approach": 0.10},
    scatter_source="own reckoning: fuller published shapes lie up to 7 % nearer; the rest is lash and timing",
    heavy=True,
    sensitive_to=_TOLERANCED,
)
def valve_approach(
    side: str,
    profile: str,
    max_lift: float,
    duration: float,
    duration_lift: float,
    lobe_centre: float,
    valve_angle: float,
    stroke: float,
    centre_length: float,
    cam_shift: float = 0.0,
) -> ValveApproach:
    """How far a valve closes in on the piston round top dead centre of overlap.

    Parameters
    ----------
    side : str
        inlet or exhaust.
    profile : str
        Shape of the lift curve.
    max_lift : float
        At the valve, [m]
    duration, duration_lift : float
        Crank angle [rad] at that lift [m]
    lobe_centre : float
        Crank angle of greatest lift after (inlet) or before (exhaust) overlap, [rad]
    valve_angle : float
        Between valve and cylinder axis, [rad]
    stroke, centre_length : float
        Piston travel and rod length between bore centres, [m]
    cam_shift : float, optional
        Phaser travel or timing error in crank angle, retard positive, [rad]

    Returns
    -------
    ValveApproach
        approach, to be added to the gap of the shut valve at top dead centre; 0 or negative [m];
        crank_angle where the two are closest, after top dead centre positive [rad]

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    Notes
    -----
    Inlet valves come closest after top dead centre and lose by advance, exhaust valves before it
    and lose by retard. Opening ramps are left out.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2 (piston motion).

    Examples
    --------
    >>> inlet = valve_approach("inlet", "polynomial_2_8_14_20", 9.6e-3, math.radians(220), 1e-3,
    ...                        math.radians(108), math.radians(18), 0.087, 0.148)
    >>> round(inlet.approach * 1e3, 2), round(math.degrees(inlet.crank_angle))
    (-1.49, 7)
    """
    length = half_length(profile, max_lift, duration, duration_lift)
    shape = shape_of(profile)
    return _closest(
        lambda angle: max_lift * max(0.0, shape(abs(angle) / length)[0]),
        _middle(side, lobe_centre, cam_shift),
        valve_angle,
        stroke,
        centre_length,
    )


@formula(
    takes={
        "side": _SIDES,
        "lift_table": table("deg", "mm"),
        **_PLACE,
        "cam_shift": "deg",
        "reading_step": "mm",
    },
    gives={"approach": "mm", "crank_angle": "deg"},
    source="exact slider-crank and the measured lift curve, swept over the overlap",
    scatter={"approach": 0.02},
    scatter_source="lifts read to 0.01 mm",
    heavy=True,
    sensitive_to=("lobe_centre", "cam_shift"),
)
def valve_approach_of_table(
    side: str,
    lift_table: TableLift,
    lobe_centre: float,
    valve_angle: float,
    stroke: float,
    centre_length: float,
    cam_shift: float = 0.0,
    reading_step: float = 0.01e-3,
) -> ValveApproach:
    """How far a valve closes in on the piston, from a measured lift curve.

    Parameters
    ----------
    side : str
        inlet or exhaust.
    lift_table : tuple of rows
        Crank angle from greatest lift [rad] and valve lift [m], rising angles, shut to shut.
    lobe_centre, valve_angle, stroke, centre_length, cam_shift : float
        As of `valve_approach`.
    reading_step : float, optional
        To which the lifts were read; 0 takes them as exact, [m]

    Returns
    -------
    ValveApproach
        As of `valve_approach`.

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2 (piston motion).

    Examples
    --------
    >>> from compat.engineering.valves.cam_profile import valve_lift
    >>> rows = tuple((math.radians(a), valve_lift("polynomial_2_8_14_20", 9.6e-3, math.radians(220), 1e-3,
    ...               math.radians(a))) for a in range(-144, 145, 4))
    >>> approach = valve_approach_of_table("inlet", rows, math.radians(108), math.radians(18), 0.087, 0.148)
    >>> round(approach.approach * 1e3, 2)
    -1.49
    """
    spline = spline_of_table(lift_table, reading_step)
    middle = _middle(side, lobe_centre, cam_shift)
    return _closest(lambda angle: max(0.0, spline(angle)[0]), middle, valve_angle, stroke, centre_length)


@formula(
    takes={
        "valve_recess": "mm",
        "pocket_depth": "mm",
        "gasket_thickness": "mm",
        "deck_clearance": "mm",
        "valve_angle": "deg",
    },
    gives="mm",
    source="plain geometry",
)
def static_valve_gap(
    valve_recess: float,
    pocket_depth: float,
    gasket_thickness: float,
    deck_clearance: float,
    valve_angle: float,
) -> float:
    """Gap between the shut valve and the piston at top dead centre, along the valve.

    Parameters
    ----------
    valve_recess : float
        Shut valve's lowest edge above the head's face, along the valve; negative when it stands out, [m]
    pocket_depth : float
        Of the valve pocket below the crown's flat, [m]
    gasket_thickness : float
        Compressed, [m]
    deck_clearance : float
        Positive with the piston below the deck, [m]
    valve_angle : float
        Between valve and cylinder axis, [rad]

    Returns
    -------
    float
        Gap, [m]; add `valve_approach` to it for the least gap of the cycle

    Raises
    ------
    OutOfRange
        When gasket or pocket is negative, or the angle lies outside 0 to 60 degrees.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> round(static_valve_gap(0.5e-3, 2.0e-3, 0.8e-3, 0.2e-3, math.radians(18)) * 1e3, 2)
    3.35
    """
    finite(valve_recess=valve_recess, deck_clearance=deck_clearance)
    not_negative(pocket_depth=pocket_depth, gasket_thickness=gasket_thickness)
    within("valve_angle", valve_angle, 0.0, math.radians(60), "deg", math.radians(1))
    return valve_recess + (pocket_depth + gasket_thickness + deck_clearance) * math.cos(valve_angle)
