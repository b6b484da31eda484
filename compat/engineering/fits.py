"""Fits of shell bearings: oil clearance, crush and the pressure that seats the shell."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.ranges import not_negative

__all__ = [
    "ClearanceGuide",
    "bearing_clearance",
    "bearing_clearance_guide",
    "bearing_crush",
    "bearing_seat_pressure",
]

_THOU_AN_INCH = 1e-3  # a thousandth of an inch for each inch
_HALF_THOU = 12.7e-6


@formula(
    takes={"housing_bore": "mm", "shell_thickness": "mm", "journal_diameter": "mm"},
    gives="mm",
    source="common practice: diameters added up",
)
def bearing_clearance(housing_bore: float, shell_thickness: float, journal_diameter: float) -> float:
    """Oil clearance of a shell bearing on diameter.

    Parameters
    ----------
    housing_bore : float
        With the cap tightened and no shells, [m]
    shell_thickness : float
        Of one shell, at 90 degrees to the parting line, [m]
    journal_diameter : float
        Of the crank, [m]

    Returns
    -------
    float
        Vertical clearance, [m]; negative says that the journal does not go in.

    Raises
    ------
    OutOfRange
        When a length is not above zero.

    Notes
    -----
    For main and big-end bearings alike. Crush closes the bore by a few micrometres more, which shell makers
    count into the thickness.

    References
    ----------
    .. [1] Common practice; plain sum.

    Examples
    --------
    >>> round(bearing_clearance(0.062006, 0.001985, 0.057992) * 1e3, 3)
    0.044
    """
    positive(housing_bore=housing_bore, shell_thickness=shell_thickness, journal_diameter=journal_diameter)
    return housing_bore - 2 * shell_thickness - journal_diameter


class ClearanceGuide(NamedTuple):
    """Oil clearance of the rule of thumb, on diameter, [m]."""

    usual: float
    hard_use: float


@formula(
    takes={"journal_diameter": "mm"},
    gives={"usual": "mm", "hard_use": "mm"},
    source="common practice, no source: 0.001 in for each inch of journal, 0.0005 in more for hard use",
)
def bearing_clearance_guide(journal_diameter: float) -> ClearanceGuide:
    """Oil clearance by the rule of thumb, where no card states one.

    Parameters
    ----------
    journal_diameter : float
        Of the crank, [m]

    Returns
    -------
    ClearanceGuide
        Usual clearance and the most for hard use, on diameter, [m].

    Raises
    ------
    OutOfRange
        When the diameter is not above zero.

    Notes
    -----
    A maker's own figure goes before it.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> guide = bearing_clearance_guide(0.0508)
    >>> round(guide.usual * 1e3, 3), round(guide.hard_use * 1e3, 3)
    (0.051, 0.064)
    """
    positive(journal_diameter=journal_diameter)
    usual = journal_diameter * _THOU_AN_INCH
    return ClearanceGuide(usual, usual + _HALF_THOU)


@formula(
    takes={"shell_length": "mm", "housing_bore": "mm"},
    gives="mm",
    source="common practice: half the circumference against the shell's own length",
)
def bearing_crush(shell_length: float, housing_bore: float) -> float:
    """Amount by which one shell is longer round its back than half the housing.

    Parameters
    ----------
    shell_length : float
        Along the outside of the shell from face to face, pressed to shape, [m]
    housing_bore : float
        With the cap tightened, [m]

    Returns
    -------
    float
        Crush of one shell, [m]; zero or less says that it is loose.

    Raises
    ------
    OutOfRange
        When either length is not above zero.

    References
    ----------
    .. [1] Common practice; plain geometry.

    Examples
    --------
    >>> round(bearing_crush(shell_length=0.080161, housing_bore=0.051) * 1e3, 3)
    0.05
    """
    positive(shell_length=shell_length, housing_bore=housing_bore)
    return shell_length - math.pi / 2 * housing_bore


@formula(
    takes={
        "crush": "mm",
        "shell_thickness": "mm",
        "housing_bore": "mm",
        "shell_modulus": "GPa",
    },
    gives="MPa",
    source="Shigley, Mechanical Engineering Design, ch. 3: thin ring under pressure, stiff housing",
)
def bearing_seat_pressure(
    crush: float, shell_thickness: float, housing_bore: float, shell_modulus: float = 207e9
) -> float:
    """Pressure with which crush seats a shell in its housing.

    Parameters
    ----------
    crush : float
        Of each shell, [m]
    shell_thickness : float
        Of the steel back, which carries the hoop, [m]
    housing_bore : float
        With the cap tightened, [m]
    shell_modulus : float, optional
        Young's modulus of the back, [Pa]

    Returns
    -------
    float
        Pressure between shell and housing, [Pa]

    Raises
    ------
    OutOfRange
        When a length or the modulus is not above zero, or the hoop strain would pass 0.5 %.

    Notes
    -----
    Thin ring in a housing that does not give; a rod or light cap gives way and keeps less.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 3.

    Examples
    --------
    >>> round(bearing_seat_pressure(0.05e-3, 1.5e-3, 0.051) / 1e6, 1)
    7.6
    """
    not_negative(crush=crush)
    positive(shell_thickness=shell_thickness, housing_bore=housing_bore, shell_modulus=shell_modulus)
    strain = crush / (math.pi / 2 * housing_bore)
    if strain > 0.005:
        raise OutOfRange(
            f"crush must stay below {0.005e3 * math.pi / 2 * housing_bore:.2f} mm, where the shell yields, "
            f"got {crush * 1e3:g} mm"
        )
    return shell_modulus * strain * shell_thickness / (housing_bore / 2)
