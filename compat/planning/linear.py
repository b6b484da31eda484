"""Rules as sums: each term over at most two decisions, together at least so much where the rule does not fail.

A rule of limits or of load passes only where its room is not below nought. Where the room is a sum of parts
that look at one or two decisions each, or a quotient of positive ones (then its logarithm is such a sum), the
sum is told in whole numbers, rounded so that it shuts out only choices that surely fail.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from compat.planning.boxes import Question
from compat.planning.failing import FAILING
from compat.planning.ranges import ABSENT, ANY_WORD, BEYOND, GAPS, Range
from compat.planning.readings import Option, Readings, leaves_of
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.trees import Tree

__all__ = ["Sum", "Term", "linear"]

SCALE = 2**40
"""Whole numbers to the width of all that the terms can come to."""
MOST_CELLS = 20_000
"""So many cells one term may have."""
MOST_SUMS = 8
GUARD = 1e-12
"""Relative: what adding floats in another order may move."""
SLACK = 1e-9
"""Relative: what the checker itself lets pass."""


@dataclass(frozen=True)
class Term:
    """A whole number for every way of deciding one or two things."""

    decisions: tuple[str, ...]
    values: Mapping[tuple[Option, ...], int]


@dataclass(frozen=True)
class Sum:
    """What a choice that does not fail a rule keeps to: the terms add up to no less than ``least``."""

    rule: str
    terms: tuple[Term, ...]
    least: int

    def of(self, choice: Mapping[str, Option]) -> int:
        """What the terms add up to."""
        return sum(term.values[tuple(choice[d] for d in term.decisions)] for term in self.terms)

    def excludes(self, choice: Mapping[str, Option]) -> bool:
        """Whether a choice surely fails."""
        return self.of(choice) < self.least


def linear(rule: str, readings: Readings, together: int = 2) -> tuple[Sum, ...]:
    """A rule as sums over decisions, as far as it is one.

    Parameters
    ----------
    rule : str
        Id of a rule.
    readings : Readings
        What its leaves are, and all options there are.
    together : int
        What so many decisions settle is left one term, 1 or 2; what cannot be taken apart may stand on two.

    Returns
    -------
    tuple of Sum
        Each holds for every choice that does not fail the rule; empty where the rule is no sum of terms over at
        most two decisions.
    """
    question = Question(readings.book.rules[rule], readings)
    if question.pieced or not question.decisions:
        return ()
    return tuple(_Splitter(question, together).sums())


Part = tuple[float, Tree]
"""A factor, and what it multiplies; ``("number", x)`` a number alone."""


@dataclass(frozen=True)
class _Room:
    """What must not be below nought: one tree less another, or over another where both are positive."""

    more: Tree
    less: Tree
    share: float = 1.0
    """What the lesser is multiplied by, for the headroom of a load."""


class _Splitter:
    """Takes the room of one rule apart."""

    def __init__(self, question: Question, together: int = 2) -> None:
        self.question = question
        self.together = together
        self.rule: BoundRule = question.rule
        self._decisions: dict[Tree, tuple[int, ...]] = {}
        self._whole: dict[Tree, Range] = {}

    def sums(self) -> Iterator[Sum]:
        """Every sum that the rule comes down to."""
        excuses = list(self._excuses())
        if any(len(self._on(tree)) > 2 for tree in excuses):
            return
        for room in self._rooms():
            ways = self._sum(room.more, 1.0)
            others = self._sum(room.less, -room.share)
            found = [[*one, *other] for one in ways for other in others][:MOST_SUMS]
            done = False
            for parts in found:
                told = self._told(parts, excuses, logs=False)
                if told is not None:
                    done = True
                    yield told
            if not done:
                logs = self._quotient(room)
                told = (
                    None if logs is None else self._told(logs, excuses, logs=True, start=math.log(room.share))
                )
                if told is not None:
                    yield told

    def _rooms(self) -> Iterator[_Room]:
        rule = self.rule
        if rule.rule.sort == "load" and rule.rule.fails_as in FAILING:
            assert rule.load is not None
            assert rule.capacity is not None
            if self._over_all(rule.load.tree).low > 0:
                duties = self.question.hull(("goal", "duty"), self.question.all).words
                asked = min(rule.rule.headroom_for(duty) for duty in duties)
                yield _Room(rule.capacity.tree, rule.load.tree, 1 + asked)
        elif rule.rule.sort == "limits":
            assert rule.measure is not None
            below, above = rule.rule.below or rule.rule.fails_as, rule.rule.above or rule.rule.fails_as
            if rule.at_least is not None and below in FAILING:
                yield _Room(rule.measure.tree, _limit(rule.at_least))
            # what lies too low, and fails mildly for it, is not held against the upper limit
            if rule.at_most is not None and above in FAILING and (rule.at_least is None or below in FAILING):
                yield _Room(_limit(rule.at_most), rule.measure.tree)

    def _excuses(self) -> Iterator[Tree]:
        """What must hold for the rule to be asked at all, part by part."""
        if self.rule.where is not None:
            tree = self.rule.where.tree
            yield from tree[1:] if tree[0] == "and" else (tree,)

    # on what a tree hangs, and what it is

    def _on(self, tree: Tree) -> tuple[int, ...]:
        found = self._decisions.get(tree)
        if found is None:
            places: dict[int, None] = {}
            for leaf in leaves_of(self.question.book, [tree]):
                places.update(dict.fromkeys(self.question.places(leaf)))
            found = self._decisions[tree] = tuple(sorted(places))
        return found

    def _over_all(self, tree: Tree) -> Range:
        found = self._whole.get(tree)
        if found is None:
            found = self._whole[tree] = self.question.bounds(self.question.all).tree(tree)
        return found

    def _cells(self, tree: Tree) -> Iterator[tuple[tuple[int, ...], Range]]:
        """What a tree is for every group of options of the decisions on which it hangs."""
        places = self._on(tree)
        for way in product(*(range(len(self.question.groups[place])) for place in places)):
            masks = list(self.question.all)
            for place, number in zip(places, way, strict=True):
                masks[place] = 1 << number
            yield way, self.question.bounds(tuple(masks)).tree(tree)

    # taking apart

    def _sum(self, tree: Tree, factor: float) -> list[list[Part]]:
        """Sums that a tree times a factor is never above; the least of them is it."""
        if len(self._on(tree)) <= self.together:
            return [[(factor, tree)]]
        kind = tree[0]
        if kind in ("add", "sub"):
            other = factor if kind == "add" else -factor
            return [[*one, *two] for one in self._sum(tree[1], factor) for two in self._sum(tree[2], other)][
                :MOST_SUMS
            ]
        if kind == "neg":
            return self._sum(tree[1], -factor)
        if kind in ("mult", "div"):
            for inner, outer in ((tree[1], tree[2]), (tree[2], tree[1])):
                if kind == "div" and outer is tree[1]:
                    continue
                fixed = self._over_all(outer)
                if not self._on(outer) and fixed.point and fixed.numeric and fixed.low:
                    return self._sum(inner, factor * fixed.low if kind == "mult" else factor / fixed.low)
        if (kind == "min" and factor > 0) or (kind == "max" and factor < 0):
            return [*self._sum(tree[1], factor), *self._sum(tree[2], factor)][:MOST_SUMS]
        if kind == "figure":
            inner = self._laid_open(tree[1], factor)
            if inner is not None:
                return inner
        return [[(factor, tree)]]

    def _laid_open(self, name: str, factor: float) -> list[list[Part]] | None:
        """A figure by what it is made of."""
        figure = self.question.book.figures[name]
        if figure.unstated is not None and self._lacks(name):
            return None
        if figure.expression is not None:
            return self._sum(figure.expression.tree, factor)
        formula = figure.formula
        if formula is None or not formula.sum_of or set(formula.sum_of) != set(figure.arguments):
            return None
        if formula.optional:
            return None
        ways: list[list[Part]] = [[]]
        for key, expression in figure.arguments.items():
            more = self._sum(expression.tree, factor * formula.sum_of[key])
            ways = [[*way, *one] for way in ways for one in more][:MOST_SUMS]
        return ways

    def _lacks(self, name: str) -> bool:
        """Whether a figure may be taken as its entry says where something is not stated."""
        figure = self.question.book.figures[name]
        bounds = self.question.bounds(self.question.all)
        return any(bounds.tree(own.tree).lack & GAPS for own in figure.own)

    def _quotient(self, room: _Room) -> list[Part] | None:
        """The logarithm of what must not be below one, where all is positive."""
        if room.share <= 0:
            return None
        more, less = self._logs(room.more, 1.0), self._logs(room.less, -1.0)
        return None if more is None or less is None else [*more, *less]

    def _logs(self, tree: Tree, power: float) -> list[Part] | None:
        if not self._over_all(tree).low > 0:
            return None
        if len(self._on(tree)) <= self.together:
            return [(power, tree)]
        kind = tree[0]
        if kind in ("mult", "div"):
            one, two = self._logs(tree[1], power), self._logs(tree[2], power if kind == "mult" else -power)
            return None if one is None or two is None else [*one, *two]
        if kind == "pow":
            return self._logs(tree[1], power * tree[2])
        if kind == "figure":
            figure = self.question.book.figures[tree[1]]
            if figure.expression is not None and (figure.unstated is None or not self._lacks(tree[1])):
                return self._logs(figure.expression.tree, power)
        return None

    # telling it

    def _told(
        self, parts: Sequence[Part], excuses: Iterable[Tree], logs: bool, start: float = 0.0
    ) -> Sum | None:
        """A sum of parts in whole numbers; None where a part looks at too much and has no end."""
        constant, size = -start, abs(start)
        tables: dict[tuple[int, ...], dict[tuple[int, ...], _Cell]] = {}
        for factor, tree in parts:
            places = self._on(tree)
            if not places or len(places) > 2:
                whole = self._over_all(tree)
                most = _most_log(whole, factor) if logs else _most(whole, factor)
                if not math.isfinite(most) or self._passes(whole):
                    return None
                constant += most
                size += max(abs(most), abs(factor * whole.low), abs(factor * whole.high))
                continue
            table: dict[tuple[int, ...], _Cell] = {}
            for way, value in self._cells(tree):
                table[way] = self._cell(value, factor, logs)
                if len(table) > MOST_CELLS:
                    return None
            size += max((abs(cell.most) for cell in table.values()), default=0.0)
            _add(tables, places, table)
        if len(tables) < 2 or not size:
            return None  # what two decisions settle by themselves a table tells better
        for tree in excuses:
            cells = {way: _excuse(value) for way, value in self._cells(tree)}
            if self._on(tree):
                _add(tables, self._on(tree), cells)
            elif not cells[()].asked:
                return None
        guard = size * (SLACK + GUARD * (len(parts) + 2)) if not logs else 4 * SLACK + size * GUARD * 100
        return self._whole_numbers(tables, constant + guard)

    def _cell(self, value: Range, factor: float, logs: bool) -> _Cell:
        """What one part brings at most; or that the rule is not asked there, or fails for want of a value."""
        if self._passes(value):
            return _Cell(0.0, asked=False)
        if not value.known:
            return _Cell(0.0, fails=True)
        most = _most(value, factor) if not logs else _most_log(value, factor)
        if not math.isfinite(most):
            return _Cell(0.0, asked=False) if most > 0 else _Cell(0.0, fails=True)
        return _Cell(most)

    def _passes(self, value: Range) -> bool:
        """Whether what stands in the way of a value may be no failure."""
        mild = value.lack & BEYOND and self.rule.rule.fails_as not in FAILING
        return bool(value.lack & ABSENT or mild)

    def _whole_numbers(
        self, tables: Mapping[tuple[int, ...], Mapping[tuple[int, ...], _Cell]], constant: float
    ) -> Sum | None:
        # the sum counts where everything is asked and known: then it is at most `constant` and all terms
        width = abs(constant) + sum(max(abs(c.most) for c in table.values()) for table in tables.values())
        if not width or not math.isfinite(width):
            return None
        scale = SCALE / width
        least = -math.ceil(constant * scale) - 1
        whole = {
            places: {way: math.ceil(c.most * scale) for way, c in t.items()} for places, t in tables.items()
        }
        lowest = sum(min(table.values()) for table in whole.values())
        highest = sum(max(table.values()) for table in whole.values())
        pass_by = max(least - lowest, 0) + 1  # enough to let by what the rest counts against
        fail_by = max(highest - least, 0) + 1
        if any(c.fails for t in tables.values() for c in t.values()):
            pass_by += fail_by * sum(any(c.fails for c in t.values()) for t in tables.values())
        terms = []
        for places, table in tables.items():
            values: dict[tuple[Option, ...], int] = {}
            for way, cell in table.items():
                number = whole[places][way]
                if not cell.asked:
                    number += pass_by
                elif cell.fails:
                    number -= fail_by
                groups = (self.question.groups[place][n] for place, n in zip(places, way, strict=True))
                for options in product(*groups):
                    values[options] = number
            terms.append(Term(tuple(self.question.decisions[place] for place in places), values))
        found = Sum(self.rule.rule.rule, tuple(terms), least)
        if lowest >= least and not any(c.fails for t in tables.values() for c in t.values()):
            return None  # it shuts nothing out
        return found


@dataclass(frozen=True, slots=True)
class _Cell:
    """What one part brings at most; or that the rule is not asked there, or fails."""

    most: float
    asked: bool = True
    fails: bool = False

    def __add__(self, other: _Cell) -> _Cell:
        return _Cell(self.most + other.most, self.asked and other.asked, self.fails or other.fails)


def _excuse(value: Range) -> _Cell:
    """A condition: where it may not hold, or may speak of an empty position, nothing is asked."""
    if value.lack or False in value.words or ANY_WORD in value.words:
        return _Cell(0.0, asked=False)
    return _Cell(0.0)


def _add(
    tables: dict[tuple[int, ...], dict[tuple[int, ...], _Cell]],
    places: tuple[int, ...],
    table: Mapping[tuple[int, ...], _Cell],
) -> None:
    known = tables.get(places)
    tables[places] = dict(table) if known is None else {way: known[way] + cell for way, cell in table.items()}


def _most(value: Range, factor: float) -> float:
    return (value.high if factor > 0 else value.low) * factor


def _most_log(value: Range, power: float) -> float:
    end = value.high if power > 0 else value.low
    return math.log(end) * power if 0 < end < math.inf else math.inf


def _limit(limit: Limit) -> Tree:
    if limit.expression is not None:
        return limit.expression.tree
    assert limit.fixed is not None
    return ("number", limit.fixed.x)
