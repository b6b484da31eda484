"""Selective fitting: which of the measured pieces goes where, what that cannot save, and which grade to order.

Each clearance is brought as near as can be to the middle of its band: no pairing that is proven out where the
pieces allow it, then the least sum of squared deviations, each in halves of its own band, over all fits
at once. What is left free after that is seated by weight, so that the cylinders weigh as nearly alike as can
be.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from compat.bench.assigning import Bond, Cost, seat_pieces
from compat.bench.fits import Fit, axis_of, fits_of, target_of
from compat.checking.judging import judge
from compat.checking.outcome import OUT, RANK, Pairing
from compat.checking.pairing import Key
from compat.checking.settle import Fitted, home
from compat.checking.world import BuildWorld
from compat.units import unit

__all__ = ["Grade", "Grades", "Seat", "Selection", "Weights", "grades_for", "select"]

MOST_CANDIDATES = 200


@dataclass(frozen=True, slots=True)
class Seat:
    """A place of the engine with the pieces that go there, and what comes of each fit. SI."""

    number: int
    pieces: Mapping[str, int]
    """Number of the piece, by position."""
    fits: tuple[tuple[str, Pairing], ...]
    """By rule."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What the pieces of each seat weigh together [kg], and of which positions."""

    positions: tuple[str, ...]
    by_seat: tuple[float, ...]

    @property
    def apart(self) -> float:
        """Heaviest less lightest."""
        return max(self.by_seat) - min(self.by_seat)


@dataclass(frozen=True, slots=True)
class Selection:
    """The pieces that belong to one number of the engine (cylinders, journals), seated."""

    axis: str
    order: Mapping[str, tuple[int, ...]]
    """By position the number of the piece in each seat, as a build's `selected` says it."""
    seats: tuple[Seat, ...]
    lost: tuple[tuple[str, int], ...]
    """Rule and seat that no assignment saves: some pairing there is proven out whatever is done."""
    weights: Weights | None = None


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


def select(world: BuildWorld, found: Iterable[Fit] | None = None) -> tuple[Selection, ...]:
    """Seat the measured pieces of a build that may go to any place.

    Parameters
    ----------
    world : BuildWorld
        The checked build.
    found : iterable of Fit, optional
        Its fits, where they were found already.

    Returns
    -------
    tuple of Selection
        One for each number of the engine that such pieces belong to; empty where there are none.

    Raises
    ------
    ValueError
        When several kinds of pieces meet and no order of them is proven best in the time that is given.
    """
    by_axis: dict[tuple[str, int], list[Fit]] = {}
    for fit in fits_of(world) if found is None else found:
        if fit.free:
            by_axis.setdefault((fit.axis, fit.size), []).append(fit)
    for key, spec in world.gauged.items():
        if not spec.seated and _weighs(world, key):
            by_axis.setdefault((spec.axis, len(spec.pieces)), [])
    return tuple(_seated(world, axis, size, fits) for (axis, size), fits in by_axis.items())


def _seated(world: BuildWorld, axis: str, size: int, fits: Sequence[Fit]) -> Selection:
    names = list(dict.fromkeys(name for fit in fits for name in fit.free))
    loose = [name for name in names if not _tied_to_seats(name, fits)]
    fixed = _fixed(loose, fits)
    found = {name: tuple(range(size)) for name in fixed}
    found |= seat_pieces(
        size, [name for name in names if name not in fixed], [_bond(fit, size, fixed) for fit in fits]
    )
    found |= (weighed := _by_weight(world, axis, size, found))
    seats, lost = [], []
    for seat in range(size):
        here = {name: order[seat] for name, order in found.items()}
        came = [(fit.rule.rule.rule, pairing) for fit in fits if (pairing := fit.at(seat, here)) is not None]
        lost += [(rule, seat + 1) for rule, pairing in came if _is_lost(pairing)]
        numbers = {name: _number(world, name, piece) for name, piece in here.items()}
        seats.append(Seat(seat + 1, numbers, tuple(came)))
    order = {name: tuple(_number(world, name, piece) for piece in order) for name, order in found.items()}
    weights = _weights(world, axis, size, found) if weighed or any(_mass_of(world, n) for n in found) else None
    return Selection(axis, order, tuple(seats), tuple(lost), weights)


def _is_lost(pairing: Pairing) -> bool:
    return pairing.gap is None and pairing.decision == "out" and pairing.verdict != "caution"


