"""Volumes of the cylinder.

Signs: a crown volume is positive for a dish and negative for a dome, a deck clearance is
positive with the piston below the deck at top dead centre.
"""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative

__all__ = [
    "clearance_volume",
    "deck_volume",
    "engine_displacement",
    "gasket_volume",
    "sum_of_clearance",
    "swept_volume",
]


@formula(
    takes={"bore": "mm", "stroke": "mm"},
    gives="cm^3",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("bore", "stroke"),
)
def swept_volume(bore: float, stroke: float) -> float:
    """Volume that one piston sweeps from top to bottom dead centre.

    Parameters
    ----------
    bore : float
        Cylinder diameter, [m]
    stroke : float
        Piston travel, twice the crank throw, [m]

    Returns
    -------
    float
        Swept volume of one cylinder, [m^3]

    Raises
    ------
    OutOfRange
        When either length is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(swept_volume(bore=0.0855, stroke=0.087) * 1e6, 1)
    499.5
    """
    positive(bore=bore, stroke=stroke)
    return math.pi / 4 * bore**2 * stroke


@formula(
    takes={"bore": "mm", "stroke": "mm", "cylinders": "number"},
    gives="cm^3",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
)
def engine_displacement(bore: float, stroke: float, cylinders: float) -> float:
    """Swept volume of the whole engine.

    Parameters
    ----------
    bore, stroke : float
        Cylinder diameter and piston travel, [m]
    cylinders : float
        Number of cylinders, [-]

    Returns
    -------
    float
        Displacement, [m^3]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(engine_displacement(bore=0.0855, stroke=0.087, cylinders=4) * 1e6)
    1998
    """
    positive(cylinders=cylinders)
    return cylinders * swept_volume(bore, stroke)


@formula(
    takes={"gasket_bore": "mm", "gasket_thickness": "mm"},
    gives="cm^3",
    source="common practice: a cylinder of the gasket's own bore",
)
def gasket_volume(gasket_bore: float, gasket_thickness: float) -> float:
    """Volume inside the head gasket's fire ring.

    Parameters
    ----------
    gasket_bore : float
        Diameter of the gasket's opening, [m]
    gasket_thickness : float
        Compressed thickness, [m]

    Returns
    -------
    float
        Volume, [m^3]

    Raises
    ------
    OutOfRange
        When either length is not above zero.

    References
    ----------
    .. [1] Common practice; volume of a cylinder.

    Examples
    --------
    >>> round(gasket_volume(gasket_bore=0.087, gasket_thickness=0.0012) * 1e6, 2)
    7.13
    """
    positive(gasket_bore=gasket_bore, gasket_thickness=gasket_thickness)
    return math.pi / 4 * gasket_bore**2 * gasket_thickness


@formula(
    takes={"bore": "mm", "deck_clearance": "mm"},
    gives="cm^3",
    source="common practice: a cylinder of the bore",
)
def deck_volume(bore: float, deck_clearance: float) -> float:
    """Volume between the piston's flat at top dead centre and the deck; negative when proud.

    Parameters
    ----------
    bore : float
        Cylinder diameter, [m]
    deck_clearance : float
        Positive below the deck, [m]

    Returns
    -------
    float
        Volume, [m^3]

    Raises
    ------
    OutOfRange
        When the bore is not above zero or the clearance is not a number.

    References
    ----------
    .. [1] Common practice; volume of a cylinder.

    Examples
    --------
    >>> round(deck_volume(bore=0.0855, deck_clearance=0.0002) * 1e6, 2)
    1.15
    """
    positive(bore=bore)
    finite(deck_clearance=deck_clearance)
    return math.pi / 4 * bore**2 * deck_clearance


@formula(
    takes={
        "chamber_volume": "cm^3",
        "crown_volume": "cm^3",
        "gasket_bore": "mm",
        "gasket_thickness": "mm",
        "bore": "mm",
        "deck_clearance": "mm",
        "crevice_volume": "cm^3",
    },
    gives="cm^3",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2; common practice for the parts of it",
    rises_with=(
        "chamber_volume",
        "crown_volume",
        "gasket_bore",
        "gasket_thickness",
        "bore",
        "deck_clearance",
        "crevice_volume",
    ),
)
def clearance_volume(
    chamber_volume: float,
    crown_volume: float,
    gasket_bore: float,
    gasket_thickness: float,
    bore: float,
    deck_clearance: float,
    crevice_volume: float = 0.0,
) -> float:
    """Volume left above the piston at top dead centre.

    Parameters
    ----------
    chamber_volume : float
        Chamber in the head, valves and plug in place, [m^3]
    crown_volume : float
        Dish and valve pockets positive, dome negative, [m^3]
    gasket_bore, gasket_thickness : float
        Opening and compressed thickness of the head gasket, [m]
    bore : float
        Cylinder diameter, [m]
    deck_clearance : float
        Positive below the deck, [m]
    crevice_volume : float, optional
        Space above the top ring round the top land; most cards leave it out, [m^3]

    Returns
    -------
    float
        Clearance volume, [m^3]

    Raises
    ------
    OutOfRange
        When a length or the chamber is not above zero, or no volume is left.

    Notes
    -----
    The crevice of a usual piston is 0.3 to 0.6 cm^3 (common practice): leaving it out reads
    the compression ratio about a tenth high.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> volume = clearance_volume(45.2e-6, 2.0e-6, 0.087, 0.0012, 0.0855, 0.0002)
    >>> round(volume * 1e6, 2)
    55.48
    """
    positive(chamber_volume=chamber_volume)
    not_negative(crevice_volume=crevice_volume)
    finite(crown_volume=crown_volume)
    gasket = gasket_volume(gasket_bore, gasket_thickness)
    return sum_of_clearance(
        chamber_volume, crown_volume, gasket, deck_volume(bore, deck_clearance), crevice_volume
    )


def sum_of_clearance(*parts: float) -> float:
    """Sum of the parts of the clearance volume [m^3]; OutOfRange where they leave none.

    >>> round(sum_of_clearance(45e-6, -4e-6, 6.1e-6) * 1e6, 1)
    47.1
    """
    volume = sum(parts)
    if volume <= 0:
        raise OutOfRange(
            f"no clearance volume is left ({volume * 1e6:.2f} cm^3): "
            "check the signs of crown_volume and deck_clearance"
        )
    return volume
