"""Length of a timing or accessory belt round any number of wheels, from their centres."""

from __future__ import annotations

import math

from compat.engineering.drive.belts import belt_pitch_diameter
from compat.engineering.formula import OutOfRange, formula, positive, table
from compat.engineering.numerics.ranges import finite

__all__ = ["belt_path_length", "twin_cam_belt_length"]

Pulleys = tuple[tuple[float, ...], ...]


@formula(
    takes={"pulleys": table("mm", "mm", "mm", "number"), "head_rise": "mm"},
    gives="mm",
    source="common tangents of circles",
)
def belt_path_length(pulleys: Pulleys, head_rise: float = 0.0) -> float:
    """Length of a belt round any number of wheels, exact.

    Parameters
    ----------
    pulleys : tuple of rows
        In the order in which the belt meets them, anticlockwise as seen: x, y of the centre [m],
        pitch radius [m] (negative when the belt's back runs on it), and 1 when the wheel rides on
        the head, 0 when on the block [-].
    head_rise : float, optional
        How far the head stands higher than drawn, along y, [m]

    Returns
    -------
    float
        Length, [m]

    Raises
    ------
    OutOfRange
        When wheels overlap, stand in another order, or one is not touched by the belt.

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
    """
    finite(head_rise=head_rise)
    if len(pulleys) < 2 or any(len(row) != 4 for row in pulleys):
        raise OutOfRange(
            "pulleys needs at least two rows of x, y, pitch radius, and 1 on the head or 0 on the block"
        )
    if not all(math.isfinite(value) for row in pulleys for value in row):
        raise OutOfRange("pulleys holds a value that is not a finite number")
    if any(row[2] == 0 for row in pulleys):
        raise OutOfRange("pulleys: a pitch radius must not be zero")
    circles = [(x, y + share * head_rise, radius) for x, y, radius, share in pulleys]
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


@formula(
    takes={
        "crank_teeth": "number",
        "cam_teeth": "number",
        "pitch": "mm",
        "cam_height": "mm",
        "cam_spacing": "mm",
    },
    gives="mm",
    source="common tangents of circles",
)
def twin_cam_belt_length(
    crank_teeth: float, cam_teeth: float, pitch: float, cam_height: float, cam_spacing: float
) -> float:
    """Length of a timing belt drawn straight round the crank wheel and two cam wheels.

    Parameters
    ----------
    crank_teeth, cam_teeth : float
        Of the crank wheel and of each cam wheel, [-]
    pitch : float
        Of the belt, [m]
    cam_height : float
        Of the cam axes above the crank axis: deck, gasket and head, [m]
    cam_spacing : float
        Between the cam axes, [m]

    Returns
    -------
    float
        Length without tensioner, idlers and water pump, which take up some more, [m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or wheels overlap.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> low = twin_cam_belt_length(22, 44, 8e-3, 0.330, 0.130)
    >>> round((twin_cam_belt_length(22, 44, 8e-3, 0.338, 0.130) - low) / 8e-3, 2)
    1.93
    """
    positive(cam_height=cam_height, cam_spacing=cam_spacing)
    crank = belt_pitch_diameter(crank_teeth, pitch) / 2
    cam = belt_pitch_diameter(cam_teeth, pitch) / 2
    if cam_spacing <= 2 * cam:
        raise OutOfRange(
            f"cam_spacing must be above {2e3 * cam:.1f} mm, or the cam wheels touch; "
            f"got {cam_spacing * 1e3:g} mm"
        )
    half = cam_spacing / 2
    wheels = ((0.0, 0.0, crank, 0.0), (half, cam_height, cam, 1.0), (-half, cam_height, cam, 1.0))
    return belt_path_length(wheels)
