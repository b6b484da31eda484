"""Stiffness of a bolt, springs in series, and how bolt and joint share a load."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "bolt_stiffness",
    "load_share",
]

STEEL_MODULUS = 206e9


@formula(
    takes={
        "nominal_diameter": "mm",
        "stress_area": "mm^2",
        "grip_length": "mm",
        "thread_in_grip": "mm",
        "shank_diameter": "mm",
        "elastic_modulus": "GPa",
        "ends": ("grip_only", "nut", "tapped"),
    },
    gives="N/um",
    source="Shigley, Mechanical Engineering Design, ch. 8; VDI 2230 for head, engaged thread and nut",
    scatter=0.05,
    scatter_source="estimate: spread between the two published ways of counting head and engaged thread",
    rises_with=("stress_area", "elastic_modulus"),
    falls_with=("grip_length",),
)
def bolt_stiffness(
    nominal_diameter: float,
    stress_area: float,
    grip_length: float,
    thread_in_grip: float,
    shank_diameter: float | None = None,
    elastic_modulus: float = STEEL_MODULUS,
    ends: str = "grip_only",
) -> float:
    """Axial stiffness of a bolt or stud: shank, free thread and, if asked, its ends.

    Parameters
    ----------
    nominal_diameter : float
        Of the thread, [m]
    stress_area : float
        Of the thread, [m^2]
    grip_length : float
        From under the head or nut to where the thread engages, [m]
    thread_in_grip : float
        Length of free thread within the grip, [m]
    shank_diameter : float, optional
        Of the plain length, waisted or full; default the nominal diameter, [m]
    elastic_modulus : float, optional
        Young's modulus, [Pa]
    ends : str, optional
        ``grip_only`` counts the grip (Shigley). ``nut`` and ``tapped`` add the head (0.5 d), the engaged
        thread (0.5 d) and the threads of a nut (0.4 d) or of a tapped hole (0.33 d) as VDI 2230 does.

    Returns
    -------
    float
        Force for each length of stretch, [N/m]

    Raises
    ------
    OutOfRange
        When a size is not above zero, the thread is longer than the grip, or the word is unknown.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.
    .. [2] VDI 2230, part 1, resilience of the bolt (from memory).

    Examples
    --------
    >>> round(bolt_stiffness(0.010, 58.0e-6, 0.098, 0.030) / 1e6)
    149
    """
    positive(nominal_diameter=nominal_diameter, stress_area=stress_area, grip_length=grip_length)
    positive(elastic_modulus=elastic_modulus)
    within("thread_in_grip", thread_in_grip, 0.0, grip_length, "mm", 1e-3)
    shank = nominal_diameter if shank_diameter is None else shank_diameter
    positive(shank_diameter=shank)
    compliance = thread_in_grip / stress_area + (grip_length - thread_in_grip) / (math.pi / 4 * shank**2)
    if ends != "grip_only":
        if ends not in ("nut", "tapped"):
            raise OutOfRange(f"ends must be grip_only, nut or tapped, got {ends}")
        nominal_area = math.pi / 4 * nominal_diameter**2
        mating = 0.4 if ends == "nut" else 0.33
        compliance += (0.5 + mating) * nominal_diameter / nominal_area + 0.5 * nominal_diameter / stress_area
    return elastic_modulus / compliance


@formula(
    takes={"bolt_stiffness": "N/um", "clamped_stiffness": "N/um", "load_height": "number"},
    gives="number",
    source="Shigley, Mechanical Engineering Design, ch. 8 (joint constant); VDI 2230 (load "
    "introduction factor)",
    rises_with=("bolt_stiffness", "load_height"),
    falls_with=("clamped_stiffness",),
)
def load_share(bolt_stiffness: float, clamped_stiffness: float, load_height: float = 1.0) -> float:
    """Share of a working load that the bolt feels; the rest relieves the joint.

    Parameters
    ----------
    bolt_stiffness, clamped_stiffness : float
        Of the bolt and of what it clamps, [N/m]
    load_height : float, optional
        How far apart in the joint the load pulls: 1 under head and nut (Shigley), 0 in the joint face
        itself, about 0.5 within the parts (VDI 2230), [-]

    Returns
    -------
    float
        Share, [-]

    Raises
    ------
    OutOfRange
        When a stiffness is not above zero or the height lies outside 0 to 1.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(load_share(148e6, 486e6), 3)
    0.233
    """
    positive(bolt_stiffness=bolt_stiffness, clamped_stiffness=clamped_stiffness)
    within("load_height", load_height, 0.0, 1.0)
    not_negative(load_height=load_height)
    return load_height * bolt_stiffness / (bolt_stiffness + clamped_stiffness)
