"""Compression ratio of a cylinder, and the clearance volume that a wanted ratio asks for."""

from __future__ import annotations

from compat.engineering.cylinder.geometry import deck_volume, gasket_volume, sum_of_clearance, swept_volume
from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative

__all__ = ["clearance_volume_for_ratio", "compression_ratio", "compression_ratio_of_volumes"]


@formula(
    takes={
        "bore": "mm",
        "stroke": "mm",
        "chamber_volume": "cm^3",
        "crown_volume": "cm^3",
        "gasket_bore": "mm",
        "gasket_thickness": "mm",
        "deck_clearance": "mm",
        "crevice_volume": "cm^3",
    },
    gives="number",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2; common practice for its parts",
)
def compression_ratio(
    bore: float,
    stroke: float,
    chamber_volume: float,
    crown_volume: float = 0.0,
    gasket_bore: float | None = None,
    gasket_thickness: float = 0.0,
    deck_clearance: float = 0.0,
    crevice_volume: float = 0.0,
) -> float:
    """Compression ratio of one cylinder from the dimensions that shape it.

    Parameters
    ----------
    bore, stroke : float
        Cylinder diameter and stroke, [m]
    chamber_volume : float
        Chamber in the head, valves and plug in place, [m^3]
    crown_volume : float, optional
        Dish and valve pockets positive, dome negative; default flat, [m^3]
    gasket_bore : float, optional
        Opening of the head gasket; default the bore, [m]
    gasket_thickness : float, optional
        Compressed thickness of the gasket; default none, [m]
    deck_clearance : float, optional
        Positive below the deck; default flush, [m]
    crevice_volume : float, optional
        Space above the top ring round the top land; most cards leave it out, [m^3]

    Returns
    -------
    float
        Geometric compression ratio, [-]

    Raises
    ------
    OutOfRange
        When a length or the chamber is not above zero, or no volume is left.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(compression_ratio(0.0855, 0.087, 45.2e-6, 2.0e-6, 0.087, 0.0012, 0.0002), 2)
    10.0
    """
    positive(bore=bore, chamber_volume=chamber_volume)
    not_negative(gasket_thickness=gasket_thickness, crevice_volume=crevice_volume)
    finite(crown_volume=crown_volume)
    opening = bore if gasket_bore is None else gasket_bore
    gasket = gasket_volume(opening, gasket_thickness) if gasket_thickness else 0.0
    left = sum_of_clearance(
        chamber_volume, crown_volume, gasket, deck_volume(bore, deck_clearance), crevice_volume
    )
    return 1 + swept_volume(bore, stroke) / left


@formula(
    takes={"swept_volume": "cm^3", "clearance_volume": "cm^3"},
    gives="number",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
    rises_with=("swept_volume",),
    falls_with=("clearance_volume",),
)
def compression_ratio_of_volumes(swept_volume: float, clearance_volume: float) -> float:
    """Volume at bottom dead centre over volume at top dead centre, of one cylinder.

    Parameters
    ----------
    swept_volume, clearance_volume : float
        Both of one cylinder, [m^3]

    Returns
    -------
    float
        Geometric compression ratio, [-]

    Raises
    ------
    OutOfRange
        When either volume is not above zero.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(compression_ratio_of_volumes(499.5e-6, 55.48e-6), 2)
    10.0
    """
    positive(swept_volume=swept_volume, clearance_volume=clearance_volume)
    return 1 + swept_volume / clearance_volume


@formula(
    takes={"swept_volume": "cm^3", "compression_ratio": "number"},
    gives="cm^3",
    source="Heywood, Internal Combustion Engine Fundamentals, ch. 2",
)
def clearance_volume_for_ratio(swept_volume: float, compression_ratio: float) -> float:
    """Clearance volume that gives a wanted compression ratio.

    Parameters
    ----------
    swept_volume : float
        Of one cylinder, [m^3]
    compression_ratio : float
        Wanted ratio, above 1, [-]

    Returns
    -------
    float
        Clearance volume of one cylinder, [m^3]

    Raises
    ------
    OutOfRange
        When the volume is not above zero or the ratio not above 1.

    References
    ----------
    .. [1] Heywood, Internal Combustion Engine Fundamentals, McGraw-Hill, ch. 2.

    Examples
    --------
    >>> round(clearance_volume_for_ratio(499.5e-6, 10.0) * 1e6, 1)
    55.5
    """
    positive(swept_volume=swept_volume, compression_ratio=compression_ratio)
    if compression_ratio <= 1:
        raise OutOfRange(f"compression_ratio must be above 1, got {compression_ratio:g}")
    return swept_volume / (compression_ratio - 1)
