"""Metric screw threads: diameters, stress area, strength of the property classes, engagement."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive

__all__ = [
    "BoltStrength",
    "bolt_strength",
    "engagement_needed",
    "internal_thread_shear_area",
    "minor_diameter",
    "pitch_diameter",
    "stress_area",
    "stress_diameter",
]

_HEIGHT = math.sqrt(3) / 2  # of the fundamental triangle, in pitches

# Nominal diameter above which class 8.8 is stronger, [m].
_STEP_8_8 = 0.016

# Rp0.2, Rm, proof stress, [Pa]
_CLASSES: dict[str, tuple[float, float, float]] = {
    "8.8": (640e6, 800e6, 580e6),
    "10.9": (940e6, 1040e6, 830e6),
    "12.9": (1100e6, 1220e6, 970e6),
    # above the standard, as studs are sold: nine tenths of the nominal strength, 0.88 of that for proof
    "13.9": (1170e6, 1300e6, 1030e6),
    "15.9": (1350e6, 1500e6, 1190e6),
}
_LARGE_8_8 = (660e6, 830e6, 600e6)


def _check(diameter: float, pitch: float) -> None:
    positive(diameter=diameter, pitch=pitch)
    if pitch > diameter / 2:
        raise OutOfRange(
            f"pitch must be no more than half the diameter, got {pitch * 1e3:g} mm "
            f"on {diameter * 1e3:g} mm: are the two swapped?"
        )


@formula(
    takes={"diameter": "mm", "pitch": "mm"},
    gives="mm",
    source="ISO 724, basic dimensions of the ISO metric thread",
)
def pitch_diameter(diameter: float, pitch: float) -> float:
    """Basic pitch diameter d2 of a metric thread.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]

    Returns
    -------
    float
        Pitch diameter, [m]

    Raises
    ------
    OutOfRange
        When either is not above zero or the pitch exceeds half the diameter.

    References
    ----------
    .. [1] ISO 724, ISO general purpose metric screw threads, basic dimensions.

    Examples
    --------
    >>> round(pitch_diameter(diameter=0.010, pitch=0.00125) * 1e3, 3)
    9.188
    """
    _check(diameter, pitch)
    return diameter - 0.75 * _HEIGHT * pitch


@formula(
    takes={"diameter": "mm", "pitch": "mm"},
    gives="mm",
    source="ISO 724 and ISO 898-1: root diameter of the external thread",
)
def minor_diameter(diameter: float, pitch: float) -> float:
    """Basic minor diameter d3 of the external thread, at its rounded root.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]

    Returns
    -------
    float
        Minor diameter, [m]

    Raises
    ------
    OutOfRange
        When either is not above zero or the pitch exceeds half the diameter.

    Notes
    -----
    Not the bore of the nut thread, D1, which is larger by a sixth of the triangle's height on each side.

    References
    ----------
    .. [1] ISO 898-1, Mechanical properties of fasteners, clause on the stress area.

    Examples
    --------
    >>> round(minor_diameter(diameter=0.010, pitch=0.00125) * 1e3, 3)
    8.466
    """
    _check(diameter, pitch)
    return diameter - 17 / 12 * _HEIGHT * pitch


@formula(
    takes={"diameter": "mm", "pitch": "mm"},
    gives="mm",
    source="ISO 898-1",
)
def stress_diameter(diameter: float, pitch: float) -> float:
    """Diameter of a round bar as strong as the thread: mean of pitch and minor diameter.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]

    Returns
    -------
    float
        Stress diameter, [m]

    Raises
    ------
    OutOfRange
        When either is not above zero or the pitch exceeds half the diameter.

    References
    ----------
    .. [1] ISO 898-1, Mechanical properties of fasteners.

    Examples
    --------
    >>> round(stress_diameter(diameter=0.010, pitch=0.00125) * 1e3, 3)
    8.827
    """
    return (pitch_diameter(diameter, pitch) + minor_diameter(diameter, pitch)) / 2


@formula(
    takes={"diameter": "mm", "pitch": "mm"},
    gives="mm^2",
    source="ISO 898-1",
    rises_with=("diameter",),
    falls_with=("pitch",),
)
def stress_area(diameter: float, pitch: float) -> float:
    """Nominal stress area of a metric thread.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]

    Returns
    -------
    float
        Stress area, [m^2]

    Raises
    ------
    OutOfRange
        When either is not above zero or the pitch exceeds half the diameter.

    References
    ----------
    .. [1] ISO 898-1, Mechanical properties of fasteners.

    Examples
    --------
    >>> round(stress_area(diameter=0.010, pitch=0.0015) * 1e6, 1)
    58.0
    """
    return math.pi / 4 * stress_diameter(diameter, pitch) ** 2


class BoltStrength(NamedTuple):
    """Least strengths of a property class, [Pa]."""

    yield_strength: float
    tensile_strength: float
    proof_stress: float


@formula(
    takes={"property_class": tuple(_CLASSES), "diameter": "mm"},
    gives={"yield_strength": "MPa", "tensile_strength": "MPa", "proof_stress": "MPa"},
    source="ISO 898-1:2013, table 3 (from memory); above 12.9 common practice",
)
def bolt_strength(property_class: str, diameter: float) -> BoltStrength:
    """Least yield and tensile strength and proof stress of a property class.

    Parameters
    ----------
    property_class : str
        ``8.8``, ``10.9`` or ``12.9``; ``13.9`` and ``15.9`` as studs are sold, which no standard covers.
    diameter : float
        Nominal thread diameter; 8.8 is stronger above 16 mm, [m]

    Returns
    -------
    BoltStrength
        Stress at 0.2 % lasting strain, tensile strength, stress under proof load, [Pa].

    Raises
    ------
    OutOfRange
        When the class is unknown or the diameter lies outside 1.6 to 39 mm, which the standard covers.

    References
    ----------
    .. [1] ISO 898-1:2013, Mechanical properties of fasteners made of carbon steel and alloy steel.

    Examples
    --------
    >>> strength = bolt_strength("10.9", 0.010)
    >>> round(strength.yield_strength / 1e6), round(strength.proof_stress / 1e6)
    (940, 830)
    """
    positive(diameter=diameter)
    if not 1.6e-3 - 1e-9 <= diameter <= 39e-3 + 1e-9:
        raise OutOfRange(f"diameter must lie between 1.6 and 39 mm, got {diameter * 1e3:g} mm")
    if property_class not in _CLASSES:
        raise OutOfRange(f"property_class must be one of {', '.join(_CLASSES)}, got {property_class}")
    if property_class == "8.8" and diameter > _STEP_8_8 + 1e-9:
        return BoltStrength(*_LARGE_8_8)
    return BoltStrength(*_CLASSES[property_class])


@formula(
    takes={"diameter": "mm", "pitch": "mm", "engagement": "mm"},
    gives="mm^2",
    source="ISO/TR 16224:2012, 4.2.3.1; FED-STD-H28/2B, with basic dimensions",
)
def internal_thread_shear_area(diameter: float, pitch: float, engagement: float) -> float:
    """Area over which the threads of a hole shear off at the bolt's major diameter.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    engagement : float
        Length of full threads in engagement, [m]

    Returns
    -------
    float
        Shear area, [m^2]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the pitch exceeds half the diameter.

    Notes
    -----
    Basic dimensions: the least material that tolerances allow takes off a few percent more.

    References
    ----------
    .. [1] ISO/TR 16224:2012, Technical aspects of nut design.

    Examples
    --------
    >>> round(internal_thread_shear_area(0.010, 0.0015, 0.015) * 1e6, 1)
    412.3
    """
    positive(engagement=engagement)
    depth = diameter - pitch_diameter(diameter, pitch)
    return math.pi * diameter * engagement / pitch * (pitch / 2 + depth / math.sqrt(3))


@formula(
    takes={
        "diameter": "mm",
        "pitch": "mm",
        "bolt_tensile_strength": "MPa",
        "hole_shear_strength": "MPa",
    },
    gives="mm",
    source="ISO/TR 16224:2012; Alexander, SAE 770420, without the bending and dilation factors",
)
def engagement_needed(
    diameter: float, pitch: float, bolt_tensile_strength: float, hole_shear_strength: float
) -> float:
    """Engagement at which the bolt breaks before the threads of the hole strip.

    Parameters
    ----------
    diameter, pitch : float
        Nominal diameter and pitch, [m]
    bolt_tensile_strength : float
        Tensile strength of the bolt, [Pa]
    hole_shear_strength : float
        Shear strength of the metal round the hole, [Pa]

    Returns
    -------
    float
        Least length of full threads, [m]

    Raises
    ------
    OutOfRange
        When an argument is not above zero or the pitch exceeds half the diameter.

    Notes
    -----
    For a hole in a block, which does not spread as a nut does. Add a pitch at each end for lead-in, and
    a margin: common practice is 1.3 diameters and more in iron, 2 in alloy.

    References
    ----------
    .. [1] Alexander, Analysis and design of threaded assemblies, SAE 770420.

    Examples
    --------
    >>> round(engagement_needed(0.010, 0.0015, 1040e6, 200e6) * 1e3, 1)
    11.0
    """
    positive(bolt_tensile_strength=bolt_tensile_strength, hole_shear_strength=hole_shear_strength)
    for_each_length = internal_thread_shear_area(diameter, pitch, 1.0)
    return bolt_tensile_strength * stress_area(diameter, pitch) / (hole_shear_strength * for_each_length)
