"""Stiffness of what a bolt clamps: cones of pressure under its head."""

from __future__ import annotations

import math
from itertools import pairwise

from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import within

__all__ = [
    "clamped_stack_stiffness",
    "clamped_stiffness",
]


def _face_wider_than_hole(face_diameter: float, hole_diameter: float) -> None:
    positive(face_diameter=face_diameter)
    if face_diameter <= hole_diameter:
        raise OutOfRange(
            f"face_diameter ({face_diameter * 1e3:g} mm) must be more than hole_diameter "
            f"({hole_diameter * 1e3:g} mm): nothing would be clamped"
        )


def _cone_compliance(narrow: float, wide: float, thickness: float, hole: float) -> float:
    """Integral of thickness over area of a hollow cone, [1/m]."""
    growth = (wide - narrow) / thickness
    if growth * thickness < 1e-6 * narrow:
        return thickness / (math.pi / 4 * (((wide + narrow) / 2) ** 2 - hole**2))
    # log of (wide - hole)(narrow + hole) / ((wide + hole)(narrow - hole)), kept exact for a small hole
    excess = 2 * hole * (wide - narrow) / ((wide + hole) * (narrow - hole))
    return 2 / (math.pi * hole * growth) * math.log1p(excess)


def _stack_compliance(
    layers: tuple[tuple[float, float], ...],
    hole: float,
    face: float,
    outside: float,
    half_angle: float,
    tapped: bool,
) -> float:
    """Compliance of layers (thickness, modulus) under a bolt: cones that stop growing at `outside`."""
    total = sum(thickness for thickness, _ in layers)
    growth = 2 * math.tan(half_angle)
    reach = total if tapped else total / 2
    cuts = {0.0, reach, total}
    if growth > 0:
        grown = max(outside - face, 0.0) / growth
        cuts |= {grown, total - grown} if not tapped else {grown}
    depth = 0.0
    bounds = []
    for thickness, modulus in layers:
        bounds.append((depth, depth + thickness, modulus))
        depth += thickness
        cuts.add(depth)
    points = sorted(cut for cut in cuts if 0 <= cut <= total)

    def width(at: float) -> float:
        from_face = at if tapped else min(at, total - at)
        return min(face + growth * from_face, max(outside, face))

    compliance = 0.0
    for top, bottom in pairwise(points):
        if bottom - top <= 1e-12 * total:
            continue
        middle = (top + bottom) / 2
        modulus = next(m for start, end, m in bounds if start <= middle <= end)
        ends = sorted((width(top), width(bottom)))
        compliance += _cone_compliance(ends[0], ends[1], bottom - top, hole) / modulus
    return compliance


@formula(
    takes={
        "grip_length": "mm",
        "hole_diameter": "mm",
        "face_diameter": "mm",
        "elastic_modulus": "GPa",
        "outside_diameter": "mm",
        "half_angle": "deg",
        "far_side": ("nut", "tapped"),
    },
    gives="N/um",
    source="Shigley, Mechanical Engineering Design, ch. 8 (cones); VDI 2230 (cone ends at the "
    "edge of the part)",
    scatter=0.15,
    scatter_source="Shigley ch. 8: half angles of 25 to 33 deg are reported, 30 deg taken; edges of real parts",
    rises_with=("face_diameter", "elastic_modulus", "half_angle", "outside_diameter"),
    falls_with=("grip_length", "hole_diameter"),
)
def clamped_stiffness(
    grip_length: float,
    hole_diameter: float,
    face_diameter: float,
    elastic_modulus: float,
    outside_diameter: float = 1.0,
    half_angle: float = math.radians(30),
    far_side: str = "nut",
) -> float:
    """Stiffness of one clamped part, or of several of the same material.

    Parameters
    ----------
    grip_length : float
        All that is clamped, [m]
    hole_diameter, face_diameter : float
        Of the hole, and of the bearing face of head or washer, [m]
    elastic_modulus : float
        Of the clamped parts, [Pa]
    outside_diameter : float, optional
        Width of the part about the bolt, where the cone stops growing, [m]
    half_angle : float, optional
        Of the cone, [rad]
    far_side : str, optional
        ``nut``: a cone from each face, meeting half way. ``tapped``: one cone down to the tapped part.

    Returns
    -------
    float
        Force for each length of squeeze, [N/m]

    Raises
    ------
    OutOfRange
        When a size is not above zero, the face is no wider than the hole, or the word is unknown.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> round(clamped_stiffness(0.025, 0.0125, 0.01875, 206e9) / 1e6)
    2858
    """
    return clamped_stack_stiffness(
        ((grip_length, elastic_modulus),),
        hole_diameter,
        face_diameter,
        outside_diameter,
        half_angle,
        far_side,
    )


@formula(
    takes={
        "layers": table("mm", "GPa"),
        "hole_diameter": "mm",
        "face_diameter": "mm",
        "outside_diameter": "mm",
        "half_angle": "deg",
        "far_side": ("nut", "tapped"),
    },
    gives="N/um",
    source="Shigley, Mechanical Engineering Design, ch. 8 (cones in series); VDI 2230 (edge of the part)",
    scatter=0.15,
    scatter_source="Shigley ch. 8: half angles of 25 to 33 deg are reported, 30 deg taken; edges of real parts",
)
def clamped_stack_stiffness(
    layers: tuple[tuple[float, ...], ...],
    hole_diameter: float,
    face_diameter: float,
    outside_diameter: float = 1.0,
    half_angle: float = math.radians(30),
    far_side: str = "nut",
) -> float:
    """Stiffness of clamped layers of different materials, from the bolt's head downwards.

    Parameters
    ----------
    layers : table
        Thickness and Young's modulus of each layer, head side first, [m, Pa]
    hole_diameter, face_diameter : float
        Of the hole, and of the bearing face of head or washer, [m]
    outside_diameter : float, optional
        Width of the parts about the bolt, where the cone stops growing, [m]
    half_angle : float, optional
        Of the cone, [rad]
    far_side : str, optional
        ``nut``: a cone from each face, meeting half way. ``tapped``: one cone down to the tapped part.

    Returns
    -------
    float
        Force for each length of squeeze, [N/m]

    Raises
    ------
    OutOfRange
        When a size is not above zero, there is no layer, the face is no wider than the hole, or the word
        is unknown.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 8.

    Examples
    --------
    >>> stack = ((0.003, 206e9), (0.0938, 72e9))
    >>> round(clamped_stack_stiffness(stack, 0.011, 0.021, 0.030, far_side="tapped") / 1e6)
    453
    """
    if not layers:
        raise OutOfRange("layers is empty: there is nothing to clamp")
    for thickness, modulus in layers:
        positive(layer_thickness=thickness, layer_modulus=modulus)
    positive(hole_diameter=hole_diameter, outside_diameter=outside_diameter)
    _face_wider_than_hole(face_diameter, hole_diameter)
    within("half_angle", half_angle, 0.0, math.radians(45), "deg", math.pi / 180)
    if far_side not in ("nut", "tapped"):
        raise OutOfRange(f"far_side must be nut or tapped, got {far_side}")
    rows = tuple((row[0], row[1]) for row in layers)
    tapped = far_side == "tapped"
    return 1 / _stack_compliance(rows, hole_diameter, face_diameter, outside_diameter, half_angle, tapped)
