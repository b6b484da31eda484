"""Stress in the fillets of a crankshaft's throw, and what its steel bears for good."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import not_negative, within

__all__ = ["CrankFillets", "crank_fatigue_strength", "crank_fillet_stress"]

_MISALIGNMENT = 10e6
"""Bending that a crank out of line adds, trunk piston engines, [Pa]."""

_MAKING = {"nodular_cast": 0.75, "billet_steel": 1.0, "forged_steel": 1.05}
_TREATMENT = {"none": 1.0, "rolled_fillet": 1.24, "nitride": 1.25, "induction": 1.0}


class CrankFillets(NamedTuple):
    """Alternating stress in both fillets of a throw, and the factors that make it."""

    pin_fillet: float
    journal_fillet: float
    pin_bending_factor: float
    journal_bending_factor: float
    pin_torsion_factor: float


def _power_series(x: float, *factors: float) -> float:
    return math.fsum(factor * math.pow(x, power) for power, factor in enumerate(factors))


def _pin_bending(s: float, w: float, b: float, r: float) -> float:
    apart = 1 - s
    shape = (
        _power_series(w, -4.1883, 29.2004, -77.5925, 91.9454, -40.0416)
        + apart * _power_series(w, 9.5440, -58.3480, 159.3415, -192.5846, 85.2916)
        + apart**2 * _power_series(w, -3.8399, 25.0444, -70.5571, 87.0328, -39.1832)
    )
    bores = 0.9993 * 0.9978  # of pin and journal, none here
    return (
        2.6914
        * shape
        * 2.1790
        * math.pow(w, 0.7171)
        * _power_series(b, 0.6840, -0.0077, 0.1473)
        * 0.2081
        * math.pow(r, -0.5231)
    ) * bores


def _journal_bending(s: float, w: float, b: float, r: float) -> float:
    apart = 1 - s
    shape = (
        _power_series(w, -1.7625, 2.9821, -1.5276)
        + apart * _power_series(w, 5.1169, -5.8089, 3.1391)
        + apart**2 * _power_series(w, -2.1567, 2.3297, -1.2952)
    )
    bores = 1.0012 * 1.0022
    return (
        2.7146
        * shape
        * 2.2422
        * math.pow(w, 0.7548)
        * _power_series(b, 0.5616, 0.1197, 0.1176)
        * 0.1908
        * math.pow(r, -0.5568)
    ) * bores


def _journal_squeeze(s: float, w: float, b: float, r: float) -> float:
    apart = 1 - s
    shape = _power_series(apart, 0.4368, 2.1630, -1.5212)
    return 3.0128 * shape * w / (0.0637 + 0.9369 * w) * (b - 0.5) * 0.5331 * math.pow(r, -0.2038) * 0.9937


def _torsion(s: float, w: float, b: float, r: float) -> float:
    return (
        0.8
        * math.pow(r, -0.322 + 0.1015 * (1 - s))
        * _power_series(b, 7.8955, -10.654, 5.3482, -0.857)
        * math.pow(w, -0.145)
    )


@formula(
    takes={
        "gas_load": "kN",
        "torque_swing": "N*m",
        "stroke": "mm",
        "pin_diameter": "mm",
        "journal_diameter": "mm",
        "journal_width": "mm",
        "web_thickness": "mm",
        "web_width": "mm",
        "pin_fillet_radius": "mm",
        "journal_fillet_radius": "mm",
    },
    gives={
        "pin_fillet": "MPa",
        "journal_fillet": "MPa",
        "pin_bending_factor": "number",
        "journal_bending_factor": "number",
        "pin_torsion_factor": "number",
    },
    source="IACS Unified Requirement M53, Calculations for I.C. engine crankshafts (from memory)",
    scatter={"pin_fillet": 0.10, "journal_fillet": 0.10},
    scatter_source="estimate: fit of the factors to strain gauges, and webs that are no plain plates",
)
def crank_fillet_stress(
    gas_load: float,
    torque_swing: float,
    stroke: float,
    pin_diameter: float,
    journal_diameter: float,
    journal_width: float,
    web_thickness: float,
    web_width: float,
    pin_fillet_radius: float,
    journal_fillet_radius: float,
) -> CrankFillets:
    """Alternating stress in the fillets of crankpin and main journal, bending and torsion together.

    Parameters
    ----------
    gas_load : float
        Greatest gas load on one piston. Inertia pulls the pin outwards at firing and at overlap alike, so
        that what swings over a cycle is the gas load, whatever the speed, [N]
    torque_swing : float
        Half the range of the torque in the worst journal, vibration with it, [N*m]
    stroke, pin_diameter, journal_diameter, journal_width : float
        Of the crankshaft; journal is the main one, [m]
    web_thickness, web_width : float
        Of the web between the two, along the crankshaft and across it where pin and journal overlap, [m]
    pin_fillet_radius, journal_fillet_radius : float
        [m]

    Returns
    -------
    CrankFillets
        `pin_fillet` and `journal_fillet`, equivalent stress to either side of its mean, [Pa], and the
        factors by which a fillet raises the nominal stress, [-]

    Raises
    ------
    OutOfRange
        When an argument is not above zero, or the shape lies outside what the factors were measured on: webs
        of 0.2 to 0.8 pin diameters thickness and 1.1 to 2.2 width, fillets of 0.03 to 0.13.

    Notes
    -----
    Each throw is taken as a beam on the middles of its two mains; neighbours that hold it stiffer make it
    safe. Solid pins and journals. Overlap above half a pin diameter counts as half. 10 MPa stand in for mains
    out of line. Nominal stresses are those of a plain web: moment in its middle, over its thickness and width.

    References
    ----------
    .. [1] IACS UR M53, Calculations for I.C. engine crankshafts, appendix I: stress concentration factors.

    Examples
    --------
    >>> throw = crank_fillet_stress(
    ...     57e3, 600.0, 0.087, 0.048, 0.058, 0.024, 0.0225, 0.084, 0.0025, 0.0025)
    >>> round(throw.pin_fillet / 1e6), round(throw.pin_bending_factor, 2), round(throw.pin_torsion_factor, 2)
    (180, 3.12, 1.88)
    """
    positive(
        gas_load=gas_load,
        stroke=stroke,
        pin_diameter=pin_diameter,
        journal_diameter=journal_diameter,
        journal_width=journal_width,
    )
    not_negative(torque_swing=torque_swing)
    lengths = (web_thickness, web_width, pin_fillet_radius, journal_fillet_radius)
    positive(**dict(zip(_SHAPE, lengths, strict=True)))
    w, b, r_pin, r_journal = (length / pin_diameter for length in lengths)
    within("web_thickness over pin_diameter", w, 0.2, 0.8)
    within("web_width over pin_diameter", b, 1.1, 2.2)
    within("pin_fillet_radius over pin_diameter", r_pin, 0.03, 0.13)
    within("journal_fillet_radius over pin_diameter", r_journal, 0.03, 0.13)
    s = min(0.5, ((pin_diameter + journal_diameter) / 2 - stroke / 2) / pin_diameter)
    within("overlap of pin and journal over pin_diameter", s, -1.3, 0.5)

    swing = gas_load / 2 / 2  # half the range, half of it on either web
    bending = swing * (journal_width + web_thickness) / 2 / (web_width * web_thickness**2 / 6)
    squeeze = swing / (web_width * web_thickness)
    pin_bending, journal_bending = _pin_bending(s, w, b, r_pin), _journal_bending(s, w, b, r_journal)
    pin_torsion, journal_torsion = _torsion(s, w, b, r_pin), _torsion(s, w, b, r_journal)

    def equivalent(bent: float, factor: float, diameter: float) -> float:
        twisted = factor * torque_swing / (math.pi / 16 * diameter**3)
        return math.hypot(bent + _MISALIGNMENT, math.sqrt(3) * twisted)

    return CrankFillets(
        equivalent(pin_bending * bending, pin_torsion, pin_diameter),
        equivalent(
            journal_bending * bending + _journal_squeeze(s, w, b, r_journal) * squeeze,
            journal_torsion,
            journal_diameter,
        ),
        pin_bending,
        journal_bending,
        pin_torsion,
    )


_SHAPE = ("web_thickness", "web_width", "pin_fillet_radius", "journal_fillet_radius")


@formula(
    takes={
        "tensile_strength": "MPa",
        "diameter": "mm",
        "fillet_radius": "mm",
        "material": tuple(_MAKING),
        "hardening": tuple(_TREATMENT),
    },
    gives="MPa",
    source="IACS Unified Requirement M53, Calculations for I.C. engine crankshafts (from memory); factors of "
    "cast iron and of hardened fillets common practice, no source",
    scatter=0.10,
    scatter_source="estimate: fatigue strength of one heat of steel and the next",
)
def crank_fatigue_strength(
    tensile_strength: float, diameter: float, fillet_radius: float, material: str, hardening: str
) -> float:
    """Alternating stress that a crankshaft's fillet bears for good.

    Parameters
    ----------
    tensile_strength : float
        Of the core, [Pa]
    diameter, fillet_radius : float
        Of the pin or journal and its fillet, [m]
    material : str
        ``nodular_cast``, ``forged_steel`` or ``billet_steel``; only a forging's grain runs round the throw.
    hardening : str
        ``rolled_fillet`` and ``nitride`` strengthen the fillet; ``induction`` mostly ends beside it and counts
        for nothing; ``none``.

    Returns
    -------
    float
        Stress to either side of the mean, [Pa]

    Raises
    ------
    OutOfRange
        When a length is not above zero, the strength lies outside 400 to 1400 MPa, or a word is another.

    Notes
    -----
    The rule asks that it be 1.15 times the stress in the fillet at the least. A nick, a regrind with a smaller
    fillet or a nitrided layer ground through lower it; crack-test a used crankshaft.

    References
    ----------
    .. [1] IACS UR M53, Calculations for I.C. engine crankshafts, fatigue strength.

    Examples
    --------
    >>> round(crank_fatigue_strength(900e6, 0.048, 0.0025, "forged_steel", "none") / 1e6)
    383
    """
    positive(diameter=diameter, fillet_radius=fillet_radius)
    within("tensile_strength", tensile_strength, 400e6, 1400e6, "MPa", 1e6)
    for name, word, words in (("material", material, _MAKING), ("hardening", hardening, _TREATMENT)):
        if word not in words:
            raise OutOfRange(f"{name} must be one of {', '.join(words)}, got {word}")
    strength = tensile_strength / 1e6
    size = 0.264 + 1.073 * math.pow(diameter * 1e3, -0.2) + (785 - strength) / 4900
    fillet = 196 / strength * math.sqrt(1e-3 / fillet_radius)
    factor = _MAKING[material] * _TREATMENT[hardening]
    return factor * (0.42 * strength + 39.3) * (size + fillet) * 1e6
