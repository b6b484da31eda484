"""Trying parts and work where they would stand, before they are recommended.

A part is held against the rules that rest on its position, in the build as it is with what was added before;
work against those that ask whether it is done. What work does to specs, boxes and opened joints is seen when
everything is carried out (`compat.checking.ahead`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from compat.checking.adding import Against
from compat.checking.judged import Judged, asks
from compat.checking.judging import judge
from compat.checking.needs import Demand, Provider
from compat.checking.outcome import OUT, RANK
from compat.checking.settle import Fitted, home
from compat.checking.supply import Market
from compat.checking.world import BuildWorld, WorkedOut
from compat.rulebook.influence import Moved
from compat.rulebook.models import Verdict
from compat.shop.entry import NOTHING

__all__ = ["Key", "Tried", "TryingOut"]

UNMOVED = Moved(frozenset(), frozenset(), frozenset())

Key = tuple[tuple[str, tuple[str, ...]], ...]
"""Name of a provider and what it fills, and before it of those that its rules can rest on too, as added."""


@dataclass(slots=True)
class Tried:
    """What came of a provider where it would stand; each answer is worked out when it is asked for."""

    against: tuple[Against, str] | None = None
    """What speaks against it, and the rule that does: one that it brings to a bad end, or to a worse one."""
    woken: tuple[Demand, ...] | None = None
    """What need rules ask on its account."""
    figures: WorkedOut | None = field(default=None, compare=False)
    """What figures that hang on it come to with it there, so far as they were asked for."""


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
    moved : Moved
        What may come out otherwise than there.
    """

    def __init__(
        self,
        market: Market,
        judged: Judged,
        before: Mapping[Key, Tried] = NOTHING,
        moved: Moved = UNMOVED,
    ) -> None:
        self.market = market
        self.judged = judged
        self.rules = market.settled.book.rules
        self.resting = market.cards.resting
        self.known: dict[Key, Tried] = {}
        self._before, self._moved, self._figures = before, moved.rules, moved.figures
        self._spoke: dict[tuple[str, ...], str] = {}
        """Which rule last spoke against a part for some places."""
        self._worlds: dict[Key, BuildWorld] = {(): market.world}
        self._there: Sequence[Provider] = ()
        self._keys: dict[tuple[str, tuple[str, ...]], Key] = {}
        """Keys of those that were asked of last, all beside the same."""
        self._asking: dict[Key, set[str]] = {(): set(judged.asking)}
        self._asked_now: set[Key] = set()
        self._stands: dict[Key, bool] = {}

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        """What speaks against it: a rule in conflict or short, one with something missing, or none."""
        return self._against(self._key(provider, added))[0]

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """What need rules ask on its account."""
        return self._wakes(self._key(provider, added))

    def asked_now(self) -> frozenset[Key]:
        """What was asked since this was last asked for."""
        found = frozenset(self._asked_now)
        self._asked_now.clear()
        return found

    def stands(self, key: Key) -> bool:
        """Whether the same comes of a provider as before."""
        found = self._stands.get(key)
        if found is None:
            found = self._stands[key] = self._is_as_before(key)
        return found

    def _is_as_before(self, key: Key) -> bool:
        before = self._before[key]
        if self.resting.of(*key[-1]).rules.isdisjoint(self._moved):
            tried = self._entry(key)
            tried.against, tried.woken = before.against, before.woken
            return True
        same = before.against is None or self._against(key)[0] == before.against[0]
        return same and (before.woken is None or self._wakes(key) == before.woken)

    def results(self) -> Mapping[Key, Tried]:
        """What came of all that was tried, and of those added before."""
        for key, world in self._worlds.items():
            if key:
                self._entry(key).figures = world.worked_out(self.resting.of(*key[-1]).figures)
        return self.known

    def _entry(self, key: Key) -> Tried:
        """What is known of a provider; at first figures alone, so far as nothing has moved them."""
        tried = self.known.get(key)
        if tried is None:
            tried = self.known[key] = Tried()
            before = self._before.get(key)
            if before is not None and before.figures is not None:
                tried.figures = before.figures.without(self._figures)
        return tried

    def _key(self, provider: Provider, added: Sequence[Provider]) -> Key:
        """A provider, and before it what was added that its rules can rest on too."""
        if added is not self._there:  # most are asked twice beside the same
            self._there, self._keys = added, {}
        own = (provider.name, provider.fills)
        key = self._keys.get(own)
        if key is None:
            beside = self.resting.of(*own).beside
            there = [(one.name, one.fills) for one in added if not beside.isdisjoint(one.things)]
            key = self._keys[own] = (*there, own)
        self._asked_now.add(key)
        return key

    def _against(self, key: Key) -> tuple[Against, str]:
        tried = self._entry(key)
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
        tried = self._entry(key)
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
            figures = self._entry(added).figures
            if figures is not None and figures.rough == world.rough:
                world.take_beside(figures)
        return world

    def _with(self, world: BuildWorld, name: str, fills: tuple[str, ...]) -> BuildWorld:
        settled, rests = world.settled, self.resting.of(name, fills)
        # how far figures may be off brings nothing to a bad end, and takes a cycle each way to find out
        rough = rests.middles and not world.gauged
        if not fills:
            return world.trying({}, rests.figures, frozenset([name]), rough=rough)
        entry = Fitted(settled.shop.parts[name], "chosen", home(settled.shop, name, settled.variant.variant))
        return world.trying({fills[0]: entry}, rests.figures, rough=rough)
