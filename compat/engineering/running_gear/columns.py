"""Loads at which straight columns fail: Euler, J. B. Johnson, Rankine."""

from __future__ import annotations

import math

from compat.engineering.formula import formula, positive
from compat.engineering.numerics.ranges import within

__all__ = [
    "column_load",
    "euler_load",
]

STEEL_MODULUS = 206e9


@formula(
    takes={
        "elastic_modulus": "GPa",
        "area": "mm^2",
        "gyration": "mm",
        "length": "mm",
        "end_fixity": "number",
    },
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 4: Euler column",
)
def euler_load(
    elastic_modulus: float, area: float, gyration: float, length: float, end_fixity: float = 1.0
) -> float:
    """Load at which a slender straight column buckles.

    Parameters
    ----------
    elastic_modulus : float
        Young's modulus, [Pa]
    area, gyration : float
        Section and its radius of gyration about the bending axis, [m^2, m]
    length : float
        Free length, [m]
    end_fixity : float, optional
        1 for pinned ends, 4 for fixed ends, [-]

    Returns
    -------
    float
        Critical load, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the fixity lies outside 0.25 to 4.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 4.

    Examples
    --------
    >>> round(euler_load(206e9, 170e-6, 7e-3, 0.1))
    1693604
    """
    positive(elastic_modulus=elastic_modulus, area=area, gyration=gyration, length=length)
    within("end_fixity", end_fixity, 0.25, 4.0)
    return end_fixity * math.pi**2 * elastic_modulus * area * (gyration / length) ** 2


@formula(
    takes={
        "area": "mm^2",
        "gyration": "mm",
        "length": "mm",
        "yield_strength": "MPa",
        "end_fixity": "number",
        "elastic_modulus": "GPa",
    },
    gives="kN",
    source="Shigley, Mechanical Engineering Design, ch. 4: J. B. Johnson parabola, Euler beyond "
    "its tangent point",
)
def column_load(
    area: float,
    gyration: float,
    length: float,
    yield_strength: float,
    end_fixity: float = 1.0,
    elastic_modulus: float = STEEL_MODULUS,
) -> float:
    """Load at which a straight centrally loaded column fails, short or slender.

    Parameters
    ----------
    area, gyration : float
        Section and its radius of gyration about the bending axis, [m^2, m]
    length : float
        Free length, [m]
    yield_strength : float
        Of the material, [Pa]
    end_fixity : float, optional
        1 for pinned ends, 4 for fixed ends, [-]
    elastic_modulus : float, optional
        Young's modulus, [Pa]

    Returns
    -------
    float
        Critical load, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the fixity lies outside 0.25 to 4.

    Notes
    -----
    Johnson's parabola up to the slenderness where it touches Euler's curve at half the yield strength, Euler
    beyond: value and slope agree there.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 4.

    Examples
    --------
    >>> round(column_load(170e-6, 7e-3, 0.1, 700e6))
    116910
    """
    positive(yield_strength=yield_strength)
    euler = euler_load(elastic_modulus, area, gyration, length, end_fixity)
    crushing = area * yield_strength
    if euler <= crushing / 2:
        return euler
    return crushing * (1 - crushing / (4 * euler))
