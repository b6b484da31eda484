"""How far a number may lie from its middle, by the tolerances it rests on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from compat.rulebook.values import Number

__all__ = ["MODEL", "Spread", "shares_of", "spread_of", "worst_of"]

MODEL = "model "
"""How the leaf of a model's own scatter begins."""


class Spread(NamedTuple):
    """Half widths of a number: all at worst, of the pieces alone, root-sum-square; and what most hangs on."""

    worst: float = 0.0
    pieces: float = 0.0
    likely: float = 0.0
    most: str = ""


EXACT = Spread()
ALIKE = 1 - 1e-9
"""A share above so much of another is the same: they differ in the last bits, by the order of adding up."""


def spread_of(value: Number, half: Mapping[str, float]) -> Spread:
    """Give the spread of a number.

    Parameters
    ----------
    value : Number
        The number, with its sensitivity to every toleranced leaf.
    half : mapping
        Half width of every leaf, by its name.

    Returns
    -------
    Spread
        Half widths in the number's own unit: the worst case is the sum of |sensitivity| x half width (JCGM 100,
        5.1.3 taken linearly), the likely one their root-sum-square (5.1.2).

    Examples
    --------
    >>> spread_of(Number(1.0, {"a": 2.0, "model of b": -1.0}), {"a": 2.0, "model of b": 3.0})
    Spread(worst=7.0, pieces=4.0, likely=5.0, most='a')
    >>> spread_of(Number(1.0, {"b": 0.1 + 0.2, "a": 0.3}), {"a": 1.0, "b": 1.0}).most  # by a last bit alone
    'a'
    """
    if not value.g:
        return EXACT
    worst = pieces = squares = largest = 0.0
    most = ""
    for leaf, slope in value.g.items():
        share = abs(slope) * half[leaf]
        worst += share
        squares += share * share
        if not leaf.startswith(MODEL):
            pieces += share
        if share > largest * ALIKE:
            most = leaf if share * ALIKE > largest else min(most, leaf)
            largest = max(largest, share)
    return Spread(worst, pieces, math.sqrt(squares), most)


def worst_of(value: Number, half: Mapping[str, float]) -> float:
    """Worst case of `spread_of` alone, which is asked for most often.

    >>> worst_of(Number(1.0, {"a": 2.0, "model of b": -1.0}), {"a": 2.0, "model of b": 3.0})
    7.0
    """
    worst = 0.0
    if value.g:
        for leaf, slope in value.g.items():
            worst += abs(slope) * half[leaf]
    return worst


def shares_of(value: Number, half: Mapping[str, float]) -> dict[str, float]:
    """What every toleranced leaf brings to the spread of a number, greatest first.

    Parameters
    ----------
    value : Number
        The number, with its sensitivity to every toleranced leaf.
    half : mapping
        Half width of every leaf, by its name.

    Returns
    -------
    dict
        By leaf, sensitivity x half width in the number's own unit: above nought where the number grows with the
        leaf. Their sizes add up to the worst case of `spread_of`, their squares to that of the likely one.

    Examples
    --------
    >>> shares_of(Number(1.0, {"a": 2.0, "model of b": -1.0}), {"a": 2.0, "model of b": 3.0})
    {'a': 4.0, 'model of b': -3.0}
    """
    found = {leaf: slope * half[leaf] for leaf, slope in (value.g or {}).items()}
    order = sorted(found, key=lambda leaf: -abs(found[leaf]))
    heads: dict[str, float] = {}
    head = 0.0
    for leaf in order:
        if not head or abs(found[leaf]) < head * ALIKE:
            head = abs(found[leaf])
        heads[leaf] = head  # those that are the same stand by name
    return {leaf: found[leaf] for leaf in sorted(order, key=lambda leaf: (-heads[leaf], leaf))}
