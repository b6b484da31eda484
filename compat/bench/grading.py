"""Which grade to order for each seat: the part that comes nearest the target beside what was measured."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from compat.bench.fits import Fit, fits_of, is_lost, target_of
from compat.bench.selecting import Selection
from compat.checking.judging import judge
from compat.checking.outcome import OUT, RANK, Pairing
from compat.checking.settle import Fitted, home
from compat.checking.world import BuildWorld

__all__ = ["Grade", "Grades", "grades_for"]

MOST_CANDIDATES = 200
"""So many parts of a position are looked at, the fitted one first."""


@dataclass(frozen=True, slots=True)
class Grade:
    """The part of the shop that comes nearest the target in one seat."""

    seat: int
    part: str
    pairing: Pairing
    target: float


@dataclass(frozen=True, slots=True)
class Grades:
    """Which grade to order for each seat of a position, and how many of each."""

    rule: str
    position: str
    seats: tuple[Grade, ...]
    none_for: tuple[int, ...]
    """Seats for which the shop has none that is not proven out."""

    @property
    def order(self) -> dict[str, int]:
        """How many of each part."""
        return dict(Counter(grade.part for grade in self.seats))


def grades_for(
    world: BuildWorld, selections: Sequence[Selection] = (), found: Iterable[Fit] | None = None
) -> Iterator[Grades]:
    """Which parts of the shop come nearest the target in each seat, where a fit's own piece was not measured.

    A part is asked for by putting it in place and asking the rule; one that another rule of its place speaks
    against is passed over.

    Parameters
    ----------
    world : BuildWorld
        The checked build.
    selections : sequence of Selection
        Where the pieces go that may go to any seat; a fit of pieces that are not among them has no grades.
    found : iterable of Fit, optional
        Its fits, where they were found already.

    Yields
    ------
    Grades
        One for each fit of which all is measured but the pieces of one position.
    """
    book, shop = world.settled.book, world.settled.shop
    seated = {
        (one.axis, name): tuple(number - 1 for number in order)
        for one in selections
        for name, order in one.order.items()
    }
    for fit in fits_of(world) if found is None else found:
        two_sided = fit.rule.at_least is not None and fit.rule.at_most is not None
        if fit.size < 2 or not two_sided or any((fit.axis, name) not in seated for name in fit.free):
            continue
        assert fit.rule.measure is not None
        specs = book.gather([fit.rule.measure]).specs
        bought = dict.fromkeys(position for position, spec in specs if not shop.kinds[position][spec].each)
        unmeasured = [position for position in bought if not _measured(world, position)]
        if len(unmeasured) == 1 and all(key in world.gauged for key in specs if key[0] != unmeasured[0]):
            yield _graded(world, fit, unmeasured[0], {name: seated[fit.axis, name] for name in fit.free})


def _measured(world: BuildWorld, position: str) -> bool:
    return any(key[0] == position for key in world.gauged)


def _graded(world: BuildWorld, fit: Fit, position: str, order: Mapping[str, Sequence[int]]) -> Grades:
    grades = [
        Grade(seat + 1, part, pairing, target)
        for part in _candidates(world, position)
        for tried in fits_of(_standing(world, position, part), [fit.rule])
        for seat in range(fit.size)
        if (pairing := tried.at(seat, {name: pieces[seat] for name, pieces in order.items()})) is not None
        and (target := target_of(pairing)) is not None
        and pairing.gap is None
        and not is_lost(pairing)
    ]
    best: dict[int, Grade] = {}
    suits: dict[str, bool] = {}
    # what other rules say takes longest: it is asked of the nearest first, and of no more than must be
    for grade in sorted(grades, key=_off):
        if grade.seat in best:
            continue
        if grade.part not in suits:
            suits[grade.part] = _suits(world, fit, position, grade.part)
        if suits[grade.part]:
            best[grade.seat] = grade
    return Grades(
        fit.rule.rule.rule,
        position,
        tuple(best[seat] for seat in sorted(best)),
        tuple(seat for seat in range(1, fit.size + 1) if seat not in best),
    )


def _off(grade: Grade) -> float:
    """How far from its target, in halves of the band."""
    assert grade.pairing.most is not None
    half = grade.pairing.most - grade.target
    return (
        abs(grade.pairing.value - grade.target) / half if half > 0 else abs(grade.pairing.value - grade.target)
    )


def _candidates(world: BuildWorld, position: str) -> Iterator[str]:
    """Parts for the position, the fitted one first."""
    settled = world.settled
    shop, now = settled.shop, settled.fitted.get(position)
    if now is None:
        return
    yield now.part.part
    for name in itertools.islice(shop.fillers[position], MOST_CANDIDATES):
        families = shop.parts[name].families
        if name != now.part.part and (not families or settled.variant.family in families):
            yield name


def _standing(world: BuildWorld, position: str, part: str) -> BuildWorld:
    """The build with a part in a position; itself where that is what stands there."""
    settled = world.settled
    if settled.fitted[position].part.part == part:
        return world
    shop, moved = settled.shop, settled.book.influence.at(position)
    entry = Fitted(shop.parts[part], "chosen", home(shop, part, settled.variant.variant))
    return world.trying({position: entry}, frozenset(moved.figures))


def _suits(world: BuildWorld, fit: Fit, position: str, part: str) -> bool:
    """Whether no other rule of its place speaks against a part."""
    other = _standing(world, position, part)
    moved = world.settled.book.influence.at(position).rules
    return other is world or not any(
        _against(world, other, name) for name in moved if name != fit.rule.rule.rule
    )


def _against(world: BuildWorld, other: BuildWorld, name: str) -> bool:
    """Whether a rule that takes no time speaks against the part and not against the one that is fitted."""
    book = world.settled.book
    rule = book.judged.get(name)
    if rule is None:
        return False
    if book.takes_long(rule):
        return False
    found = judge(other, rule)
    if found is None or RANK[found.verdict] > OUT:
        return False
    before = judge(world, rule)
    return before is None or RANK[before.verdict] > OUT
