"""Strength of the connecting rod's shank: buckling in both planes, tension and fatigue."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within
from compat.engineering.running_gear.columns import STEEL_MODULUS, column_load

__all__ = [
    "RodBuckling",
    "RodSection",
    "rod_buckling_load",
    "rod_fatigue_factor",
    "rod_section",
    "rod_tension_capacity",
]


class RodSection(NamedTuple):
    """Radii of gyration of a rod's least section."""

    in_plane_gyration: float
    side_gyration: float
    web_thickness: float


class RodBuckling(NamedTuple):
    """Loads at which a rod fails in compression."""

    in_plane: float
    side: float
    least: float


@formula(
    takes={"least_section_area": "mm^2", "shape": ("i_section", "h_section")},
    gives={"in_plane_gyration": "mm", "side_gyration": "mm", "web_thickness": "mm"},
    source="Khurmi and Gupta, A Textbook of Machine Design, connecting rods: I-section 4t by 5t",
    scatter={"in_plane_gyration": 0.10, "side_gyration": 0.15, "web_thickness": 0.25},
    scatter_source="estimate: rods depart from the textbook proportions",
)
def rod_section(least_section_area: float, shape: str = "i_section") -> RodSection:
    """Radii of gyration of a rod of which only the least section is known.

    Parameters
    ----------
    least_section_area : float
        Area of the weakest section of the shank, [m^2]
    shape : str, optional
        ``i_section``: flanges front and back of the swing; ``h_section``: turned by a quarter.

    Returns
    -------
    RodSection
        Radii of gyration for bending in the plane of swing and sideways, and the web's thickness, [m]

    Raises
    ------
    OutOfRange
        When the area is not above zero or the word is unknown.

    Notes
    -----
    Textbook proportions: web and flanges t thick, 4t wide, 5t deep: area 11 t^2, radii 1.78 t and 1.00 t.

    References
    ----------
    .. [1] Khurmi and Gupta, A Textbook of Machine Design, connecting rods.

    Examples
    --------
    >>> section = rod_section(176e-6)
    >>> round(section.web_thickness * 1e3, 2), round(section.in_plane_gyration * 1e3, 2)
    (4.0, 7.13)
    """
    positive(least_section_area=least_section_area)
    thickness = math.sqrt(least_section_area / 11)
    deep = math.sqrt(419 / 12 / 11) * thickness
    wide = math.sqrt(131 / 12 / 11) * thickness
    if shape == "i_section":
        return RodSection(deep, wide, thickness)
    if shape == "h_section":
        return RodSection(wide, deep, thickness)
    raise OutOfRange(f"shape must be i_section or h_section, got {shape}")


@formula(
    takes={
        "least_section_area": "mm^2",
        "in_plane_gyration": "mm",
        "side_gyration": "mm",
        "centre_length": "mm",
        "yield_strength": "MPa",
        "elastic_modulus": "GPa",
    },
    gives={"in_plane": "kN", "side": "kN", "least": "kN"},
    source="Shigley, Mechanical Engineering Design, ch. 4 (columns); Khurmi and Gupta (end "
    "conditions of a rod)",
    scatter=0.10,
    scatter_source="estimate: tapered shank taken as uniform, load taken as central",
    rises_with={
        "in_plane": (
            "least_section_area",
            "in_plane_gyration",
            "yield_strength",
            "elastic_modulus",
            "side_gyration",
        ),
        "side": (
            "least_section_area",
            "side_gyration",
            "yield_strength",
            "elastic_modulus",
            "in_plane_gyration",
        ),
        "least": (
            "least_section_area",
            "in_plane_gyration",
            "side_gyration",
            "yield_strength",
            "elastic_modulus",
        ),
    },
    falls_with={
        "in_plane": ("centre_length",),
        "side": ("centre_length",),
        "least": ("centre_length",),
    },
)
def rod_buckling_load(
    least_section_area: float,
    in_plane_gyration: float,
    side_gyration: float,
    centre_length: float,
    yield_strength: float,
    elastic_modulus: float = STEEL_MODULUS,
) -> RodBuckling:
    """Compression that a rod bears in the plane of swing and sideways.

    Parameters
    ----------
    least_section_area : float
        Area of the weakest section of the shank, [m^2]
    in_plane_gyration, side_gyration : float
        Radii of gyration for bending in the plane of swing and sideways, [m]
    centre_length : float
        Between bore centres, [m]
    yield_strength : float
        Of the rod, [Pa]
    elastic_modulus : float, optional
        Young's modulus; aluminium rods 72 GPa, titanium 114 GPa, [Pa]

    Returns
    -------
    RodBuckling
        Critical loads in the plane of swing, sideways, and the lesser of the two, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    In the plane of swing both ends turn freely on their pins (fixity 1); sideways the wide bores hold them
    (fixity 4). Compare with the worst compression after the headroom the duty asks; a rod that is already
    bent bears far less.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 4.
    .. [2] Khurmi and Gupta, A Textbook of Machine Design, connecting rods.

    Examples
    --------
    >>> loads = rod_buckling_load(176e-6, 7.1e-3, 4.0e-3, 0.148, 650e6)
    >>> round(loads.in_plane), round(loads.side), round(loads.least)
    (110427, 111271, 110427)
    """
    in_plane = column_load(
        least_section_area, in_plane_gyration, centre_length, yield_strength, 1.0, elastic_modulus
    )
    side = column_load(least_section_area, side_gyration, centre_length, yield_strength, 4.0, elastic_modulus)
    return RodBuckling(in_plane, side, min(in_plane, side))


