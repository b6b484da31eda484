"""Adding parts and work until no need is open, round by round.

The rules of the game, beside those of `compat.checking.needs`: in every round each demand still open picks
among the providers that are still free the first that is sound, or, where none is, the first that will do,
or, where none will, the first. A provider is sound when nothing speaks against it where it would stand,
and when all that it needs, or that is asked on its account, is offered by the build or by itself, or could
be by another free provider that can stand beside it, that has not much against it there and whose own needs
can be met so. One that has little against it, its needs met so, will do. What another has picked in the
same round comes anyway, so it is sound. All picks of a round are added together; what they need, and what
is asked on their account, is asked in the next round.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol

from compat.checking.gathering import Gathered
from compat.checking.needs import Book, Demand, Provider, Shortage, Supply
from compat.record import record
from compat.shop.entry import NOTHING

__all__ = ["Against", "Closure", "Pick", "Picks", "ProviderTrials", "Untried", "close"]


Against = Literal["nothing", "little", "much"]


@record(slots=True)
class Pick:
    """What was picked for a demand, and all that decided it beside who was added already."""

    chosen: tuple[Provider, Sequence[Demand]] | None
    """The provider with what it wakes; None where nobody was, or another's pick does."""
    tried: frozenset[Hashable]
    """What was asked of trials."""
    features: frozenset[str]
    """Features of which it was asked what is offered, and what others take of them."""


State = tuple[Demand, tuple[str, ...], tuple[str, ...]]
"""A demand, who was added already, and who was picked in the same round, both in their order."""

Picks = Mapping[State, Pick]


@dataclass
class Closure:
    """What was added, for which demand, and what stays open."""

    added: list[tuple[Provider, Demand]] = field(default_factory=list)
    shortages: list[Shortage] = field(default_factory=list)
    opened: list[Shortage] = field(default_factory=list)
    """Every demand the build as it stands leaves open, whether something could be added or not."""
    live: list[Demand] = field(default_factory=list)
    """Those, and the met ones that what is added could still take something from."""
    looked_at: dict[str, Provider] = field(default_factory=dict)
    """Every provider that was thought of, by name."""
    picks: dict[State, Pick] = field(default_factory=dict, compare=False)
    """How it came to what was added."""


class ProviderTrials(Protocol):
    """What comes of a provider where it would stand, others being added already."""

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        """Whether much is against it (it cannot be, or is not enough), little (something lacks), or nothing."""

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """What is asked on its account beside what it asks itself."""

    def asked_now(self) -> frozenset[Hashable]:
        """What was asked of it since this was last asked for."""

    def stands(self, asked: Any) -> bool:
        """Whether the same comes of something as came of it on the build before."""


class Untried:
    """Nothing speaks against any provider, and none wakes anything."""

    def against(self, provider: Provider, added: Sequence[Provider]) -> Against:
        """Nothing."""
        return "nothing"

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """Nothing."""
        return ()

    def asked_now(self) -> frozenset[Hashable]:
        """Nothing."""
        return frozenset()

    def stands(self, asked: Any) -> bool:
        """Nothing was ever asked."""
        return True


def close(
    supplies: Iterable[Supply],
    demands: Iterable[Demand],
    filled: Iterable[str],
    present: Iterable[str],
    providers: Callable[[Demand], Iterable[Provider]],
    excluded: Iterable[str] = (),
    trials: ProviderTrials | None = None,
    before: Picks = NOTHING,
    moved: Set[str] = frozenset(),
) -> Closure:
    """Add providers until every demand is met or nothing can meet it.

    Parameters
    ----------
    supplies, demands : iterable
        What the build offers and asks as it stands.
    filled : iterable of str
        Positions that are taken.
    present : iterable of str
        Names of the parts and work in the build, for exclusions.
    providers : callable
        For a demand its possible providers, first choice first.
    excluded : iterable of str
        Names that something in the build cannot stand beside.
    trials : ProviderTrials, optional
        What comes of a provider where it would stand.
    before : mapping
        How it was on a build that has the same positions filled and providers of the same cards: what a pick
        rested on there decides whether it is asked for again.
    moved : set of str
        Features of which that build offered or asked otherwise.

    Returns
    -------
    Closure
        What is added and what stays open. Deterministic: same question, same answer.
    """
    given = (supplies, demands, filled, present, providers, excluded, trials or Untried(), before, moved)
    return _Closing(*given).run()


