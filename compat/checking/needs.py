"""Closing the needs: what is offered, what is asked, and what must be added until nothing is open.

The problem is stated in its own plain terms (supplies, demands, providers), so that it can be
handed to an independent solver and compared.

The rules of the game: a demand for a feature that is not used up is met by any one supply that
suits it. A demand that takes nothing only asks that enough units exist, used up or not. Units of used-up
features serve one demand each and are assigned by maximum matching.
In every round each demand still open picks its first provider that is still free; all picks of
a round are added together, and what they need is asked in the next round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

__all__ = ["Closure", "Demand", "Provider", "Shortage", "Supply", "close", "open_demands"]


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

    def open(self, demands: Sequence[Demand]) -> tuple[list[Shortage], list[Demand]]:
        """The demands that stay open, and those that more supplies could still change; the rest is met."""
        short: dict[int, Shortage] = {}
        pooled: list[Demand] = []
        live: list[Demand] = []
        for number, demand in enumerate(demands):
            suited = self.suited(demand)
            # whoever takes a feature that is not used up shares it; a rule counts what is there
            if demand.takes and any(not supply.used_up for supply in suited):
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
    """Maximum matching of demand units to supply units, capacities kept whole (a unit flow)."""
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
    free = [supply.count for supply in supplies]
    given: list[dict[int, int]] = [{} for _ in demands]

    def augment(start: int) -> bool:
        # breadth first from a demand over the supplies that suit it and back over what they serve
        before: dict[int, tuple[int, int | None]] = {}
        queue: list[tuple[int, int | None]] = [(start, None)]
        for demand, via in queue:
            for s in suits[demand]:
                if s in before:
                    continue
                before[s] = (demand, via)
                if free[s] > 0:
                    free[s] -= 1
                    step: int | None = s
                    while step is not None:
                        taker, previous = before[step]
                        given[taker][step] = given[taker].get(step, 0) + 1
                        if previous is not None:
                            given[taker][previous] -= 1
                        step = previous
                    return True
                queue += [(d, s) for d in range(len(demands)) if given[d].get(s, 0) > 0]
        return False

    lacking = [sum(not augment(number) for _ in range(demand.count)) for number, demand in enumerate(demands)]
    short = []
    for number, units in enumerate(lacking):
        if units:
            crowd, reach = _crowd(number, suits, given)
            short.append(
                Shortage(
                    demands[number],
                    tuple(dict.fromkeys(demands[d].owner for d in sorted(crowd))),
                    sum(supplies[s].count for s in reach),
                    sum(demands[d].count for d in crowd),
                )
            )
    return short


def _crowd(start: int, suits: list[list[int]], given: list[dict[int, int]]) -> tuple[set[int], set[int]]:
    """Demands and supplies on alternating paths from an unserved demand: the set that competes for too few."""
    crowd, reach, queue = {start}, set[int](), [start]
    for demand in queue:
        for s in suits[demand]:
            if s in reach:
                continue
            reach.add(s)
            for other, units in enumerate(given):
                if units.get(s, 0) > 0 and other not in crowd:
                    crowd.add(other)
                    queue.append(other)
    return crowd, reach


def close(
    supplies: Iterable[Supply],
    demands: Iterable[Demand],
    filled: Iterable[str],
    present: Iterable[str],
    providers: Callable[[Demand], Iterable[Provider]],
    excluded: Iterable[str] = (),
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

    Returns
    -------
    Closure
        What is added and what stays open. Deterministic: same question, same answer.
    """
    book, asked = _Book(supplies), list(demands)
    taken, names = set(filled), set(present)
    closure = Closure()
    barred = set(excluded)
    while True:
        short, asked = book.open(asked)
        if not closure.opened and not closure.added:
            closure.opened = short
        picks: list[tuple[Provider, Demand]] = []
        for shortage in short:
            pick = _pick(shortage.demand, providers, taken, names, barred, [p for p, _ in picks])
            if pick is not None and all(pick.name != other.name for other, _ in picks):
                picks.append((pick, shortage.demand))
        if not picks:
            closure.shortages = short
            return closure
        for provider, demand in picks:
            closure.added.append((provider, demand))
            names.add(provider.name)
            taken |= set(provider.fills)
            barred |= provider.never_with
            book.add(provider.supplies)
            asked += provider.demands


def _pick(
    demand: Demand,
    providers: Callable[[Demand], Iterable[Provider]],
    taken: set[str],
    names: set[str],
    barred: set[str],
    picked: Sequence[Provider],
) -> Provider | None:
    for provider in providers(demand):
        if provider.name in names or provider.name in barred or provider.never_with & names:
            continue
        if taken & set(provider.fills):
            continue
        # picks of the same round: no two in one place, none that exclude each other
        if any(
            other.name != provider.name
            and (
                set(other.fills) & set(provider.fills)
                or other.name in provider.never_with
                or provider.name in other.never_with
            )
            for other in picked
        ):
            continue
        if any(demand.suits(supply) for supply in provider.supplies):
            return provider
    return None
