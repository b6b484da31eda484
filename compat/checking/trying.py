"""Trying parts and work where they would stand, before they are recommended.

A part is held against the rules that rest on its position, in the build as it is with what was added before;
work against those that ask whether it is done. What work does to specs, boxes and opened joints is seen when
everything is carried out (`compat.checking.ahead`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from compat.checking.adding import Against
from compat.checking.judged import Judged, asks
from compat.checking.judging import judge
from compat.checking.needs import Demand, Provider
from compat.checking.outcome import OUT, RANK
from compat.checking.settle import Fitted, home
from compat.checking.supply import Market
from compat.checking.world import BuildWorld
from compat.rulebook.models import Verdict
from compat.shop.entry import NOTHING

__all__ = ["Key", "Tried", "TryingOut"]

Key = tuple[tuple[str, tuple[str, ...]], ...]
"""Name of a provider and what it fills, and before it of those that its rules can rest on too, as added."""


@dataclass(slots=True)
class Tried:
    """What came of a provider where it would stand; each answer is worked out when it is asked for."""

    against: tuple[Against, str] | None = None
    """What speaks against it, and the rule that does: one that it brings to a bad end, or to a worse one."""
    woken: tuple[Demand, ...] | None = None
    """What need rules ask on its account."""


class TryingOut:
    """Tries providers on one build; remembers what came of each.

    Parameters
    ----------
    market : Market
        The build with what it offers and asks.
    judged : Judged
        What came of its rules.
    before : mapping
        What came of providers on a build that differs little.
    moved : set of str
        Rules that may come out otherwise than there.
    """

    def __init__(
        self,
        market: Market,
        judged: Judged,
        before: Mapping[Key, Tried] = NOTHING,
        moved: Set[str] = frozenset(),
    ) -> None:
        self.market = market
        self.judged = judged
        self.rules = market.settled.book.rules
        self.resting = market.cards.resting
        self.known: dict[Key, Tried] = {}
        self._before, self._moved = before, moved
        self._spoke: dict[tuple[str, ...], str] = {}
        """Which rule last spoke against a part for some places."""
        self._worlds: dict[Key, BuildWorld] = {(): market.world}
        self._asking: dict[Key, set[str]] = {(): set(judged.asking)}

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        """What speaks against it: a rule in conflict or short, one with something missing, or none."""
        return self._against(self._key(provider, added))[0]

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """What need rules ask on its account."""
        return self._wakes(self._key(provider, added))

    def stands(self, key: Key) -> bool:
        """Whether the same comes of a provider as before."""
        before = self._before[key]
        if self.resting.of(*key[-1]).rules.isdisjoint(self._moved):
            self.known[key] = before
            return True
        same = before.against is None or self._against(key)[0] == before.against[0]
        return same and (before.woken is None or self._wakes(key) == before.woken)

    def _key(self, provider: Provider, added: Sequence[Provider]) -> Key:
        """A provider, and before it what was added that its rules can rest on too."""
        rests = self.resting.of(provider.name, provider.fills)
        beside = filter(rests.beside_it, added)
        return tuple((other.name, other.fills) for other in (*beside, provider))

    def _against(self, key: Key) -> tuple[Against, str]:
        tried = self.known.setdefault(key, Tried())
        if tried.against is None:
            rests, before = self.resting.of(*key[-1]), self._before.get(key)
            found: tuple[Against, str] = "nothing", ""
            rules = [*rests.light, *rests.heavy]
            spoke = self._spoke.get(key[-1][1], "")
            if before is not None and before.against is not None:
                if before.against[1] not in self._moved:
                    found = before.against
                    rules = [name for name in rules if name in self._moved]
                else:
                    spoke = before.against[1]
            # what spoke against it before, or against another for its place, is the likeliest to do so again
            if spoke in rules:
                rules = [spoke, *(name for name in rules if name != spoke)]
            for name in rules:
                if found[0] == "much":
                    break
                verdict = self._worsened(key, name)
                if verdict is not None and (verdict != "missing" or found[0] == "nothing"):
                    found = "little" if verdict == "missing" else "much", name
            if found[0] == "much":
                self._spoke[key[-1][1]] = found[1]
            tried.against = found
        return tried.against

    def _worsened(self, key: Key, name: str) -> Verdict | None:
        """The bad end that a rule comes to by a provider, where it had none as bad."""
        rule = self.rules[name]
        if RANK[rule.rule.worst] > OUT or RANK[rule.rule.worst] >= RANK[self.judged.verdict(name)]:
            return None  # it is as bad as it gets already
        outcome = judge(self._world(key), rule)
        if outcome is None or RANK[outcome.verdict] > OUT:
            return None
        if RANK[outcome.verdict] >= RANK[self.judged.verdict(name)]:
            return None
        before = judge(self._world(key[:-1]), rule)
        worse = before is None or RANK[outcome.verdict] < RANK[before.verdict]
        return outcome.verdict if worse else None

    def _wakes(self, key: Key) -> tuple[Demand, ...]:
        tried = self.known.setdefault(key, Tried())
        if tried.woken is None:
            needs, before = self.resting.of(*key[-1]).needs, self._before.get(key)
            if before is not None and before.woken is not None and self._moved.isdisjoint(needs):
                tried.woken = before.woken
            else:
                tried.woken = tuple(self._ask(key, needs))
        return tried.woken

    def _ask(self, key: Key, needs: Iterable[str]) -> Iterator[Demand]:
        for name in needs:
            if name not in self._asked(key[:-1]) and asks(self._world(key), self.rules[name]) is True:
                yield from Market(self._world(key), self.market.cards).demands_of([self.rules[name]])

    def _asked(self, added: Key) -> set[str]:
        """Need rules that ask with others added already."""
        found = self._asking.get(added)
        if found is None:
            woken = {demand.rule for demand in self._wakes(added)}
            found = self._asking[added] = self._asked(added[:-1]) | woken
        return found

    def _world(self, added: Key) -> BuildWorld:
        """The build with others added, each standing where it would."""
        world = self._worlds.get(added)
        if world is None:
            world = self._worlds[added] = self._with(self._world(added[:-1]), *added[-1])
        return world

    def _with(self, world: BuildWorld, name: str, fills: tuple[str, ...]) -> BuildWorld:
        settled, rests = world.settled, self.resting.of(name, fills)
        # a bad end shows in middle values; how far they may be off takes a cycle each way to find out
        rough = rests.middles and not world.gauged
        if not fills:
            return world.trying({}, rests.figures, frozenset([name]), rough=rough)
        entry = Fitted(settled.shop.parts[name], "chosen", home(settled.shop, name, settled.variant.variant))
        return world.trying({fills[0]: entry}, rests.figures, rough=rough)
