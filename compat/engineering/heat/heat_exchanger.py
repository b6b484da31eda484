"""Effectiveness of heat exchangers from their transfer units."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange, formula
from compat.engineering.numerics.ranges import within

__all__ = ["heat_exchanger_effectiveness"]


def _tails(mean: float, count: int) -> list[float]:
    """Chance that a Poisson number of that mean exceeds 0, 1, 2 ..."""
    term = math.exp(-mean)
    terms = []
    for m in range(1, count + 1):
        term *= mean / m
        terms.append(term)
    total, tails = 0.0, []
    for term in reversed(terms):
        total += term
        tails.append(total)
    return tails[::-1]


def _crossflow(units: float, ratio: float) -> float:
    if units == 0:
        return 0.0
    if ratio * units < 1e-12:
        return -math.expm1(-units)
    count = 40 + int(4 * units)
    passed = math.fsum(a * b for a, b in zip(_tails(units, count), _tails(ratio * units, count), strict=True))
    return passed / (ratio * units)


@formula(
    takes={
        "transfer_units": "number",
        "capacity_ratio": "number",
        "arrangement": ("counterflow", "parallel", "crossflow"),
    },
    gives="number",
    source="Kays & London, Compact Heat Exchangers; Incropera & DeWitt, ch. 11",
)
def heat_exchanger_effectiveness(transfer_units: float, capacity_ratio: float, arrangement: str) -> float:
    """Effectiveness of a heat exchanger: heat passed over the most that could be.

    Parameters
    ----------
    transfer_units : float
        Conductance over the smaller heat capacity flow, [-]
    capacity_ratio : float
        Smaller heat capacity flow over the larger, 0 to 1, [-]
    arrangement : str
        counterflow, parallel, or crossflow with both streams unmixed (radiators, intercoolers).

    Returns
    -------
    float
        Effectiveness, [-]

    Raises
    ------
    OutOfRange
        When an argument lies outside its range or the word is another.

    Notes
    -----
    Crossflow by Mason's exact series.

    References
    ----------
    .. [1] Kays & London, Compact Heat Exchangers, McGraw-Hill.
    .. [2] J. L. Mason, Heat transfer in crossflow, Proc. 2nd US Congress of Applied Mechanics, 1954.

    Examples
    --------
    >>> round(heat_exchanger_effectiveness(1.5, 0.5, "crossflow"), 3)
    0.66
    """
    within("transfer_units", transfer_units, 0.0, 20.0)
    within("capacity_ratio", capacity_ratio, 0.0, 1.0)
    n, c = transfer_units, capacity_ratio
    if arrangement == "parallel":
        return -math.expm1(-n * (1 + c)) / (1 + c)
    if arrangement == "counterflow":
        if 1 - c < 1e-6:  # limit of the expression below, which would divide zero by zero
            return n / (1 + n)
        decay = math.exp(-n * (1 - c))
        return (1 - decay) / (1 - c * decay)
    if arrangement == "crossflow":
        return _crossflow(n, c)
    raise OutOfRange(f"arrangement must be counterflow, parallel or crossflow, got {arrangement}")
