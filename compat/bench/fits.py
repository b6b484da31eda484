"""The fits that measured pieces can be selected on, each pairing asked of the rule itself.

A fit is a rule with limits whose measure rests on nothing but sizes that a gauge takes and that come one a
cylinder or one a journal: bore and piston, journal and shell and rod. No list names them; another rule of that
kind is one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from compat.checking.by_pieces import pairings_of
from compat.checking.judging import weigh
from compat.checking.outcome import Pairing
from compat.checking.pairing import Key, Rows, gauged_in, rows_of
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule
from compat.shop.words import ENGINE_NUMBERS

__all__ = ["Fit", "axis_of", "fits_of", "is_lost", "target_of"]


@dataclass(frozen=True, slots=True)
class Fit:
    """A rule with the pairings of measured pieces that it speaks of."""

    rule: BoundRule
    axis: str
    size: int
    rows: Rows
    pairings: Mapping[tuple[int, ...], Pairing]

    @property
    def free(self) -> tuple[str, ...]:
        """Positions whose pieces may go to any seat."""
        return tuple(row.name for row in self.rows.rows if row.free)

    def at(self, seat: int, pieces: Mapping[str, int]) -> Pairing | None:
        """What comes of a seat with a piece of each free position in it, all from 0."""
        return self.pairings.get(tuple(pieces[row.name] if row.free else seat for row in self.rows.rows))

    def cost_at(self, seat: int, pieces: Mapping[str, int]) -> tuple[float, bool]:
        """How far from its target, squared, in halves of its band; and whether it is proven out."""
        pairing = self.at(seat, pieces)
        if pairing is None or pairing.gap is not None:
            return 0.0, False
        target = target_of(pairing)
        out = pairing.decision == "out" and pairing.verdict != "caution"
        if target is None:
            return 0.0, out
        assert pairing.most is not None
        half = pairing.most - target
        return (((pairing.value - target) / half) ** 2 if half > 0 else 0.0), out


def is_lost(pairing: Pairing) -> bool:
    """Whether pieces are proven not to go together, where that is more than a caution."""
    return pairing.gap is None and pairing.decision == "out" and pairing.verdict != "caution"


def target_of(pairing: Pairing) -> float | None:
    """Middle of the band that is allowed; None where it is open on one side."""
    if pairing.least is None or pairing.most is None:
        return None
    return 0.5 * (pairing.least + pairing.most)


def axis_of(world: BuildWorld, key: Key) -> str:
    """What a size comes one of: a number of the engine; empty where it is not so, or no gauge takes it."""
    shop = world.settled.shop
    position, spec = key
    kind, place = shop.kinds[position].get(spec), shop.positions.get(position)
    if kind is None or place is None or not kind.gauge:
        return ""
    if kind.each:
        return kind.each
    return place.per if place.per in ENGINE_NUMBERS and place.count == 1 else ""


def measured_alone(world: BuildWorld, rule: BoundRule) -> str:
    """The axis of a rule whose measure rests on such sizes alone, of two positions at the least; else empty."""
    if rule.rule.sort != "limits" or rule.measure is None:
        return ""
    specs = world.settled.book.gather([rule.measure]).specs
    axes = {axis_of(world, key) for key in specs}
    return axes.pop() if len(axes) == 1 and len({position for position, _ in specs}) > 1 else ""


def fits_of(world: BuildWorld, rules: Sequence[BoundRule] | None = None) -> Iterator[Fit]:
    """Every fit in which something was measured piece by piece, in the order of the rules.

    Parameters
    ----------
    world : BuildWorld
        A checked build.
    rules : sequence of BoundRule, optional
        The rules to look at; else all of the book.
    """
    for rule in world.settled.book.judged.values() if rules is None else rules:
        axis = measured_alone(world, rule)
        keys = gauged_in(world, rule) if axis else ()
        if not keys:
            continue
        rows = rows_of(world, keys)
        kinds = {(row.axis, row.size) for row in rows.rows}
        if len(kinds) != 1 or next(iter(kinds))[0] != axis:
            continue
        found = pairings_of(rows, rule, weigh)
        if found:
            size = next(iter(kinds))[1]
            yield Fit(rule, axis, size, rows, {pairing.at: pairing for pairing in found})
