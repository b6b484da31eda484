"""Which measured pieces can meet under a rule, and the build with one such pairing in it.

Bores and journals stand where they stand; pistons, rods and shells may go to any place, until the build says
which goes where. Every pairing is a world of its own, and the very rule is asked there.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from compat.checking.conformity import PLACES, gauge_leaf
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Missing, Number, Value
from compat.shop.pieces import Measured

__all__ = ["Row", "Rows", "gauged_in", "rows_of"]

Key = tuple[str, str]

MOST_BESIDE = 128
"""So many worlds of pieces are held at once, each some 100 kB; a rule of more pairings has each for itself."""


@record(slots=True)
class Row:
    """Pieces that are chosen together: the seats of an axis, or the pieces of one free position."""

    name: str
    """The axis of seats, or the position whose pieces are free."""
    axis: str
    size: int
    free: bool
    keys: tuple[Key, ...]


@record(slots=True)
class Rows:
    """All that can be chosen under one rule; seats come first."""

    world: BuildWorld
    rows: tuple[Row, ...]
    moved: frozenset[str]

    @property
    def count(self) -> int:
        """How many pairings there are."""
        found = 1
        for row in self.rows:
            found *= row.size
        return found

    def pairings(self) -> Iterator[tuple[int, ...]]:
        """Every pairing: a number from 0 for each row."""
        return itertools.product(*(range(row.size) for row in self.rows))

    def world_of(self, pairing: Sequence[int]) -> BuildWorld:
        """The build with the pieces of a pairing in it."""
        return self.world_with(
            {key: index for row, index in zip(self.rows, pairing, strict=True) for key in row.keys}
        )

    def world_with(self, chosen: Mapping[Key, int]) -> BuildWorld:
        """The build with one piece of each spec in it; pieces that nobody measured are all alike."""
        gauged, beside = self.world.gauged, self.world.beside
        pieces = {key: gauged[key].pieces[index] for key, index in chosen.items()}
        alike = frozenset((key, None if piece is None else chosen[key]) for key, piece in pieces.items())
        found = beside.get(alike)
        if found is None:
            half: dict[str, float] = {}
            specs = {key: piece_value(gauged[key], key, index, half) for key, index in chosen.items()}
            found = beside[alike] = self.world.holding(specs, half, self.moved)
            while len(beside) > MOST_BESIDE:
                beside.pop(next(iter(beside)), None)
        return found

    def numbers(self, pairing: Sequence[int]) -> tuple[tuple[str, int], ...]:
        """What a pairing is of: by axis the seat, by position the number that the piece has."""
        found = []
        for row, index in zip(self.rows, pairing, strict=True):
            if not row.free:
                found.append((row.axis, index + 1))
        for row, index in zip(self.rows, pairing, strict=True):
            for key in row.keys:
                piece = self.world.gauged[key].pieces[index]
                number = piece.number if piece is not None else index + 1
                if row.free or self.world.settled.count(key[0]) > 1:
                    found.append((key[0], number))
        return tuple(dict.fromkeys(found))


def piece_value(spec: Measured, key: Key, index: int, half: dict[str, float]) -> Value:
    """One piece as a number, its readings and its gauge as leaves; the card's where nobody measured it."""
    name = ".".join(key)
    piece = spec.pieces[index]
    if piece is None:
        if spec.card is None:
            return Missing(frozenset({name}))
        if spec.card.half_width <= 0:
            return Number(spec.card.middle)
        half[name] = spec.card.half_width
        return Number(spec.card.middle, {name: 1.0})
    leaf = gauge_leaf(piece.gauge, name, piece.number)
    half[leaf] = piece.uncertainty
    g = {leaf: 1.0}
    if piece.high > piece.low:
        g[f"{PLACES}{name}"] = 1.0
        half[f"{PLACES}{name}"] = 0.5 * (piece.high - piece.low)
    return Number(0.5 * (piece.low + piece.high), g)


def gauged_in(world: BuildWorld, rule: BoundRule) -> tuple[Key, ...]:
    """What a rule rests on that was measured piece by piece."""
    return tuple(key for key in world.settled.book.grounds(rule).specs if key in world.gauged)


def rows_of(world: BuildWorld, keys: Sequence[Key]) -> Rows:
    """What can be chosen where these specs were measured: one row for each axis of seats and free position."""
    found: dict[tuple[str, bool], list[Key]] = {}
    for key in keys:
        spec = world.gauged[key]
        name = spec.axis if spec.seated else key[0]
        found.setdefault((name, not spec.seated), []).append(key)
    rows = []
    for (name, free), held in sorted(found.items(), key=lambda entry: entry[0][1]):
        sizes = {len(world.gauged[key].pieces) for key in held}
        # seats that do not count alike (one piece for the engine) each stand for themselves
        for size in sorted(sizes):
            same = tuple(key for key in held if len(world.gauged[key].pieces) == size)
            rows.append(Row(name, world.gauged[same[0]].axis, size, free, same))
    influence = world.settled.book.influence
    moved = influence.of([("spec", *key) for key in keys])
    return Rows(world, tuple(rows), frozenset(moved.figures))
