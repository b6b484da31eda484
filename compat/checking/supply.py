"""From a settled build to the question of needs: who offers what, who asks for what, and who could be added."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from compat.checking.needs import Demand, Provider, Supply
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Missing, Number
from compat.shop.models import Need, Offer, Part, Work

__all__ = ["Market"]

Rank = tuple[int, int, Decimal, str]
"""Place among the remedies, parts before work, price or hours, id."""


class Market:
    """Supplies, demands and providers of one build."""

    def __init__(self, world: BuildWorld) -> None:
        self.world = world
        self.settled = world.settled
        self.shop = world.settled.shop
        self._ranked: dict[tuple[str, ...], list[tuple[Rank, str, str]]] = {}
        self._providers: dict[tuple[str, str], Provider] = {}

    def supply(self, owner: str, offer: Offer) -> Supply:
        """An offer as a supply."""
        used_up = self.shop.features[offer.feature].used_up
        return Supply(owner, offer.feature, offer.count, tuple(sorted(offer.matching.items())), used_up)

    def demand(self, owner: str, need: Need) -> Demand:
        """A need as a demand."""
        return Demand(owner, need.features, need.count, tuple(sorted(need.matching.items())))

    def supplies(self) -> list[Supply]:
        """What the build offers as it stands; a filled position and done work count as features."""
        found = []
        for position, entry in self.settled.fitted.items():
            name = entry.part.part
            found += [self.supply(name, offer) for offer in self.world.offers("part", name)]
            found.append(Supply(name, f"position:{position}"))
        for work in self.works():
            found += [self.supply(work, offer) for offer in self.world.offers("work", work)]
            found.append(Supply(work, f"work:{work}"))
        return found

    def works(self) -> list[str]:
        """Work that the build names."""
        return [work.work for work, _ in self.settled.works]

    def demands(self, rules: Iterable[BoundRule]) -> list[Demand]:
        """What parts, work and the given need rules ask."""
        found = []
        for entry in dict.fromkeys(e.part.part for e in self.settled.fitted.values()):
            found += self.needs("part", entry, self.shop.parts[entry].needs)
        for work in self.works():
            found += self.needs("work", work, self.shop.works[work].needs)
        for forced, by in self.settled.forced.items():
            found.append(Demand(by, (f"work:{forced}",)))
        for rule in rules:
            need = rule.rule.need
            assert need is not None
            feature = need.feature or (f"work:{need.work}" if need.work else f"position:{need.position}")
            matching = tuple(sorted(need.matching.items()))
            found.append(Demand(f"rule:{rule.rule.rule}", (feature,), self.count(rule), matching, takes=False))
        return [demand for demand in found if demand.count > 0]

    def count(self, rule: BoundRule) -> int:
        """How many units a need rule asks."""
        if rule.count is None:
            return 1
        try:
            value = rule.count.run(self.world)
        except Absent:
            return 0
        return max(0, round(value.x)) if isinstance(value, Number) else 1

    def needs(self, kind: str, name: str, needs: Iterable[Need]) -> list[Demand]:
        """Needs of a part or work whose conditions hold."""
        return [
            self.demand(name, need)
            for number, need in enumerate(needs)
            if self.world.holds(kind, name, "needs", number)
        ]

    def excluded(self) -> set[str]:
        """Parts that something in the build cannot stand beside."""
        return {name for entry in self.settled.fitted.values() for name in entry.part.never_with}

    # who could be added

    def providers(self, demand: Demand) -> Iterator[Provider]:
        """Parts and work that offer what is asked, first choice first.

        First what the feature's own remedies name, then parts by price, then work by hours. Each is
        worked out when its turn comes: mostly the first will do.
        """
        if demand.features not in self._ranked:
            self._ranked[demand.features] = self._rank(demand.features)
        for _, name, position in self._ranked[demand.features]:
            if (name, position) not in self._providers:
                self._providers[name, position] = (
                    self.part_provider(self.shop.parts[name], position)
                    if position
                    else self.work_provider(self.shop.works[name])
                )
            yield self._providers[name, position]

    def _rank(self, features: tuple[str, ...]) -> list[tuple[Rank, str, str]]:
        """Rank, part and position; or rank, work and no position."""
        hints = {
            entry[key]: number
            for feature in features
            if feature in self.shop.features
            for number, entry in enumerate(self.shop.features[feature].remedies)
            for key in ("add", "work")
            if key in entry
        }
        places, works = self.offering(features)
        family = self.settled.variant.family
        ranked: list[tuple[Rank, str, str]] = []
        for name, position in places:
            families = self.shop.parts[name].families
            if not families or family in families:
                ranked.append(((hints.get(name, 99), 0, self.shop.least_prices[name], name), name, position))
        for name in works:
            work = self.shop.works[name]
            if work.on in self.settled.fitted:
                ranked.append(((hints.get(name, 99), 1, work.hours, name), name, ""))
        return sorted(ranked, key=lambda entry: entry[0])

    def offering(self, features: Iterable[str]) -> tuple[list[tuple[str, str]], list[str]]:
        """Every part with a position it fills, and every piece of work, that offers one of the features."""
        places: dict[tuple[str, str], None] = {}
        works: dict[str, None] = {}
        for feature in features:
            kind, _, name = feature.partition(":")
            if kind == "position":
                places |= dict.fromkeys((part, name) for part in self.shop.fillers[name])
            elif kind == "work":
                works[name] = None
            else:
                for owner, thing, _ in self.shop.offerers[feature]:
                    if owner == "work":
                        works[thing] = None
                    else:
                        places |= dict.fromkeys((thing, place) for place in self.shop.parts[thing].fills)
        return list(places), list(works)

    def part_provider(self, part: Part, position: str) -> Provider:
        """A part as a provider in one of its positions."""
        supplies = [
            self.supply(part.part, offer)
            for i, offer in enumerate(part.offers)
            if self.likely(part.part, "offers", i)
        ]
        supplies.append(Supply(part.part, f"position:{position}"))
        return Provider(
            part.part,
            (position,),
            tuple(supplies),
            tuple(
                self.demand(part.part, need)
                for i, need in enumerate(part.needs)
                if self.likely(part.part, "needs", i)
            ),
            frozenset(part.never_with),
        )

    def likely(self, part: str, field: str, number: int) -> bool:
        """Whether a candidate's condition holds; what only its own specs could decide is taken as holding."""
        condition = self.settled.book.conditions.get(("part", part, field, number))
        if condition is None:
            return True
        try:
            value = condition.run(self.world)
        except Absent:
            return True
        return isinstance(value, Missing) or value is True

    def work_provider(self, work: Work) -> Provider:
        """A piece of work as a provider; work that it forces comes as its own demands."""
        supplies = [self.supply(work.work, offer) for offer in work.offers]
        demands = [self.demand(work.work, need) for need in work.needs]
        demands += [Demand(work.work, (f"work:{name}",)) for name in work.forces]
        return Provider(
            work.work, (), (*supplies, Supply(work.work, f"work:{work.work}")), tuple(demands), frozenset()
        )
