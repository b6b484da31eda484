"""Which offers are taken so that all costs least: whole numbers alone, so that the least is exactly that."""

from __future__ import annotations

from compat.trade.problem import Choice, Problem
from compat.trade.small_choice import choose_small

__all__ = ["choose"]


def choose(problem: Problem, seconds: float = 20.0) -> Choice | None:
    """Choose offers for the least cost, and of equal cost for the earliest day and the fewest pieces too many.

    Parameters
    ----------
    problem : Problem
        What is wanted; each part is offered by somebody.
    seconds : float
        How long a large problem may be searched.

    Returns
    -------
    Choice or None
        The packs, proved the least unless the time ran out; None where no seller takes the order.
    """
    found = choose_small(problem)
    if found is not None:
        return found
    from compat.trade.large_choice import choose_large

    return choose_large(problem, seconds)
