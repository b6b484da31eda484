"""Fits: oil clearance, crush and seat of shell bearings; ISO 286 grades and hole-basis fits up to 500 mm."""

from __future__ import annotations

import math
from bisect import bisect_left
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative

__all__ = [
    "ClearanceGuide",
    "FitClearance",
    "bearing_clearance",
    "bearing_clearance_guide",
    "bearing_crush",
    "bearing_seat_pressure",
    "hole_basis_fit",
    "tolerance_grade",
]

_THOU_AN_INCH = 1e-3  # a thousandth of an inch for each inch
_HALF_THOU = 12.7e-6

_STEPS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)  # over one, up to and with the next, [mm]

# Table 1 of ISO 286-1, [micrometre]; rounded by the standard itself, so no formula gives them all.
_GRADES: dict[str, tuple[int, ...]] = {
    "IT4": (3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20),
    "IT5": (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    "IT6": (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    "IT7": (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    "IT8": (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    "IT9": (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    "IT10": (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    "IT11": (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
}

# Fundamental deviations of shafts: upper limit for e to h, lower limit for k to p, [micrometre].
_BELOW: dict[str, tuple[int, ...]] = {
    "e": (14, 20, 25, 32, 40, 50, 60, 72, 85, 100, 110, 125, 135),
    "f": (6, 10, 13, 16, 20, 25, 30, 36, 43, 50, 56, 62, 68),
    "g": (2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 17, 18, 20),
    "h": (0,) * 13,
}
_ABOVE: dict[str, tuple[int, ...]] = {
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
}
_LETTERS = (*_BELOW, "js", *_ABOVE)
_K_GRADES = ("IT4", "IT5", "IT6", "IT7")  # in which a k shaft stands above nominal at all


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


def _step(size: float) -> int:
    positive(size=size)
    # Steps are closed above; a hair of tolerance keeps 18 mm, read as 0.018 m, in the step up to 18.
    index = bisect_left(_STEPS, size * 1e3 - 1e-9)
    if index == len(_STEPS):
        raise OutOfRange(f"size must be no more than 500 mm, got {size * 1e3:g} mm")
    return index


@formula(
    takes={"size": "mm", "grade": tuple(_GRADES)},
    gives="um",
    source="ISO 286-1, table of standard tolerance grades",
)
def tolerance_grade(size: float, grade: str) -> float:
    """Width of a standard tolerance of ISO 286.

    Parameters
    ----------
    size : float
        Nominal size, up to 500 mm, [m]
    grade : str
        ``IT4`` to ``IT11``.

    Returns
    -------
    float
        Tolerance, [m]

    Raises
    ------
    OutOfRange
        When the size is not above zero or beyond 500 mm, or the grade is unknown.

    References
    ----------
    .. [1] ISO 286-1, Geometrical product specifications, ISO code system for tolerances on linear sizes.

    Examples
    --------
    >>> round(tolerance_grade(0.051, "IT6") * 1e6)
    19
    """
    if grade not in _GRADES:
        raise OutOfRange(f"grade must be one of {', '.join(_GRADES)}, got {grade}")
    return _GRADES[grade][_step(size)] * 1e-6


class FitClearance(NamedTuple):
    """Least and most clearance of a fit; negative is interference, [m]."""

    least: float
    most: float


@formula(
    takes={
        "size": "mm",
        "hole_grade": tuple(_GRADES),
        "shaft_letter": _LETTERS,
        "shaft_grade": tuple(_GRADES),
    },
    gives={"least": "um", "most": "um"},
    source="ISO 286-1, standard tolerances and fundamental deviations",
)
def hole_basis_fit(size: float, hole_grade: str, shaft_letter: str, shaft_grade: str) -> FitClearance:
    """Clearance of an H hole with a shaft of ISO 286.

    Parameters
    ----------
    size : float
        Nominal size, up to 500 mm, [m]
    hole_grade, shaft_grade : str
        ``IT4`` to ``IT11``.
    shaft_letter : str
        ``e`` to ``h``, ``js``, or ``k``, ``m``, ``n``, ``p``.

    Returns
    -------
    FitClearance
        Least and most clearance; below zero is interference, [m].

    Raises
    ------
    OutOfRange
        When the size is not above zero or beyond 500 mm, or a word is unknown.

    References
    ----------
    .. [1] ISO 286-1, Geometrical product specifications, ISO code system for tolerances on linear sizes.

    Examples
    --------
    >>> fit = hole_basis_fit(0.025, "IT7", "g", "IT6")
    >>> round(fit.least * 1e6), round(fit.most * 1e6)
    (7, 41)
    """
    finite(size=size)
    hole, shaft, step = tolerance_grade(size, hole_grade), tolerance_grade(size, shaft_grade), _step(size)
    if shaft_letter in _BELOW:
        upper = -_BELOW[shaft_letter][step] * 1e-6
    elif shaft_letter == "js":
        upper = shaft / 2
    elif shaft_letter in _ABOVE:
        above = 0 if shaft_letter == "k" and shaft_grade not in _K_GRADES else _ABOVE[shaft_letter][step]
        upper = above * 1e-6 + shaft
    else:
        raise OutOfRange(f"shaft_letter must be one of {', '.join(_LETTERS)}, got {shaft_letter}")
    return FitClearance(-upper, hole + shaft - upper)
