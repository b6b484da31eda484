"""Selective fitting: which of the measured pieces goes where, and what that cannot save.

Each clearance is brought as near as can be to the middle of its band: no pairing that is proven out where the
pieces allow it, then the least sum of squared deviations, each in halves of its own band, over all fits
at once. What is left free after that is seated by weight, so that the cylinders weigh as nearly alike as can
be.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from compat.bench.assigning import Bond, Cost, seat_pieces
from compat.bench.fits import Fit, axis_of, fits_of, is_lost
from compat.checking.outcome import Pairing
from compat.checking.pairing import Key
from compat.checking.world import BuildWorld
from compat.units import unit

__all__ = ["Seat", "Selection", "Weights", "select"]


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
        lost += [(rule, seat + 1) for rule, pairing in came if is_lost(pairing)]
        numbers = {name: _number(world, name, piece) for name, piece in here.items()}
        seats.append(Seat(seat + 1, numbers, tuple(came)))
    order = {name: tuple(_number(world, name, piece) for piece in order) for name, order in found.items()}
    weights = _weights(world, axis, size, found) if weighed or any(_mass_of(world, n) for n in found) else None
    return Selection(axis, order, tuple(seats), tuple(lost), weights)


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
