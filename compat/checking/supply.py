"""From a settled build to the question of needs: who offers what, who asks for what, and who could be added."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import TypeVar

from compat.checking.gathering import Gathered
from compat.checking.needs import Demand, Provider, Supply
from compat.checking.ranking import ranked
from compat.checking.resting import Resting
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.expressions import Expression
from compat.rulebook.influence import Fact, facts_of
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.values import Absent, Missing, Number
from compat.shop.models import Need, Offer, Part, Variant, Work
from compat.shop.shop import Shop

__all__ = ["Cards", "Market"]

T = TypeVar("T")


@record(slots=True)
class Card:
    """What one part or piece of work offers and asks, each with its condition."""

    supplies: tuple[tuple[Supply, Expression | None], ...]
    demands: tuple[tuple[Demand, Expression | None], ...]
    conditions: tuple[tuple[int, Expression], ...]
    """Which of all these, offers first, hang on a condition, and on which."""


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
        self._ranked: dict[tuple[str, tuple[str, ...]], Gathered[tuple[str, str]]] = {}
        self._standing: dict[tuple[str, str, int, frozenset[int]], Provider] = {}
        self._doing: dict[str, Provider] = {}

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
            supplies = tuple(
                (self._supply(name, offer, pieces), condition((kind, name, "offers", number)))
                for number, offer in enumerate(thing.offers)
            )
            demands = tuple(
                (self._demand(name, need, pieces), condition((kind, name, "needs", number)))
                for number, need in enumerate(thing.needs)
            )
            held = enumerate([held for _, held in (*supplies, *demands)])
            hanging = tuple((number, one) for number, one in held if one is not None)
            card = self._cards[kind, name, pieces] = Card(supplies, demands, hanging)
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
        key = (rule.rule.rule, count, tuple(said.items()))
        demand = self._asked.get(key)
        if demand is None:
            matching = tuple(sorted({**need.matching, **said}.items()))
            feature = need.feature or (f"work:{need.work}" if need.work else f"position:{need.position}")
            demand = self._asked[key] = Demand(f"rule:{key[0]}", (feature,), count, matching, takes=False)
        return demand

    def ranked(self, variant: Variant, features: tuple[str, ...]) -> Iterable[tuple[str, str]]:
        """Who could be added to builds of a variant for one of some features, first choice first."""
        key = (variant.variant, features)
        found = self._ranked.get(key)
        if found is None:
            found = self._ranked.setdefault(key, Gathered(ranked(self.shop, variant, features)))
        return found

    def standing(self, part: Part, position: str, pieces: int, unlikely: frozenset[int]) -> Provider:
        """A part as a provider in one of its positions; without the offers and needs of some numbers."""
        key = (part.part, position, pieces, unlikely)
        found = self._standing.get(key)
        if found is None:
            card = self.of("part", part.part, pieces)
            entries = enumerate([entry for entry, _ in (*card.supplies, *card.demands)])
            likely = [entry for number, entry in entries if number not in unlikely]
            found = self._standing[key] = Provider(
                part.part,
                (position,),
                (
                    *(entry for entry in likely if isinstance(entry, Supply)),
                    self.place(part.part, f"position:{position}", pieces),
                ),
                tuple(entry for entry in likely if isinstance(entry, Demand)),
                frozenset(part.never_with),
            )
        return found

    def doing(self, name: str) -> Provider:
        """A piece of work as a provider; work that it forces comes as its own demands."""
        found = self._doing.get(name)
        if found is None:
            card, work = self.of("work", name), self.shop.works[name]
            found = self._doing[name] = Provider(
                name,
                (),
                (*(supply for supply, _ in card.supplies), self.place(name, f"work:{name}")),
                (*(demand for demand, _ in card.demands), *(self.forced(name, other) for other in work.forces)),
            )
        return found


class Market:
    """Supplies, demands and providers of one build."""

    def __init__(self, world: BuildWorld, cards: Cards | None = None) -> None:
        self.world = world
        self.settled = world.settled
        self.shop = world.settled.shop
        self.cards = Cards(self.shop, self.settled.book) if cards is None else cards
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

        Each is worked out when its turn comes: mostly the first will do.
        """
        for name, position in self.cards.ranked(self.settled.variant, demand.features):
            provider = self._providers.get((name, position))
            if provider is None:
                if not position and self.shop.works[name].on not in self.settled.fitted:
                    continue
                provider = self._providers[name, position] = (
                    self.part_provider(self.shop.parts[name], position) if position else self.cards.doing(name)
                )
            yield provider

    def part_provider(self, part: Part, position: str) -> Provider:
        """A part as a provider in one of its positions."""
        pieces = self.settled.count(position, part.part)
        card = self.cards.of("part", part.part, pieces)
        unlikely = frozenset(number for number, condition in card.conditions if not self.likely(condition))
        return self.cards.standing(part, position, pieces, unlikely)

    def likely(self, condition: Expression) -> bool:
        """Whether a candidate's condition holds; what only its own specs could decide is taken as holding."""
        try:
            value = condition.run(self.world)
        except Absent:
            return True
        return isinstance(value, Missing) or value is True
