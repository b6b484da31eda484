"""Strength of piston and pin under the gas load: crown, skirt, pin, and their bearing pressures."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["PinStress", "piston_crown_stress", "piston_pin_stress", "projected_pressure"]


class PinStress(NamedTuple):
    """Stresses of a piston pin and pressures on its seats."""

    bending_stress: float
    shear_stress: float
    small_end_pressure: float
    boss_pressure: float


@formula(
    takes={"load": "kN", "diameter": "mm", "width": "mm"},
    gives="MPa",
    source="Shigley, Mechanical Engineering Design, ch. 12: load over projected area",
    rises_with=("load",),
    falls_with=("diameter", "width"),
)
def projected_pressure(load: float, diameter: float, width: float) -> float:
    """Mean pressure of a plain bearing, pin seat or skirt: load over diameter times width.

    Parameters
    ----------
    load : float
        Radial load, [N]
    diameter, width : float
        Of the bearing surface; for a skirt its diameter and bearing length, [m]

    Returns
    -------
    float
        Mean projected pressure, [Pa]

    Raises
    ------
    OutOfRange
        When the load is below zero or a dimension is not above zero.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 12.

    Examples
    --------
    >>> round(projected_pressure(30e3, 0.048, 0.018) / 1e6, 1)
    34.7
    """
    not_negative(load=load)
    positive(diameter=diameter, width=width)
    return load / (diameter * width)


@formula(
    takes={
        "load": "kN",
        "pin_diameter": "mm",
        "pin_bore": "mm",
        "pin_length": "mm",
        "small_end_width": "mm",
        "boss_gap": "mm",
    },
    gives={
        "bending_stress": "MPa",
        "shear_stress": "MPa",
        "small_end_pressure": "MPa",
        "boss_pressure": "MPa",
    },
    source="Shigley, Mechanical Engineering Design, ch. 3 (beam bending, transverse shear); "
    "even bearing pressures",
    scatter={"bending_stress": 0.15, "shear_stress": 0.05, "small_end_pressure": 0.05, "boss_pressure": 0.10},
    scatter_source="estimate: even pressure along the seats; bosses bear more at their inner "
    "edges, which lowers bending",
    rises_with={
        "bending_stress": ("load", "pin_bore", "pin_length", "boss_gap"),
        "shear_stress": ("load", "pin_bore", "pin_length", "small_end_width", "boss_gap"),
        "small_end_pressure": ("load", "pin_bore", "pin_length", "boss_gap"),
        "boss_pressure": ("load", "boss_gap", "pin_bore", "small_end_width"),
    },
    falls_with={
        "bending_stress": ("pin_diameter", "small_end_width"),
        "shear_stress": ("pin_diameter",),
        "small_end_pressure": ("pin_diameter", "small_end_width"),
        "boss_pressure": ("pin_diameter", "pin_length"),
    },
)
def piston_pin_stress(
    load: float,
    pin_diameter: float,
    pin_bore: float,
    pin_length: float,
    small_end_width: float,
    boss_gap: float,
) -> PinStress:
    """Bending and shear of a tubular piston pin, and the pressure on rod and bosses.

    Parameters
    ----------
    load : float
        Greatest force on the pin, [N]
    pin_diameter, pin_bore, pin_length : float
        Of the pin; bore 0 for a solid one, [m]
    small_end_width : float
        Width on which the rod bears, [m]
    boss_gap : float
        Between the bosses of the piston, [m]

    Returns
    -------
    PinStress
        Bending stress at mid length, greatest transverse shear, mean projected pressures, [Pa]

    Raises
    ------
    OutOfRange
        When a dimension is not above zero, or they do not fit into each other.

    Notes
    -----
    Beam on evenly loaded seats: moment F/8 (pin_length + boss_gap - small_end_width). Ovalising of a
    thin-walled pin is left out; walls thinner than a sixth of the diameter call for it.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 3.

    Examples
    --------
    >>> pin = piston_pin_stress(36e3, 0.021, 0.013, 0.058, 0.022, 0.024)
    >>> round(pin.bending_stress / 1e6), round(pin.shear_stress / 1e6)
    (348, 163)
    """
    not_negative(load=load, pin_bore=pin_bore)
    positive(
        pin_diameter=pin_diameter, pin_length=pin_length, small_end_width=small_end_width, boss_gap=boss_gap
    )
    if pin_bore >= pin_diameter:
        raise OutOfRange(
            f"pin_bore ({pin_bore * 1e3:g} mm) must be less than pin_diameter ({pin_diameter * 1e3:g} mm)"
        )
    if not small_end_width <= boss_gap < pin_length:
        raise OutOfRange(
            "small_end_width, boss_gap and pin_length must follow in this order, got "
            f"{small_end_width * 1e3:g}, {boss_gap * 1e3:g} and {pin_length * 1e3:g} mm"
        )
    modulus = math.pi * (pin_diameter**4 - pin_bore**4) / (32 * pin_diameter)
    moment = load / 8 * (pin_length + boss_gap - small_end_width)
    area = math.pi / 4 * (pin_diameter**2 - pin_bore**2)
    squares = pin_diameter**2 + pin_bore**2
    # 4/3 of the mean for a solid pin, twice the mean for a thin tube
    peak = 4 / 3 * (squares + pin_diameter * pin_bore) / squares
    return PinStress(
        bending_stress=moment / modulus,
        shear_stress=peak * load / 2 / area,
        small_end_pressure=load / (pin_diameter * small_end_width),
        boss_pressure=load / (pin_diameter * (pin_length - boss_gap)),
    )


@formula(
    takes={
        "peak_pressure": "bar",
        "unsupported_diameter": "mm",
        "crown_thickness": "mm",
        "edge": ("clamped", "supported"),
    },
    gives="MPa",
    source="Timoshenko, Strength of Materials: circular plate under even pressure; Khurmi and "
    "Gupta (piston head)",
    scatter=0.30,
    scatter_source="estimate: a crown is neither flat nor even, and the pin bosses and ribs carry it",
    rises_with=("peak_pressure", "unsupported_diameter"),
    falls_with=("crown_thickness",),
)
def piston_crown_stress(
    peak_pressure: float,
    unsupported_diameter: float,
    crown_thickness: float,
    edge: str = "clamped",
) -> float:
    """Bending stress of a piston crown taken as a flat circular plate.

    Parameters
    ----------
    peak_pressure : float
        On the crown, [Pa]
    unsupported_diameter : float
        Inside of the ring belt, [m]
    crown_thickness : float
        Least, under pockets and dish, [m]
    edge : str, optional
        ``clamped`` in the ring belt, or freely ``supported``.

    Returns
    -------
    float
        Greatest bending stress, [Pa]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, the word is unknown, or the crown is thicker than a third of its
        span, where it is no plate.

    Notes
    -----
    Clamped: 3/4 p (r/t)^2 at the edge. Supported: 3 (3 + 0.33)/8 p (r/t)^2 at the middle. To compare crowns;
    hot aluminium has about half its cold strength, which the limit must allow for.

    References
    ----------
    .. [1] Timoshenko, Strength of Materials, part 2, plates.
    .. [2] Khurmi and Gupta, A Textbook of Machine Design, piston head: t = sqrt(3 p D^2 / (16 s)).

    Examples
    --------
    >>> round(piston_crown_stress(63e5, 0.066, 0.0075) / 1e6, 1)
    91.5
    """
    positive(
        peak_pressure=peak_pressure,
        unsupported_diameter=unsupported_diameter,
        crown_thickness=crown_thickness,
    )
    within("crown_thickness", crown_thickness, 1e-3, unsupported_diameter / 3, "mm", 1e-3)
    factors = {"clamped": 0.75, "supported": 3 * 3.33 / 8}
    if edge not in factors:
        raise OutOfRange(f"edge must be clamped or supported, got {edge}")
    return factors[edge] * peak_pressure * (unsupported_diameter / 2 / crown_thickness) ** 2
