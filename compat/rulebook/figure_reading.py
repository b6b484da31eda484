"""Binding figures: an expression, or a formula and what it takes, checked for dimensions."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from types import MappingProxyType
from typing import Any

from compat.engineering import Table, find, load_all
from compat.rulebook.context import Context, suits
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Figure
from compat.rulebook.rulebook import BoundFigure
from compat.rulebook.scope import Grid, Num, Type, Word
from compat.shop.source import Node, nearest
from compat.units import unit

__all__ = ["FigureReader"]


class FigureReader:
    """Binds figures and refuses those that rest on each other."""

    def __init__(self, context: Context) -> None:
        self.context = context

    def figure(self, figure: Figure, node: Node) -> None:
        dimension = self.context.scope.figures.get(figure.figure)
        if dimension is None:
            return
        unstated = self.unstated(figure, node, Num(dimension))
        if figure.is_ is not None:
            expression = self.context.compile(node, ["is"], figure.is_)
            if expression is None:
                return
            if not suits(expression.type, Num(dimension)):
                self.context.fault(node, ["is"], f"gives {expression.type}; the figure is in {figure.unit}")
                return
            self.context.book.figures[figure.figure] = BoundFigure(
                figure, dimension, expression, unstated=unstated
            )
            return
        name, _, result = (figure.formula or "").partition(".")
        formula = find(name)
        if formula is None:
            self.context.fault(node, ["formula"], f"formula '{name}' is not known{nearest(name, load_all())}")
            return
        if result not in formula.gives:
            known = [key for key in formula.gives if key]
            hint = (
                f"; it gives {', '.join(known)}{nearest(result, known)}" if known else "; it gives one result"
            )
            self.context.fault(node, ["formula"], f"formula '{name}' gives no '{result}'{hint}")
            return
        given = formula.gives[result]
        if unit("" if given == "number" else given).dimension != dimension:
            self.context.fault(node, ["unit"], f"formula '{figure.formula}' gives {given}, not {figure.unit}")
        arguments = self.arguments(formula.takes, formula.optional, figure, node)
        if arguments is not None:
            self.context.book.figures[figure.figure] = BoundFigure(
                figure,
                dimension,
                formula=formula,
                result=result,
                arguments=MappingProxyType(arguments),
                unstated=unstated,
            )

    def unstated(self, figure: Figure, node: Node, wanted: Num) -> Expression | None:
        """What the figure is taken as where something is not stated."""
        if figure.unstated is None:
            return None
        path: list[str | int] = ["unstated", "take"]
        expression = self.context.compile(node, path, figure.unstated.take)
        if expression is not None and not suits(expression.type, wanted):
            self.context.fault(
                node, path, f"'{figure.unstated.take}' is {expression.type}; the figure is in {figure.unit}"
            )
            return None
        return expression

    def arguments(
        self, takes: Any, optional: frozenset[str], figure: Figure, node: Node
    ) -> dict[str, Expression] | None:
        bound: dict[str, Expression] = {}
        good = True
        for key, text in figure.takes.items():
            path: list[str | int] = ["takes", key]
            if key not in takes:
                self.context.fault(
                    node, path, f"formula '{figure.formula}' takes no '{key}'{nearest(key, takes)}"
                )
                good = False
                continue
            expression = self.context.compile(node, path, text)
            if expression is None:
                good = False
                continue
            wanted = _argument_type(takes[key])
            if not suits(expression.type, wanted):
                asked = takes[key] if isinstance(takes[key], str) else wanted
                self.context.fault(node, path, f"'{key}' wants {asked}, and '{text}' is {expression.type}")
                good = False
                continue
            bound[key] = expression
        if lacking := sorted(set(takes) - set(figure.takes) - optional):
            self.context.fault(node, ["takes"], f"formula '{figure.formula}' also takes {', '.join(lacking)}")
            good = False
        return bound if good else None

    def circles(self) -> None:
        rests = {
            name: [other for expression in figure.expressions() for other in expression.names.figures]
            for name, figure in self.context.book.figures.items()
        }
        try:
            TopologicalSorter(rests).prepare()
            return
        except CycleError as error:
            names: list[str] = error.args[1]
        node = self.context.book.nodes["figure", names[0]]
        self.context.fault(node, [], f"figures rest on each other in a circle: {' -> '.join(reversed(names))}")
        for name in set(names):
            del self.context.book.figures[name]
        self.circles()


def _argument_type(takes: Any) -> Type:
    if isinstance(takes, Table):
        return Grid(tuple("" if text == "number" else text for text in takes.units))
    if isinstance(takes, tuple):
        return Word(takes)
    return Num(unit("" if takes == "number" else takes).dimension)
