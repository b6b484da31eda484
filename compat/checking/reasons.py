"""Why a finding came out as it did: the chain from the specs to the verdict, as data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.scope import GOAL
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["Reason", "reasons"]


@dataclass
class Reason:
    """One step of the chain: what it is, what it comes to, how, and what it rests on."""

    name: str
    title: str
    value: float | str | None = None
    half: float = 0.0
    unit: str = ""
    how: str = ""
    source: str = ""
    estimate: bool = False
    seen: bool = False
    rests_on: list[Reason] = field(default_factory=list)


def reasons(world: BuildWorld, rule: BoundRule) -> list[Reason]:
    """Give the chain of reasons behind a rule.

    Parameters
    ----------
    world : BuildWorld
        The build.
    rule : BoundRule
        The rule.

    Returns
    -------
    list of Reason
        One for each figure, spec and goal entry the rule names, each with what it rests on in turn. A
        figure that comes up again is marked as seen and not opened a second time.
    """
    walker = _Walker(world)
    return walker.of(rule.expressions())


class _Walker:
    def __init__(self, world: BuildWorld) -> None:
        self.world = world
        self.seen: set[str] = set()

    def of(self, expressions: Iterable[Expression]) -> list[Reason]:
        found: dict[str, Reason] = {}
        for expression in expressions:
            names = expression.names
            for figure in names.figures:
                if figure not in found:
                    found[figure] = self.figure(figure)
            for position, spec in names.specs:
                if f"{position}.{spec}" not in found:
                    reason = self.spec(position, spec)
                    if reason is not None:
                        found[f"{position}.{spec}"] = reason
            for goal in names.goals:
                found.setdefault(f"goal.{goal}", self.goal(goal))
        return list(found.values())

    def number(self, reason: Reason, value: Value) -> Reason:
        if isinstance(value, Number):
            reason.value, reason.half = value.x, self.world.worst(value)
        elif isinstance(value, Missing):
            reason.value = "not known: " + "; ".join([*sorted(value.specs), *value.reasons])
        elif isinstance(value, bool):
            reason.value = "yes" if value else "no"
        elif isinstance(value, tuple):
            reason.value = (
                f"table of {len(value)} rows"
                if value and isinstance(value[0], tuple)
                else ", ".join(map(str, value))
            )
        else:
            reason.value = str(value)
        return reason

    def figure(self, name: str) -> Reason:
        bound = self.world.settled.book.figures[name]
        figure = bound.figure
        how = figure.is_ or f"formula {figure.formula}"
        source = figure.source or (bound.formula.source if bound.formula else "")
        unit = "" if figure.unit == "number" else figure.unit
        reason = Reason(
            name, figure.name or name.replace("_", " "), unit=unit, how=how, source=source,
            estimate=figure.basis == "estimate",
        )  # fmt: skip
        try:
            self.number(reason, self.world.figure(name))
        except Absent as absent:
            reason.value = f"does not apply: {absent.position} is empty"
        if name in self.seen:
            reason.seen = True
        else:
            self.seen.add(name)
            reason.rests_on = self.of(bound.expressions())
        return reason

    def spec(self, position: str, name: str) -> Reason | None:
        settled = self.world.settled
        entry = settled.fitted.get(position)
        kind = settled.shop.kinds[position][name]
        reason = Reason(f"{position}.{name}", f"{position}.{name}", unit=kind.unit)
        spec: Spec | None = settled.specs.get((position, name))
        if entry is None and position != "setup":
            reason.value = f"{position} is empty"
            return reason
        owner = entry.part.part if entry else "setup"
        if spec is None:
            reason.value = f"not stated for {owner}"
            return reason
        where = f", {spec.spot}" if spec.spot else ""
        reason.source = f"{owner}, {spec.basis}{where}"
        reason.estimate = spec.basis == "estimate"
        if isinstance(spec.value, Band):
            reason.value, reason.half = spec.value.middle, spec.value.half_width
            return reason
        return self.number(reason, spec.value)

    def goal(self, name: str) -> Reason:
        unit = GOAL[name][0] if name in GOAL else ""
        return self.number(
            Reason(f"goal.{name}", f"goal.{name}", unit=unit, source="the goal"), self.world.goal(name)
        )
