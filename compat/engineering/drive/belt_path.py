"""Length of a timing or accessory belt round any number of wheels, from their centres."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import finite

__all__ = ["belt_path_length"]

Pulleys = tuple[tuple[float, ...], ...]


@formula(
    takes={
        "pulleys": table("mm", "mm", "mm", "number"),
        "head_rise": "mm",
        "crank_radius": "mm",
        "cam_radius": "mm",
    },
    gives="mm",
    source="common tangents of circles",
)
def belt_path_length(
    pulleys: Pulleys,
    head_rise: float = 0.0,
    crank_radius: float | None = None,
    cam_radius: float | None = None,
) -> float:
    """Length of a belt round any number of wheels, exact.

    Parameters
    ----------
    pulleys : tuple of rows
        In the order in which the belt meets them, anticlockwise as seen: x, y of the centre [m],
        pitch radius [m] (negative when the belt's back runs on it), and 1 when the wheel rides on
        the head, 0 when on the block [-].
    head_rise : float, optional
        How far the head stands higher than drawn, along y, [m]
    crank_radius : float, optional
        Pitch radius of the wheel at 0, 0, where it is not the one drawn, [m]
    cam_radius : float, optional
        Pitch radius of the wheels on the head that the teeth run on, where it is not the one drawn, [m]

    Returns
    -------
    float
        Length, [m]

    Raises
    ------
    OutOfRange
        When wheels overlap, stand in another order, or one is not touched by the belt.

    Notes
    -----
    A span that leans grows by less than the head rises (the cosine of its lean), and a wheel's radius adds
    its angle of wrap, which is half a turn only where both spans run side by side.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> upright = ((0, 0, 0.028, 0), (0.065, 0.33, 0.056, 1), (-0.065, 0.33, 0.056, 1))
    >>> round(belt_path_length(upright) * 1e3, 1)
    1079.8
    >>> round((belt_path_length(upright, 8e-3) - belt_path_length(upright)) * 1e3, 2)
    15.4
    >>> round((belt_path_length(upright, cam_radius=0.060) - belt_path_length(upright)) * 1e3, 2)
    14.84
    """
    finite(head_rise=head_rise)
    for name, radius in (("crank_radius", crank_radius), ("cam_radius", cam_radius)):
        if radius is not None:
            positive(**{name: radius})
    if len(pulleys) < 2 or any(len(row) != 4 for row in pulleys):
        raise OutOfRange(
            "pulleys needs at least two rows of x, y, pitch radius, and 1 on the head or 0 on the block"
        )
    if not all(math.isfinite(value) for row in pulleys for value in row):
        raise OutOfRange("pulleys holds a value that is not a finite number")
    if any(row[2] == 0 for row in pulleys):
        raise OutOfRange("pulleys: a pitch radius must not be zero")
    circles = []
    for x, y, radius, share in pulleys:
        if crank_radius is not None and x == y == 0:
            radius = crank_radius
        elif cam_radius is not None and share == 1 and radius > 0:
            radius = cam_radius
        circles.append((x, y + share * head_rise, radius))
    headings = []
    length = 0.0
    for here, there in zip(circles, [*circles[1:], circles[0]], strict=True):
        across, up, step = there[0] - here[0], there[1] - here[1], here[2] - there[2]
        distance = math.hypot(across, up)
        if distance <= abs(step):
            raise OutOfRange(
                f"pulleys: the wheels at ({here[0] * 1e3:g}, {here[1] * 1e3:g}) and "
                f"({there[0] * 1e3:g}, {there[1] * 1e3:g}) mm overlap"
            )
        length += math.sqrt(distance**2 - step**2)
        headings.append(math.atan2(up, across) + math.asin(step / distance))
    turned = 0.0
    for i, (_, _, radius) in enumerate(circles):
        turn = math.remainder(headings[i] - headings[i - 1], 2 * math.pi)
        if radius > 0 and turn < -1e-9:
            turn += 2 * math.pi
        elif radius < 0 and turn > 1e-9:
            turn -= 2 * math.pi
        length += radius * turn
        turned += turn
    if abs(turned - 2 * math.pi) > 1e-6:
        raise OutOfRange(
            "pulleys must follow each other anticlockwise and each be touched by the belt; "
            f"here the belt turns {math.degrees(turned):.0f} degrees in one round"
        )
    return length
