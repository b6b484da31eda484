"""What the bench is told of a position, a piece of work and a spec, as lines of `show`."""

from __future__ import annotations

from collections.abc import Iterator

from compat.shop.models import Fitting, Work
from compat.shop.specs import SpecKind

__all__ = ["fitting_lines", "gauge_text", "work_lines"]


def fitting_lines(fitting: Fitting) -> Iterator[tuple[int, str]]:
    """How the part of a position is fitted."""
    for words, names in (
        ("goes in after", fitting.after),
        ("goes in before", fitting.before),
        ("shut in by", fitting.within),
    ):
        if names:
            yield 1, f"{words} {', '.join(names)}"
    if fitting.last:
        yield 1, "goes on once the engine stands complete"
    for text in fitting.marks:
        yield 1, f"marks: {text}"
    for text in fitting.put_on:
        yield 1, f"put on: {text}"
    if (tighten := fitting.tighten) is not None:
        rows = f" of {tighten.rows} rows" if tighten.layout == "grid" else ""
        each = f" on each {tighten.each}" if tighten.each else ""
        count = f", counted by {tighten.counted_by}" if tighten.counted_by else ""
        yield 1, f"tightened in a {tighten.layout}{rows}{each}{count}"


def work_lines(work: Work) -> Iterator[tuple[int, str]]:
    """When work is done while an engine goes together."""
    if work.assembles:
        yield 1, "is the assembly itself"
    if work.fitted:
        yield 1, f"done once there are {', '.join(work.fitted)}"
    if work.before:
        yield 1, f"done before {', '.join(work.before)}"
    if work.measures:
        yield 1, f"measures {', '.join(work.measures)}"


def gauge_text(kind: SpecKind) -> str:
    """How the bench measures a spec, after its declaration; empty where it does not."""
    if not kind.gauge:
        return ""
    each = f" for each of the {kind.each.replace('_', ' ')}" if kind.each else ""
    places = ", ".join(kind.at)
    return f"; measured with {kind.gauge}{each}{f', at {places}' if kind.at else ''}"
