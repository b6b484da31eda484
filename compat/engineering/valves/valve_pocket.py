"""What a valve pocket holds: a cylinder cut aslant into the crown, its floor parallel to the valve's head."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["pocket_volume"]


@formula(
    takes={"radius": "mm", "depth": "mm", "valve_angle": "deg"},
    gives="cm^3",
    source="plain geometry: the wedge of a cylinder, as in tables of solids",
)
def pocket_volume(radius: float, depth: float, valve_angle: float) -> float:
    """Volume of one valve pocket in a flat crown.

    Parameters
    ----------
    radius : float
        Of the cutter, [m]
    depth : float
        Deepest edge below the crown's flat, along the cylinder, [m]
    valve_angle : float
        Between valve and cylinder axis, [rad]

    Returns
    -------
    float
        Volume, [m^3]

    Raises
    ------
    OutOfRange
        When the radius is not above zero, the depth is negative or the angle lies outside 0 to 60 degrees.

    Notes
    -----
    A shallow pocket is a wedge that begins at a chord of the cutter's circle; only one deeper than twice
    its radius times the sine of the angle reaches round the whole circle. A pocket cut into the wall of a
    dish holds less.

    References
    ----------
    .. [1] Beyer, CRC Standard Mathematical Tables, CRC Press: hoof of a right circular cylinder (from memory).

    Examples
    --------
    >>> round(pocket_volume(18.3e-3, 4.0e-3, math.radians(18)) * 1e6, 3)
    0.581
    """
    positive(radius=radius)
    not_negative(depth=depth)
    within("valve_angle", valve_angle, 0.0, math.radians(60), "deg", math.radians(1))
    lean = math.sin(valve_angle)
    if depth >= 2 * radius * lean:
        return math.pi * radius**2 * (depth - radius * lean) / math.cos(valve_angle)
    chord = radius - depth / lean  # from the middle of the circle, where the floor meets the flat
    half = math.sqrt(radius**2 - chord**2)
    segment = radius**2 * math.acos(chord / radius) - chord * half
    return math.tan(valve_angle) * (2 / 3 * half**3 - chord * segment)
