"""What came of measured pieces: on a terminal, and as tables for the sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from compat.paper.document import Block, Column, Heading, Listed, Row, Table
from compat.paper.lines import print_heading, print_indented, print_numbers
from compat.units import unit
from compat.words.pieces import to_gauge
from compat.words.report import GradesToOrder, MeasuredFit, MeasuredPieces, SelectedPieces
from compat.words.wording import listed, plain

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["advice", "decided_words", "fit_sentence", "measured_blocks", "print_measured"]

_SAYS = {"in": "in", "undecided": "not decided", "out": "out"}


def print_measured(console: Console, found: MeasuredPieces, system: str = "metric") -> None:
    """Print what came of measured pieces.

    Parameters
    ----------
    console : Console
        Where to.
    found : MeasuredPieces
        What came of them.
    system : str
        ``metric`` or ``imperial``.
    """
    print_heading(console, "MEASURED PIECES, BY THE RULE OF ISO 14253-1")
    for fits in _by_rule(found.fits):
        print_indented(console, f"{fits[0].title} [{fits[0].rule}]: {_allowed(fits, system)}", 1)
        lines: list[tuple[str, ...]] = [
            (_where(fit), _value(fit, system), f"±{_doubt(fit, system)}", _decided(fit)) for fit in fits
        ]
        print_numbers(console, ("", "", "", ""), lines)
    for sentence in advice(found):
        print_indented(console, f"-> {sentence}", 1)


def measured_blocks(found: MeasuredPieces, system: str = "metric") -> tuple[Block, ...]:
    """What came of measured pieces as blocks of a document: a table of fits, and what follows from it.

    Parameters
    ----------
    found : MeasuredPieces
        What came of them.
    system : str
        ``metric`` or ``imperial``.

    Returns
    -------
    tuple of Block
        To be set into a document; empty where there is nothing.
    """
    rows = []
    for fits in _by_rule(found.fits):
        rows.append(Row((f"{fits[0].title}: {_allowed(fits, system)}", None, None, None), "group"))
        rows += [
            Row((_where(fit), _value(fit, system), f"± {_doubt(fit, system)}", _decided(fit))) for fit in fits
        ]
    blocks: list[Block] = []
    if rows:
        columns = (
            Column("Fit and pieces", share=3.0),
            Column("Measured"),
            Column("Uncertainty (k = 2)", share=1.2),
            Column("Decision"),
        )
        blocks.append(Table(columns, tuple(rows), "Decisions"))
    if told := tuple(advice(found)):
        blocks += [Heading("Selected", 2), Listed(told)]
    return tuple(blocks)


def decided_words(decision: str) -> str:
    """A decision in words.

    >>> decided_words("undecided")
    'not decided'
    """
    return _SAYS[decision]


def fit_sentence(fit: MeasuredFit, system: str = "metric") -> str:
    """What came of one fit, in a sentence without its end."""
    value, doubt = _value(fit, system), _doubt(fit, system)
    return f"{fit.title}, {_where(fit)}: {value} ± {doubt}, wanted {_allowed([fit], system)}: {_decided(fit)}"


def _by_rule(fits: Sequence[MeasuredFit]) -> list[list[MeasuredFit]]:
    return [list(group) for _, group in groupby(fits, key=lambda fit: fit.rule)]


def _where(fit: MeasuredFit) -> str:
    pieces = listed([f"{plain(position)} {number}" for position, number in fit.pieces.items()])
    return " with ".join(filter(None, (fit.where, pieces))) or "measured"


def _value(fit: MeasuredFit, system: str) -> str:
    own = unit(fit.unit)
    return to_gauge(own.to_si(fit.value), fit.unit, fit.uncertainty * own.factor, system)


def _doubt(fit: MeasuredFit, system: str) -> str:
    half = fit.uncertainty * unit(fit.unit).factor
    return to_gauge(half, fit.unit, half, system, bare=True, apart=True)


def _decided(fit: MeasuredFit) -> str:
    said = _SAYS[fit.decision]
    return f"{said} ({fit.verdict})" if fit.decision == "out" else said


def _allowed(fits: Sequence[MeasuredFit], system: str) -> str:
    from compat.units import show

    fit = fits[0]
    own = unit(fit.unit)
    low, high = (
        show(own.to_si(end), fit.unit, system) if end is not None else "" for end in (fit.at_least, fit.at_most)
    )
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}"


def advice(found: MeasuredPieces) -> Iterator[str]:
    """Who goes where, what that cannot save, and what to order, as sentences."""
    for one in found.selected:
        yield from _selected(one)
    for grades in found.grades:
        yield _ordered(grades)


def _selected(one: SelectedPieces) -> Iterator[str]:
    places = plain(one.axis)
    for position, order in one.order.items():
        numbers = ", ".join(map(str, order))
        yield (
            f"Put {plain(position)} {numbers} into {places} 1 to {len(order)}, and write it in the build: "
            f"`selected: {{{position}: [{numbers}]}}`."
        )
    if one.lost:
        said = listed([f"{rule} at {places.removesuffix('s')} {number}" for rule, number in one.lost])
        yield f"No order of these pieces saves {said}."
    if one.mass_apart is not None:
        yield f"Weighed together, the heaviest of the {places} is {one.mass_apart:.1f} g above the lightest."


def _ordered(grades: GradesToOrder) -> str:
    by_part = {part: [place for place, own in grades.places.items() if own == part] for part in grades.order}
    said = [f"{number} x {part} (for {listed(by_part[part])})" for part, number in grades.order.items()]
    text = f"Nearest the middle of {grades.rule}: {listed(said)}." if said else ""
    if grades.none_for:
        places = listed([str(place) for place in grades.none_for])
        text += f" For {places} this shop has no {plain(grades.position)} that is not out."
    return text.strip()
