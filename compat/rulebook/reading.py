"""Reading a rulebook: every rule and figure compiled and checked for dimensions before anything runs."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

from compat.engineering import Table, find, load_all
from compat.rulebook.expressions import Expression, ExpressionFault, compile_text
from compat.rulebook.models import Figure, Rule
from compat.rulebook.rulebook import BoundChange, BoundFigure, BoundRule, Limit, Rulebook
from compat.rulebook.scope import Flag, Grid, Num, Scope, Type, Word
from compat.shop.models import Thing
from compat.shop.reading import read_entries, validate
from compat.shop.shop import Shop
from compat.shop.source import Fault, Node, nearest
from compat.shop.specs import state
from compat.units import Band, Dimension, UnitFault, describe, read_band, unit

__all__ = ["read_rulebook"]


def read_rulebook(folder: Path, shop: Shop, faults: list[Fault]) -> Rulebook:
    """Read a rulebook against the shop whose words it uses.

    Parameters
    ----------
    folder : Path
        Folder of rule and figure files.
    shop : Shop
        The shop.
    faults : list of Fault
        Gets everything wrong in any file.

    Returns
    -------
    Rulebook
        Every rule and figure, compiled; what is faulty is left out.
    """
    reader = _Reader(shop, faults)
    reader.read(folder)
    reader.conditions()
    reader.changes()
    reader.stated()
    return reader.book


class _Reader:
    def __init__(self, shop: Shop, faults: list[Fault]) -> None:
        self.shop = shop
        self.faults = faults
        self.book = Rulebook()
        self.scope = Scope(shop)

    def read(self, folder: Path) -> None:
        figures: list[tuple[Figure, Node]] = []
        rules: list[tuple[Rule, Node]] = []
        models: dict[str, type[Thing]] = {"rule": Rule, "figure": Figure}
        for word, node in read_entries(folder, models, self.faults):
            name = node.data.get(word)
            thing = validate(models[word], node, self.faults, word)
            if isinstance(name, str) and (word, name) in self.book.nodes:
                first = self.book.nodes[word, name].spot
                self.fault(node, [], f"{word} '{name}' is given twice; first at {first.file}:{first.line}")
                continue
            if isinstance(name, str):
                self.book.nodes[word, name] = node
            if word == "figure":
                self.declare(name, node)
            if isinstance(thing, Figure):
                figures.append((thing, node))
            elif isinstance(thing, Rule):
                rules.append((thing, node))
        for figure, node in figures:
            self.figure(figure, node)
        self.circles()
        for rule, node in rules:
            self.rule(rule, node)

    def declare(self, name: Any, node: Node) -> None:
        if not isinstance(name, str):
            return
        try:
            text = node.data.get("unit")
            self.scope.figures[name] = unit("" if text == "number" else str(text)).dimension
        except UnitFault as error:
            self.fault(node, ["unit"], str(error))

    def fault(self, node: Node, path: list[str | int], message: str, offset: int = 0) -> None:
        spot = node.spot_of(path)
        inner = node.at(path)
        if isinstance(inner.data, str):
            spot = replace(inner.spot, column=inner.spot.column + offset)
        self.faults.append(Fault(spot, message))

    def compile(
        self, node: Node, path: list[str | int], text: str, scope: Scope | None = None
    ) -> Expression | None:
        try:
            return compile_text(text, scope or self.scope)
        except ExpressionFault as error:
            self.fault(node, path, str(error), error.column)
            return None

    # figures

    def figure(self, figure: Figure, node: Node) -> None:
        dimension = self.scope.figures.get(figure.figure)
        if dimension is None:
            return
        if figure.is_ is not None:
            expression = self.compile(node, ["is"], figure.is_)
            if expression is None:
                return
            if not self.suits(expression.type, Num(dimension)):
                self.fault(node, ["is"], f"gives a {expression.type}; the figure is in {figure.unit}")
                return
            self.book.figures[figure.figure] = BoundFigure(figure, dimension, expression)
            return
        name, _, result = (figure.formula or "").partition(".")
        formula = find(name)
        if formula is None:
            self.fault(node, ["formula"], f"formula '{name}' is not known{nearest(name, load_all())}")
            return
        if result not in formula.gives:
            known = [key for key in formula.gives if key]
            hint = (
                f"; it gives {', '.join(known)}{nearest(result, known)}" if known else "; it gives one result"
            )
            self.fault(node, ["formula"], f"formula '{name}' gives no '{result}'{hint}")
            return
        given = formula.gives[result]
        if unit("" if given == "number" else given).dimension != dimension:
            self.fault(node, ["unit"], f"formula '{figure.formula}' gives {given}, not {figure.unit}")
        arguments = self.arguments(formula.takes, formula.optional, figure, node)
        if arguments is not None:
            self.book.figures[figure.figure] = BoundFigure(
                figure, dimension, formula=formula, result=result, arguments=arguments
            )

    def arguments(
        self, takes: Any, optional: frozenset[str], figure: Figure, node: Node
    ) -> dict[str, Expression] | None:
        bound: dict[str, Expression] = {}
        good = True
        for key, text in figure.takes.items():
            path: list[str | int] = ["takes", key]
            if key not in takes:
                self.fault(node, path, f"formula '{figure.formula}' takes no '{key}'{nearest(key, takes)}")
                good = False
                continue
            expression = self.compile(node, path, text)
            if expression is None:
                good = False
                continue
            wanted = _argument_type(takes[key])
            if not self.suits(expression.type, wanted):
                asked = takes[key] if isinstance(takes[key], str) else wanted
                self.fault(node, path, f"'{key}' wants {asked}, and '{text}' is a {expression.type}")
                good = False
                continue
            bound[key] = expression
        if lacking := sorted(set(takes) - set(figure.takes) - optional):
            self.fault(node, ["takes"], f"formula '{figure.formula}' also takes {', '.join(lacking)}")
            good = False
        return bound if good else None

    @staticmethod
    def suits(given: Type, wanted: Type) -> bool:
        if isinstance(given, Num) and isinstance(wanted, Num):
            return given.dimension is None or given.dimension == wanted.dimension
        if isinstance(given, Grid) and isinstance(wanted, Grid):
            return [unit(u).dimension for u in given.units] == [unit(u).dimension for u in wanted.units]
        if isinstance(given, Word) and isinstance(wanted, Word):
            return not (set(given.words) - set(wanted.words)) if wanted.words else True
        return type(given) is type(wanted)

    def circles(self) -> None:
        rests = {
            name: {other for expression in figure.expressions() for other in expression.names.figures}
            for name, figure in self.book.figures.items()
        }
        try:
            TopologicalSorter(rests).prepare()
            return
        except CycleError as error:
            names: list[str] = error.args[1]
        node = self.book.nodes["figure", names[0]]
        self.fault(node, [], f"figures rest on each other in a circle: {' -> '.join(reversed(names))}")
        for name in set(names):
            del self.book.figures[name]
        self.circles()

    # rules

    def rule(self, rule: Rule, node: Node) -> None:
        before = len(self.faults)
        parts: dict[str, Any] = {"unit": rule.unit or ""}
        where = self.compile(node, ["where"], rule.where) if rule.where else None
        if where is not None and not isinstance(where.type, Flag):
            self.fault(node, ["where"], f"is a {where.type}, not a yes-or-no")
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
        if len(self.faults) == before:
            self.book.rules[rule.rule] = BoundRule(rule=rule, where=where, **parts)

    def numeric(self, node: Node, key: str, text: str) -> Expression | None:
        expression = self.compile(node, [key], text)
        if expression is not None and not isinstance(expression.type, Num):
            self.fault(node, [key], f"is a {expression.type}, not a number")
            return None
        return expression

    def limits(self, rule: Rule, node: Node) -> dict[str, Any]:
        measure = self.numeric(node, "measure", rule.measure or "")
        if measure is None:
            return {}
        assert isinstance(measure.type, Num)
        bound: dict[str, Any] = {"measure": measure}
        shown = rule.unit or ""
        for key in ("at_least", "at_most"):
            text = getattr(rule, key)
            if text is None:
                continue
            limit = self.limit(node, key, text)
            if limit is None:
                continue
            kind = (
                Num(limit.band.dimension)
                if limit.band
                else limit.expression.type
                if limit.expression
                else Num()
            )
            if not self.suits(kind, measure.type) and not self.suits(measure.type, kind):
                self.fault(node, [key], f"'{text}' is a {kind}; what is measured is a {measure.type}")
            shown = shown or (limit.band.unit if limit.band else "")
            bound[key] = limit
        bound["unit"] = self.display(node, shown, measure, rule)
        return bound

    def limit(self, node: Node, key: str, text: str) -> Limit | None:
        try:
            return Limit(text, band=read_band(text))
        except UnitFault as error:
            if re.fullmatch(
                r"[-+\d.\s]+[^\s*/+()-]*", text.strip()
            ):  # a number and one word: meant as a quantity
                self.fault(node, [key], str(error))
                return None
        expression = self.numeric(node, key, text)
        return Limit(text, expression=expression) if expression else None

    def display(self, node: Node, shown: str, main: Expression, rule: Rule) -> str:
        assert isinstance(main.type, Num)
        dimension = main.type.dimension
        if shown and dimension is not None:
            try:
                if unit(shown).dimension != dimension:
                    self.fault(node, ["unit"], f"'{shown}' is not a unit of {describe(dimension)}")
            except UnitFault as error:
                self.fault(node, ["unit"], str(error))
            return shown
        return self.usual(main, dimension)

    def usual(self, main: Expression, dimension: Dimension | None) -> str:
        for figure in main.names.figures:
            bound = self.book.figures.get(figure)
            if bound is not None and bound.dimension == dimension:
                return "" if bound.figure.unit == "number" else bound.figure.unit
        for position, spec in main.names.specs:
            kind = self.shop.kinds[position][spec]
            if kind.dimension == dimension:
                return kind.unit
        return ""

    def match(self, rule: Rule, node: Node) -> dict[str, Any]:
        pairs: list[tuple[Expression, Expression]] = []
        for number, (left, right) in enumerate(rule.match):
            alone = isinstance(node.data["match"][0], str)
            paths: list[list[str | int]] = [["match", i] if alone else ["match", number, i] for i in (0, 1)]
            a, b = self.compile(node, paths[0], left), self.compile(node, paths[1], right)
            if a is None or b is None:
                continue
            if not _comparable(a.type, b.type):
                self.fault(node, paths[0], f"'{left}' is a {a.type} and '{right}' a {b.type}")
            pairs.append((a, b))
        within = None
        if rule.within is not None:
            try:
                band = read_band(rule.within)
                within = band.nominal
                if not any(self.suits(a.type, Num(band.dimension)) for a, _ in pairs):
                    self.fault(node, ["within"], f"'{rule.within}' suits none of the pairs")
            except UnitFault as error:
                self.fault(node, ["within"], str(error))
        return {"pairs": tuple(pairs), "within": within}

    def load(self, rule: Rule, node: Node) -> dict[str, Any]:
        load = self.numeric(node, "load", rule.load or "")
        capacity = self.numeric(node, "capacity", rule.capacity or "")
        if load is None or capacity is None:
            return {}
        if not self.suits(load.type, capacity.type) and not self.suits(capacity.type, load.type):
            self.fault(node, ["capacity"], f"is a {capacity.type}; the load is a {load.type}")
        return {"load": load, "capacity": capacity, "unit": self.display(node, rule.unit or "", load, rule)}

    def need(self, rule: Rule, node: Node) -> dict[str, Any]:
        need = rule.need
        assert need is not None
        for kind in ("feature", "work", "position"):
            name = getattr(need, kind)
            if name is not None:
                self.known(node, ["need", kind], kind, name)
        if need.count is None:
            return {}
        count = self.compile(node, ["need", "count"], need.count)
        if count is not None and not self.suits(count.type, Num()):
            self.fault(node, ["need", "count"], f"is a {count.type}, not a count")
        return {"count": count}

    def never(self, rule: Rule, node: Node) -> dict[str, Any]:
        expression = self.compile(node, ["never"], rule.never or "")
        if expression is not None and not isinstance(expression.type, Flag):
            self.fault(node, ["never"], f"is a {expression.type}, not a yes-or-no")
        return {"never": expression}

    def renew(self, rule: Rule, node: Node) -> dict[str, Any]:
        self.known(node, ["renew"], "joint", rule.renew or "")
        return {}

    def known(self, node: Node, path: list[str | int], kind: str, name: str) -> None:
        if (kind, name) not in self.shop.nodes:
            known = [n for k, n in self.shop.nodes if k == kind]
            self.fault(node, path, f"{kind} '{name}' is not known{nearest(name, known)}")

    def remedies(self, rule: Rule, node: Node) -> None:
        for number, remedy in enumerate(rule.remedies):
            for key, kind in (("work", "work"), ("swap", "position"), ("add", "position")):
                if key in remedy:
                    self.known(node, ["remedies", number, key], kind, remedy[key])

    # what the shop's own things say in the language

    def conditions(self) -> None:
        for thing in self.shop.things():
            node = self.shop.nodes[thing.kind, thing.id]
            fields = [("offers", "when"), ("needs", "when"), ("renews", "where")]
            for field, word in fields:
                for number, entry in enumerate(getattr(thing, field, ())):
                    text = getattr(entry, word, None)
                    if text is None:
                        continue
                    expression = self.compile(node, [field, number, word], text)
                    if expression is not None and not isinstance(expression.type, Flag):
                        self.fault(node, [field, number, word], f"is a {expression.type}, not a yes-or-no")
                    elif expression is not None:
                        self.book.conditions[thing.kind, thing.id, field, number] = expression

    def changes(self) -> None:
        for work in self.shop.works.values():
            node = self.shop.nodes["work", work.work]
            takes = {
                n: str(raw["unit"]) if isinstance(raw, dict) else str(raw) for n, raw in work.takes.items()
            }
            try:
                scope = self.scope.with_parameters({n: "" if t == "number" else t for n, t in takes.items()})
            except UnitFault:
                continue
            bound = [
                change
                for number in range(len(work.changes))
                if (change := self.change(work.work, number, node, scope)) is not None
            ]
            self.book.changes[work.work] = tuple(bound)

    def change(self, name: str, number: int, node: Node, scope: Scope) -> BoundChange | None:
        change = self.shop.works[name].changes[number]
        path: list[str | int] = ["changes", number]
        position, _, spec = change.spec.partition(".")
        kinds = self.shop.kinds.get(position)
        if kinds is None or spec not in kinds:
            hint = nearest(position, self.shop.kinds) if kinds is None else nearest(spec, kinds)
            what = f"position '{position}'" if kinds is None else f"spec '{change.spec}'"
            self.fault(node, [*path, "spec"], f"{what} is not known{hint}")
            return None
        kind = kinds[spec]
        key = "by" if change.by is not None else "to"
        text = change.by if change.by is not None else change.to or ""
        tolerance = self.tolerance(node, [*path, "tolerance"], change.tolerance, kind.dimension)
        if kind.sort != "quantity":
            if key == "by":
                self.fault(node, [*path, "by"], f"'{change.spec}' is no quantity; use 'to'")
                return None
            try:
                return BoundChange(position, spec, False, None, state(kind, text).value, None)
            except ValueError as error:
                self.fault(node, [*path, "to"], str(error))
                return None
        try:
            band = read_band(text)
            if band.dimension == kind.dimension:
                return BoundChange(position, spec, key == "by", None, band, tolerance)
        except UnitFault:
            pass
        expression = self.compile(node, [*path, key], text, scope)
        if expression is None:
            return None
        if not self.suits(expression.type, Num(kind.dimension)):
            self.fault(node, [*path, key], f"gives a {expression.type}; '{change.spec}' wants {kind.expected}")
            return None
        return BoundChange(position, spec, key == "by", expression, None, tolerance)

    def tolerance(
        self, node: Node, path: list[str | int], text: str | None, dimension: Dimension
    ) -> tuple[float, float] | None:
        if text is None:
            return None
        try:
            band = read_band(f"0 {text}" if text.lstrip()[:1] in "±+-" else text)
            if band.dimension != dimension:
                raise UnitFault(f"'{text}' is not a tolerance of {describe(dimension)}")
            return band.low - band.nominal, band.high - band.nominal
        except UnitFault as error:
            self.fault(node, path, str(error))
            return None

    def stated(self) -> None:
        for variant in self.shop.variants.values():
            node = self.shop.nodes["variant", variant.variant]
            for name, text in variant.stated.items():
                path: list[str | int] = ["stated", name]
                if name not in self.scope.figures:
                    hint = nearest(name, self.scope.figures)
                    self.fault(node, path, f"figure '{name}' is not known{hint}")
                    continue
                try:
                    band: Band = read_band(text)
                    if band.dimension != self.scope.figures[name]:
                        self.fault(node, path, f"'{text}' is not a {describe(self.scope.figures[name])}")
                except UnitFault as error:
                    self.fault(node, path, str(error))


def _argument_type(takes: Any) -> Type:
    if isinstance(takes, Table):
        return Grid(tuple("" if text == "number" else text for text in takes.units))
    if isinstance(takes, tuple):
        return Word(takes)
    return Num(unit("" if takes == "number" else takes).dimension)


def _comparable(a: Type, b: Type) -> bool:
    if isinstance(a, Num) and isinstance(b, Num):
        return a.dimension == b.dimension or None in (a.dimension, b.dimension)
    from compat.rulebook.scope import Words

    words = (Word, Words)
    return type(a) is type(b) or (isinstance(a, words) and isinstance(b, words))
