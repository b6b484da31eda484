"""Trying parts and work where they would stand, before they are recommended.

A part is held against the rules that rest on its position, in the build as it is with what was added before;
work against those that ask whether it is done. What work does to specs, boxes and opened joints is seen when
everything is carried out (`compat.checking.ahead`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from compat.checking.judged import Judged, asks
from compat.checking.judging import judge
from compat.checking.needs import Demand, Provider
from compat.checking.outcome import OUT, RANK
from compat.checking.settle import Fitted, home
from compat.checking.supply import Market
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Moved
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import Rulebook
from compat.shop.entry import NOTHING

__all__ = ["Key", "Tried", "TryingOut", "resting"]

Key = tuple[tuple[str, tuple[str, ...]], ...]
"""Names of providers and what they fill, in the order in which they were added; the last is the one tried."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a provider where it would stand."""

    against: Mapping[str, Verdict]
    """Rules that it brings to a bad end, or to a worse one than they had."""
    woken: tuple[Demand, ...]
    """What need rules ask on its account."""


def resting(book: Rulebook, name: str, fills: Sequence[str]) -> Moved:
    """Rules and figures that a provider can move by standing in its place, or by being done."""
    return book.influence.at(fills[0]) if fills else book.influence.of([("work", name)])


class TryingOut:
    """Tries providers on one build; remembers what came of each.

    Parameters
    ----------
    market : Market
        The build with what it offers and asks.
    judged : Judged
        What came of its rules.
    before : mapping
        What came of providers on a build that differs in nothing that their rules rest on.
    """

    def __init__(self, market: Market, judged: Judged, before: Mapping[Key, Tried] = NOTHING) -> None:
        self.market = market
        self.judged = judged
        self.book = market.settled.book
        self.known: dict[Key, Tried] = {}
        self._before = before
        self._worlds: dict[Key, BuildWorld] = {(): market.world}
        self._brought: dict[Key, tuple[dict[str, Verdict], set[str]]] = {}

    def clashes(self, provider: Provider, added: Sequence[Provider]) -> bool:
        """Whether it brings a rule to a bad end."""
        return bool(self.tried(provider, added).against)

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """What need rules ask on its account."""
        return self.tried(provider, added).woken

    def tried(self, provider: Provider, added: Sequence[Provider]) -> Tried:
        """What comes of a provider, others being added already."""
        return self._tried(tuple((other.name, other.fills) for other in (*added, provider)))

    def _tried(self, key: Key) -> Tried:
        found = self.known.get(key) or self._before.get(key)
        if found is None:
            found = self._try(key)
        self.known[key] = found
        return found

    def _try(self, key: Key) -> Tried:
        world = self._world(key)
        bad, asked = self._what_was_brought(key[:-1])
        against: dict[str, Verdict] = {}
        woken: list[Demand] = []
        rules = resting(self.book, *key[-1]).rules
        for name in sorted(rules, key=self._order.__getitem__):
            rule = self.book.rules[name]
            if rule.rule.sort == "need":
                if name not in asked and asks(world, rule) is True:
                    woken += Market(world, self.market.cards).demands_of([rule])
            elif rule.rule.sort != "renew":
                outcome = judge(world, rule)
                if outcome is None or RANK[outcome.verdict] > OUT:
                    continue
                if RANK[outcome.verdict] < RANK[bad.get(name) or self.judged.verdict(name)]:
                    against[name] = outcome.verdict
        return Tried(against, tuple(woken))

    @cached_property
    def _order(self) -> Mapping[str, int]:
        return {name: number for number, name in enumerate(self.book.rules)}

    def _what_was_brought(self, added: Key) -> tuple[dict[str, Verdict], set[str]]:
        """What those added before have brought: bad ends, and need rules that ask already."""
        if not added:
            return {}, set(self.judged.asking)
        found = self._brought.get(added)
        if found is None:
            bad, asked = self._what_was_brought(added[:-1])
            tried = self._tried(added)
            found = {**bad, **tried.against}, asked | {demand.rule for demand in tried.woken}
            self._brought[added] = found
        return found

    def _world(self, added: Key) -> BuildWorld:
        """The build with others added, each standing where it would."""
        world = self._worlds.get(added)
        if world is None:
            world = self._worlds[added] = self._with(self._world(added[:-1]), *added[-1])
        return world

    def _with(self, world: BuildWorld, name: str, fills: tuple[str, ...]) -> BuildWorld:
        settled, moved = world.settled, resting(self.book, name, fills).figures
        if not fills:
            return world.trying({}, moved, frozenset([name]))
        entry = Fitted(settled.shop.parts[name], "chosen", home(settled.shop, name, settled.variant.variant))
        return world.trying({fills[0]: entry}, moved)
