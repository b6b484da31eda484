"""What of a rule or figure decides on a build: the branches taken, not those that might have been."""

from __future__ import annotations

from collections.abc import Iterable

from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.growing import grow
from compat.rulebook.trees import Tree
from compat.rulebook.values import Absent, Number, Value

__all__ = ["Deciding"]


class Deciding:
    """Tells which names of expressions their values hang on, in one build."""

    def __init__(self, world: BuildWorld) -> None:
        self.world = world
        self._names: dict[str, set[str]] = {}

    def names(self, expressions: Iterable[Expression]) -> set[str]:
        """Names that the values of expressions hang on.

        Parameters
        ----------
        expressions : iterable of Expression
            Expressions of a rule or figure.

        Returns
        -------
        set of str
            Figures by id, specs as ``position.spec``, entries of the goal as ``goal.power``: those of the
            branch that a condition takes and of the condition, of the least or greatest of several values,
            of what is fitted and not of what stands in for it.
        """
        found: set[str] = set()
        for expression in expressions:
            self.visit(expression.tree, found)
        return found

    def made_of(self, figure: str) -> Iterable[Expression]:
        """Expressions that a figure's value is made of: its own, or what it is taken as."""
        bound = self.world.settled.book.figures[figure]
        return bound.own if self.world.taken(figure) is None else bound.expressions()

    def figures(self, expressions: Iterable[Expression]) -> set[str]:
        """Figures that the values of expressions hang on, through other figures."""
        known = self.world.settled.book.figures
        found: set[str] = set()
        ahead = self.names(expressions)
        while ahead:
            # specs and entries of the goal have a point in them, and need not be looked up
            fresh = {name for name in ahead if "." not in name and name in known and name not in found}
            found |= fresh
            ahead = set().union(*(self._below(name) for name in fresh))
        return found

    def _below(self, figure: str) -> set[str]:
        if figure not in self._names:
            self._names[figure] = self.names(self.made_of(figure))
        return self._names[figure]

    def value(self, tree: Tree) -> Value | None:
        """What a part of an expression comes to; None where it names an empty position."""
        try:
            return grow(tree)(self.world)
        except Absent:
            return None

    def visit(self, tree: Tree, found: set[str]) -> None:
        """Add the names that the value of a tree hangs on."""
        match tree:
            case ("figure", name):
                found.add(name)
            case ("spec", position, name):
                found.add(f"{position}.{name}")
            case ("goal", name):
                found.add(f"goal.{name}")
            case ("words", *_):
                return
            case (word, *operands):
                for part in self.deciding(word, operands):
                    if isinstance(part, tuple):
                        self.visit(part, found)

    def deciding(self, word: str, operands: list[Tree]) -> Iterable[Tree]:
        """The operands of a node that its value hangs on; all of them where that cannot be told."""
        if word == "if":
            test = self.value(operands[0])
            if isinstance(test, bool):
                return (operands[0], operands[1 if test else 2])
        elif word in ("and", "or"):
            # of `or` the first side that holds, of `and` the first that does not
            stopper = word == "or"
            return next(([side] for side in operands if self.value(side) is stopper), operands)
        elif word in ("min", "max"):
            left, right = (self.value(side) for side in operands)
            if isinstance(left, Number) and isinstance(right, Number):
                first = left.x <= right.x if word == "min" else left.x >= right.x
                return operands[:1] if first else operands[1:]
        elif word == "prefer" and self.value(operands[0]) is not None:
            return operands[:1]
        elif word == "chain":
            return operands[1:]
        return operands
