"""What the shop's own things say in the language of rules: conditions, changes by work, stated figures."""

from __future__ import annotations

from compat.rulebook.context import Context, suits
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Rule
from compat.rulebook.rule_reading import read_limit
from compat.rulebook.rulebook import BoundChange, Condition, Limit, WorkBound
from compat.rulebook.scope import Flag, Num, Scope, Type
from compat.shop.models import Thing, Work
from compat.shop.shop import Spots
from compat.shop.source import nearest
from compat.shop.specs import state
from compat.units import Band, Dimension, UnitFault, a_or_an, describe, read_band

__all__ = ["ShopReader"]


class ShopReader:
    """Compiles what parts, work, joints and variants say."""

    def __init__(self, context: Context) -> None:
        self.context = context

    def conditions(self) -> None:
        for thing in self.context.shop.things():
            self.context.book.conditions |= self.conditions_of(thing)

    def conditions_of(self, thing: Thing) -> dict[Condition, Expression]:
        """Compile the conditions of what one thing offers, needs and renews."""
        found: dict[Condition, Expression] = {}
        for field, word in (("offers", "when"), ("needs", "when"), ("renews", "where")):
            for number, entry in enumerate(getattr(thing, field, ())):
                text = getattr(entry, word, None)
                if text is None:
                    continue
                node = self.context.shop.nodes[thing.kind, thing.id]
                expression = self.context.compile(node, [field, number, word], text)
                if expression is not None and not isinstance(expression.type, Flag):
                    self.context.fault(node, [field, number, word], f"is {expression.type}, not a yes-or-no")
                elif expression is not None:
                    found[thing.kind, thing.id, field, number] = expression
        return found

    def changes(self) -> None:
        for work in self.context.shop.works.values():
            node = self.context.shop.nodes["work", work.work]
            takes = {name: parameter.measure().dimension for name, parameter in work.takes.items()}
            scope = self.context.scope.with_parameters(takes)
            bound = [
                change
                for number in range(len(work.changes))
                if (change := self.change(work.work, number, node, scope)) is not None
            ]
            self.context.book.changes[work.work] = tuple(bound)
            self.context.book.bounds[work.work] = self.bounds(work, node, scope)

    def bounds(self, work: Work, node: Spots, scope: Scope) -> dict[str, WorkBound]:
        """The bounds of what a piece of work takes, each as a rule of limits."""
        bounds: dict[str, WorkBound] = {}
        for name, taken in work.takes.items():
            limits: dict[str, Limit] = {}
            for key in ("at_least", "at_most"):
                path: list[str | int] = ["takes", name, key]
                text = getattr(taken, key)
                limit = read_limit(self.context, node, path, text, scope) if text is not None else None
                if limit is None:
                    continue
                wanted = Num(taken.measure().dimension)
                kind: Type = Num(limit.band.dimension) if limit.band else wanted
                if limit.expression is not None:
                    kind = limit.expression.type
                if not suits(kind, wanted):
                    self.context.fault(node, path, f"'{text}' is {kind}; '{name}' is {wanted}")
                    continue
                limits[key] = limit
            measure = self.context.compile(node, ["takes", name], name, scope) if limits else None
            if measure is None:
                continue
            rule = Rule(
                rule=f"work-{work.work}-{name.replace('_', '-')}",
                title=f"{work.name}: {name.replace('_', ' ')}",
                measure=name,
                otherwise="conflict",
                at_least=taken.at_least,
                at_most=taken.at_most,
                remedies=({"do": f"State another {name.replace('_', ' ')}, or go another way."},),
                why=taken.why,
                source=taken.source,
            )
            own = "" if taken.unit == "number" else taken.unit
            bounds[name] = WorkBound(
                rule=rule,
                measure=measure,
                unit=own,
                at_least=limits.get("at_least"),
                at_most=limits.get("at_most"),
            )
        return bounds

    def change(self, name: str, number: int, node: Spots, scope: Scope) -> BoundChange | None:
        change = self.context.shop.works[name].changes[number]
        path: list[str | int] = ["changes", number]
        position, _, spec = change.spec.partition(".")
        kinds = self.context.shop.kinds.get(position)
        if kinds is None or spec not in kinds:
            hint = nearest(position, self.context.shop.kinds) if kinds is None else nearest(spec, kinds)
            what = f"position '{position}'" if kinds is None else f"spec '{change.spec}'"
            self.context.fault(node, [*path, "spec"], f"{what} is not known{hint}")
            return None
        kind = kinds[spec]
        key = "by" if change.by is not None else "to"
        text = change.by if change.by is not None else change.to or ""
        tolerance = self.tolerance(node, [*path, "tolerance"], change.tolerance, kind.dimension)
        if kind.sort != "quantity":
            if key == "by":
                self.context.fault(node, [*path, "by"], f"'{change.spec}' is no quantity; use 'to'")
                return None
            try:
                return BoundChange(position, spec, False, None, state(kind, text).value, None)
            except ValueError as error:
                self.context.fault(node, [*path, "to"], str(error))
                return None
        try:
            band = read_band(text)
            if band.dimension == kind.dimension:
                return BoundChange(position, spec, key == "by", None, band, tolerance)
        except UnitFault:
            pass
        expression = self.context.compile(node, [*path, key], text, scope)
        if expression is None:
            return None
        if not suits(expression.type, Num(kind.dimension)):
            self.context.fault(
                node,
                [*path, key],
                f"gives {expression.type}; '{change.spec}' wants {kind.expected}",
            )
            return None
        return BoundChange(position, spec, key == "by", expression, None, tolerance)

    def tolerance(
        self, node: Spots, path: list[str | int], text: str | None, dimension: Dimension
    ) -> tuple[float, float] | None:
        if text is None:
            return None
        try:
            band = read_band(f"0 {text}" if text.lstrip()[:1] in "±+-" else text)
            if band.dimension != dimension:
                raise UnitFault(f"'{text}' is not a tolerance of {describe(dimension)}")
            return band.low - band.nominal, band.high - band.nominal
        except UnitFault as error:
            self.context.fault(node, path, str(error))
            return None

    def stated(self) -> None:
        for variant in self.context.shop.variants.values():
            node = self.context.shop.nodes["variant", variant.variant]
            for name, text in variant.stated.items():
                path: list[str | int] = ["stated", name]
                if ("figure", name) in self.context.scope.faulty:
                    continue
                if name not in self.context.scope.figures:
                    hint = nearest(name, self.context.scope.figures)
                    self.context.fault(node, path, f"figure '{name}' is not known{hint}")
                    continue
                try:
                    band: Band = read_band(text)
                    if band.dimension != self.context.scope.figures[name]:
                        self.context.fault(
                            node, path, f"'{text}' is not {a_or_an(describe(self.context.scope.figures[name]))}"
                        )
                except UnitFault as error:
                    self.context.fault(node, path, str(error))
