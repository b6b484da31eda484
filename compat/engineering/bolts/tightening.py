"""Preload of a bolt tightened to a share of its yield, and the torque that goes with it."""

from __future__ import annotations

import math

from compat.engineering.bolts.threads import minor_diameter, pitch_diameter, stress_area
from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "head_friction_diameter",
    "preload_at_yield_share",
    "preload_from_torque",
    "tightening_torque",
    "yield_share_at_preload",
]

_COS_FLANK = math.cos(math.pi / 6)  # half of the thread's 60 degrees


def _wedge(diameter: float, pitch: float, thread_friction: float) -> float:
    """Tangent of lead angle and friction angle of the thread taken together."""
    within("thread_friction", thread_friction, 0.0, 0.5)
    lead = pitch / (math.pi * pitch_diameter(diameter, pitch))
    friction = thread_friction / _COS_FLANK
    return (lead + friction) / (1 - lead * friction)


def _combined(diameter: float, pitch: float, thread_friction: float) -> float:
    """Equivalent stress over tensile stress while the wrench twists the bolt."""
    middle = pitch_diameter(diameter, pitch)
    stress = (middle + minor_diameter(diameter, pitch)) / 2
    twist = 1.5 * middle / stress * _wedge(diameter, pitch, thread_friction)
    return math.sqrt(1 + 3 * twist**2)


@formula(
    takes={
        "diameter": "mm",
        "pitch": "mm",
        "yield_strength": "MPa",
        "thread_friction": "number",
        "yield_share": "%",
    },
    gives="kN",
    source="VDI 2230 Part 1 (2003), assembly preload",
    rises_with=("diameter", "yield_strength", "yield_share"),
    falls_with=("pitch", "thread_friction"),
)
def preload_at_yield_share(
    diameter: float, pitch: float, yield_strength: float, thread_friction: float, yield_share: float = 0.9
) -> float:
    """Preload at which tension and twist together reach a share of the bolt's yield strength.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    yield_strength : float
        Stress at 0.2 % lasting strain, [Pa]
    thread_friction : float
        Coefficient of friction in the thread, [-]
    yield_share : float, optional
        Share of yield used up while tightening, [-]

    Returns
    -------
    float
        Preload, [N]

    Raises
    ------
    OutOfRange
        When a length or strength is not above zero, friction lies outside 0 to 0.5 or the share
        outside 0 to 1.

    Notes
    -----
    Lead and friction angles are added as angles; the usual short form adds the tangents and comes out up to
    0.2 % higher. For a shank no thinner than the thread. The twist springs back when the wrench is off.

    References
    ----------
    .. [1] VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2003.

    Examples
    --------
    >>> round(preload_at_yield_share(0.010, 0.00125, 940e6, 0.10) / 1e3, 1)
    47.5
    """
    positive(yield_strength=yield_strength, yield_share=yield_share)
    within("yield_share", yield_share, 0.0, 1.0, "%", 0.01)
    area = stress_area(diameter, pitch)
    return yield_share * yield_strength * area / _combined(diameter, pitch, thread_friction)


@formula(
    takes={
        "preload": "kN",
        "diameter": "mm",
        "pitch": "mm",
        "yield_strength": "MPa",
        "thread_friction": "number",
    },
    gives="%",
    source="VDI 2230 Part 1 (2003), assembly preload solved for the share",
)
def yield_share_at_preload(
    preload: float, diameter: float, pitch: float, yield_strength: float, thread_friction: float
) -> float:
    """Share of the bolt's yield strength that tension and twist use up while tightening.

    Parameters
    ----------
    preload : float
        Tension reached, [N]
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    yield_strength : float
        Stress at 0.2 % lasting strain, [Pa]
    thread_friction : float
        Coefficient of friction in the thread, [-]

    Returns
    -------
    float
        Share, [-]; above 1 the bolt stretches for good.

    Raises
    ------
    OutOfRange
        When an argument is not above zero or friction lies outside 0 to 0.5.

    References
    ----------
    .. [1] VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2003.

    Examples
    --------
    >>> round(yield_share_at_preload(44e3, 0.010, 0.0015, 940e6, 0.12), 2)
    0.91
    """
    positive(preload=preload, yield_strength=yield_strength)
    stress = preload / stress_area(diameter, pitch) * _combined(diameter, pitch, thread_friction)
    return stress / yield_strength


