"""Bounds of rules' expressions and of figures over many choices at once.

Every expression is worked out over ranges: what comes out covers what the checker gives for each choice, in SI,
at the middle of every tolerance. A formula is asked at the corners that its declared directions name; where all
its arguments are single values it is asked as the checker asks it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from compat.checking.answers import Answers
from compat.engineering import Formula, GoalOutOfReach, OutOfRange
from compat.planning.ranges import (
    ABSENT,
    ANY_WORD,
    ANYTHING,
    BEYOND,
    NOWHERE,
    REFUSED,
    UNSTATED,
    YES,
    Range,
    between,
    joined,
    point,
    united,
    word,
)
from compat.planning.reckoning import COMPARISONS, ONE, TWO, compared, interpolated, power, size
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundFigure, Limit, Rulebook
from compat.rulebook.trees import Tree

__all__ = ["Bounds", "Leaf", "bounds"]

Leaf = Callable[[Tree], Range]
"""What a leaf of an expression can be: a node like ``("spec", "rod", "mass")`` or ``("fitted", "rod")``."""

MOST_CORNERS = 16
"""So many ways of putting words and parts left out together are tried with one formula."""
MOST_EITHER = 3
"""So many arguments that may move a result either way are taken to both of their ends."""
NOISE, HEAVY_NOISE = 1e-9, 1e-5
"""Relative: how far a formula's own arithmetic may stray from its course, also where it iterates."""


def bounds(
    expression: Expression, leaf: Leaf, book: Rulebook | None = None, answers: Answers | None = None
) -> Range:
    """Everything that an expression can come to.

    Parameters
    ----------
    expression : Expression
        Of a rule or figure.
    leaf : callable
        What every leaf can be.
    book : Rulebook, optional
        Where the figures that it names are found.
    answers : Answers, optional
        What formulas said before.

    Returns
    -------
    Range
        Covers the value [SI] of every choice that `leaf` speaks of.

    Examples
    --------
    >>> room = Expression("", ("sub", ("spec", "block", "bore"), ("spec", "rod", "width")), None)
    >>> sizes = {("spec", "block", "bore"): between(0.086, 0.087), ("spec", "rod", "width"): point(0.022)}
    >>> bounds(room, sizes.get)[:2]
    (0.064, 0.065)
    """
    return Bounds(Rulebook() if book is None else book, leaf, answers).of(expression)


