"""Boxes of options over which a rule surely fails, grown from one choice that does.

A box names for some decisions a set of options each; every choice with its options in all of these sets fails
the rule, whatever else is decided. Options that look alike to a rule are one to it. Whether a box fails is
proven by bounds; where they are too wide the box is cut in two and each half proven, within limits of patience.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from compat.planning.bounds import Bounds
from compat.planning.failing import fails
from compat.planning.masks import Masks, halved, members, within
from compat.planning.ranges import Range, united
from compat.planning.readings import Option, Readings, leaves_of, unbounded
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.trees import Tree

__all__ = ["Box", "Boxes", "Question"]

MOST_READINGS = 4096
"""So many ways of deciding are looked at for one leaf; beyond, nothing is said of it."""
PATIENCE = 24
"""So many halves of a box are tried before it is given up as not proven."""
MOST_RUNS = 200
"""So often heavy formulas are asked to widen one choice."""
HEAVY_ORDERS = 1


@dataclass(frozen=True)
class Box:
    """Options over which a rule fails; a decision that is not named may be decided any way."""

    rule: str
    options: Mapping[str, frozenset[Option]]

    def holds(self, choice: Mapping[str, Option]) -> bool:
        """Whether a choice lies in the box."""
        return all(choice[decision] in options for decision, options in self.options.items())


class Question:
    """One rule, asked over options.

    Parameters
    ----------
    rule : BoundRule
        The rule.
    readings : Readings
        What its leaves are.
    """

    def __init__(self, rule: BoundRule, readings: Readings) -> None:
        self.rule = rule
        self.readings = readings
        self.book = readings.book
        trees = [expression.tree for expression in rule.expressions()]
        self.leaves = tuple(leaves_of(self.book, trees))
        found: dict[str, None] = {}
        for leaf in self.leaves:
            found.update(dict.fromkeys(readings.deciders(leaf)))
        self.decisions = tuple(found)
        """Decisions on which the answer hangs."""
        self.place = {decision: number for number, decision in enumerate(self.decisions)}
        self._by_leaf = {
            leaf: tuple(self.place[decision] for decision in readings.deciders(leaf)) for leaf in self.leaves
        }
        self.groups = tuple(self._grouped(decision) for decision in self.decisions)
        """By decision the groups of options that are one to the rule, each with its options."""
        self.group = tuple(
            {option: number for number, group in enumerate(groups) for option in group}
            for groups in self.groups
        )
        self.all = tuple((1 << len(groups)) - 1 for groups in self.groups)
        self.pieced = any(leaf[0] == "spec" and readings.gauged(leaf[1], leaf[2]) for leaf in self.leaves)
        """Whether the rule looks at something measured piece by piece, of which bounds say nothing."""
        self._hulls: dict[tuple[Tree, Masks], Range] = {}
        self._figures: dict[tuple[str, Masks], Range] = {}
        self._figure_place: dict[str, Masks] = {}
        self._known: dict[Masks, bool] = {}
        self.heavy = self.book.takes_long(rule)
        """Whether a formula stands between that costs as much as all the rest of a check."""
        self.asked = 0
        """So many boxes were looked at."""
        self.runs = 0
        """So often a heavy formula was asked."""
        self._most: float = math.inf
        self._stuck = self._unmoved()

    def _unmoved(self) -> frozenset[int]:
        """Decisions that move a formula by arguments of which no direction is told: they are opened last."""
        found: set[int] = set()
        for name in self.book.gather(self.rule.expressions()).figures:
            figure = self.book.figures[name]
            formula = figure.formula
            if formula is None:
                continue
            tables = (formula.rises_with, formula.falls_with, formula.either_way)
            told = {key for table in tables for key in table.get(figure.result, ())}
            trees = [expression.tree for key, expression in figure.arguments.items() if key not in told]
            for leaf in leaves_of(self.book, trees):
                found.update(self._by_leaf[leaf])
        return frozenset(found)

    # options that are one

    def _grouped(self, decision: str) -> tuple[tuple[Option, ...], ...]:
        options = tuple(self.readings.domains[decision])
        own = [leaf for leaf in self.leaves if decision in self.readings.deciders(leaf)]
        if any(self._ways(leaf) > MOST_READINGS for leaf in own):
            return tuple((option,) for option in options)
        table: dict[tuple[Range, ...], list[Option]] = {}
        for option in options:
            table.setdefault(tuple(self._signature(own, decision, option)), []).append(option)
        return tuple(
            map(tuple, sorted(table.values(), key=lambda group: _order(self, own, decision, group[0])))
        )

    def _ways(self, leaf: Tree) -> int:
        if self.readings.additive(leaf):
            return 1  # each decision counts for itself
        return math.prod(len(self.readings.domains[other]) for other in self.readings.deciders(leaf))

    def _signature(self, leaves: Sequence[Tree], decision: str, option: Option) -> Iterator[Range]:
        for leaf in leaves:
            deciders = self.readings.deciders(leaf)
            apart = 1 if self.readings.additive(leaf) else None
            ways = [
                (option,) if other == decision else tuple(self.readings.domains[other])[:apart]
                for other in deciders
            ]
            for way in product(*ways):
                yield self.readings.reading(leaf, way)

    # asking

    def masks(self, choice: Mapping[str, Option]) -> Masks:
        """The smallest box that a choice lies in."""
        return tuple(
            1 << self.group[number][choice[decision]] for number, decision in enumerate(self.decisions)
        )

    def places(self, leaf: Tree) -> Masks:
        """Which of the question's decisions a leaf hangs on."""
        return self._by_leaf.get(leaf, ())

    def bounds(self, masks: Masks) -> Bounds:
        """What expressions can come to in a box."""
        return _BoxBounds(self, masks)

    def hull(self, leaf: Tree, masks: Masks) -> Range:
        """All that a leaf is in a box."""
        places = self._by_leaf.get(leaf)
        if places is None:
            return self.readings.reading(leaf, ())  # the duty of a load
        key = (leaf, tuple([masks[place] for place in places]))
        found = self._hulls.get(key)
        if found is None:
            found = self._hulls[key] = self._hull(leaf, places, key[1])
        return found

    def _hull(self, leaf: Tree, places: Masks, masks: Masks) -> Range:
        ways = [
            [group[0] for group in members(self.groups[place], mask)]
            for place, mask in zip(places, masks, strict=True)
        ]
        if self.readings.additive(leaf):
            return self._offered(leaf, ways)
        if math.prod(map(len, ways)) > MOST_READINGS:
            return unbounded(leaf)
        return united([self.readings.reading(leaf, way) for way in product(*ways)])

    def _offered(self, leaf: Tree, ways: Sequence[Sequence[Option]]) -> Range:
        """What is offered in all, from what each decision offers by itself."""
        start = tuple(options[0] for options in ways)
        base = self.readings.reading(leaf, start).low
        low = high = base
        for place, options in enumerate(ways):
            found = [
                self.readings.reading(leaf, (*start[:place], option, *start[place + 1 :])).low - base
                for option in options
            ]
            low, high = low + min(found), high + max(found)
        return Range(low, high)

    def fails(self, masks: Masks) -> bool:
        """Whether the rule surely fails all over a box, by bounds alone."""
        found = self._known.get(masks)
        if found is None:
            if self.runs >= self._most:
                return False
            self.asked += 1
            bounds = self.bounds(masks)
            found = self._known[masks] = not self.pieced and fails(self.rule, bounds)
            self.runs += bounds.runs
        return found

    def proven(self, masks: Masks, patience: int = PATIENCE) -> bool:
        """Whether the rule surely fails all over a box, by bounds of it or of its halves."""
        return self._halves(masks, [patience])

    def _halves(self, masks: Masks, left: list[int]) -> bool:
        if self.fails(masks):
            return True
        counts = [mask.bit_count() for mask in masks]
        most = max(counts, default=1)
        left[0] -= 1
        if most < 2 or left[0] <= 0:
            return False
        place = counts.index(most)
        return all(
            self._halves((*masks[:place], half, *masks[place + 1 :]), left) for half in halved(masks[place])
        )

    def figure_key(self, name: str, masks: Masks) -> tuple[str, Masks]:
        """A figure, and what a box says of the decisions that it hangs on."""
        places = self._figure_place.get(name)
        if places is None:
            found: dict[int, None] = {}
            for leaf in leaves_of(self.book, [("figure", name)]):
                found.update(dict.fromkeys(self._by_leaf[leaf]))
            places = self._figure_place[name] = tuple(found)
        return name, tuple([masks[place] for place in places])

    def box(self, masks: Masks) -> Box:
        """A box by its options; decisions that it leaves open are not named."""
        return Box(
            self.rule.rule.rule,
            {
                decision: frozenset(o for group in members(self.groups[n], masks[n]) for o in group)
                for n, decision in enumerate(self.decisions)
                if masks[n] != self.all[n]
            },
        )

    # growing

    def grow(self, choice: Mapping[str, Option], orders: int = 4, runs: int = MOST_RUNS) -> tuple[Box, ...]:
        """The largest boxes about a choice over which the rule surely fails, the widest first.

        Parameters
        ----------
        choice : mapping
            Option by decision; it fails the rule, and the answer is empty where bounds cannot tell so.
        orders : int
            So many orders of widening are tried.
        runs : int
            So often heavy formulas may be asked.
        """
        start = self.masks(choice)
        self._most = math.inf
        if not self.fails(start):
            return ()
        found: dict[Masks, None] = {}
        for order in self._orders(orders):
            self._most = self.runs + runs
            found[self._widened(start, order)] = None
        self._most = math.inf
        kept = [one for one in found if not any(within(one, other) for other in found if other != one)]
        kept.sort(key=lambda masks: (-self.share(masks), masks))
        return tuple(map(self.box, kept))

    def share(self, masks: Masks) -> float:
        """How much of all choices a box holds."""
        share = 1.0
        for number, mask in enumerate(masks):
            inside = sum(len(group) for group in members(self.groups[number], mask))
            share *= inside / max(len(self.readings.domains[self.decisions[number]]), 1)
        return share

    def _orders(self, most: int) -> Iterator[Sequence[int]]:
        """Orders of widening: largest first and last, then each decision of most options first in turn."""
        if self.heavy:
            most = min(most, HEAVY_ORDERS)
        by_size = sorted(range(len(self.decisions)), key=lambda n: (n in self._stuck, -len(self.groups[n]), n))
        orders = [by_size, by_size[::-1]]
        orders += [[n, *(other for other in by_size if other != n)] for n in by_size[1:]]
        yield from orders[:most]

    def _widened(self, masks: Masks, order: Sequence[int]) -> Masks:
        """A box that is opened as far as it still fails: whole decisions first, many at once, then options."""
        masks = self._opened(masks, order)
        for place in order:
            rest = self.all[place] & ~masks[place]
            if rest:
                masks = self._added(masks, place, rest)
        return masks

    def _opened(self, masks: Masks, order: Sequence[int]) -> Masks:
        """A box with so many of some decisions wholly open as still fail."""
        closed = [place for place in order if masks[place] != self.all[place]]
        if not closed:
            return masks
        wider = list(masks)
        for place in closed:
            wider[place] = self.all[place]
        if self.fails(tuple(wider)):
            return tuple(wider)
        if len(closed) == 1:
            return masks
        middle = (len(closed) + 1) // 2
        return self._opened(self._opened(masks, closed[:middle]), closed[middle:])

    def _added(self, masks: Masks, place: int, more: int) -> Masks:
        """A box with so many more groups of one decision as still fail."""
        wider = (*masks[:place], masks[place] | more, *masks[place + 1 :])
        if self._proven_beside(masks, place, more):
            return wider
        if more.bit_count() > 1:
            for half in halved(more):
                masks = self._added(masks, place, half)
        return masks

    def _proven_beside(self, masks: Masks, place: int, more: int) -> bool:
        """Whether a box still fails with more groups of one decision; it fails without them."""
        beside = (*masks[:place], more, *masks[place + 1 :])
        if self.heavy:
            return self.fails(beside)
        return self.proven(beside, PATIENCE if more.bit_count() > 1 else 4)