@formula(
    takes={"face_diameter": "mm", "hole_diameter": "mm"},
    gives="mm",
    source="VDI 2230 Part 1 (2003): mean of bearing face and hole",
    rises_with=("face_diameter", "hole_diameter"),
)
def head_friction_diameter(face_diameter: float, hole_diameter: float) -> float:
    """Mean diameter on which the friction under a bolt head or nut acts.

    Parameters
    ----------
    face_diameter : float
        Outer diameter of the bearing face, [m]
    hole_diameter : float
        Hole under it, or inner diameter of the washer's contact, [m]

    Returns
    -------
    float
        Mean diameter, [m]

    Raises
    ------
    OutOfRange
        When either is not above zero or the hole is as wide as the face.

    References
    ----------
    .. [1] VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2003.

    Examples
    --------
    >>> round(head_friction_diameter(face_diameter=0.01463, hole_diameter=0.011) * 1e3, 2)
    12.81
    """
    positive(face_diameter=face_diameter, hole_diameter=hole_diameter)
    if hole_diameter >= face_diameter:
        raise OutOfRange(
            f"hole_diameter must be less than face_diameter ({face_diameter * 1e3:g} mm), "
            f"got {hole_diameter * 1e3:g} mm"
        )
    return (face_diameter + hole_diameter) / 2


def _arm(
    diameter: float, pitch: float, friction_diameter: float, thread_friction: float, head_friction: float
) -> float:
    """Torque for each newton of preload, [m]."""
    positive(friction_diameter=friction_diameter)
    within("head_friction", head_friction, 0.0, 0.5)
    thread = pitch_diameter(diameter, pitch) / 2 * _wedge(diameter, pitch, thread_friction)
    return thread + friction_diameter / 2 * head_friction


@formula(
    takes={
        "preload": "kN",
        "diameter": "mm",
        "pitch": "mm",
        "friction_diameter": "mm",
        "thread_friction": "number",
        "head_friction": "number",
    },
    gives="N*m",
    source="VDI 2230 Part 1 (2003), tightening torque",
)
def tightening_torque(
    preload: float,
    diameter: float,
    pitch: float,
    friction_diameter: float,
    thread_friction: float,
    head_friction: float,
) -> float:
    """Torque that reaches a preload with the stated friction.

    Parameters
    ----------
    preload : float
        Tension wanted, [N]
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    friction_diameter : float
        Mean diameter of the friction under head or nut, [m]
    thread_friction, head_friction : float
        Coefficients of friction, [-]

    Returns
    -------
    float
        Torque, [N*m]

    Raises
    ------
    OutOfRange
        When a length or the preload is not above zero or a friction lies outside 0 to 0.5.

    Notes
    -----
    A figure to check a card by, never to replace it: the fastener's maker states torque, lubricant and washer
    together. Friction is seldom known better than a quarter either way, and preload follows it.

    References
    ----------
    .. [1] VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2003.

    Examples
    --------
    >>> round(tightening_torque(47.5e3, 0.010, 0.00125, 0.012815, 0.10, 0.10))
    65
    """
    positive(preload=preload)
    return preload * _arm(diameter, pitch, friction_diameter, thread_friction, head_friction)


@formula(
    takes={
        "torque": "N*m",
        "diameter": "mm",
        "pitch": "mm",
        "friction_diameter": "mm",
        "thread_friction": "number",
        "head_friction": "number",
    },
    gives="kN",
    source="VDI 2230 Part 1 (2003), tightening torque solved for the preload",
    rises_with=("torque",),
    falls_with=("diameter", "pitch", "friction_diameter", "thread_friction", "head_friction"),
)
def preload_from_torque(
    torque: float,
    diameter: float,
    pitch: float,
    friction_diameter: float,
    thread_friction: float,
    head_friction: float,
) -> float:
    """Preload that a torque reaches with the stated friction.

    Parameters
    ----------
    torque : float
        Torque at the head or nut, [N*m]
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    friction_diameter : float
        Mean diameter of the friction under head or nut, [m]
    thread_friction, head_friction : float
        Coefficients of friction, [-]

    Returns
    -------
    float
        Preload, [N]

    Raises
    ------
    OutOfRange
        When a length or the torque is not above zero or a friction lies outside 0 to 0.5.

    Notes
    -----
    A click wrench and guessed friction leave the preload uncertain by a quarter and more either way.

    References
    ----------
    .. [1] VDI 2230 Part 1, Systematic calculation of highly stressed bolted joints, 2003.

    Examples
    --------
    >>> round(preload_from_torque(65, 0.010, 0.00125, 0.012815, 0.10, 0.10) / 1e3, 1)
    47.3
    """
    positive(torque=torque)
    return torque / _arm(diameter, pitch, friction_diameter, thread_friction, head_friction)