class Bounds:
    """Works out expressions over ranges; every figure once.

    Parameters
    ----------
    book : Rulebook
        Where figures are found.
    leaf : callable
        What every leaf can be.
    answers : Answers, optional
        What formulas said before.
    """

    def __init__(self, book: Rulebook, leaf: Leaf, answers: Answers | None = None) -> None:
        self.book = book
        self.leaf = leaf
        self.answers = Answers() if answers is None else answers
        self._figures: dict[str, Range] = {}
        self.runs = 0
        """So often a heavy formula was asked."""

    def of(self, expression: Expression) -> Range:
        """Everything that an expression can come to."""
        return self.tree(expression.tree)

    def limit(self, limit: Limit | None) -> Range | None:
        """Everything that a limit can be; None where there is none."""
        if limit is None:
            return None
        if limit.expression is not None:
            return self.of(limit.expression)
        assert limit.fixed is not None
        return point(limit.fixed.x)

    def figure(self, name: str) -> Range:
        """Everything that a figure can come to."""
        found = self._figures.get(name)
        if found is None:
            found = self._figures[name] = self._figure(self.book.figures[name])
        return found

    def _figure(self, figure: BoundFigure) -> Range:
        found = self.of(figure.expression) if figure.expression is not None else self._formula(figure)
        if figure.unstated is not None and found.lack & ~ABSENT:
            gone = Range(found.low, found.high, found.words, found.lack & ABSENT, found.half)
            found = united([gone, self.of(figure.unstated)])
        scatter = figure.figure.scatter
        return _scattered(found, scatter) if scatter else found

    def tree(self, tree: Tree) -> Range:
        """Everything that a tree can come to."""
        kind = tree[0]
        if kind in TWO:
            return TWO[kind](self.tree(tree[1]), self.tree(tree[2]))
        if kind in COMPARISONS:
            return compared(kind, self.tree(tree[1]), self.tree(tree[2]))
        if kind in ONE:
            return ONE[kind](self.tree(tree[1]))
        own = _NODES.get(kind)
        return self.leaf(tree) if own is None else own(self, tree)

    # nodes

    def _number(self, tree: Tree) -> Range:
        return point(tree[1])

    def _fixed(self, tree: Tree) -> Range:
        return word(tree[1])

    def _named_figure(self, tree: Tree) -> Range:
        return self.figure(tree[1])

    def _power(self, tree: Tree) -> Range:
        return power(self.tree(tree[1]), tree[2])

    def _at(self, tree: Tree) -> Range:
        return interpolated(self.tree(tree[1]), self.tree(tree[2]))

    def _not(self, tree: Tree) -> Range:
        found = self.tree(tree[1])
        return Range(words=frozenset(not value for value in found.words), lack=found.lack)

    def _and(self, tree: Tree) -> Range:
        return self._decided(tree, stopper=False)

    def _or(self, tree: Tree) -> Range:
        return self._decided(tree, stopper=True)

    def _decided(self, tree: Tree, stopper: bool) -> Range:
        words: frozenset[bool] = frozenset()
        empty = 0
        going = YES  # how it stands where nothing has decided it yet
        for part in tree[1:]:
            found = self.tree(part)
            if stopper in found.words:
                words |= {stopper}
            empty |= found.lack & ABSENT
            onward = Range(words=found.words - {stopper}, lack=found.lack & ~ABSENT)
            if not (onward.words or onward.lack):
                return Range(words=words, lack=empty)
            going = _after(going, onward)
        if going.words:
            words |= {not stopper}
        return Range(words=words, lack=going.lack | empty)

    def _joined(self, tree: Tree) -> Range:
        parts = [self.tree(part) for part in tree[1:]]
        going = YES
        for part in parts:
            going = _after(going, part)
        if not going.words:
            return Range(lack=going.lack)
        ways = math.prod(len(part.words) for part in parts)
        if ways > MOST_CORNERS or any(ANY_WORD in part.words for part in parts):
            return Range(words=frozenset({ANY_WORD}), lack=going.lack)
        found = {"/".join(map(str, way)) for way in itertools.product(*(part.words for part in parts))}
        return Range(words=frozenset(found), lack=going.lack)

    def _chain(self, tree: Tree) -> Range:
        _, operators, *operands = tree
        values = [self.tree(part) for part in operands]
        empty = 0
        for value in values:
            empty |= value.lack & ABSENT
        if any(value.lack == ABSENT and not value.known for value in values):
            return Range(lack=ABSENT)
        words: frozenset[bool] = frozenset()
        going = YES
        for operator, left, right in zip(operators, values, values[1:], strict=False):
            step = compared(operator, left, right)
            words |= step.words & {False}
            onward = Range(words=step.words - {False}, lack=step.lack & ~ABSENT)
            going = _after(going, onward) if onward.words or onward.lack else NOWHERE
            if going == NOWHERE:
                return Range(words=frozenset({False}), lack=empty)
        return Range(words=words | going.words, lack=going.lack | empty)

    def _if(self, tree: Tree) -> Range:
        test = self.tree(tree[1])
        ways = [Range(lack=test.lack)]
        if True in test.words:
            ways.append(self.tree(tree[2]))
        if False in test.words:
            ways.append(self.tree(tree[3]))
        return united(ways) if test.lack or len(ways) > 2 else ways[-1]

    def _stated(self, tree: Tree) -> Range:
        found = self.tree(tree[1])
        return Range(words=frozenset([True] * found.known + [False] * bool(found.lack)))

    def _computed(self, tree: Tree) -> Range:
        found = self.tree(tree[1])
        ways = [True] * found.known + [False] * bool(found.lack & (REFUSED | BEYOND))
        return Range(words=frozenset(ways), lack=found.lack & (UNSTATED | ABSENT))

    def _prefer(self, tree: Tree) -> Range:
        found = self.tree(tree[1])
        if not found.lack & ABSENT:
            return found
        own = Range(found.low, found.high, found.words, found.lack & ~ABSENT, found.half)
        other = self.tree(tree[2])
        return united([own, other]) if own.known or own.lack else other

    # formulas

    def _formula(self, figure: BoundFigure) -> Range:
        formula = figure.formula
        assert formula is not None
        going = YES
        given: dict[str, Range] = {}
        spared: list[str] = []
        for key, expression in figure.arguments.items():
            value = self.of(expression)
            if key in formula.optional and value.lack & ABSENT:
                value = value._replace(lack=value.lack & ~ABSENT)
                spared.append(key)
                going = united([going, _after(going, value)]) if value.known or value.lack else going
            elif value.lack == ABSENT and not value.known:
                return value
            else:
                going = _after(going, value)
            if value.known:
                given[key] = value
        if not going.words:
            return Range(lack=going.lack)
        found = united(self._ways(formula, figure.result, given, spared))
        if any(value.half for value in given.values()):
            found = found._replace(half=math.inf)
        spread = formula.scatter.get(figure.result)
        if spread:
            found = _scattered(found, spread)
        return found._replace(lack=found.lack | going.lack)

    def _ways(
        self, formula: Formula, result: str, given: Mapping[str, Range], spared: Sequence[str]
    ) -> Iterator[Range]:
        """What a formula gives for every way of choosing words, and of leaving out what may be left out."""
        choices: list[list[tuple[str, Any]]] = []
        for key, value in given.items():
            ways: list[tuple[str, Any]] = [(key, entry) for entry in value.words]
            if value.numeric:
                ways.append((key, value))
            if key in spared:
                ways.append((key, None))
            choices.append(ways)
        many = math.prod(map(len, choices)) > MOST_CORNERS
        if many or any(ANY_WORD in value.words for value in given.values()):
            yield between(*formula.lies.get(result, (-math.inf, math.inf)), REFUSED | BEYOND, math.inf)
            return
        for way in itertools.product(*choices):
            yield self._corners(formula, result, {key: value for key, value in way if value is not None})

    def _corners(self, formula: Formula, result: str, arguments: Mapping[str, Any]) -> Range:
        """What a formula gives for ranges of numbers, by its declared directions."""
        wide = [key for key, value in arguments.items() if isinstance(value, Range) and value.low < value.high]
        plain = {key: value.low if isinstance(value, Range) else value for key, value in arguments.items()}
        if not wide:
            return self._asked(formula, plain, result)
        least, greatest = formula.lies.get(result, (-math.inf, math.inf))
        rises, falls = formula.rises_with.get(result, ()), formula.falls_with.get(result, ())
        either = [key for key in formula.either_way.get(result, ()) if key in wide]
        told = {*rises, *falls, *either}
        if len(either) > MOST_EITHER or any(key not in told for key in wide):
            return between(least, greatest, REFUSED | BEYOND, math.inf)
        lower = {key: _end(arguments[key], key in rises) for key in wide}
        upper = {key: _end(arguments[key], key in falls) for key in wide}
        lows, highs = [], []
        for ends in itertools.product((True, False), repeat=len(either)):
            corner = {key: _end(arguments[key], low) for key, low in zip(either, ends, strict=True)}
            lows.append(self._asked(formula, plain | lower | corner, result))
            highs.append(self._asked(formula, plain | upper | corner, result))
        noise = HEAVY_NOISE if formula.heavy else NOISE
        # a corner that refuses says nothing of what lies before it
        if all(low.numeric for low in lows):
            least = max(least, min(low.low - noise * abs(low.low) for low in lows))
        if all(high.numeric for high in highs):
            greatest = min(greatest, max(high.high + noise * abs(high.high) for high in highs))
        return between(least, greatest, REFUSED | BEYOND) if least <= greatest else ANYTHING

    def _asked(self, formula: Formula, arguments: Mapping[str, Any], result: str) -> Range:
        if any(isinstance(value, float) and not math.isfinite(value) for value in arguments.values()):
            return Range(lack=REFUSED | BEYOND)
        self.runs += formula.heavy
        try:
            return point(self.answers.ask(formula, arguments, result))
        except OutOfRange as refusal:
            return Range(lack=BEYOND if isinstance(refusal, GoalOutOfReach) else REFUSED)


def _after(before: Range, value: Range) -> Range:
    """How things stand once another value is asked: whether all can be known, and what stands in the way."""
    if not value.lack and not before.lack:
        return before if value.known else NOWHERE
    return Range(words=before.words if value.known else frozenset(), lack=joined(before, value))


def _end(value: Range, low: bool) -> float:
    return value.low if low else value.high


def _scattered(found: Range, relative: float) -> Range:
    if not found.numeric:
        return found
    wide = size(found)
    return found._replace(half=found.half + (relative * wide if math.isfinite(wide) else math.inf))


_NODES: dict[str, Callable[[Bounds, Tree], Range]] = {
    "number": Bounds._number,
    "word": Bounds._fixed,
    "flag": Bounds._fixed,
    "words": Bounds._fixed,
    "figure": Bounds._named_figure,
    "pow": Bounds._power,
    "at": Bounds._at,
    "not": Bounds._not,
    "and": Bounds._and,
    "or": Bounds._or,
    "joined": Bounds._joined,
    "chain": Bounds._chain,
    "if": Bounds._if,
    "stated": Bounds._stated,
    "computed": Bounds._computed,
    "prefer": Bounds._prefer,
}
