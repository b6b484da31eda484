"""What came of measured pieces: readings, fits with their decisions, who goes where, what to order. SI."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from compat.bench.fits import axis_of, fits_of
from compat.bench.grading import Grades, grades_for
from compat.bench.selecting import Selection, select
from compat.checking.check import Checked
from compat.checking.outcome import Foreseen, Pairing, Pieced
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule
from compat.shop.words import ENGINE_NUMBERS
from compat.units import unit
from compat.words.report import GradesToOrder, MeasuredFit, MeasuredPieces, SelectedPieces
from compat.words.wording import plain

__all__ = ["FitResult", "Reading", "Results", "measured_pieces", "of_piece", "place_of", "results", "told_fit"]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a gauge, as the sheet has it."""

    what: str
    piece: int
    place: str
    value: float
    unit: str
    """The spec's own unit; value and uncertainty are SI."""
    uncertainty: float
    gauge: str
    by: str
    date: str


@dataclass(frozen=True, slots=True)
class FitResult:
    """What a rule says of pieces that are together in the engine, or would be as they are selected. SI."""

    rule: str
    title: str
    seat: tuple[str, int] | None
    """Number of the engine (cylinders ...) and which of it."""
    pieces: Mapping[str, int]
    """Number of the piece, by position."""
    pairing: Pairing
    unit: str

    @property
    def low(self) -> float:
        """The value at its worst, lower end."""
        return self.pairing.value - self.pairing.doubt.whole

    @property
    def high(self) -> float:
        """The value at its worst, upper end."""
        return self.pairing.value + self.pairing.doubt.whole


@dataclass(frozen=True, slots=True)
class Results:
    """All that came of measured pieces; all of it empty where nothing was measured piece by piece."""

    measured: tuple[Reading, ...] = ()
    fits: tuple[FitResult, ...] = ()
    selections: tuple[Selection, ...] = ()
    grades: tuple[Grades, ...] = ()


def results(checked: Checked) -> Results:
    """Gather what came of the pieces that were measured on a build.

    Parameters
    ----------
    checked : Checked
        The check.

    Returns
    -------
    Results
        Readings in the order in which they were given, fits in the order of the rules.

    Raises
    ------
    ValueError
        When no order of several kinds of pieces is proven best in the time that is given.
    """
    world = checked.world
    if not world.gauged:
        return Results()
    fits = tuple(fits_of(world))
    selections = select(world, fits)
    grades = tuple(grades_for(world, selections, fits))
    world.beside.clear()
    return Results(tuple(_readings(world)), tuple(_fits(checked, selections)), selections, grades)


def _readings(world: BuildWorld) -> Iterator[Reading]:
    for (position, spec), measured in world.gauged.items():
        kind = world.settled.shop.kinds[position][spec]
        if measured.worked_out:
            continue
        for piece in sorted((p for p in measured.pieces if p is not None), key=lambda p: p.number):
            for place, value in piece.readings:
                yield Reading(
                    f"{position}.{spec}", piece.number, place, value, kind.unit, piece.uncertainty, piece.gauge,
                    piece.by, piece.date,
                )  # fmt: skip


def _fits(checked: Checked, selections: tuple[Selection, ...]) -> Iterator[FitResult]:
    world = checked.world
    rules = world.settled.book.rules
    for outcome in checked.outcomes:
        seen = outcome.seen.seen if isinstance(outcome.seen, Foreseen) else outcome.seen
        bound = rules.get(outcome.rule)
        if not isinstance(seen, Pieced) or bound is None or not _is_fit(world, bound):
            continue
        if not seen.free:
            for pairing in seen.pairings:
                yield _result(world, bound, pairing, None)
            continue
        chosen = [
            (selection.axis, seat.number, pairing)
            for selection in selections
            for seat in selection.seats
            for rule, pairing in seat.fits
            if rule == outcome.rule
        ]
        if chosen:
            for axis, number, pairing in chosen:
                yield _result(world, bound, pairing, (axis, number))
        else:  # each piece by itself, wherever it goes
            for pairing in seen.pairings:
                yield _result(world, bound, pairing, None)


def _is_fit(world: BuildWorld, rule: BoundRule) -> bool:
    """Whether a rule speaks of the pieces themselves, rather than of a figure of the whole engine."""
    assert rule.measure is not None
    specs = world.settled.book.gather([rule.measure]).specs
    if not any(key in world.gauged for key in specs):
        return False
    axes = {axis_of(world, key) for key in specs}
    return len(specs) == 1 or (len(axes) == 1 and "" not in axes)


def _result(world: BuildWorld, rule: BoundRule, pairing: Pairing, seat: tuple[str, int] | None) -> FitResult:
    own = next(((name, number) for name, number in pairing.numbers if name in ENGINE_NUMBERS), None)
    pieces = {name: number for name, number in pairing.numbers if name not in ENGINE_NUMBERS}
    return FitResult(rule.rule.rule, rule.rule.title, own or seat, pieces, pairing, rule.unit)


def of_piece(world: BuildWorld, found: Results, what: str, piece: int) -> Iterator[FitResult]:
    """The fits that one piece takes part in.

    Parameters
    ----------
    world : BuildWorld
        The build.
    found : Results
        What came of it.
    what : str
        What was measured, as position.spec.
    piece : int
        Number of the piece.

    Yields
    ------
    FitResult
        Each that the reading has a hand in.
    """
    position, _, name = what.partition(".")
    kinds = world.settled.shop.kinds[position]
    axis, book = kinds[name].each, world.settled.book
    # what follows from its readings, as taper does from those of a bore, is of it too
    own = {(position, name), *((position, kind) for kind, of in kinds.items() if of.spread_of[0] == name)}
    for fit in found.fits:
        measure = book.rules[fit.rule].measure
        if measure is None or own.isdisjoint(book.gather([measure]).specs):
            continue
        number = fit.pieces.get(position)
        if number is None and fit.seat is not None and fit.seat[0] == axis:
            number = fit.seat[1]
        if number in (piece, None):
            yield fit


# for a report


def place_of(seat: tuple[str, int] | None) -> str:
    """A place of the engine as words.

    >>> place_of(("main_journals", 3))
    'main journal 3'
    """
    return f"{plain(seat[0]).removesuffix('s')} {seat[1]}" if seat is not None else ""


def measured_pieces(found: Results) -> MeasuredPieces:
    """The results as a report has them, each in the unit of its rule."""
    return MeasuredPieces(
        tuple(told_fit(fit) for fit in found.fits),
        tuple(
            SelectedPieces(
                one.axis,
                dict(one.order),
                one.lost,
                unit("g").from_si(one.weights.apart) if one.weights is not None else None,
            )
            for one in found.selections
        ),
        tuple(
            GradesToOrder(
                one.rule,
                one.position,
                {str(grade.seat): grade.part for grade in one.seats},
                one.order,
                one.none_for,
            )
            for one in found.grades
        ),
    )


def told_fit(fit: FitResult) -> MeasuredFit:
    """A fit as a report has it, in the unit of its rule."""
    own, pairing = unit(fit.unit), fit.pairing
    return MeasuredFit(
        fit.rule,
        fit.title,
        place_of(fit.seat),
        dict(fit.pieces),
        own.from_si(pairing.value),
        pairing.guard / own.factor,
        own.from_si(pairing.least) if pairing.least is not None else None,
        own.from_si(pairing.most) if pairing.most is not None else None,
        fit.unit,
        pairing.decision,
        pairing.verdict,
    )
