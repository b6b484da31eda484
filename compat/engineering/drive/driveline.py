"""What the clutch carries, when a flywheel bursts, and power at the wheels against the flywheel."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "burst_speed",
    "clutch_capacity",
    "clutch_mean_radius",
    "flywheel_power",
    "rotating_disc_stress",
]


def _ring(outer_diameter: float, inner_diameter: float) -> tuple[float, float]:
    positive(outer_diameter=outer_diameter, inner_diameter=inner_diameter)
    if inner_diameter >= outer_diameter:
        raise OutOfRange(
            f"inner_diameter must be below outer_diameter ({outer_diameter * 1e3:g} mm), "
            f"got {inner_diameter * 1e3:g} mm"
        )
    return outer_diameter / 2, inner_diameter / 2


@formula(
    takes={
        "outer_diameter": "mm",
        "inner_diameter": "mm",
        "wear": ("uniform_wear", "uniform_pressure"),
    },
    gives="mm",
    source="Shigley, Mechanical Engineering Design, ch. 16",
)
def clutch_mean_radius(outer_diameter: float, inner_diameter: float, wear: str) -> float:
    """Radius at which the friction of a clutch facing may be taken to act.

    Parameters
    ----------
    outer_diameter, inner_diameter : float
        Of the facing, [m]
    wear : str
        uniform_wear for a facing run in, uniform_pressure for a new one.

    Returns
    -------
    float
        Radius, [m]

    Raises
    ------
    OutOfRange
        When a diameter is not above zero, the inner is not the smaller, or the word is another.

    Notes
    -----
    Run in is the safe side: the new facing's radius is up to a few per cent larger.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 16.

    Examples
    --------
    >>> round(clutch_mean_radius(0.228, 0.152, "uniform_wear") * 1e3, 1)
    95.0
    """
    outer, inner = _ring(outer_diameter, inner_diameter)
    if wear == "uniform_wear":
        return (outer + inner) / 2
    if wear == "uniform_pressure":
        return 2 / 3 * (outer**2 + outer * inner + inner**2) / (outer + inner)
    raise OutOfRange(f"wear must be uniform_wear or uniform_pressure, got {wear}")


@formula(
    takes={"faces": "number", "friction": "number", "clamp_load": "kN", "mean_radius": "mm"},
    gives="N*m",
    source="Shigley, Mechanical Engineering Design, ch. 16",
    scatter=0.10,
    scatter_source="common practice: friction of a facing with heat and wear",
    rises_with=("faces", "friction", "clamp_load", "mean_radius"),
)
def clutch_capacity(faces: float, friction: float, clamp_load: float, mean_radius: float) -> float:
    """Torque that a clutch holds without slip.

    Parameters
    ----------
    faces : float
        Rubbing faces, two for each disc, [-]
    friction : float
        0.27 organic to 0.40 sintered (common practice), [-]
    clamp_load : float
        Of the cover, [N]
    mean_radius : float
        Of the facing, [m]

    Returns
    -------
    float
        Torque, [N*m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the friction lies outside 0.05 to 0.8.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 16.

    Examples
    --------
    >>> round(clutch_capacity(2, 0.30, 6.6e3, 0.095))
    376
    """
    positive(faces=faces, clamp_load=clamp_load, mean_radius=mean_radius)
    within("friction", friction, 0.05, 0.8)
    return faces * friction * clamp_load * mean_radius


@formula(
    takes={"wheel_power": "kW", "drive_loss": "number"},
    gives="kW",
    source="common practice: wheel figures are 12 to 18 per cent lower",
    scatter=0.035,
    scatter_source="common practice: that range",
)
def flywheel_power(wheel_power: float, drive_loss: float = 0.15) -> float:
    """Power at the flywheel from a figure taken at the wheels.

    Parameters
    ----------
    wheel_power : float
        On a roller dynamometer, [W]
    drive_loss : float, optional
        Share lost between flywheel and rollers, two driven wheels, [-]

    Returns
    -------
    float
        Power, [W]

    Raises
    ------
    OutOfRange
        When the power is not above zero or the loss lies outside 0 to 0.4.

    References
    ----------
    .. [1] Common practice.

    Examples
    --------
    >>> round(flywheel_power(187e3) / 1e3)
    220
    """
    positive(wheel_power=wheel_power)
    within("drive_loss", drive_loss, 0.0, 0.4)
    return wheel_power / (1 - drive_loss)


@formula(
    takes={
        "outer_diameter": "mm",
        "inner_diameter": "mm",
        "density": "kg/m^3",
        "poisson_ratio": "number",
        "speed": "rpm",
    },
    gives="MPa",
    source="Shigley, Mechanical Engineering Design, ch. 3: rotating rings",
)
def rotating_disc_stress(
    outer_diameter: float, inner_diameter: float, density: float, poisson_ratio: float, speed: float
) -> float:
    """Greatest hoop stress in a flat rotating disc with a hole, at the edge of the hole.

    Parameters
    ----------
    outer_diameter, inner_diameter : float
        Of the disc and its centre hole, [m]
    density : float
        [kg/m^3]
    poisson_ratio : float
        [-]
    speed : float
        [rad/s]

    Returns
    -------
    float
        Stress, [Pa]

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    Notes
    -----
    Thin disc of one thickness, elastic. Bolt holes raise the stress beside them two- to threefold.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 3.

    Examples
    --------
    >>> round(rotating_disc_stress(0.270, 0.038, 7200, 0.26, 7000 * math.pi / 30) / 1e6, 1)
    57.7
    """
    outer, inner = _ring(outer_diameter, inner_diameter)
    positive(density=density, speed=speed)
    within("poisson_ratio", poisson_ratio, 0.0, 0.5)
    share = (1 - poisson_ratio) / (3 + poisson_ratio)
    return density * speed**2 * (3 + poisson_ratio) / 4 * (outer**2 + share * inner**2)


@formula(
    takes={
        "outer_diameter": "mm",
        "inner_diameter": "mm",
        "density": "kg/m^3",
        "poisson_ratio": "number",
        "tensile_strength": "MPa",
        "failure": ("brittle", "ductile"),
        "stress_concentration": "number",
    },
    gives="rpm",
    source="Shigley, Mechanical Engineering Design, ch. 3 (brittle); Robinson 1944 (ductile)",
    scatter=0.15,
    scatter_source="common practice: castings and bolt holes vary; burst tests",
)
def burst_speed(
    outer_diameter: float,
    inner_diameter: float,
    density: float,
    poisson_ratio: float,
    tensile_strength: float,
    failure: str,
    stress_concentration: float = 1.0,
) -> float:
    """Speed at which a flat disc such as a flywheel flies apart.

    Parameters
    ----------
    outer_diameter, inner_diameter : float
        Of the disc and its centre hole, [m]
    density : float
        [kg/m^3]
    poisson_ratio : float
        [-]
    tensile_strength : float
        [Pa]
    failure : str
        brittle (grey iron: where the stress peaks) or ductile (steel: when the mean stress
        over the section reaches the strength).
    stress_concentration : float, optional
        Of holes and edges; only for brittle failure, [-]

    Returns
    -------
    float
        Speed, [rad/s]. Never a working speed: stay below half of it, below the maker's limit,
        and behind a guard.

    Raises
    ------
    OutOfRange
        When an argument makes no sense.

    Notes
    -----
    Heat cracks from a slipping clutch lower the speed of a grey-iron flywheel without warning.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, ch. 3.
    .. [2] E. L. Robinson, Bursting tests of steam-turbine disk wheels, Trans. ASME 66 (1944).

    Examples
    --------
    >>> round(burst_speed(0.270, 0.038, 7200, 0.26, 220e6, "brittle", 2.0) * 30 / math.pi, -1)
    9660.0
    """
    outer, inner = _ring(outer_diameter, inner_diameter)
    positive(tensile_strength=tensile_strength)
    within("stress_concentration", stress_concentration, 1.0, 5.0)
    at_one = rotating_disc_stress(outer_diameter, inner_diameter, density, poisson_ratio, 1.0)
    if failure == "ductile":
        at_one = density * (outer**2 + outer * inner + inner**2) / 3
    elif failure == "brittle":
        at_one *= stress_concentration
    else:
        raise OutOfRange(f"failure must be brittle or ductile, got {failure}")
    return math.sqrt(tensile_strength / at_one)