@formula(
    takes={"least_section_area": "mm^2", "yield_strength": "MPa"},
    gives="kN",
    source="plain statics: yield strength over the least section",
    rises_with=("least_section_area", "yield_strength"),
)
def rod_tension_capacity(least_section_area: float, yield_strength: float) -> float:
    """Pull at which the shank of a rod starts to yield.

    Parameters
    ----------
    least_section_area : float
        Area of the weakest section of the shank, [m^2]
    yield_strength : float
        Of the rod, [Pa]

    Returns
    -------
    float
        Load, [N]

    Raises
    ------
    OutOfRange
        When an argument is not above zero.

    Notes
    -----
    A one-off limit; a rod lives by fatigue, see `rod_fatigue_factor`, and its bolts usually give way first.

    References
    ----------
    .. [1] Plain statics.

    Examples
    --------
    >>> round(rod_tension_capacity(176e-6, 650e6))
    114400
    """
    positive(least_section_area=least_section_area, yield_strength=yield_strength)
    return least_section_area * yield_strength


@formula(
    takes={
        "rod_compression": "kN",
        "rod_tension": "kN",
        "least_section_area": "mm^2",
        "tensile_strength": "MPa",
        "surface_factor": "number",
        "notch_factor": "number",
    },
    gives="number",
    source="Shigley, Mechanical Engineering Design, ch. 6: Goodman line, Marin factors",
    scatter=0.25,
    scatter_source="estimate: fatigue strength from tensile strength alone",
    rises_with=("least_section_area", "tensile_strength", "surface_factor"),
    falls_with=("rod_compression", "rod_tension", "notch_factor"),
)
def rod_fatigue_factor(
    rod_compression: float,
    rod_tension: float,
    least_section_area: float,
    tensile_strength: float,
    surface_factor: float = 0.80,
    notch_factor: float = 1.3,
) -> float:
    """Factor of safety of the shank against fatigue between its worst compression and tension.

    Parameters
    ----------
    rod_compression, rod_tension : float
        Worst of each, both written positive, [N]
    least_section_area : float
        Area of the weakest section of the shank, [m^2]
    tensile_strength : float
        Of the rod, [Pa]
    surface_factor : float, optional
        1 polished, 0.8 shot-peened or machined, 0.5 as forged, [-]
    notch_factor : float, optional
        Fatigue notch factor of fillets and marks, [-]

    Returns
    -------
    float
        Factor by which both loads may grow, [-]

    Raises
    ------
    OutOfRange
        When a strength or area is not above zero, or a factor lies outside its range.

    Notes
    -----
    Endurance limit half the tensile strength (700 MPa at most), 0.85 for axial load, and the surface factor.
    A mean stress in compression is given no credit.

    References
    ----------
    .. [1] Shigley, Mechanical Engineering Design, McGraw-Hill, ch. 6.

    Examples
    --------
    >>> round(rod_fatigue_factor(30e3, 15.8e3, 176e-6, 900e6), 2)
    1.81
    """
    not_negative(rod_compression=rod_compression, rod_tension=rod_tension)
    positive(least_section_area=least_section_area, tensile_strength=tensile_strength)
    within("surface_factor", surface_factor, 0.2, 1.0)
    within("notch_factor", notch_factor, 1.0, 4.0)
    if rod_compression + rod_tension == 0:
        raise OutOfRange("rod_compression and rod_tension are both zero: there is nothing to tire the rod")
    endurance = 0.85 * surface_factor * min(0.5 * tensile_strength, 700e6)
    amplitude = notch_factor * (rod_compression + rod_tension) / 2 / least_section_area
    mean = max(rod_tension - rod_compression, 0.0) / 2 / least_section_area
    return 1 / (amplitude / endurance + mean / tensile_strength)
