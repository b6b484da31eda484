"""Preload from turning and stretching a bolt, and what heat does to it."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative, within

__all__ = [
    "angle_preload",
    "preload_stretch",
    "stretch_preload",
    "thermal_preload_change",
]


@formula(
    takes={
        "snug_preload": "kN",
        "angle": "deg",
        "pitch": "mm",
        "bolt_stiffness": "N/um",
        "clamped_stiffness": "N/um",
        "yield_preload": "kN",
    },
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8 (turn of the nut); VDI 2230",
    scatter=0.08,
    scatter_source="estimate: the stack beds in during the first degrees, and a bolt past yield still hardens",
    rises_with=("snug_preload", "angle", "pitch", "bolt_stiffness", "clamped_stiffness", "yield_preload"),
)
def angle_preload(
    snug_preload: float,
    angle: float,
    pitch: float,
    bolt_stiffness: float,
    clamped_stiffness: float,
    yield_preload: float,
) -> float:
    """Preload after turning a bolt by an angle past its snug torque, at most that at which it yields.

    Parameters
    ----------
    snug_preload : float
        Left by the snug torque, [N]
    angle : float
        Turned past it, [rad]
    pitch : float
        Of the thread, [m]
    bolt_stiffness, clamped_stiffness : float
        Of the bolt and of what it clamps, [N/m]
    yield_preload : float
        At which the bolt yields while being turned, [N]

    Returns
    -------
    float
        Preload, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the snug preload is beyond yield.

    Notes
    -----
    The angle's share of the pitch stretches the bolt and squeezes the joint together. Past yield the preload
    hardly grows with angle, which is why the way is exact; hardening, left out, adds a few per cent.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(angle_preload(10e3, math.radians(60), 1.5e-3, 149e6, 453e6, 60e3))
    38030
    """
    not_negative(snug_preload=snug_preload, angle=angle)
    positive(pitch=pitch, bolt_stiffness=bolt_stiffness, clamped_stiffness=clamped_stiffness)
    positive(yield_preload=yield_preload)
    if snug_preload > yield_preload:
        raise OutOfRange(
            f"snug_preload ({snug_preload / 1e3:g} kN) must not exceed yield_preload "
            f"({yield_preload / 1e3:g} kN)"
        )
    series = bolt_stiffness * clamped_stiffness / (bolt_stiffness + clamped_stiffness)
    return min(snug_preload + angle / (2 * math.pi) * pitch * series, yield_preload)


@formula(
    takes={"stretch": "mm", "bolt_stiffness": "N/um"},
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8: preload by measured elongation",
)
def stretch_preload(stretch: float, bolt_stiffness: float) -> float:
    """Preload from the measured stretch of a bolt.

    Parameters
    ----------
    stretch : float
        Length tightened less free length, [m]
    bolt_stiffness : float
        From end to end: with head and engaged thread, where both ends are measured, [N/m]

    Returns
    -------
    float
        Preload, [N]

    Raises
    ------
    OutOfRange
        When the stretch is below zero or the stiffness is not above zero.

    Notes
    -----
    Elastic: a bolt that has grown in free length was past yield and its stretch says nothing.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(stretch_preload(0.14e-3, 200e6))
    28000
    """
    not_negative(stretch=stretch)
    positive(bolt_stiffness=bolt_stiffness)
    return stretch * bolt_stiffness


@formula(
    takes={"preload": "kN", "bolt_stiffness": "N/um"},
    gives="mm",
    source="Shigley, Mechanical Engineering Design, ch. 8: preload by measured elongation",
)
def preload_stretch(preload: float, bolt_stiffness: float) -> float:
    """Stretch at which a bolt carries a preload.

    Parameters
    ----------
    preload : float
        Wanted, [N]
    bolt_stiffness : float
        From end to end, [N/m]

    Returns
    -------
    float
        Length tightened less free length, [m]

    Raises
    ------
    OutOfRange
        When the preload is below zero or the stiffness is not above zero.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(preload_stretch(28e3, 200e6) * 1e3, 3)
    0.14
    """
    not_negative(preload=preload)
    positive(bolt_stiffness=bolt_stiffness)
    return preload / bolt_stiffness


@formula(
    takes={
        "clamped_length": "mm",
        "clamped_expansion": "1/K",
        "clamped_temperature_rise": "K",
        "bolt_expansion": "1/K",
        "bolt_temperature_rise": "K",
        "bolt_stiffness": "N/um",
        "clamped_stiffness": "N/um",
        "hard_length": "mm",
        "hard_expansion": "1/K",
    },
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 8 (joint stiffness) with thermal strain; VDI 2230",
    scatter=0.15,
    scatter_source="estimate: one temperature stands for the whole part; moduli fall by 5 to 10 % when hot",
    rises_with=("clamped_expansion", "clamped_temperature_rise", "hard_expansion"),
    falls_with=("bolt_expansion", "bolt_temperature_rise"),
)
def thermal_preload_change(
    clamped_length: float,
    clamped_expansion: float,
    clamped_temperature_rise: float,
    bolt_expansion: float,
    bolt_temperature_rise: float,
    bolt_stiffness: float,
    clamped_stiffness: float,
    hard_length: float = 0.0,
    hard_expansion: float = 11.5e-6,
) -> float:
    """Preload gained, or lost below zero, when the clamped parts and the bolt warm up differently.

    Parameters
    ----------
    clamped_length : float
        Of the part that expands, such as an aluminium head, [m]
    clamped_expansion : float
        Its coefficient; aluminium 22e-6, iron 11e-6, [1/K]
    clamped_temperature_rise : float
        Its mean temperature above that of tightening, [K]
    bolt_expansion : float
        Coefficient of the bolt; steel 11.5e-6, [1/K]
    bolt_temperature_rise : float
        Its mean temperature above that of tightening, [K]
    bolt_stiffness, clamped_stiffness : float
        Of the bolt and of what it clamps, [N/m]
    hard_length, hard_expansion : float, optional
        Washer and whatever else is clamped and warms up with the part, [m, 1/K]

    Returns
    -------
    float
        Change of preload, [N]

    Raises
    ------
    OutOfRange
        When a length or stiffness is not above zero or a temperature rise lies outside -150 to 400 K.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(thermal_preload_change(0.0938, 22e-6, 80.0, 11.5e-6, 70.0, 149e6, 453e6, 0.003))
    10082
    """
    positive(clamped_length=clamped_length, bolt_stiffness=bolt_stiffness, clamped_stiffness=clamped_stiffness)
    not_negative(hard_length=hard_length)
    finite(clamped_expansion=clamped_expansion, bolt_expansion=bolt_expansion, hard_expansion=hard_expansion)
    within("clamped_temperature_rise", clamped_temperature_rise, -150.0, 400.0, "K")
    within("bolt_temperature_rise", bolt_temperature_rise, -150.0, 400.0, "K")
    growth = (clamped_length * clamped_expansion + hard_length * hard_expansion) * clamped_temperature_rise
    own = (clamped_length + hard_length) * bolt_expansion * bolt_temperature_rise
    return (growth - own) * bolt_stiffness * clamped_stiffness / (bolt_stiffness + clamped_stiffness)
