"""End gaps of piston rings: rule of thumb, change with the bore, closing with heat."""

from __future__ import annotations

import math
from typing import NamedTuple

from compat.engineering.formula import OutOfRange, formula, positive
from compat.engineering.numerics.ranges import finite, not_negative, within

__all__ = ["GapGuide", "ring_end_gap_guide", "ring_end_gap_hot", "ring_gap_in_bore"]

_THOU_AN_INCH = 1e-3  # a thousandth of an inch for each inch


class GapGuide(NamedTuple):
    """Least and most end gap of the top ring by the rule of thumb, [m]."""

    least: float
    most: float


@formula(
    takes={"bore": "mm", "aspiration": ("natural", "boosted")},
    gives={"least": "mm", "most": "mm"},
    source="common practice, no source: 0.004 to 0.0045 in for each inch of bore, boosted 0.005 to 0.006",
)
def ring_end_gap_guide(bore: float, aspiration: str) -> GapGuide:
    """End gap of the top ring by the rule of thumb, where no card states one.

    Parameters
    ----------
    bore : float
        Cylinder diameter, [m]
    aspiration : str
        ``natural`` or ``boosted``.

    Returns
    -------
    GapGuide
        Least and most gap, [m].

    Raises
    ------
    OutOfRange
        When the bore is not above zero or the word is unknown.

    Notes
    -----
    The second ring is set as wide or wider. A gap too wide costs little, one that closes breaks the land.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> gap = ring_end_gap_guide(0.0855, "boosted")
    >>> round(gap.least * 1e3, 3), round(gap.most * 1e3, 3)
    (0.428, 0.513)
    """
    positive(bore=bore)
    shares = {"natural": (4.0, 4.5), "boosted": (5.0, 6.0)}
    if aspiration not in shares:
        raise OutOfRange(f"aspiration must be natural or boosted, got {aspiration}")
    least, most = shares[aspiration]
    return GapGuide(least * _THOU_AN_INCH * bore, most * _THOU_AN_INCH * bore)


@formula(
    takes={"gap": "mm", "gauge_bore": "mm", "bore": "mm"},
    gives="mm",
    source="plain geometry: the gap grows with the circumference",
)
def ring_gap_in_bore(gap: float, gauge_bore: float, bore: float) -> float:
    """End gap of a ring in another bore than the one it was measured in.

    Parameters
    ----------
    gap : float
        In the gauge bore, [m]
    gauge_bore, bore : float
        Bore it was measured in and bore it will run in, [m]

    Returns
    -------
    float
        Gap, [m]; negative says that the ends meet and must be filed.

    Raises
    ------
    OutOfRange
        When a bore is not above zero or the gap is not a number.

    References
    ----------
    .. [1] Plain geometry.

    Examples
    --------
    >>> round(ring_gap_in_bore(gap=0.35e-3, gauge_bore=0.0855, bore=0.08563) * 1e3, 3)
    0.758
    """
    finite(gap=gap)
    positive(gauge_bore=gauge_bore, bore=bore)
    return gap + math.pi * (bore - gauge_bore)


@formula(
    takes={
        "gap": "mm",
        "bore": "mm",
        "ring_temperature": "degC",
        "bore_temperature": "degC",
        "ring_expansion": "1/K",
        "bore_expansion": "1/K",
    },
    gives="mm",
    source="thermal expansion; common practice for the temperatures",
)
def ring_end_gap_hot(
    gap: float,
    bore: float,
    ring_temperature: float,
    bore_temperature: float,
    ring_expansion: float = 11.5e-6,
    bore_expansion: float = 11.0e-6,
) -> float:
    """End gap left when ring and cylinder are hot.

    Parameters
    ----------
    gap : float
        Measured at 20 degC, [m]
    bore : float
        Cylinder diameter at 20 degC, [m]
    ring_temperature, bore_temperature : float
        Of the ring and of the wall it runs on, [K]
    ring_expansion, bore_expansion : float, optional
        Coefficients of thermal expansion, steel and grey iron unless stated, [1/K]

    Returns
    -------
    float
        Gap hot, [m]; zero or less says that the ends butt.

    Raises
    ------
    OutOfRange
        When gap, bore or a coefficient are out of sense, or a temperature lies outside 0 to 500 degC.

    References
    ----------
    .. [1] Common practice; plain thermal expansion.

    Examples
    --------
    >>> round(ring_end_gap_hot(0.40e-3, 0.0855, 523.15, 423.15) * 1e3, 3)
    0.075
    """
    not_negative(gap=gap, ring_expansion=ring_expansion, bore_expansion=bore_expansion)
    positive(bore=bore)
    within("ring_temperature", ring_temperature, 273.15, 773.15, "K")
    within("bore_temperature", bore_temperature, 273.15, 773.15, "K")
    bore_growth = math.pi * bore * bore_expansion * (bore_temperature - 293.15)
    ring_growth = (math.pi * bore - gap) * ring_expansion * (ring_temperature - 293.15)
    return gap + bore_growth - ring_growth
