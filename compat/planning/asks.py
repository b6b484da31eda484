"""What is asked of what is offered: parts and work that something needs, and features that are used up."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product

from compat.checking.judged import asks
from compat.checking.needs import Demand
from compat.checking.supply import Market
from compat.planning.cells import Cells
from compat.planning.cuts import Ask, Box, Share, cover
from compat.planning.grounds import Ground, Grounds
from compat.planning.growing import Grower
from compat.planning.pieces import MANY, pieces_of
from compat.planning.renewing import within
from compat.planning.space import Decision, Option, Space
from compat.planning.tables import EAGER
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundRule
from compat.shop.models import Part, Work

__all__ = ["Asks"]


@dataclass(frozen=True, slots=True)
class Offering:
    """So many units that an option offers at most."""

    decision: int
    option: int
    units: int
    matching: Mapping[str, str]
    condition: Expression | None = None
    boxed: bool = False

    def suits(self, demand: Demand) -> bool:
        """Whether it agrees on all that a demand states."""
        return all(self.matching.get(key, word) == word for key, word in demand.matching)


class Asks:
    """The needs of a space.

    Parameters
    ----------
    space, grounds, cells
        The space, what its rules rest on, and what asks them.
    """

    def __init__(self, space: Space, grounds: Grounds, cells: Cells) -> None:
        self.space = space
        self.shop, self.book = space.shop, space.book
        self.grounds = grounds
        self.cells = cells
        self.offerings: dict[str, list[Offering]] = {}
        for number, decision in enumerate(space.decisions):
            for index, option in enumerate(decision.options):
                self._offer(number, index, decision, option)

    def _offer(self, number: int, index: int, decision: Decision, option: Option) -> None:
        if decision.kind == "work":
            if option.works:
                work = self.shop.works[decision.name]
                self._enter(f"work:{work.work}", Offering(number, index, len(option.works), {}))
                self._enter_offers("work", decision.name, len(option.works), number, index)
        elif decision.kind == "position":
            entry = self.space.fitted(decision.name, option)
            if entry is not None:
                pieces = pieces_of(self.space, decision.name, option)[1]
                self._enter(f"position:{decision.name}", Offering(number, index, pieces, {}))
                self._enter_offers("part", entry.part.part, pieces, number, index)
                for place, part in self._boxed(option):
                    self._enter(f"position:{place}", Offering(number, index, MANY, {}, None, True))
                    self._enter_offers("part", part, MANY, number, index, boxed=True)

    def _boxed(self, option: Option) -> Iterator[tuple[str, str]]:
        if option.how not in ("fit", "sister"):
            return
        waiting, seen = [option.part], {option.part}
        while waiting:
            for other in self.shop.parts[waiting.pop()].includes:
                yield from ((place, other) for place in self.shop.parts[other].fills)
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)

    def _enter(self, feature: str, offering: Offering) -> None:
        self.offerings.setdefault(feature, []).append(offering)

    def _enter_offers(
        self, kind: str, name: str, pieces: int, number: int, index: int, boxed: bool = False
    ) -> None:
        for which, offer in enumerate(self.shop.of_kind(kind)[name].offers):
            condition = self.book.conditions.get((kind, name, "offers", which))
            units = offer.units(pieces)
            self._enter(offer.feature, Offering(number, index, units, offer.matching, condition, boxed))

    def suited(self, demand: Demand) -> tuple[tuple[int, int, int], ...]:
        """Options that may offer what a demand asks, with the units each offers at most."""
        units: dict[tuple[int, int], int] = {}
        for feature in dict.fromkeys(demand.features):
            for one in self.offerings.get(feature, ()):
                if one.suits(demand):
                    key = (one.decision, one.option)
                    units[key] = units.get(key, 0) + one.units
        return tuple((d, o, n) for (d, o), n in units.items())

    def used_up(self, feature: str) -> bool:
        """Whether a feature is used up when it is taken."""
        known = self.shop.features.get(feature)
        return known is not None and known.used_up

    def wanted(self, demand: Demand) -> int:
        """How many units at least must be offered for a demand to be met."""
        if demand.takes and not any(map(self.used_up, demand.features)):
            return 1  # whoever takes what is not used up shares it
        if demand.takes and not all(map(self.used_up, demand.features)):
            return 1
        return demand.count

    # beforehand

    def eager(self) -> Iterator[Ask | Box | Share]:
        """All that can be said of needs beforehand."""
        yield from self._forced()
        for rule in self.book.needs.values():
            yield from self._of_rule(rule)
        yield from self._of_options()
        yield from self._shares()

    def _forced(self) -> Iterator[Ask]:
        """Work that other work drags in is named too, with its size."""
        for number, decision in enumerate(self.space.decisions):
            done = frozenset(n for n, option in enumerate(decision.options) if option.works)
            if decision.kind == "work" and done:
                for forced in self.shop.works[decision.name].forces:
                    demand = Demand(decision.name, (f"work:{forced}",))
                    yield Ask(((number, done),), 1, self.suited(demand), f"work-{forced}")

    def _of_rule(self, rule: BoundRule) -> Iterator[Ask | Box]:
        ground = self.grounds.of_rule(rule)
        if ground.joints or ground.cells > EAGER:
            return
        sizes = [len(classes) for classes in ground.classes]
        asking: dict[Demand | None, set[tuple[int, ...]]] = {}
        choice = list(self.space.start)
        for cell in product(*map(range, sizes)):
            for index, decision in enumerate(ground.decisions):
                choice[decision] = ground.options(index, cell[index])[0]
            world = self.cells.world(ground, choice)
            found = asks(world, rule)
            if found is True:
                for asked in Market(world, None).demands_of([rule]):
                    asking.setdefault(asked, set()).add(cell)
            elif found is not False and self.cells.standard.fails(found):
                asking.setdefault(None, set()).add(cell)
        for demand, where in asking.items():
            added = None
            if demand is not None and rule.rule.fails_as not in self.cells.standard.failing:
                added = self._added(demand)
                if added is None:
                    continue
            for box in cover(where, sizes):
                sides = self._sides(ground, box, sizes)
                if demand is None:
                    yield Box(sides, rule.rule.rule)
                else:
                    yield Ask(sides, self.wanted(demand), self.suited(demand), rule.rule.rule, added)

    def _added(self, demand: Demand) -> int | None:
        """The work that a check adds for a demand which no build fails for: one that asks it, and it alone."""
        kind, _, work = demand.features[0].partition(":")
        return self.space.number.get(f"work:{work}") if kind == "work" and len(demand.features) == 1 else None

    @staticmethod
    def _sides(
        ground: Ground, box: tuple[frozenset[int], ...], sizes: list[int]
    ) -> tuple[tuple[int, frozenset[int]], ...]:
        return tuple(
            (decision, frozenset(o for number in box[index] for o in ground.options(index, number)))
            for index, decision in enumerate(ground.decisions)
            if len(box[index]) < sizes[index]
        )

    def _of_options(self) -> Iterator[Ask]:
        """What parts and work ask without condition, or on one that few decisions settle."""
        for number, index, kind, name, pieces in self._owners():
            for which, need in enumerate(self.shop.of_kind(kind)[name].needs):
                used_up = any(map(self.used_up, need.features))
                units = need.units(pieces) if used_up else need.count
                demand = Demand(name, need.features, units, tuple(sorted(need.matching.items())))
                condition = self.book.conditions.get((kind, name, "needs", which))
                for sides in within(self.space, self.grounds, self.cells, number, index, condition):
                    yield Ask(sides, self.wanted(demand), self.suited(demand), f"need-{need.features[0]}")

    def _owners(self) -> Iterator[tuple[int, int, str, str, int]]:
        for number, decision in enumerate(self.space.decisions):
            for index, option in enumerate(decision.options):
                if decision.kind == "work" and option.works:
                    yield number, index, "work", decision.name, 1
                elif decision.kind == "position":
                    entry = self.space.fitted(decision.name, option)
                    if entry is not None and entry.part.needs and not self._unpacked(number, option):
                        pieces = pieces_of(self.space, decision.name, option)[0]
                        if pieces:
                            yield number, index, "part", entry.part.part, pieces

    def _unpacked(self, number: int, option: Option) -> bool:
        """Whether what comes in a box may stand in place of the option's own part."""
        return option.how == "own" and bool(self.space.bringers.get(self.space.decisions[number].name))

    def _shares(self) -> Iterator[Share]:
        """What used-up features are asked for in all, against what is offered of them in all."""
        groups: dict[tuple[tuple[str, ...], tuple[tuple[str, str], ...]], dict[tuple[int, int], int]] = {}
        once: set[str] = set()
        for number, index, kind, name, pieces in self._owners():
            if kind == "part" and self._elsewhere(self.shop.parts[name]):
                continue  # one card, however many places the part stands in
            once.add(name)
            for which, need in enumerate(self.shop.of_kind(kind)[name].needs):
                conditional = (kind, name, "needs", which) in self.book.conditions
                if conditional or not all(map(self.used_up, need.features)):
                    continue
                key = (tuple(sorted(need.features)), tuple(sorted(need.matching.items())))
                asked = groups.setdefault(key, {})
                asked[number, index] = asked.get((number, index), 0) + need.units(pieces)
        for (features, matching), asked in groups.items():
            told = tuple((d, o, n) for (d, o), n in asked.items())
            yield Share(told, self.suited(Demand("", features, 1, matching)), f"need-{features[0]}")
        for names in _joined([features for features, _ in groups]):
            total: dict[tuple[int, int], int] = {}
            for (features, _), asked in groups.items():
                if names.issuperset(features):
                    for option, units in asked.items():
                        total[option] = total.get(option, 0) + units
            told = tuple((d, o, n) for (d, o), n in total.items())
            yield Share(told, self.suited(Demand("", tuple(sorted(names)))), f"need-{min(names)}")

    def _elsewhere(self, part: Part) -> bool:
        return sum(place in self.space.number for place in part.fills) > 1

    # when something is found open

    def of_shortage(self, demand: Demand, choice: tuple[int, ...], grower: Grower) -> Iterator[Ask | Box]:
        """What must be otherwise for a demand that a choice leaves open.

        Parameters
        ----------
        demand : Demand
            What is open.
        choice : tuple of int
            The choice that leaves it open.
        grower : Grower
            What finds for how many choices more a rule asks it.

        Yields
        ------
        Ask or Box
            Sound in every case; what rules the choice out comes last.
        """
        space = self.space
        decisions: dict[int, frozenset[int]] = {}

        def same(ground: Ground) -> None:
            for axis, number in enumerate(ground.decisions):
                group = ground.options(axis, ground.classes_of(choice)[axis])
                decisions[number] = decisions.get(number, frozenset(group)) & frozenset(group)

        wide = grower.asking(self.book.rules[demand.rule], choice) if demand.rule else None
        if wide is not None:
            decisions.update(wide.sides)
        elif demand.rule:
            same(self.grounds.of_rule(self.book.rules[demand.rule]))
        else:
            self._same_owner(demand, choice, decisions, same)
        offered = []
        for feature in dict.fromkeys(demand.features):
            for one in self.offerings.get(feature, ()):
                if not one.suits(demand):
                    continue
                if choice[one.decision] == one.option and (one.condition is not None or one.boxed):
                    # it is there and does not help: its condition stays as it is, or it counts
                    if one.condition is not None:
                        same(self.grounds.of([one.condition]))
                    decisions[one.decision] = frozenset([one.option])
                    continue
                offered.append((one.decision, one.option, one.units))
        name = demand.rule or f"need-{demand.features[0]}"
        yield Ask(tuple(sorted(decisions.items())), self.wanted(demand), tuple(offered), name)
        features = self._around(demand)
        for condition in self._conditions(features):
            same(self.grounds.of([condition]))
        sides = dict(decisions)
        for number, decision in enumerate(space.decisions):
            if number not in sides and len(decision.options) > 1 and self._bears(decision, features):
                group = [
                    n
                    for n, o in enumerate(decision.options)
                    if self._alike(decision, o, decision.options[choice[number]])
                ]
                sides[number] = frozenset(group)
        yield Box(tuple(sorted(sides.items())), name)

    def _same_owner(
        self,
        demand: Demand,
        choice: tuple[int, ...],
        decisions: dict[int, frozenset[int]],
        same: Callable[[Ground], None],
    ) -> None:
        space = self.space
        for number, decision in enumerate(space.decisions):
            option = decision.options[choice[number]]
            entry = space.fitted(decision.name, option) if decision.kind == "position" else None
            owns = decision.kind == "work" and decision.name == demand.owner
            owns = owns or (entry is not None and entry.part.part == demand.owner)
            owns = owns or any(part == demand.owner for _, part in self._boxed(option))
            if owns or (decision.kind == "position" and demand.owner in space.shop.fillers[decision.name]):
                decisions[number] = frozenset([choice[number]])
        for kind, things in (("part", self.shop.parts), ("work", self.shop.works)):
            thing = things.get(demand.owner)
            for which in range(len(thing.needs) if thing is not None else 0):
                condition = self.book.conditions.get((kind, demand.owner, "needs", which))
                if condition is not None:
                    same(self.grounds.of([condition]))

    def _around(self, demand: Demand) -> frozenset[str]:
        """Features that have to do with a demand, by way of others that ask for several."""
        features = set(demand.features)
        things: list[Part | Work] = [*self.shop.parts.values(), *self.shop.works.values()]
        groups = [need.features for thing in things for need in thing.needs]
        while more := {f for group in groups if features & set(group) for f in group} - features:
            features |= more
        return frozenset(features)

    def _conditions(self, features: frozenset[str]) -> Iterator[Expression]:
        """Conditions of all that offers or asks any of some features."""
        for (kind, name, field, which), condition in self.book.conditions.items():
            if field == "offers" and self.shop.of_kind(kind)[name].offers[which].feature in features:
                yield condition
            if field == "needs" and features & set(self.shop.of_kind(kind)[name].needs[which].features):
                yield condition

    def _bears(self, decision: Decision, features: frozenset[str]) -> bool:
        return any(self._said(decision, option, features) for option in decision.options)

    def _said(self, decision: Decision, option: Option, features: frozenset[str]) -> bool:
        things: list[Part | Work] = []
        if decision.kind == "work":
            things += [self.shop.works[decision.name]] if option.works else []
            own = {f"work:{decision.name}"}
        elif decision.kind == "position":
            entry = self.space.fitted(decision.name, option)
            things += [entry.part] if entry is not None else []
            things += [self.shop.parts[part] for _, part in self._boxed(option)]
            own = {f"position:{decision.name}", *(f"position:{place}" for place, _ in self._boxed(option))}
        else:
            return False
        said = {offer.feature for thing in things for offer in thing.offers}
        said |= {feature for thing in things for need in thing.needs for feature in need.features}
        return bool(features & (said | own))

    @staticmethod
    def _alike(decision: Decision, one: Option, other: Option) -> bool:
        return one.part == other.part and one.works == other.works and one.how == other.how


def _joined(groups: Iterable[tuple[str, ...]]) -> list[frozenset[str]]:
    """Features that are asked for together, by way of each other too."""
    joined: list[set[str]] = []
    for group in groups:
        own = set(group)
        for other in [each for each in joined if each & own]:
            joined.remove(other)
            own |= other
        joined.append(own)
    return [frozenset(each) for each in joined]
