"""Whether a measured value lies within its limits, by what its gauge may be off: in, out, or not decided.

The decision rule of ISO 14253-1 (third edition, 2017; from memory): conformity is proven where the measured
value lies within the limits by a guard band at the least, nonconformity where it lies outside them by one, and
between the two nothing is proven. The guard band here is the whole expanded uncertainty, k = 2, as in the first
edition of 1998: with a normal error one value in forty-four that is accepted at the very edge is out
(JCGM 106:2012, 8.3.2, r = 1). The third edition asks for 95 % by default, 0.83 of it; the wider band errs to
the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal, NamedTuple

from compat.checking.spread import MODEL

__all__ = ["GAUGE", "PLACES", "Decision", "Doubt", "decide", "doubt_of", "gauge_leaf"]

Decision = Literal["in", "undecided", "out"]

GAUGE = "gauge "
"""How the leaf of what a gauge may be off begins; its name follows."""
PLACES = "places "
"""How the leaf of the readings of one piece begins: they are all true of it."""


class Doubt(NamedTuple):
    """How far a measured number may lie from its middle, by what kind of doubt. Half widths."""

    gauge: float = 0.0
    """Combined expanded uncertainty of the gauges."""
    places: float = 0.0
    """The readings of the pieces, place by place: no doubt, but a spread that is there."""
    tolerance: float = 0.0
    """Tolerances of what was not measured, all at worst."""
    model: float = 0.0

    @property
    def whole(self) -> float:
        """All together."""
        return self.gauge + self.places + self.tolerance + self.model


def gauge_leaf(gauge: str, spec: str, number: int) -> str:
    """The leaf of what a gauge may be off on one piece.

    >>> gauge_leaf("bore gauge", "block.bore_diameter", 2)
    'gauge bore gauge: block.bore_diameter 2'
    """
    return f"{GAUGE}{gauge.replace(':', ' ')}: {spec} {number}"


def doubt_of(g: Mapping[str, float] | None, half: Mapping[str, float]) -> Doubt:
    """Combine what a number may be off, by kind.

    Parameters
    ----------
    g : mapping or None
        Sensitivity to each leaf.
    half : mapping
        Half width of each leaf; of a gauge its expanded uncertainty.

    Returns
    -------
    Doubt
        Uncertainties of different gauges by root-sum-square (JCGM 100:2008, 5.1.2: independent); those of one
        gauge, or of gauges without a name, by their sum, since one error of the gauge moves all it measured and
        whether it cancels is not known (5.2.2, the upper bound). Tolerances and places at worst.

    Examples
    --------
    >>> g = {"gauge bore: block.bore_diameter 1": 1.0, "gauge outside: piston.skirt_diameter 1": -1.0}
    >>> half = {"gauge bore: block.bore_diameter 1": 3e-6, "gauge outside: piston.skirt_diameter 1": 4e-6}
    >>> round(doubt_of(g, half).gauge * 1e6, 6)
    5.0
    """
    gauges: dict[str, float] = {}
    places = tolerance = model = 0.0
    for leaf, slope in (g or {}).items():
        share = abs(slope) * half[leaf]
        if leaf.startswith(GAUGE):
            name = leaf.partition(":")[0]
            gauges[name] = gauges.get(name, 0.0) + share
        elif leaf.startswith(PLACES):
            places += share
        elif leaf.startswith(MODEL):
            model += share
        else:
            tolerance += share
    return Doubt(math.hypot(*gauges.values()), places, tolerance, model)


def decide(margin: float, uncertainty: float, tolerance: float = 0.0) -> Decision:
    """Decide by ISO 14253-1 at one limit.

    Parameters
    ----------
    margin : float
        How far inside the limit the measured value lies; below zero outside.
    uncertainty : float
        Expanded uncertainty of the value, k = 2, in the same unit.
    tolerance : float
        What parts that were not measured may take from the margin, at worst. It keeps a value from being proven
        in; it excuses none that is out.

    Returns
    -------
    str
        ``in``, ``out`` or ``undecided``.

    Examples
    --------
    A limit of 5.40, measured 5.47 with a standard uncertainty of 0.05 (the Zener diode of JCGM 106:2012, 7.2.2,
    from memory: 92 % sure to conform): not proven at k = 2.

    >>> decide(5.47 - 5.40, 2 * 0.05)
    'undecided'
    >>> decide(5.52 - 5.40, 2 * 0.05), decide(5.29 - 5.40, 2 * 0.05)
    ('in', 'out')
    """
    if margin < -uncertainty:
        return "out"
    return "in" if margin >= uncertainty + tolerance else "undecided"