class _Closing:
    """One closing of needs, round by round."""

    def __init__(
        self,
        supplies: Iterable[Supply],
        demands: Iterable[Demand],
        filled: Iterable[str],
        present: Iterable[str],
        providers: Callable[[Demand], Iterable[Provider]],
        excluded: Iterable[str],
        trials: ProviderTrials,
        before: Picks,
        moved: Set[str],
    ) -> None:
        self.book = Book(supplies)
        self.asked = list(demands)
        self.taken, self.names, self.barred = set(filled), set(present), set(excluded)
        self.providers = providers
        self.trials = trials
        self.before = before
        self.moved = moved
        self.closure = Closure()
        self.added: list[Provider] = []
        self._free: dict[Demand, Gathered[Provider]] = {}
        """Who can still be added, by demand: the same until something is."""

    def run(self) -> Closure:
        closure = self.closure
        while True:
            short, self.asked = self.book.open(self.asked)
            if not closure.added:
                closure.opened, closure.live = short, self.asked
            picks: list[tuple[Provider, Demand, Sequence[Demand]]] = []
            for shortage in short:
                pick = self.picked(shortage.demand, [provider for provider, _, _ in picks])
                if pick is not None:
                    picks.append((pick[0], shortage.demand, pick[1]))
            if not picks:
                closure.shortages = short
                self._free.clear()  # iterators that stopped half way hold on to all this
                return closure
            for provider, demand, woken in picks:
                self.add(provider, demand, woken)

    def add(self, provider: Provider, demand: Demand, woken: Sequence[Demand]) -> None:
        self._free.clear()
        self.closure.added.append((provider, demand))
        self.added.append(provider)
        self.names.add(provider.name)
        self.taken |= set(provider.fills)
        self.barred |= provider.never_with
        self.book.add(provider.supplies)
        self.asked = [*self.asked, *provider.demands]
        self.asked += [one for one in woken if not any(one.owner == o.owner and one == o for o in self.asked)]

    def picked(self, demand: Demand, picked: Sequence[Provider]) -> tuple[Provider, Sequence[Demand]] | None:
        """What is picked for a demand: as before, where all stands that it rested on."""
        state = demand, tuple([one.name for one in self.added]), tuple([one.name for one in picked])
        found = self.before.get(state)
        if (
            found is None
            or not found.features.isdisjoint(self.moved)
            or not all(map(self.trials.stands, found.tried))
        ):
            self.trials.asked_now()
            self.book.looked_at.clear()
            chosen = self.pick(demand, picked)
            found = Pick(chosen, self.trials.asked_now(), frozenset(self.book.looked_at))
        self.closure.picks[state] = found
        return found.chosen

    def pick(self, demand: Demand, picked: Sequence[Provider]) -> tuple[Provider, Sequence[Demand]] | None:
        """The first sound provider, or else the first, with what it wakes; None when another's pick will do."""
        there = [*self.added, *picked]
        names = {provider.name for provider in picked}
        places = {place for provider in picked for place in provider.fills}
        barred = {name for provider in picked for name in provider.never_with}
        # picks of the same round: no two in one place, none that exclude each other
        free = (
            provider
            for provider in self.free(demand)
            if provider.name in names
            or (
                provider.name not in barred
                and places.isdisjoint(provider.fills)
                and names.isdisjoint(provider.never_with)
            )
        )
        first = provider = next(free, None)
        choice = None
        while provider is not None:
            if provider.name in names:
                return None
            other = next(free, None)
            if other is None and provider is first:
                break  # an only one is taken as it is
            against = self.against(provider, there)
            if against == "nothing":
                choice = provider
                break
            if against == "little" and choice is None:
                choice = provider
            provider = other
        choice = choice or first
        return None if choice is None else (choice, self.trials.wakes(choice, there))

    def against(self, provider: Provider, there: Sequence[Provider]) -> Against:
        """What speaks against a provider where it would stand, its needs among it."""
        demands = [*provider.demands, *self.trials.wakes(provider, there)]
        return self.trials.against(provider, there) if self.helped(provider, demands, ()) else "much"

    def free(self, demand: Demand) -> Iterator[Provider]:
        """Providers of a demand that can still be added, first choice first."""
        if demand not in self._free:
            self._free[demand] = Gathered(self._sifted(demand))
        return iter(self._free[demand])

    def _sifted(self, demand: Demand) -> Iterator[Provider]:
        """The same, each looked for when it is first wanted."""
        for provider in self.providers(demand):
            self.closure.looked_at[provider.name] = provider
            if provider.name in self.names or provider.name in self.barred or provider.never_with & self.names:
                continue
            if self.taken.isdisjoint(provider.fills) and provider.meets(demand):
                yield provider

    def helped(self, provider: Provider, demands: Sequence[Demand], chain: tuple[str, ...]) -> bool:
        """Whether demands are met by what is offered, by the provider's own offers, or could be by another."""
        return not demands or all(
            any(
                other.name not in chain
                and other.name != provider.name
                and provider.stands_beside(other)
                and self.helped(other, other.demands, (*chain, other.name))
                and self.trials.against(other, [*self.added, provider]) != "much"
                for other in self.free(demand)
            )
            for demand in self.book.lacking(provider.supplies, demands)
        )
