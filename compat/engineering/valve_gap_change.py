"""What a skim, a gasket or a shifted cam does to a gap between valve and piston that was measured."""

from __future__ import annotations

import math

from compat.engineering.cam_shape import PROFILES
from compat.engineering.formula import formula
from compat.engineering.ranges import finite, within
from compat.engineering.valve_piston import valve_approach

__all__ = ["piston_valve_gap", "retard_effect"]


@formula(
    takes={
        "side": ("inlet", "exhaust"),
        "profile": PROFILES,
        "max_lift": "mm",
        "duration": "deg",
        "duration_lift": "mm",
        "lobe_centre": "deg",
        "valve_angle": "deg",
        "stroke": "mm",
        "centre_length": "mm",
        "cam_retard": "deg",
    },
    gives="mm",
    source="exact slider-crank and the cam's lift curve, before and after the shift",
    scatter=0.10,
    scatter_source="common practice: lift velocity near top dead centre of a real lobe against a shape",
    heavy=True,
    sensitive_to=("cam_retard",),
)
def retard_effect(
    side: str,
    profile: str,
    max_lift: float,
    duration: float,
    duration_lift: float,
    lobe_centre: float,
    valve_angle: float,
    stroke: float,
    centre_length: float,
    cam_retard: float,
) -> float:
    """Change of the least gap between valve and piston when a cam falls behind the crank.

    Parameters
    ----------
    side, profile, max_lift, duration, duration_lift, lobe_centre, valve_angle, stroke, centre_length
        As of `valve_approach`.
    cam_retard : float
        In crank angle; negative for advance, [rad]

    Returns
    -------
    float
        Gain (positive: inlet valves, retarded) or loss (negative: exhaust valves, retarded), [m]

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2 (piston motion).

    Examples
    --------
    >>> cam = ("polynomial_2_8_14_20", 9.6e-3, math.radians(220), 1e-3, math.radians(108))
    >>> rest = (math.radians(18), 0.087, 0.148, math.radians(1.0))
    >>> [round(retard_effect(side, *cam, *rest) * 1e3, 3) for side in ("inlet", "exhaust")]
    [0.107, -0.11]
    """
    within("cam_retard", cam_retard, -math.radians(90), math.radians(90), "deg crank", math.radians(1))
    arguments = (side, profile, max_lift, duration, duration_lift)
    arrangement = (lobe_centre, valve_angle, stroke, centre_length)
    before = valve_approach(*arguments, *arrangement).approach
    return valve_approach(*arguments, *arrangement, cam_retard).approach - before


@formula(
    takes={"stated_gap": "mm", "height_loss": "mm", "valve_angle": "deg", "retard_effect": "mm"},
    gives="mm",
    source="plain geometry: the piston closes in by the loss times the cosine of the valve angle",
)
def piston_valve_gap(
    stated_gap: float, height_loss: float, valve_angle: float, retard_effect: float = 0.0
) -> float:
    """Least gap between valve and piston after heights or timing changed.

    Parameters
    ----------
    stated_gap : float
        Measured or stated before, along the valve, [m]
    height_loss : float
        Taken off deck, head and gasket together; negative when height was gained, [m]
    valve_angle : float
        Between valve and cylinder axis, [rad]
    retard_effect : float, optional
        Gain or loss from the shift of the cam, [m]

    Returns
    -------
    float
        Gap, [m]; 2.0 mm at the inlet and 2.5 mm at the exhaust are the usual least (common practice)

    Raises
    ------
    OutOfRange
        When an argument is not a number or the angle lies outside 0 to 60 degrees.

    Notes
    -----
    Catalogue figures can at best say that measuring is due: the gap is proved on the engine.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(piston_valve_gap(3.1e-3, 0.30e-3, math.radians(20), -0.05e-3) * 1e3, 2)
    2.77
    """
    finite(stated_gap=stated_gap, height_loss=height_loss, retard_effect=retard_effect)
    within("valve_angle", valve_angle, 0.0, math.radians(60), "deg", math.radians(1))
    return stated_gap - height_loss * math.cos(valve_angle) + retard_effect
