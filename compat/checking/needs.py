"""Needs: what is offered, what is asked, and what of that stays open.

The problem is stated in its own plain terms (supplies, demands, providers), so that it can be
handed to an independent solver and compared.

The rules of the game: a demand for a feature that is not used up is met by any one supply that
suits it. A demand that takes nothing only asks that enough units exist, used up or not. Units of used-up
features serve one demand each and are assigned by maximum matching.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from compat.checking.matching import share_out
from compat.record import record

__all__ = ["Book", "Demand", "Provider", "Shortage", "Supply", "open_demands"]


@record
class Supply:
    """Units of a feature that one owner offers."""

    owner: str
    feature: str
    count: int = 1
    matching: tuple[tuple[str, str], ...] = ()
    used_up: bool = False

    def like(self, other: Supply) -> bool:
        """Whether another offers the same; whose it is does not matter to who asks."""
        return self is other or (
            self.feature == other.feature
            and self.count == other.count
            and self.matching == other.matching
            and self.used_up == other.used_up
        )


@record
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

    def like(self, other: Demand) -> bool:
        """Whether another asks the same; which part or work asks does not matter to who gives."""
        return self is other or (
            self.features == other.features
            and self.count == other.count
            and self.matching == other.matching
            and self.takes == other.takes
            and (self.owner == other.owner or not (self.rule or other.rule))
        )

    def suits(self, supply: Supply) -> bool:
        """Whether the supply is of a wanted feature and agrees on everything the demand states."""
        if supply.feature not in self.features:
            return False
        if not self.matching:
            return True
        offered = dict(supply.matching)
        return all(offered.get(key, word) == word for key, word in self.matching)


@record
class Provider:
    """A part or work that could be added: what it fills, offers, needs and excludes."""

    name: str
    fills: tuple[str, ...] = ()
    supplies: tuple[Supply, ...] = ()
    demands: tuple[Demand, ...] = ()
    never_with: frozenset[str] = frozenset()

    @cached_property
    def things(self) -> frozenset[str]:
        """What rules that look at it can name: its positions, itself as ``work:id``, and features it offers."""
        return self.offers.union(self.fills, (f"work:{self.name}",))

    @cached_property
    def offers(self) -> frozenset[str]:
        """The features that it offers."""
        return frozenset(supply.feature for supply in self.supplies)

    def meets(self, demand: Demand) -> bool:
        """Whether anything that it offers suits a demand.

        >>> provider = Provider("m12", supplies=(Supply("m12", "stud", 1, (("thread", "M12"),)),))
        >>> [provider.meets(Demand("nut", ("stud",), 1, (("thread", thread),))) for thread in ("M12", "M10")]
        [True, False]
        """
        if self.offers.isdisjoint(demand.features):
            return False
        return not demand.matching or any(map(demand.suits, self.supplies))

    def stands_beside(self, other: Provider) -> bool:
        """Whether both can be in one build: each in a place of its own, neither excluding the other."""
        apart = self.name not in other.never_with and other.name not in self.never_with
        return apart and set(self.fills).isdisjoint(other.fills)


@record
class Shortage:
    """A demand that nothing meets; for used-up features with the owners that compete for too few units."""

    demand: Demand
    competing: tuple[str, ...] = ()
    offered: int = 0
    asked: int = 0


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
    return Book(supplies).open(demands)[0]


class Book:
    """What is offered, by feature; grows as parts and work are added."""

    def __init__(self, supplies: Iterable[Supply]) -> None:
        self.by_feature: dict[str, list[Supply]] = {}
        self.used_up: list[Supply] = []
        self._units: dict[str, list[int]] = {}
        """Which of those are of a feature."""
        self.pooled: list[Demand] = []
        """Those last asked that share units which serve one each."""
        self.looked_at: set[str] = set()
        """Features that decided what would be lacking."""
        self.add(supplies)

    def add(self, supplies: Iterable[Supply]) -> None:
        """Enter what is offered too."""
        for supply in supplies:
            self.by_feature.setdefault(supply.feature, []).append(supply)
            if supply.used_up:
                self._units.setdefault(supply.feature, []).append(len(self.used_up))
                self.used_up.append(supply)

    def suited(self, demand: Demand) -> list[Supply]:
        """What would meet a demand."""
        if len(demand.features) == 1 and not demand.matching:
            return self.by_feature.get(demand.features[0], [])
        features = dict.fromkeys(demand.features)
        return [s for f in features for s in self.by_feature.get(f, ()) if demand.suits(s)]

    def lacking(self, more: Sequence[Supply], demands: Sequence[Demand]) -> list[Demand]:
        """Which of some demands would stay open beside those asked before, with more offered."""
        short: list[Demand] = []
        pooled: list[Demand] = []
        for demand in demands:
            self.looked_at.update(demand.features)
            suited = self.suited(demand)
            if _shared(suited):
                continue
            own_units = list(filter(demand.suits, more))
            if _shared(own_units):
                continue
            suited = [*suited, *own_units]
            if not demand.takes:
                short += [demand] if sum(supply.count for supply in suited) < demand.count else []
            elif suited:
                pooled.append(demand)
            else:
                short.append(demand)
        if pooled:
            own = set(map(id, pooled))
            crowd = [*_bearing_on(pooled, self.pooled), *pooled]
            self.looked_at.update(feature for demand in crowd for feature in demand.features)
            units = [supply for supply in more if supply.used_up]
            short += [entry.demand for entry in self._assign(crowd, units) if id(entry.demand) in own]
        return short

    def open(self, demands: Sequence[Demand]) -> tuple[list[Shortage], list[Demand]]:
        """The demands that stay open, and those that more supplies could still change; the rest is met."""
        short: dict[int, Shortage] = {}
        pooled: list[Demand] = []
        live: list[Demand] = []
        for number, demand in enumerate(demands):
            suited = self.suited(demand)
            # whoever takes a feature that is not used up shares it; a rule counts what is there
            if demand.takes and _shared(suited):
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
        self.pooled = pooled
        crowded = {id(entry.demand): entry for entry in self._assign(pooled)}
        if not crowded:
            return list(short.values()), live
        found = (short.get(n) or crowded.get(id(demand)) for n, demand in enumerate(demands))
        return [entry for entry in found if entry is not None], live

    def _assign(self, demands: Sequence[Demand], more: Sequence[Supply] = ()) -> list[Shortage]:
        """Share used-up units out among demands; those that go short, with their crowds."""
        supplies, first = [*self.used_up, *more], len(self.used_up)
        suits = [self._suited_units(demand, supplies, first) for demand in demands]
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

    def _suited_units(self, demand: Demand, supplies: Sequence[Supply], first: int) -> Sequence[int]:
        """Numbers of used-up supplies that suit a demand; those from the first on are entered nowhere."""
        if len(demand.features) == 1:
            found = self._units.get(demand.features[0], [])
        else:
            found = sorted(n for f in dict.fromkeys(demand.features) for n in self._units.get(f, ()))
        if demand.matching:
            found = [number for number in found if demand.suits(supplies[number])]
        more = [number for number in range(first, len(supplies)) if demand.suits(supplies[number])]
        return [*found, *more] if more else found


def _shared(supplies: Sequence[Supply]) -> bool:
    """Whether any of some supplies serves whoever asks."""
    # mostly all of a feature are alike
    return bool(supplies) and (not supplies[0].used_up or not all(supply.used_up for supply in supplies))


def _bearing_on(demands: Sequence[Demand], others: Iterable[Demand]) -> list[Demand]:
    """Those of others that can take units which some demands ask for, by way of each other too."""
    features = {feature for demand in demands for feature in demand.features}
    near: list[Demand] = []
    far = list(others)
    while True:
        found = [demand for demand in far if not features.isdisjoint(demand.features)]
        if not found:
            return near
        near += found
        far = [demand for demand in far if features.isdisjoint(demand.features)]
        features |= {feature for demand in found for feature in demand.features}