class _BoxBounds(Bounds):
    """Bounds over one box; what figures come to is kept for all boxes that look alike to them."""

    def __init__(self, question: Question, masks: Masks) -> None:
        super().__init__(
            question.book, lambda leaf: question.hull(leaf, masks), question.readings.scene.session.answers
        )
        self._question = question
        self._masks = masks

    def figure(self, name: str) -> Range:
        """Everything that a figure can come to in the box."""
        kept = self._question._figures
        key = self._question.figure_key(name, self._masks)
        found = kept.get(key)
        if found is None:
            found = kept[key] = self._figure(self.book.figures[name])
        return found


class Boxes:
    """Questions about all rules over one set of options.

    Parameters
    ----------
    readings : Readings
        What the leaves are.
    """

    def __init__(self, readings: Readings) -> None:
        self.readings = readings
        self._questions: dict[str, Question] = {}

    def question(self, rule: str) -> Question:
        """The question that a rule asks."""
        found = self._questions.get(rule)
        if found is None:
            bound = self.readings.book.rules[rule]
            found = self._questions[rule] = Question(bound, self.readings)
        return found

    def grow(
        self, rule: str, choice: Mapping[str, Option], orders: int = 4, runs: int = MOST_RUNS
    ) -> tuple[Box, ...]:
        """The largest boxes about a choice over which a rule surely fails, as `Question.grow` gives them."""
        return self.question(rule).grow(choice, orders, runs)


def _order(
    question: Question, leaves: Sequence[Tree], decision: str, option: Option
) -> tuple[tuple[float, ...], str]:
    """What sorts groups: by their numbers, so that neighbours are alike."""
    found = list(question._signature(leaves, decision, option))[:64]
    return tuple(reading.low if reading.numeric else math.inf for reading in found), str(option)
