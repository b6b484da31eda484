"""From a settled build to the question of needs: who offers what, who asks for what, and who could be added."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from functools import cached_property
from heapq import merge
from typing import TypeVar

from compat.checking.gathering import Gathered
from compat.checking.needs import Demand, Provider, Supply
from compat.checking.resting import Resting
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.expressions import Expression
from compat.rulebook.influence import Fact, facts_of
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.values import Absent, Missing, Number
from compat.shop.models import Need, Offer, Part, Work
from compat.shop.shop import Shop

__all__ = ["Cards", "Market"]

T = TypeVar("T")


@record(slots=True)
class Card:
    """What one part or piece of work offers and asks, each with its condition."""

    supplies: tuple[tuple[Supply, Expression | None], ...]
    demands: tuple[tuple[Demand, Expression | None], ...]


class Cards:
    """The cards of one shop's parts and works, each written once for so many pieces: equal offers are one.

    Threads may share it: whoever writes a card writes the same.
    """

    def __init__(self, shop: Shop, book: Rulebook) -> None:
        self.shop = shop
        self.book = book
        self.resting = Resting(book)
        self._facts: dict[str, frozenset[Fact]] = {}
        self._cards: dict[tuple[str, str, int], Card] = {}
        self._places: dict[tuple[str, str, int], Supply] = {}
        self._asked: dict[tuple[str, int, tuple[tuple[str, str], ...]], Demand] = {}
        self._forced: dict[tuple[str, str], Demand] = {}

    def hangs_on(self, name: str) -> frozenset[Fact]:
        """Everything that the offers and needs of a part or piece of work hang on."""
        found = self._facts.get(name)
        if found is None:
            conditions = []
            for kind, things in (("part", self.shop.parts), ("work", self.shop.works)):
                thing = things.get(name)
                for field, entries in (("offers", thing.offers), ("needs", thing.needs)) if thing else ():
                    keys = ((kind, name, field, number) for number in range(len(entries)))
                    conditions += [self.book.conditions[key] for key in keys if key in self.book.conditions]
            found = self._facts[name] = frozenset(facts_of(self.book.gather(conditions)))
        return found

    def of(self, kind: str, name: str, pieces: int = 1) -> Card:
        """The card of a part, of which so many pieces are fitted, or of a piece of work."""
        card = self._cards.get((kind, name, pieces))
        if card is None:
            thing: Part | Work = self.shop.parts[name] if kind == "part" else self.shop.works[name]
            condition = self.book.conditions.get
            card = self._cards[kind, name, pieces] = Card(
                tuple(
                    (self._supply(name, offer, pieces), condition((kind, name, "offers", number)))
                    for number, offer in enumerate(thing.offers)
                ),
                tuple(
                    (self._demand(name, need, pieces), condition((kind, name, "needs", number)))
                    for number, need in enumerate(thing.needs)
                ),
            )
        return card

    def _supply(self, owner: str, offer: Offer, pieces: int) -> Supply:
        used_up = self.shop.features[offer.feature].used_up
        matching = tuple(sorted(offer.matching.items()))
        return Supply(owner, offer.feature, offer.units(pieces), matching, used_up)

    def _demand(self, owner: str, need: Need, pieces: int) -> Demand:
        # what is not used up serves all pieces at once
        used_up = any(self.shop.features[feature].used_up for feature in need.features)
        units = need.units(pieces) if used_up else need.count
        return Demand(owner, need.features, units, tuple(sorted(need.matching.items())))

    def place(self, owner: str, feature: str, pieces: int = 1) -> Supply:
        """A position filled with so many pieces, or done work, as something offered."""
        supply = self._places.get((owner, feature, pieces))
        if supply is None:
            supply = self._places[owner, feature, pieces] = Supply(owner, feature, pieces)
        return supply

    def forced(self, owner: str, work: str) -> Demand:
        """Work that other work drags in."""
        demand = self._forced.get((owner, work))
        if demand is None:
            demand = self._forced[owner, work] = Demand(owner, (f"work:{work}",))
        return demand

    def asked(self, rule: BoundRule, count: int, said: Mapping[str, str]) -> Demand:
        """What a need rule asks, with what specs say that it must agree on."""
        need = rule.rule.need
        assert need is not None
        matching = tuple(sorted({**need.matching, **said}.items()))
        key = (rule.rule.rule, count, matching)
        demand = self._asked.get(key)
        if demand is None:
            feature = need.feature or (f"work:{need.work}" if need.work else f"position:{need.position}")
            demand = self._asked[key] = Demand(f"rule:{key[0]}", (feature,), count, matching, takes=False)
        return demand


class Market:
    """Supplies, demands and providers of one build."""

    def __init__(self, world: BuildWorld, cards: Cards | None = None) -> None:
        self.world = world
        self.settled = world.settled
        self.shop = world.settled.shop
        self.cards = Cards(self.shop, self.settled.book) if cards is None else cards
        self._ranked: dict[tuple[str, ...], Gathered[tuple[str, str]]] = {}
        self._providers: dict[tuple[str, str], Provider] = {}

    @cached_property
    def pieces(self) -> dict[str, int]:
        """How many pieces every position takes."""
        return self.settled.pieces()

    def supplies(self) -> list[Supply]:
        """What the build offers as it stands; a filled position and done work count as features."""
        found: list[Supply] = []
        for position, entry in self.settled.fitted.items():
            name, pieces = entry.part.part, self.pieces[position]
            if pieces:
                if entry.part.offers:
                    self._add(found, self.cards.of("part", name, pieces).supplies, undecided=False)
                found.append(self.cards.place(name, f"position:{position}", pieces))
        for work in self.works():
            self._add(found, self.cards.of("work", work).supplies, undecided=False)
            found.append(self.cards.place(work, f"work:{work}"))
        return found

    def works(self) -> list[str]:
        """Work that the build names."""
        return [work.work for work, _ in self.settled.works]

    def demands(self, rules: Iterable[BoundRule]) -> list[Demand]:
        """What parts, work and the given need rules ask."""
        found: list[Demand] = []
        fitted: dict[str, int] = {}
        for position, entry in self.settled.fitted.items():
            # a part that stands in several positions is one thing with one card
            if entry.part.needs:
                fitted[entry.part.part] = max(fitted.get(entry.part.part, 0), self.pieces[position])
        for name, pieces in fitted.items():
            if pieces:
                self._add(found, self.cards.of("part", name, pieces).demands, undecided=True)
        for work in self.works():
            self._add(found, self.cards.of("work", work).demands, undecided=True)
        for forced, by in self.settled.forced.items():
            found.append(self.cards.forced(by, forced))
        found += self.demands_of(rules)
        outside = self.settled.outside
        return found if outside is None else [each for each in found if not outside.asks_in_vain(each)]

    def demands_of(self, rules: Iterable[BoundRule]) -> list[Demand]:
        """What need rules ask."""
        found: list[Demand] = []
        for rule in rules:
            if count := self.count(rule):
                said = {key: str(entry.run(self.world)) for key, entry in rule.matching.items()}
                found.append(self.cards.asked(rule, count, said))
        return found

    def _add(self, found: list[T], entries: Iterable[tuple[T, Expression | None]], *, undecided: bool) -> None:
        """Add every entry whose condition holds; where that is not known, needs count and offers do not."""
        for entry, condition in entries:
            if condition is None or self.world.decide(condition, undecided=undecided):
                found.append(entry)

    def count(self, rule: BoundRule) -> int:
        """How many units a need rule asks."""
        if rule.count is None:
            return 1
        try:
            value = rule.count.run(self.world)
        except Absent:
            return 0
        return max(0, round(value.x)) if isinstance(value, Number) else 1

    def excluded(self) -> set[str]:
        """Parts that something in the build cannot stand beside."""
        return {name for entry in self.settled.fitted.values() for name in entry.part.never_with}

    # who could be added

    def providers(self, demand: Demand) -> Iterator[Provider]:
        """Parts and work that offer what is asked, first choice first.

        First what the variant left the factory with, then what the feature's own remedies name, then parts by
        price, then work by hours. Each is worked out when its turn comes: mostly the first will do.
        """
        if demand.features not in self._ranked:
            self._ranked[demand.features] = Gathered(self._rank(demand.features))
        for name, position in self._ranked[demand.features]:
            if (name, position) not in self._providers:
                self._providers[name, position] = (
                    self.part_provider(self.shop.parts[name], position)
                    if position
                    else self.work_provider(self.shop.works[name])
                )
            yield self._providers[name, position]

    def let_go(self) -> None:
        """Forget who could be added: iterators that stopped half way hold on to the build."""
        self._ranked.clear()

    def _rank(self, features: tuple[str, ...]) -> Iterator[tuple[str, str]]:
        """Part and position, or work and no position, first choice first."""
        hints = {
            entry[key]: number
            for feature in features
            if feature in self.shop.features
            for number, entry in enumerate(self.shop.features[feature].remedies)
            for key in ("add", "work")
            if key in entry
        }
        works, parts, price = self._works_offering(features), self.shop.parts, self.shop.least_price
        own = self._own(features)
        yield from own
        for number in sorted(set(hints.values())):
            names = [name for name, place in hints.items() if place == number]
            for name in sorted((n for n in names if n in parts), key=lambda n: (price(n), n)):
                yield from self._places(parts[name], features, own)
            yield from self._by_hours(works.intersection(names))
        tried = set(hints)
        for candidate in merge(*(self.shop.cheapest(feature) for feature in features)):
            if candidate.part not in tried and self._suits(candidate.families):
                tried.add(candidate.part)
                yield from self._places(parts[candidate.part], features, own)
        yield from self._by_hours(works.difference(hints))

    def _own(self, features: tuple[str, ...]) -> dict[tuple[str, str], None]:
        """The variant's own parts that offer one of the features, each where it stood."""
        own = self.settled.variant.parts
        found: dict[tuple[str, str], None] = {}
        for feature in features:
            kind, _, name = feature.partition(":")
            if kind == "position":
                found |= dict.fromkeys([(own[name], name)] if name in own else [])
            elif kind != "work":
                names = {thing for owner, thing, _ in self.shop.offerers[feature] if owner == "part"}
                found |= dict.fromkeys((part, place) for place, part in own.items() if part in names)
        return found

    def _suits(self, families: tuple[str, ...]) -> bool:
        return not families or self.settled.variant.family in families

    def _places(
        self, part: Part, features: tuple[str, ...], said: Container[tuple[str, str]]
    ) -> Iterator[tuple[str, str]]:
        """The positions in which a part offers one of the features, when it suits the engine at all."""
        if not self._suits(part.families):
            return
        places: dict[str, None] = {}
        for feature in features:
            kind, _, name = feature.partition(":")
            if kind == "position":
                places |= dict.fromkeys([name] if name in part.fills else [])
            elif any(offer.feature == feature for offer in part.offers):
                places |= dict.fromkeys(part.fills)
        yield from ((part.part, place) for place in places if (part.part, place) not in said)

    def _works_offering(self, features: Iterable[str]) -> set[str]:
        works: set[str] = set()
        for feature in features:
            kind, _, name = feature.partition(":")
            if kind == "work":
                works.add(name)
            elif kind != "position":
                works |= {thing for owner, thing, _ in self.shop.offerers[feature] if owner == "work"}
        return works

    def _by_hours(self, works: Iterable[str]) -> Iterator[tuple[str, str]]:
        found = (self.shop.works[name] for name in works)
        family = self.shop.families[self.settled.variant.family]
        for work in sorted(found, key=lambda work: (work.hours_on(family), work.work)):
            if work.on in self.settled.fitted:
                yield work.work, ""

    def part_provider(self, part: Part, position: str) -> Provider:
        """A part as a provider in one of its positions."""
        pieces = self.settled.count(position, part.part)
        card = self.cards.of("part", part.part, pieces)
        supplies = [supply for supply, condition in card.supplies if self.likely(condition)]
        return Provider(
            part.part,
            (position,),
            (*supplies, self.cards.place(part.part, f"position:{position}", pieces)),
            tuple(demand for demand, condition in card.demands if self.likely(condition)),
            frozenset(part.never_with),
        )

    def likely(self, condition: Expression | None) -> bool:
        """Whether a candidate's condition holds; what only its own specs could decide is taken as holding."""
        if condition is None:
            return True
        try:
            value = condition.run(self.world)
        except Absent:
            return True
        return isinstance(value, Missing) or value is True

    def work_provider(self, work: Work) -> Provider:
        """A piece of work as a provider; work that it forces comes as its own demands."""
        card = self.cards.of("work", work.work)
        supplies = [supply for supply, _ in card.supplies]
        demands = [demand for demand, _ in card.demands]
        demands += [self.cards.forced(work.work, name) for name in work.forces]
        done = self.cards.place(work.work, f"work:{work.work}")
        return Provider(work.work, (), (*supplies, done), tuple(demands), frozenset())
