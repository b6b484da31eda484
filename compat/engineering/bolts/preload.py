"""Preload that a way of tightening really leaves in a bolt: spread, settling, friction."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "PreloadBand",
    "lubricant_friction",
    "preload_band",
    "settling_loss",
    "tightening_spread",
]

SPREADS = {
    "torque": 0.27,
    "torque_proven_friction": 0.20,
    "torque_and_angle": 0.13,
    "yield": 0.13,
    "stretch": 0.10,
    "impact": 0.50,
}
FRICTIONS = {
    "dry": 0.16,
    "oil": 0.13,
    "wax": 0.11,
    "moly": 0.09,
    "threadlocker": 0.14,
}


class PreloadBand(NamedTuple):
    """Least, nominal and greatest preload of a bolt."""

    least: float
    nominal: float
    greatest: float


@formula(
    takes={"method": tuple(SPREADS)},
    gives="%",
    source="VDI 2230, part 1, tightening factors (from memory)",
)
def tightening_spread(method: str) -> float:
    """How far the preload may lie to either side of what a way of tightening aims at.

    Parameters
    ----------
    method : str
        ``torque`` by wrench with estimated friction, ``torque_proven_friction`` with friction measured on the
        joint, ``torque_and_angle``, ``yield`` controlled, ``stretch`` by measured length, ``impact`` wrench.

    Returns
    -------
    float
        Relative half width, [-]

    Raises
    ------
    OutOfRange
        When the word is unknown.

    Notes
    -----
    Tightening factor A (greatest over least preload) by (A - 1)/(A + 1), each in the middle of its published
    range: torque 1.6 to 2.0, proven friction 1.4 to 1.6, angle and yield 1.2 to 1.4, stretch 1.1 to 1.5 (its
    better half: a rod bolt measured at both ends), impact 2.5 to 4.

    References
    ----------
    .. [1] VDI 2230, part 1 (from memory).

    Examples
    --------
    >>> tightening_spread("torque")
    0.27
    """
    if method not in SPREADS:
        raise OutOfRange(f"method must be one of {', '.join(SPREADS)}, got {method}")
    return SPREADS[method]


@formula(
    takes={"preload": "kN", "method": tuple(SPREADS), "settling": "kN"},
    gives={"least": "kN", "nominal": "kN", "greatest": "kN"},
    source="VDI 2230, part 1: tightening factor and embedding",
    rises_with={
        "least": ("preload",),
        "nominal": ("preload", "settling"),
        "greatest": ("preload", "settling"),
    },
    falls_with={
        "least": ("settling",),
    },
)
def preload_band(preload: float, method: str, settling: float = 0.0) -> PreloadBand:
    """Least and greatest preload after tightening, the least less what settling takes.

    Parameters
    ----------
    preload : float
        Aimed at, [N]
    method : str
        As for `tightening_spread`.
    settling : float, optional
        Preload lost as surfaces bed in, [N]

    Returns
    -------
    PreloadBand
        Least for holding the joint, nominal, and greatest for the strength of the bolt, [N]

    Raises
    ------
    OutOfRange
        When the preload is not above zero, the settling is below zero or takes all, or the word is unknown.

    References
    ----------
    .. [1] VDI 2230, part 1.

    Examples
    --------
    >>> band = preload_band(44e3, "torque_and_angle", 1.5e3)
    >>> round(band.least), round(band.greatest)
    (36780, 49720)
    """
    positive(preload=preload)
    not_negative(settling=settling)
    spread = tightening_spread(method)
    least = preload * (1 - spread) - settling
    if least <= 0:
        raise OutOfRange(f"settling ({settling / 1e3:g} kN) takes all of the preload ({preload / 1e3:g} kN)")
    return PreloadBand(least, preload, preload * (1 + spread))


@formula(
    takes={
        "bolt_stiffness": "N/um",
        "clamped_stiffness": "N/um",
        "inner_faces": "number",
        "roughness_rz": "um",
    },
    gives="kN",
    source="VDI 2230, part 1, guide values of embedding under axial load (from memory)",
    scatter=0.4,
    scatter_source="estimate: guide values of VDI 2230 are rounded to half a micrometre and joints differ",
    rises_with=("bolt_stiffness", "clamped_stiffness", "inner_faces", "roughness_rz"),
)
def settling_loss(
    bolt_stiffness: float, clamped_stiffness: float, inner_faces: float, roughness_rz: float = 16e-6
) -> float:
    """Preload lost as thread, head and joint faces bed in.

    Parameters
    ----------
    bolt_stiffness, clamped_stiffness : float
        Of the bolt and of what it clamps, [N/m]
    inner_faces : float
        Joint faces between the clamped parts, [-]
    roughness_rz : float, optional
        Of the faces, [m]

    Returns
    -------
    float
        Preload lost, [N]

    Raises
    ------
    OutOfRange
        When a stiffness is not above zero, or the roughness lies outside 0 to 160 um.

    Notes
    -----
    Thread 3 um; two faces under head and nut 2.5, 3, 4 um each and every inner face 1.5, 2, 3 um for the
    classes below 10, 10 to 40 and 40 to 160 um; taken at 5, 25 and 100 um and straight between, so that
    nothing jumps at a class. A soft gasket creeps on top of this.

    References
    ----------
    .. [1] VDI 2230, part 1 (from memory).

    Examples
    --------
    >>> round(settling_loss(149e6, 453e6, 2, 16e-6))
    1357
    """
    positive(bolt_stiffness=bolt_stiffness, clamped_stiffness=clamped_stiffness)
    not_negative(inner_faces=inner_faces)
    within("roughness_rz", roughness_rz, 0.0, 160e-6, "um", 1e-6)
    points = ((5e-6, 2.5e-6, 1.5e-6), (25e-6, 3e-6, 2e-6), (100e-6, 4e-6, 3e-6))
    head, inner = points[0][1:] if roughness_rz <= 5e-6 else points[-1][1:]
    for (low, head_low, inner_low), (high, head_high, inner_high) in pairwise(points):
        if low < roughness_rz < high:
            part = (roughness_rz - low) / (high - low)
            head = head_low + part * (head_high - head_low)
            inner = inner_low + part * (inner_high - inner_low)
    depth = 3e-6 + 2 * head + inner_faces * inner
    return depth * bolt_stiffness * clamped_stiffness / (bolt_stiffness + clamped_stiffness)


@formula(
    takes={"lubricant": tuple(FRICTIONS)},
    gives="number",
    source="VDI 2230, part 1, friction classes (from memory); common practice",
    scatter=0.20,
    scatter_source="VDI 2230 friction class B: 0.08 to 0.16",
)
def lubricant_friction(lubricant: str) -> float:
    """Friction coefficient of thread and head face under a lubricant, for torque work.

    Parameters
    ----------
    lubricant : str
        ``dry`` as delivered with a trace of oil, engine ``oil``, assembly ``wax``, ``moly`` paste,
        ``threadlocker`` wet.

    Returns
    -------
    float
        Friction coefficient, [-]

    Raises
    ------
    OutOfRange
        When the word is unknown.

    Notes
    -----
    Changing the lubricant and keeping the torque changes the preload by a quarter and more: use the one the
    torque is stated for.

    References
    ----------
    .. [1] VDI 2230, part 1 (from memory).

    Examples
    --------
    >>> lubricant_friction("oil")
    0.13
    """
    if lubricant not in FRICTIONS:
        raise OutOfRange(f"lubricant must be one of {', '.join(FRICTIONS)}, got {lubricant}")
    return FRICTIONS[lubricant]
