"""A chain of reasons as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.reasons import Reason
from compat.units import preferred, show, unit

__all__ = ["chain"]


def chain(found: list[Reason], system: str = "metric", depth: int = 0) -> Iterator[tuple[int, str]]:
    """Give each reason as a sentence, with its depth.

    Parameters
    ----------
    found : list of Reason
        The chain.
    system : str
        ``metric`` or ``imperial``.
    depth : int
        Depth of the first.

    Yields
    ------
    tuple of int and str
        Depth, counted from 0, and the sentence.
    """
    for reason in found:
        yield depth, say(reason, system)
        yield from chain(reason.rests_on, system, depth + 1)


def say(reason: Reason, system: str) -> str:
    """One reason as a sentence."""
    if isinstance(reason.value, float):
        value = show(reason.value, reason.unit, system)
        if reason.half:
            factor = unit(preferred(reason.unit, system)).factor
            value += f" ±{reason.half / factor:.3g}"
    else:
        value = str(reason.value)
    rest = []
    if reason.how:
        rest.append(f"by {reason.how}" if reason.how.startswith("formula") else f"= {reason.how}")
    if reason.source:
        rest.append(f"({reason.source})")
    if reason.estimate:
        rest.append("[an estimate]")
    if reason.seen:
        rest = ["(as shown above)"]
    title = reason.title[:1].upper() + reason.title[1:] if "." not in reason.title else reason.title
    return " ".join([f"{title} is {value}", *rest]) + "."
