"""Closing the needs: what is offered, what is asked, and what must be added until nothing is open.

The problem is stated in its own plain terms (supplies, demands, providers), so that it can be
handed to an independent solver and compared.

The rules of the game: a demand for a feature that is not used up is met by any one supply that
suits it. A demand that takes nothing only asks that enough units exist. Units of used-up
features serve one demand each and are assigned by maximum matching.
In every round each demand still open picks among the providers that are still free the first that is
sound, or, where none is, the first. A provider is sound when it clashes with nothing where it would
stand, and when all that it needs, or that is asked on its account, is offered by the build or by
itself, or could be by another free provider that can stand beside it, clashes with nothing there and
whose own needs can be met so.
All picks of a round are added together; what they need, and what is asked on their account, is asked in
the next round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from compat.checking.matching import share_out

__all__ = [
    "Closure",
    "Demand",
    "Provider",
    "Shortage",
    "Supply",
    "Trials",
    "Untried",
    "close",
    "open_demands",
]


@dataclass(frozen=True)
class Supply:
    """Units of a feature that one owner offers."""

    owner: str
    feature: str
    count: int = 1
    matching: tuple[tuple[str, str], ...] = ()
    used_up: bool = False


@dataclass(frozen=True)
class Demand:
    """Units of a feature, or of any one of several, that one owner asks for."""

    owner: str
    features: tuple[str, ...]
    count: int = 1
    matching: tuple[tuple[str, str], ...] = ()
    takes: bool = True
    """False: the units must be there, but the owner uses none of them up (a rule asks, a part takes)."""

    @property
    def rule(self) -> str:
        """The rule that asks; empty for a part or work."""
        return self.owner.removeprefix("rule:") if self.owner.startswith("rule:") else ""

    def suits(self, supply: Supply) -> bool:
        """Whether the supply is of a wanted feature and agrees on everything the demand states."""
        if supply.feature not in self.features:
            return False
        if not self.matching:
            return True
        offered = dict(supply.matching)
        return all(offered.get(key, word) == word for key, word in self.matching)


@dataclass(frozen=True)
class Provider:
    """A part or work that could be added: what it fills, offers, needs and excludes."""

    name: str
    fills: tuple[str, ...] = ()
    supplies: tuple[Supply, ...] = ()
    demands: tuple[Demand, ...] = ()
    never_with: frozenset[str] = frozenset()

    def stands_beside(self, other: Provider) -> bool:
        """Whether both can be in one build: each in a place of its own, neither excluding the other."""
        apart = self.name not in other.never_with and other.name not in self.never_with
        return apart and set(self.fills).isdisjoint(other.fills)


@dataclass(frozen=True)
class Shortage:
    """A demand that nothing meets; for used-up features with the owners that compete for too few units."""

    demand: Demand
    competing: tuple[str, ...] = ()
    offered: int = 0
    asked: int = 0


@dataclass
class Closure:
    """What was added, for which demand, and what stays open."""

    added: list[tuple[Provider, Demand]] = field(default_factory=list)
    shortages: list[Shortage] = field(default_factory=list)
    opened: list[Shortage] = field(default_factory=list)
    """Every demand the build as it stands leaves open, whether something could be added or not."""
    looked_at: dict[str, Provider] = field(default_factory=dict)
    """Every provider that was thought of, by name."""


def open_demands(demands: Sequence[Demand], supplies: Sequence[Supply]) -> list[Shortage]:
    """Give the demands that the supplies leave open.

    Parameters
    ----------
    demands : sequence of Demand
        What is asked.
    supplies : sequence of Supply
        What is offered.

    Returns
    -------
    list of Shortage
        Open demands; those for used-up features carry the competing owners (a set violating Hall's condition).

    Examples
    --------
    >>> ecu = Supply("ecu", "input", 1, used_up=True)
    >>> asked = [Demand("map", ("input",)), Demand("throttle", ("input",))]
    >>> [(s.demand.owner, s.competing, s.offered, s.asked) for s in open_demands(asked, [ecu])]
    [('throttle', ('map', 'throttle'), 1, 2)]
    """
    return _Book(supplies).open(demands)[0]


class _Book:
    """What is offered, by feature; grows as parts and work are added."""

    def __init__(self, supplies: Iterable[Supply]) -> None:
        self.by_feature: dict[str, list[Supply]] = {}
        self.used_up: list[Supply] = []
        self.add(supplies)

    def add(self, supplies: Iterable[Supply]) -> None:
        """Enter what is offered too."""
        for supply in supplies:
            self.by_feature.setdefault(supply.feature, []).append(supply)
            if supply.used_up:
                self.used_up.append(supply)

    def suited(self, demand: Demand) -> list[Supply]:
        """What would meet a demand."""
        if len(demand.features) == 1 and not demand.matching:
            return self.by_feature.get(demand.features[0], [])
        features = dict.fromkeys(demand.features)
        return [s for f in features for s in self.by_feature.get(f, ()) if demand.suits(s)]

    def lacking(
        self, asked: Sequence[Demand], more: Sequence[Supply], demands: Sequence[Demand]
    ) -> list[Demand]:
        """Which of some demands stay open beside those asked before, with more offered."""
        wider = _Book(()) if more else self
        if more:
            wider.by_feature = {feature: list(offers) for feature, offers in self.by_feature.items()}
            wider.used_up = list(self.used_up)
            wider.add(more)
        own = set(map(id, demands))
        return [entry.demand for entry in wider.open([*asked, *demands])[0] if id(entry.demand) in own]

    def open(self, demands: Sequence[Demand]) -> tuple[list[Shortage], list[Demand]]:
        """The demands that stay open, and those that more supplies could still change; the rest is met."""
        short: dict[int, Shortage] = {}
        pooled: list[Demand] = []
        live: list[Demand] = []
        for number, demand in enumerate(demands):
            suited = self.suited(demand)
            if any(not supply.used_up for supply in suited):
                continue
            if not demand.takes:
                there = sum(supply.count for supply in suited)
                if there < demand.count:
                    short[number] = Shortage(demand, offered=there, asked=demand.count)
                    live.append(demand)
                continue
            live.append(demand)
            if suited:
                pooled.append(demand)
            else:
                short[number] = Shortage(demand, asked=demand.count)
        crowded = {id(entry.demand): entry for entry in _assign(pooled, self.used_up)}
        if not crowded:
            return list(short.values()), live
        found = (short.get(n) or crowded.get(id(demand)) for n, demand in enumerate(demands))
        return [entry for entry in found if entry is not None], live


def _assign(demands: Sequence[Demand], supplies: Sequence[Supply]) -> list[Shortage]:
    """Share the units of used-up supplies out among demands; those that go short, with their crowds."""
    by_feature: dict[str, list[int]] = {}
    for number, supply in enumerate(supplies):
        by_feature.setdefault(supply.feature, []).append(number)
    suits = [
        sorted(
            s
            for f in dict.fromkeys(demand.features)
            for s in by_feature.get(f, ())
            if demand.suits(supplies[s])
        )
        for demand in demands
    ]
    wanted, stock = [demand.count for demand in demands], [supply.count for supply in supplies]
    return [
        Shortage(
            demands[number],
            tuple(dict.fromkeys(demands[asking].owner for asking in crowd.asking)),
            sum(stock[offered] for offered in crowd.offered),
            sum(wanted[asking] for asking in crowd.asking),
        )
        for number, crowd in share_out(wanted, suits, stock).items()
    ]


class Trials(Protocol):
    """What comes of a provider where it would stand, others being added already."""

    def clashes(self, provider: Provider, added: Sequence[Provider]) -> bool:
        """Whether it brings something that cannot be, or does not suffice."""

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """What is asked on its account beside what it asks itself."""


class Untried:
    """No provider clashes, and none wakes anything."""

    def clashes(self, provider: Provider, added: Sequence[Provider]) -> bool:
        """Never."""
        return False

    def wakes(self, provider: Provider, added: Sequence[Provider]) -> Sequence[Demand]:
        """Nothing."""
        return ()


def close(
    supplies: Iterable[Supply],
    demands: Iterable[Demand],
    filled: Iterable[str],
    present: Iterable[str],
    providers: Callable[[Demand], Iterable[Provider]],
    excluded: Iterable[str] = (),
    trials: Trials | None = None,
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
    trials : Trials, optional
        What comes of a provider where it would stand.

    Returns
    -------
    Closure
        What is added and what stays open. Deterministic: same question, same answer.
    """
    return _Closing(supplies, demands, filled, present, providers, excluded, trials or Untried()).run()


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
        trials: Trials,
    ) -> None:
        self.book = _Book(supplies)
        self.asked = list(demands)
        self.taken, self.names, self.barred = set(filled), set(present), set(excluded)
        self.providers = providers
        self.trials = trials
        self.closure = Closure()
        self.added: list[Provider] = []

    def run(self) -> Closure:
        closure = self.closure
        while True:
            short, self.asked = self.book.open(self.asked)
            if not closure.opened and not closure.added:
                closure.opened = short
            picks: list[tuple[Provider, Demand, Sequence[Demand]]] = []
            for shortage in short:
                pick = self.pick(shortage.demand, [provider for provider, _, _ in picks])
                if pick is not None:
                    picks.append((pick[0], shortage.demand, pick[1]))
            if not picks:
                closure.shortages = short
                return closure
            for provider, demand, woken in picks:
                self.add(provider, demand, woken)

    def add(self, provider: Provider, demand: Demand, woken: Sequence[Demand]) -> None:
        self.closure.added.append((provider, demand))
        self.added.append(provider)
        self.names.add(provider.name)
        self.taken |= set(provider.fills)
        self.barred |= provider.never_with
        self.book.add(provider.supplies)
        self.asked += provider.demands
        self.asked += [demand for demand in woken if demand not in self.asked]

    def pick(self, demand: Demand, picked: Sequence[Provider]) -> tuple[Provider, Sequence[Demand]] | None:
        """The first sound provider, or else the first, with what it wakes; None when another's pick will do."""
        first = None
        for provider in self.free(demand):
            if any(other.name == provider.name for other in picked):
                return None
            # picks of the same round: no two in one place, none that exclude each other
            if not all(provider.stands_beside(other) for other in picked):
                continue
            there = [*self.added, *picked]
            woken = self.trials.wakes(provider, there)
            if self.furnished(provider, woken) and not self.trials.clashes(provider, there):
                return provider, woken
            first = first or (provider, woken)
        return first

    def free(self, demand: Demand) -> Iterator[Provider]:
        """Providers of a demand that can still be added, first choice first."""
        for provider in self.providers(demand):
            self.closure.looked_at[provider.name] = provider
            if provider.name in self.names or provider.name in self.barred or provider.never_with & self.names:
                continue
            if self.taken.isdisjoint(provider.fills) and any(map(demand.suits, provider.supplies)):
                yield provider

    def furnished(self, provider: Provider, woken: Sequence[Demand] = (), chain: tuple[str, ...] = ()) -> bool:
        """Whether everything that a provider asks is offered, by it too, or could be by another free one."""
        demands = [*provider.demands, *woken]
        if not demands:
            return True
        return all(
            any(
                other.name not in chain
                and other.name != provider.name
                and provider.stands_beside(other)
                and self.furnished(other, (), (*chain, provider.name))
                and not self.trials.clashes(other, [*self.added, provider])
                for other in self.free(demand)
            )
            for demand in self.book.lacking(self.asked, provider.supplies, demands)
        )
