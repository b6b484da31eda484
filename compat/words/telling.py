"""The sentence of an outcome: what was held against what, in the reader's units and the shop's names."""

from __future__ import annotations

from collections.abc import Iterable

from compat.checking.outcome import Barred, Borne, Gap, Held, Noted, Outcome, Paired, Pieced
from compat.checking.settle import Touch
from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.scope import GOAL
from compat.rulebook.values import Absent, Missing, Number, Plain
from compat.shop.specs import SpecKind
from compat.units import show
from compat.words.pieces import of_pieces
from compat.words.wording import (
    in_sentence,
    missing_remedy,
    plain,
    readable,
    refusal_text,
    remedy_text,
    spec_name,
    told,
    unstated_text,
)

__all__ = ["Teller"]


class Teller:
    """Says findings of one build in one system of units."""

    def __init__(self, world: BuildWorld, system: str = "metric") -> None:
        self.world = world
        self.shop = world.settled.shop
        self.system = system

    def number(self, value: float, name: str, half: float = 0.0, *, bare: bool = False) -> str:
        """A number in the reader's unit."""
        if half:
            return told(value, name, half, self.system, bare=bare)
        return show(value, name, self.system, bare=bare)

    def remedy(self, key: str, name: str) -> str:
        """One remedy as a sentence; a part that the shop does not have for this engine is called so."""
        text = remedy_text(self.shop, key, name, self.shop.families[self.world.settled.variant.family])
        if key not in ("swap", "add") or name not in self.shop.positions or self._to_be_had(name):
            return text
        return f"{text.removesuffix('.')} (none in this shop)."

    def _to_be_had(self, position: str) -> bool:
        """Whether the shop has another part for the position than the one fitted, made for this engine."""
        settled = self.world.settled
        entry = settled.fitted.get(position)
        now = entry.part.part if entry else ""
        parts = (self.shop.parts[name] for name in self.shop.fillers[position] if name != now)
        return any(not part.families or settled.variant.family in part.families for part in parts)

    # what is not known

    def gap(self, gap: Missing) -> str:
        """What is not stated, and what a formula refused."""
        says = [refusal_text(refusal, self.system) for refusal in gap.reasons]
        if gap.specs:
            says.insert(0, f"not stated: {', '.join(self.unstated(spec) for spec in sorted(gap.specs))}")
        return "; ".join(says) or "cannot be decided"

    def unstated(self, spec: str) -> str:
        """A spec that nobody stated, with its part."""
        entry = self.world.settled.fitted.get(spec.partition(".")[0])
        return unstated_text(self.shop, spec, entry.part.part if entry else "")

    def to_state(self, specs: Iterable[str]) -> list[str]:
        """What to do about specs that nobody stated."""
        return [missing_remedy(self.shop, spec) for spec in specs]

    def taken(self) -> dict[str, str]:
        """By figure that is taken as the rulebook says: as what, why, and what is not stated."""
        found = {}
        for name in self.world.asked():
            gap = self.world.taken(name)
            value = self.world.figure(name) if gap is not None else None
            figure = self.world.settled.book.figures[name].figure
            if gap is not None and figure.unstated is not None and isinstance(value, Number):
                unstated = figure.unstated
                unit = "" if figure.unit == "number" else figure.unit
                says = f"{figure.name or plain(name)} taken as {self.number(value.x, unit)}"
                says += f" ({unstated.basis}: {unstated.why.rstrip('.')})"
                # why a formula refuses is said where it stands against the goal
                found[name] = f"{says}; {self.gap(Missing(gap.specs))}" if gap.specs else says
        return found

    def sentence(self, rule: BoundRule, outcome: Outcome) -> str:
        """What came of a rule, as a sentence without its capital and full stop."""
        match outcome.seen:
            case Pieced() as pieced:
                return of_pieces(self, rule, pieced, outcome.verdict)
            case Held() as held:
                return self.limits(rule, held, outcome.verdict)
            case Borne() as borne:
                return self.load(rule.unit, borne)
            case Paired() as paired:
                return self.pairs(rule, paired)
            case Barred(strikes):
                assert rule.never is not None
                return self.never(rule.never, outcome.verdict, holds=strikes)
            case Gap(gap):
                return self.gap(gap)
            case Noted():
                return rule.rule.note or ""
        raise TypeError(f"{type(outcome.seen).__name__} is no outcome of a rule by itself")

    def touch(self, touch: Touch) -> str:
        """Why something is opened, as words."""
        if touch.how == "work":
            return f"work {touch.what}"
        if touch.how == "to reach":
            return f"to reach the {self.shop.joints[touch.what].name.lower()}"
        name = in_sentence(self.shop.positions[touch.what].name)
        if touch.how == "becomes":
            return f"{name} becomes {touch.part}"
        return f"{name} is {touch.how}"

    # limits

    def limits(self, rule: BoundRule, held: Held, verdict: Verdict) -> str:
        """The outcome of limits as a sentence."""
        name, value, half = rule.unit, held.value, held.spread.worst
        text = self.number(value, name, half)
        what = self.measured(rule) if rule.measure is not None else "it"
        if half > 0:
            low = self.number(value - half, name, half, bare=True)
            high = self.number(value + half, name, half, bare=True)
            if low != high:
                text += f" ({low} to {high})"
        bound = held.least if held.side == "below" else held.most
        if held.side and bound is not None:
            limit = self.number(bound, name)
            which = f"less than the least allowed, {limit}" if held.side == "below" else (
                f"more than the most allowed, {limit}"
            )  # fmt: skip
            if held.outside:
                just = "just " if self.number(value, name, half) == limit else ""
                return f"{what} comes to {text}, {just}{which}"
            if verdict == "measure":
                within = f"{what} comes to {text} and may, within tolerance, be {which}"
                return f"{within}: measure the pieces and select"
            return f"{what} comes to {text} and could be {which}, by what the model may be off"
        return f"{what} comes to {text}; {self.allowed(name, held.least, held.most)}"

    def measured(self, rule: BoundRule) -> str:
        """What a rule measures, as words: a figure or spec by its name; the title says what a dimension is."""
        expression = rule.measure
        assert expression is not None
        figure = self.world.settled.book.figures.get(expression.text)
        if figure is not None and figure.figure.name:
            return in_sentence(figure.figure.name)
        if expression.tree[0] == "spec":
            return self.name(expression)
        if expression.tree[0] == "parameter":
            return f"the {plain(expression.text)} stated"
        return "it" if rule.unit not in ("", "number") else readable(self.shop, expression.text)

    def allowed(self, name: str, lower: float | None, upper: float | None) -> str:
        """The allowed range as words."""
        if lower is not None and upper is not None:
            if lower == upper:
                return f"{self.number(lower, name)} is asked"
            return f"{self.number(lower, name, bare=True)} to {self.number(upper, name)} is allowed"
        if lower is not None:
            return f"at least {self.number(lower, name)} is asked"
        return f"at most {self.number(upper or 0.0, name)} is allowed"

    def load(self, name: str, borne: Borne) -> str:
        """Capacity against load as a sentence."""
        duty = self.world.settled.goal.duty
        says = f"capacity {self.number(borne.capacity, name)}, load {self.number(borne.load, name)}"
        if borne.headroom is None:
            return f"{says}: no load to bear"
        room, asked = f"{borne.headroom:.0%}", f"{borne.asked:.0%}"
        just = "just below " if room == asked and borne.headroom < borne.asked - 1e-9 else ""
        says += f": headroom {just}{room}, {duty} asks for {asked}"
        if borne.low is not None and borne.headroom >= borne.asked - 1e-9 and borne.low < borne.asked - 1e-9:
            says += f"; within the uncertainty it may be {borne.low:.0%}"
        return says

    # match and never

    def pairs(self, rule: BoundRule, paired: Paired) -> str:
        """Pairs held against each other: those that differ, or else those that agree."""
        differ = any(not agree for *_, agree in paired.pairs)
        says = []
        for number, a, b, agree in paired.pairs:
            if agree != differ:
                left, right = rule.pairs[number]
                verb = "matches" if agree else "does not match"
                # a rod's bolt thread and a rod bolt's thread read alike unless it is said whose they are
                owned = self.name(left) == self.name(right)
                says.append(f"{self.side(left, a, owned=owned)} {verb} {self.side(right, b, owned=owned)}")
        return "; ".join(says)

    def side(self, expression: Expression, value: Plain, *, owned: bool = False) -> str:
        """One side of a pair: its name and what it comes to."""
        text = self.word(expression, value)
        if not (expression.names.specs or expression.names.figures or expression.names.goals):
            return text
        return f"{self.name(expression, owned=owned)} ({text})"

    def name(self, expression: Expression, *, owned: bool = False) -> str:
        """An expression by name: a spec by its position, anything longer as it stands."""
        position, sign, spec = expression.text.partition(".")
        if sign and spec.isidentifier() and position.isidentifier():
            if owned and position in self.shop.positions:
                return f"{in_sentence(self.shop.positions[position].name)}'s {plain(spec)}"
            return spec_name(self.shop, position, spec)
        return readable(self.shop, expression.text)

    def word(self, expression: Expression, value: Plain) -> str:
        """A value as text, in the unit of the spec it comes from."""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, float):
            kinds = [self.shop.kinds[p][s] for p, s in expression.names.specs]
            if expression.tree[0] == "spec":
                return self.stated(value, kinds[0])
            return self.quantity(value, kinds[0].unit if kinds else "")
        if isinstance(value, tuple):
            return " / ".join(plain(str(each)) for each in value)
        return plain(str(value))

    def stated(self, value: float, kind: SpecKind) -> str:
        """What a part states, in words where nothing has a meaning."""
        return kind.zero if kind.zero and value == 0 else self.quantity(value, kind.unit)

    def quantity(self, value: float, name: str) -> str:
        """A stated quantity; a plain number, mostly a count, without idle noughts."""
        return f"{value:.6g}" if name in ("", "number") else self.number(value, name)

    def never(self, expression: Expression, verdict: str, *, holds: bool) -> str:
        """An exclusion, with the facts it was decided on."""
        facts = self.facts(expression)
        if not holds:
            return f"{facts}; allowed"
        if verdict == "conflict":
            return f"{facts}. {'These' if ';' in facts else 'This'} cannot go together"
        return f"{facts}. That will not do here"

    def facts(self, expression: Expression) -> str:
        """What an expression names, with its values, as words."""
        names, world, says = expression.names, self.world, []
        for position, spec in dict.fromkeys(names.specs):
            try:
                value = world.spec(position, spec)
            except Absent:
                continue
            if isinstance(value, Missing):
                continue
            kind = self.shop.kinds[position][spec]
            text = self.stated(value.x, kind) if isinstance(value, Number) else self.word(expression, value)
            says.append(f"{spec_name(self.shop, position, spec)}: {text}")
        for position in names.positions:
            entry = world.settled.fitted.get(position)
            place = in_sentence(self.shop.positions[position].name)
            says.append(f"{place}: {entry.part.part}" if entry else f"no {place} is fitted")
        for goal in names.goals:
            value = world.goal(goal)
            if isinstance(value, Number):
                says.append(f"goal {plain(goal)}: {self.number(value.x, GOAL[goal][0])}")
            elif not isinstance(value, Missing):
                says.append(f"goal {plain(goal)}: {value}")
        return "; ".join(dict.fromkeys(says)) or readable(self.shop, expression.text)
