"""Load number of a journal bearing's film by its eccentricity, and the way back."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, positive
from compat.engineering.ranges import within

__all__ = ["FARTHEST", "film_eccentricity", "long_bearing_number", "short_bearing_number"]

FARTHEST = 0.9999
"""Eccentricity beyond which no film is computed."""


def short_bearing_number(eccentricity: float) -> float:
    """Sommerfeld number times (width/diameter)^2 of a very narrow bearing (Ocvirk).

    >>> round(short_bearing_number(0.6), 4)
    0.0625
    """
    square = eccentricity**2
    root = math.sqrt(math.pi**2 * (1 - square) + 16 * square)
    return (1 - square) ** 2 / (math.pi * eccentricity * root)


def long_bearing_number(eccentricity: float) -> float:
    """Sommerfeld number of a very wide bearing whose widening half carries nothing (Gumbel).

    >>> round(long_bearing_number(0.6), 4)
    0.048
    """
    square = eccentricity**2
    capacity = eccentricity * math.sqrt(math.pi**2 - square * (math.pi**2 - 4))
    return (2 + square) * (1 - square) / (6 * math.pi * capacity)


def _number_at(eccentricity: float, slenderness: float) -> float:
    """Sommerfeld number at an eccentricity: short and long bearing in series."""
    return short_bearing_number(eccentricity) / slenderness**2 + long_bearing_number(eccentricity)


def film_eccentricity(number: float, slenderness: float) -> float:
    """Eccentricity ratio at a Sommerfeld number, by bisection.

    Parameters
    ----------
    number : float
        Sommerfeld number, [-]
    slenderness : float
        Width over diameter, [-]

    Returns
    -------
    float
        Eccentricity over radial clearance, [-]

    Raises
    ------
    OutOfRange
        When the load is so heavy that the film is thinner than a ten-thousandth of the clearance.

    Examples
    --------
    >>> round(film_eccentricity(0.319, 0.5), 2)
    0.59
    """
    positive(sommerfeld_number=number)
    within("width over diameter", slenderness, 0.1, 2.0)
    low, high = 1e-9, FARTHEST
    if number < _number_at(high, slenderness):
        raise OutOfRange(
            f"the bearing carries no film: Sommerfeld number {number:.2g} at width over diameter "
            f"{slenderness:.2g}; load too heavy, oil too thin or speed too low"
        )
    if number >= _number_at(low, slenderness):
        return low
    for _ in range(48):
        middle = (low + high) / 2
        if _number_at(middle, slenderness) > number:
            low = middle
        else:
            high = middle
    return (low + high) / 2
