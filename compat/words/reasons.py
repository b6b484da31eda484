"""Why a finding came out as it did: the chain from the specs to the verdict, as data."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.shop.specs import Spec
from compat.units import Band
from compat.words.telling import Teller
from compat.words.wording import goal_unit, in_sentence, plain, readable, spec_name

__all__ = ["Reason", "reasons"]


@dataclass
class Reason:
    """One step of the chain: what it is, what it comes to, how, and what it rests on."""

    name: str
    title: str
    value: float | str | None = None
    gap: str = ""
    """In place of a value, why there is none: the rest of a sentence after the title."""
    half: float = 0.0
    unit: str = ""
    how: str = ""
    source: str = ""
    estimate: bool = False
    seen: bool = False
    rests_on: list[Reason] = field(default_factory=list)


def reasons(world: BuildWorld, rule: BoundRule, system: str = "metric") -> list[Reason]:
    """Give the chain of reasons behind a rule.

    Parameters
    ----------
    world : BuildWorld
        The build.
    rule : BoundRule
        The rule.
    system : str
        ``metric`` or ``imperial``, for what the sentences quote.

    Returns
    -------
    list of Reason
        One for each figure, spec and goal entry the rule names, each with what it rests on in turn. A
        figure that comes up again is marked as seen and not opened a second time.
    """
    walker = _Walker(world, system)
    return walker.of(rule.expressions())


class _Walker:
    def __init__(self, world: BuildWorld, system: str) -> None:
        self.world = world
        self.tell = Teller(world, system)
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
            reason.gap = f"is not known ({self.tell.gap(value)})"
        elif isinstance(value, bool):
            reason.value = "yes" if value else "no"
        elif isinstance(value, tuple):
            reason.value = (
                f"a table of {len(value)} rows"
                if value and isinstance(value[0], tuple)
                else ", ".join(plain(str(each)) for each in value)
            )
        else:
            reason.value = plain(str(value))
        return reason

    def figure(self, name: str) -> Reason:
        bound = self.world.settled.book.figures[name]
        figure = bound.figure
        if figure.is_:
            how = f"= {readable(self.tell.shop, figure.is_)}"
        else:
            how = f"by the formula {plain((figure.formula or '').replace('.', ', '))}"
        source = figure.source or (bound.formula.source if bound.formula else "")
        taken = self.world.taken(name)
        if taken is not None and figure.unstated:
            says = readable(self.tell.shop, figure.unstated.take)
            how = f"for want of a stated value: {says}"
            source = f"{figure.unstated.basis}: {figure.unstated.why.rstrip('.')}"
        unit = "" if figure.unit == "number" else figure.unit
        reason = Reason(
            name, figure.name or plain(name), unit=unit, how=how, source=source,
            estimate=figure.basis == "estimate",
        )  # fmt: skip
        try:
            self.number(reason, self.world.figure(name))
        except Absent as absent:
            reason.gap = f"does not apply: no {self.place(absent.position)} is fitted"
        if name in self.seen:
            reason.seen = True
        else:
            self.seen.add(name)
            reason.rests_on = self.of(bound.expressions())
        return reason

    def place(self, position: str) -> str:
        return in_sentence(self.tell.shop.positions[position].name)

    def spec(self, position: str, name: str) -> Reason | None:
        settled = self.world.settled
        entry = settled.fitted.get(position)
        kind = settled.shop.kinds[position][name]
        reason = Reason(f"{position}.{name}", spec_name(self.tell.shop, position, name), unit=kind.unit)
        spec: Spec | None = settled.specs.at(position, name)
        if entry is None and position != "setup":
            reason.gap = f"does not apply: no {self.place(position)} is fitted"
            return reason
        owner = entry.part.part if entry else "setup"
        if spec is None:
            reason.gap = f"is not stated for {owner} ({reason.name})"
            return reason
        where = f", {spec.spot.file}:{spec.spot.line}" if spec.spot else ""
        reason.source = f"{owner}, {spec.basis}{where}"
        reason.estimate = spec.basis == "estimate"
        if isinstance(spec.value, Band) and kind.zero and spec.value.low == spec.value.high == 0:
            reason.value = kind.zero
            return reason
        if isinstance(spec.value, Band):
            reason.value, reason.half = spec.value.middle, spec.value.half_width
            return reason
        return self.number(reason, spec.value)

    def goal(self, name: str) -> Reason:
        reason = Reason(f"goal.{name}", f"the goal's {plain(name)}", unit=goal_unit(name))
        value = self.world.goal(name)
        if isinstance(value, Missing):
            reason.gap = "is not stated"
            return reason
        return self.number(reason, value)
