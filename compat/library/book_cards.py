"""A rulebook as plain data and back; every expression is written once, however many rules use it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any

from compat.engineering import Formula
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundChange, BoundFigure, BoundRule, Limit
from compat.shop.entry import thaw

__all__ = ["Writer", "changes_of", "conditions_of", "figures_of", "rules_of"]

Expressions = list[Expression]


class Writer:
    """Writes bound rules and figures; its expressions stand in a table of their own."""

    def __init__(self) -> None:
        self.expressions: list[Any] = []
        self._numbers: dict[Expression, int] = {}

    def number(self, expression: Expression | None) -> int | None:
        """Place of an expression in the table."""
        if expression is None:
            return None
        if expression not in self._numbers:
            self._numbers[expression] = len(self.expressions)
            self.expressions.append(expression.card())
        return self._numbers[expression]

    def rule(self, bound: BoundRule) -> dict[str, Any]:
        """Everything of a rule that is not its default."""
        card: dict[str, Any] = {"rule": bound.rule}
        for one in fields(bound):
            value = getattr(bound, one.name)
            if one.name == "rule" or value == one.default:
                continue
            if isinstance(value, Expression):
                value = self.number(value)
            elif isinstance(value, Limit):
                value = [value.text, value.band, self.number(value.expression)]
            elif one.name == "pairs":
                value = [[self.number(a), self.number(b)] for a, b in value]
            card[one.name] = value
        return card

    def figure(self, bound: BoundFigure) -> dict[str, Any]:
        """A figure with its expression, or its formula and what that takes."""
        return {
            "figure": bound.figure,
            "dimension": bound.dimension,
            "expression": self.number(bound.expression),
            "formula": bound.formula.card() if bound.formula else None,
            "result": bound.result,
            "arguments": {key: self.number(each) for key, each in bound.arguments.items()},
        }

    def changes(self, changes: Iterable[BoundChange]) -> list[Any]:
        """What a piece of work does."""
        return [[c.position, c.spec, c.adds, self.number(c.expression), c.value, c.tolerance] for c in changes]


_EXPRESSIONS = ("where", "measure", "load", "capacity", "count", "never")


def rules_of(cards: Iterable[Mapping[str, Any]], table: Expressions) -> dict[str, BoundRule]:
    """Rules from what a writer wrote."""
    rules = {}
    for card in cards:
        held = dict(card)
        for key in _EXPRESSIONS:
            if key in held:
                held[key] = table[held[key]]
        for key in ("at_least", "at_most"):
            if key in held:
                text, band, number = held[key]
                held[key] = Limit(text, band, None if number is None else table[number])
        if "pairs" in held:
            held["pairs"] = tuple((table[a], table[b]) for a, b in held["pairs"])
        bound = BoundRule(**held)
        rules[bound.rule.rule] = bound
    return rules


def figures_of(cards: Iterable[Mapping[str, Any]], table: Expressions) -> dict[str, BoundFigure]:
    """Figures from what a writer wrote."""
    figures = {}
    for card in cards:
        bound = BoundFigure(
            card["figure"],
            tuple(card["dimension"]),
            None if card["expression"] is None else table[card["expression"]],
            Formula.of_card(thaw(card["formula"])) if card["formula"] else None,
            card["result"],
            {key: table[number] for key, number in card["arguments"].items()},
        )
        figures[bound.figure.figure] = bound
    return figures


def changes_of(cards: Mapping[str, Iterable[Any]], table: Expressions) -> dict[str, tuple[BoundChange, ...]]:
    """What each piece of work does, from what a writer wrote."""
    return {
        work: tuple(
            BoundChange(place, spec, adds, None if number is None else table[number], value, tolerance)
            for place, spec, adds, number, value, tolerance in changes
        )
        for work, changes in cards.items()
    }


def conditions_of(cards: Iterable[Any], table: Expressions) -> dict[tuple[str, str, str, int], Expression]:
    """Conditions by where they stand, from what a writer wrote."""
    return {(kind, name, field, number): table[each] for kind, name, field, number, each in cards}
