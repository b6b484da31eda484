"""Joints that hold by friction: bearing caps sideways, and what is clamped on the crank nose."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = [
    "cap_slip_load",
    "friction_clamp_torque",
    "nose_torque",
]


@formula(
    takes={
        "preload": "kN",
        "friction": "number",
        "inner_diameter": "mm",
        "outer_diameter": "mm",
        "faces": "number",
    },
    gives="N*m",
    source="Shigley, Mechanical Engineering Design, ch. 16: disc friction under even pressure",
    scatter=0.2,
    scatter_source="estimate: friction coefficient of machined or coated faces",
    rises_with=("preload", "friction", "inner_diameter", "outer_diameter", "faces"),
)
def friction_clamp_torque(
    preload: float, friction: float, inner_diameter: float, outer_diameter: float, faces: float = 1
) -> float:
    """Torque that a part clamped on a shaft's face by a central bolt carries by friction.

    Parameters
    ----------
    preload : float
        Of the bolt; the least that tightening leaves, [N]
    friction : float
        Steel on steel 0.12 to 0.15; with a diamond-coated friction washer 0.3 and more, [-]
    inner_diameter, outer_diameter : float
        Of the clamped face, [m]
    faces : float, optional
        On the way from part to shaft that slip together, [-]

    Returns
    -------
    float
        Torque, [N*m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the diameters are out of order.

    Notes
    -----
    For damper, sprocket and pump drive on the crank nose. A key only places the part; friction carries it.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 16.

    Examples
    --------
    >>> round(friction_clamp_torque(95e3, 0.13, 0.017, 0.042))
    193
    """
    positive(preload=preload, friction=friction, outer_diameter=outer_diameter, faces=faces)
    not_negative(inner_diameter=inner_diameter)
    within("friction", friction, 0.01, 1.0)
    if inner_diameter >= outer_diameter:
        raise OutOfRange(
            f"inner_diameter ({inner_diameter * 1e3:g} mm) must be less than outer_diameter "
            f"({outer_diameter * 1e3:g} mm)"
        )
    inner, outer = inner_diameter / 2, outer_diameter / 2
    # (R^3 - r^3)/(R^2 - r^2) without its vanishing difference
    mean_radius = 2 / 3 * (outer**2 + outer * inner + inner**2) / (outer + inner)
    return faces * friction * preload * mean_radius


@formula(
    takes={
        "damper_inertia": "kg*m^2",
        "twist_amplitude": "deg",
        "order": "number",
        "speed": "rpm",
        "drive_torque": "N*m",
    },
    gives="N*m",
    source="Den Hartog, Mechanical Vibrations: inertia torque of a harmonic swing",
    rises_with=("damper_inertia", "twist_amplitude", "order", "speed", "drive_torque"),
)
def nose_torque(
    damper_inertia: float, twist_amplitude: float, order: float, speed: float, drive_torque: float
) -> float:
    """Torque that the crank nose must pass to its damper and drives.

    Parameters
    ----------
    damper_inertia : float
        Of hub, ring and all that is clamped with it, [kg*m^2]
    twist_amplitude : float
        Half the swing of the nose against steady turning; 0.1 to 0.3 deg with a sound damper, [rad]
    order : float
        Swings each turn, such as 4 or 6, [-]
    speed : float
        Crank speed at which the swing is greatest, [rad/s]
    drive_torque : float
        Of pump, belt and accessories driven through the same face, [N*m]

    Returns
    -------
    float
        Greatest torque, [N*m]

    Raises
    ------
    OutOfRange
        When an argument is below zero or the twist exceeds 3 deg.

    References
    ----------
    .. [1] Den Hartog, Mechanical Vibrations, McGraw-Hill.

    Examples
    --------
    >>> round(nose_torque(0.006, math.radians(0.2), 4, 6000 * math.pi / 30, 25.0))
    157
    """
    not_negative(damper_inertia=damper_inertia, order=order, speed=speed, drive_torque=drive_torque)
    within("twist_amplitude", twist_amplitude, 0.0, math.radians(3), "deg", math.pi / 180)
    return damper_inertia * twist_amplitude * (order * speed) ** 2 + drive_torque


@formula(
    takes={"preload": "kN", "bolts": "number", "cap_load": "kN", "friction": "number"},
    gives="kN",
    source="VDI 2230, part 1: friction grip of a clamped joint",
    scatter=0.2,
    scatter_source="estimate: friction of clean machined iron 0.12 to 0.18",
    rises_with=("preload", "bolts", "friction"),
    falls_with=("cap_load",),
)
def cap_slip_load(preload: float, bolts: float, cap_load: float, friction: float = 0.15) -> float:
    """Sideways force that a bearing cap resists by clamp alone, without its register or dowels.

    Parameters
    ----------
    preload : float
        Of each bolt of the cap, [N]
    bolts : float
        In one cap, [-]
    cap_load : float
        Pull on the cap at the same moment, [N]
    friction : float, optional
        In the joint face, [-]

    Returns
    -------
    float
        Force; zero when the cap is pulled off its seat, [N]

    Raises
    ------
    OutOfRange
        When preload, bolts or friction is not above zero or the cap load is below zero.

    Notes
    -----
    The bolts' own share of the load is left out, on the safe side. A cap that relies on its register frets.

    References
    ----------
    .. [1] VDI 2230, part 1.

    Examples
    --------
    >>> round(cap_slip_load(55e3, 2, 20e3))
    13500
    """
    positive(preload=preload, bolts=bolts, friction=friction)
    not_negative(cap_load=cap_load)
    within("friction", friction, 0.01, 1.0)
    return friction * max(preload * bolts - cap_load, 0.0)
