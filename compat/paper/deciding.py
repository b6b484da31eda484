"""What of a rule or figure decides on a build: the branches taken, not those that might have been."""

from __future__ import annotations

import ast
from collections.abc import Iterable

from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression, compile_text
from compat.rulebook.scope import Scope
from compat.rulebook.values import Absent, Missing, Number, Value

__all__ = ["Deciding"]

_OF_POSITIONS = ("fitted", "count", "changed", "sister")


class Deciding:
    """Tells which names of expressions their values hang on, in one build."""

    def __init__(self, world: BuildWorld) -> None:
        self.world = world
        settled = world.settled
        self.scope = Scope(
            settled.shop, {name: bound.dimension for name, bound in settled.book.figures.items()}
        )

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
            of what is stated and not of what stands in for it.
        """
        taken = _Taken(self)
        for expression in expressions:
            taken.visit(ast.parse(expression.text, mode="eval").body)
        return taken.names

    def value(self, node: ast.expr) -> Value | None:
        """What a part of an expression comes to; None where it names an empty position."""
        try:
            return compile_text(ast.unparse(node), self.scope).run(self.world)
        except Absent:
            return None


class _Taken(ast.NodeVisitor):
    def __init__(self, deciding: Deciding) -> None:
        self.value = deciding.value
        self.figures = deciding.scope.figures
        self.names: set[str] = set()

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in self.figures:
            self.names.add(node.id)

    def visit_Attribute(self, node: ast.Attribute) -> None:
        self.names.add(ast.unparse(node))

    def visit_IfExp(self, node: ast.IfExp) -> None:
        test = self.value(node.test)
        if isinstance(test, bool):
            self.visit(node.test)
            self.visit(node.body if test else node.orelse)
        else:
            self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """Of `or` the first side that holds, of `and` the first that does not; else it takes them all."""
        stopper = isinstance(node.op, ast.Or)
        self._each(next(([side] for side in node.values if self.value(side) is stopper), node.values))

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        if name in ("min", "max"):
            self._each(self._winner(node.args, name))
        elif name == "prefer" and not isinstance(self.value(node.args[0]), Missing | None):
            self.visit(node.args[0])
        elif name not in _OF_POSITIONS:
            self._each(node.args)

    def _winner(self, sides: list[ast.expr], name: str) -> list[ast.expr]:
        """The side that a least or greatest value comes from; all where one is not known."""
        found = [self.value(side) for side in sides]
        numbers = [value.x for value in found if isinstance(value, Number)]
        if len(numbers) < len(sides):
            return sides
        return [sides[numbers.index(min(numbers) if name == "min" else max(numbers))]]

    def _each(self, nodes: Iterable[ast.expr]) -> None:
        for node in nodes:
            self.visit(node)
