"""Binding rules: each kind with its expressions compiled and its dimensions checked."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from compat.rulebook.context import Context, suits
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Rule
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.scope import Flag, Num, Scope, Type, Word, Words
from compat.shop.shop import Spots
from compat.shop.source import Node, nearest
from compat.shop.specs import gauges_of
from compat.shop.stating import word_faults
from compat.units import Dimension, UnitFault, describe, read_band, unit

__all__ = ["RuleReader", "read_limit"]


class RuleReader:
    """Binds the rules of every kind."""

    def __init__(self, context: Context) -> None:
        self.context = context

    def rule(self, rule: Rule, node: Node) -> None:
        before = len(self.context.faults)
        parts: dict[str, Any] = {"unit": rule.unit or ""}
        where = self.context.compile(node, ["where"], rule.where) if rule.where else None
        if where is not None and not isinstance(where.type, Flag):
            self.context.fault(node, ["where"], f"is {where.type}, not a yes-or-no")
        kinds: dict[str, Callable[[Rule, Node], dict[str, Any]]] = {
            "limits": self.limits,
            "match": self.match,
            "load": self.load,
            "need": self.need,
            "never": self.never,
            "renew": self.renew,
        }
        if rule.sort in kinds:
            parts |= kinds[rule.sort](rule, node)
        self.remedies(rule, node)
        if len(self.context.faults) == before:
            self.context.book.rules[rule.rule] = BoundRule(rule=rule, where=where, **parts)

    def limits(self, rule: Rule, node: Node) -> dict[str, Any]:
        measure = self.context.numeric(node, "measure", rule.measure or "")
        if rule.at is not None:
            self.context.known(node, ["at"], "position", rule.at)
        if rule.gauge is not None:
            gauges = gauges_of(self.context.shop.kinds)
            if rule.gauge not in gauges:
                told = f"'{rule.gauge}' is no gauge of this shop{nearest(rule.gauge, gauges)}"
                self.context.fault(node, ["gauge"], told)
        if measure is None:
            return {}
        assert isinstance(measure.type, Num)
        bound: dict[str, Any] = {"measure": measure}
        shown = rule.unit or ""
        for key in ("at_least", "at_most"):
            text = getattr(rule, key)
            if text is None:
                continue
            limit = read_limit(self.context, node, [key], text)
            if limit is None:
                continue
            kind = (
                Num(limit.band.dimension)
                if limit.band
                else limit.expression.type
                if limit.expression
                else Num()
            )
            if not suits(kind, measure.type) and not suits(measure.type, kind):
                self.context.fault(node, [key], f"'{text}' is {kind}; what is measured is {measure.type}")
                continue
            shown = shown or (limit.band.unit if limit.band else "")
            bound[key] = limit
        lower, upper = bound.get("at_least"), bound.get("at_most")
        if lower and upper and lower.band and upper.band and lower.band.nominal > upper.band.nominal:
            self.context.fault(node, ["at_most"], f"'{upper.text}' is less than at_least, '{lower.text}'")
        bound["unit"] = self.display(node, shown, measure, rule)
        return bound

    def display(self, node: Node, shown: str, main: Expression, rule: Rule) -> str:
        assert isinstance(main.type, Num)
        dimension = main.type.dimension
        if shown and dimension is not None:
            try:
                if unit(shown).dimension != dimension:
                    self.context.fault(node, ["unit"], f"'{shown}' is not a unit of {describe(dimension)}")
            except UnitFault as error:
                self.context.fault(node, ["unit"], str(error))
            return shown
        return self.usual(main, dimension)

    def usual(self, main: Expression, dimension: Dimension | None) -> str:
        for figure in main.names.figures:
            bound = self.context.book.figures.get(figure)
            if bound is not None and bound.dimension == dimension:
                return "" if bound.figure.unit == "number" else bound.figure.unit
        for position, spec in main.names.specs:
            kind = self.context.shop.kinds[position][spec]
            if kind.dimension == dimension:
                return kind.unit
        return ""

    def match(self, rule: Rule, node: Node) -> dict[str, Any]:
        pairs: list[tuple[Expression, Expression]] = []
        for number, (left, right) in enumerate(rule.match):
            alone = isinstance(node.data["match"][0], str)
            paths: list[list[str | int]] = [["match", i] if alone else ["match", number, i] for i in (0, 1)]
            a, b = self.context.compile(node, paths[0], left), self.context.compile(node, paths[1], right)
            if a is None or b is None:
                continue
            if not _comparable(a.type, b.type):
                self.context.fault(node, paths[0], f"'{left}' is {a.type} and '{right}' {b.type}")
            pairs.append((a, b))
        within = None
        if rule.within is not None:
            try:
                band = read_band(rule.within)
                within = band.nominal
                if within < 0:
                    self.context.fault(node, ["within"], f"'{rule.within}' is below zero")
                if pairs and not any(suits(a.type, Num(band.dimension)) for a, _ in pairs):
                    self.context.fault(node, ["within"], f"'{rule.within}' suits none of the pairs")
            except UnitFault as error:
                self.context.fault(node, ["within"], str(error))
        return {"pairs": tuple(pairs), "within": within}

    def load(self, rule: Rule, node: Node) -> dict[str, Any]:
        load = self.context.numeric(node, "load", rule.load or "")
        capacity = self.context.numeric(node, "capacity", rule.capacity or "")
        if load is None or capacity is None:
            return {}
        if not suits(load.type, capacity.type) and not suits(capacity.type, load.type):
            self.context.fault(node, ["capacity"], f"is {capacity.type}; the load is {load.type}")
        return {"load": load, "capacity": capacity, "unit": self.display(node, rule.unit or "", load, rule)}

    def need(self, rule: Rule, node: Node) -> dict[str, Any]:
        need = rule.need
        assert need is not None
        for kind in ("feature", "work", "position"):
            name = getattr(need, kind)
            if name is not None:
                self.context.known(node, ["need", kind], kind, name)
        bound: dict[str, Any] = {"matching": self.matching(need.matching, node)}
        if need.count is None:
            return bound
        count = self.context.compile(node, ["need", "count"], need.count)
        if count is not None and not suits(count.type, Num()):
            self.context.fault(node, ["need", "count"], f"is {count.type}, not a count")
        return {**bound, "count": count}

    def matching(self, given: Mapping[str, str], node: Node) -> dict[str, Expression]:
        """What must agree where a spec says it, like ``{thread: coolant_sensor.thread}``; else it is a word."""
        found: dict[str, Expression] = {}
        for key, text in given.items():
            if re.fullmatch(r"[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*", text):
                path: list[str | int] = ["need", "with", key]
                expression = self.context.compile(node, path, text)
                if expression is not None and not isinstance(expression.type, Word):
                    self.context.fault(node, path, f"'{text}' is {expression.type}, not a word")
                elif expression is not None:
                    found[key] = expression
        return found

    def never(self, rule: Rule, node: Node) -> dict[str, Any]:
        expression = self.context.compile(node, ["never"], rule.never or "")
        if expression is not None and not isinstance(expression.type, Flag):
            self.context.fault(node, ["never"], f"is {expression.type}, not a yes-or-no")
        return {"never": expression}

    def renew(self, rule: Rule, node: Node) -> dict[str, Any]:
        self.context.known(node, ["renew"], "joint", rule.renew or "")
        return {}

    def remedies(self, rule: Rule, node: Node) -> None:
        for number, remedy in enumerate(rule.remedies):
            for key, kind in (
                ("work", "work"),
                ("swap", "position"),
                ("add", "position"),
                ("leave_out", "position"),
                ("with", "position"),
            ):
                if key in remedy:
                    self.context.known(node, ["remedies", number, key], kind, remedy[key])
            if "set" in remedy:
                for message in word_faults(self.context.shop.kinds.get("setup", {}), remedy["set"]):
                    self.context.fault(node, ["remedies", number, "set"], message)


def read_limit(
    context: Context, node: Spots, path: list[str | int], text: str, scope: Scope | None = None
) -> Limit | None:
    """A limit as it is written: a quantity, or an expression of the words in scope."""
    try:
        band = read_band(text)
        if (band.low, band.high, band.unit) != (0.0, 0.0, ""):  # a bare 0 suits every dimension
            return Limit(text, band=band)
    except UnitFault as error:
        if re.fullmatch(r"[-+\d.\s]+[^\s*/+()-]*", text.strip()):  # a number and one word: meant as a quantity
            context.fault(node, path, str(error))
            return None
    expression = context.compile(node, path, text, scope)
    if expression is not None and not isinstance(expression.type, Num):
        context.fault(node, path, f"is {expression.type}, not a number")
        return None
    return Limit(text, expression=expression) if expression else None


def _comparable(a: Type, b: Type) -> bool:
    if isinstance(a, Num) and isinstance(b, Num):
        return a.dimension == b.dimension or None in (a.dimension, b.dimension)
    words = (Word, Words)
    return type(a) is type(b) or (isinstance(a, words) and isinstance(b, words))