def _number(world: BuildWorld, position: str, index: int) -> int:
    """The number that a piece bears."""
    for key, spec in world.gauged.items():
        piece = spec.pieces[index] if key[0] == position and index < len(spec.pieces) else None
        if piece is not None:
            return piece.number
    return index + 1


def _tied_to_seats(name: str, fits: Sequence[Fit]) -> bool:
    """Whether the seat matters to some fit of what meets these pieces, through whatever lies between."""
    reached = {name}
    while True:
        met = [fit for fit in fits if not reached.isdisjoint(fit.free)]
        if any(not row.free for fit in met for row in fit.rows.rows):
            return True
        more = reached.union(*(fit.free for fit in met))
        if more == reached:
            return False
        reached = more


def _fixed(loose: Sequence[str], fits: Sequence[Fit]) -> list[str]:
    """Of pieces to which no seat matters, those that stay as they are numbered, and the others follow."""
    fixed: list[str] = []
    reached: set[str] = set()
    for name in loose:
        if name not in reached:
            fixed.append(name)
            reached.add(name)
            for _ in loose:
                reached = reached.union(*(fit.free for fit in fits if not reached.isdisjoint(fit.free)))
    return fixed


def _bond(fit: Fit, size: int, fixed: Sequence[str]) -> Bond:
    """What a fit costs by seat and piece; pieces that stay as numbered are seats."""
    names = tuple(name for name in fit.free if name not in fixed)
    costs = {}
    for seat, *pieces in itertools.product(range(size), repeat=len(names) + 1):
        here = dict.fromkeys(fixed, seat) | dict(zip(names, pieces, strict=True))
        costs[seat, *pieces] = Cost(*fit.cost_at(seat, here))
    return Bond(names, costs)


# weight


def _weighs(world: BuildWorld, key: Key) -> bool:
    kind = world.settled.shop.kinds[key[0]][key[1]]
    return key[1] == "mass" and kind.dimension == unit("g").dimension and bool(axis_of(world, key))


def _mass_of(world: BuildWorld, position: str) -> bool:
    return (position, "mass") in world.gauged and _weighs(world, (position, "mass"))


def _masses(world: BuildWorld, position: str) -> list[float]:
    spec = world.gauged[position, "mass"]
    card = spec.card.middle if spec.card is not None else 0.0
    return [0.5 * (piece.low + piece.high) if piece is not None else card for piece in spec.pieces]


def _weighed(world: BuildWorld, axis: str, size: int) -> list[str]:
    """Positions of an axis whose pieces were weighed."""
    return [
        key[0]
        for key, spec in world.gauged.items()
        if _weighs(world, key) and spec.axis == axis and len(spec.pieces) == size
    ]


def _by_weight(
    world: BuildWorld, axis: str, size: int, found: Mapping[str, tuple[int, ...]]
) -> dict[str, tuple[int, ...]]:
    """Seat what no fit seats so that the weights of all seats lie as near together as can be."""
    every = _weighed(world, axis, size)
    free = [name for name in every if name not in found and not world.gauged[name, "mass"].seated]
    if not free:
        return {}
    seated = {name: found.get(name, tuple(range(size))) for name in every if name not in free}
    first = {} if seated else {free[0]: tuple(range(size))}
    rest = [name for name in free if name not in first]
    masses = {name: _masses(world, name) for name in every}
    base = [sum(masses[name][order[s]] for name, order in {**seated, **first}.items()) for s in range(size)]
    mean = sum(map(sum, masses.values())) / size
    costs = {
        (seat, *pieces): Cost(
            (base[seat] + sum(masses[n][p] for n, p in zip(rest, pieces, strict=True)) - mean) ** 2
        )
        for seat, *pieces in itertools.product(range(size), repeat=len(rest) + 1)
    }
    return first | (seat_pieces(size, rest, [Bond(tuple(rest), costs)]) if rest else {})


def _weights(world: BuildWorld, axis: str, size: int, found: Mapping[str, tuple[int, ...]]) -> Weights | None:
    names = _weighed(world, axis, size)
    if not names:
        return None
    by_seat = tuple(
        sum(_masses(world, name)[found.get(name, tuple(range(size)))[seat]] for name in names)
        for seat in range(size)
    )
    return Weights(tuple(names), by_seat)


# grades


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
        and not _is_lost(pairing)
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
