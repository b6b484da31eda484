"""Holding one rule against a build: the numbers, the verdict, and the sentence that says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from compat.checking.report import Finding
from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.units import show, unit

__all__ = ["Judge"]


@dataclass
class Judge:
    """Judges the rules that look at numbers and words; needs and renewals are judged elsewhere."""

    world: BuildWorld

    def judge(self, rule: BoundRule) -> Finding | None:
        """Give the finding of a rule, or None when it does not apply."""
        try:
            applies = self.applies(rule)
            if applies is False:
                return None
            if isinstance(applies, Missing):
                return self.unknown(rule, applies)
            match rule.rule.sort:
                case "limits":
                    return self.limits(rule)
                case "match":
                    return self.match(rule)
                case "load":
                    return self.load(rule)
                case "never":
                    return self.never(rule)
                case "note":
                    return self.finding(rule, rule.rule.fails_as, rule.rule.note or "")
        except Absent:
            pass
        return None

    def applies(self, rule: BoundRule) -> Missing | bool:
        """Whether the rule applies; raises Absent when its condition names an empty position."""
        if rule.where is None:
            return True
        value = rule.where.run(self.world)
        return value if isinstance(value, Missing) else value is True

    def finding(self, rule: BoundRule, verdict: Verdict, because: str, **numbers: Any) -> Finding:
        """Build a finding with what every finding carries."""
        settled = self.world.settled
        positions = settled.book.positions_of(rule)
        fitted = [settled.fitted[p].part.part for p in positions if p in settled.fitted]
        return Finding(
            rule=rule.rule.rule,
            verdict=verdict,
            title=rule.rule.title,
            positions=positions,
            parts=list(dict.fromkeys(fitted)),
            because=because,
            remedies=[] if verdict == "ok" else self.remedies(rule),
            source=rule.rule.source,
            why=rule.rule.why,
            **numbers,
        )

    def remedies(self, rule: BoundRule) -> list[str]:
        """Remedies as sentences."""
        return [self.remedy({str(key): name for key, name in entry.items()}) for entry in rule.rule.remedies]

    def remedy(self, entry: dict[str, str]) -> str:
        """One remedy as a sentence."""
        shop = self.world.settled.shop
        key, name = next(iter(entry.items()))
        match key:
            case "work":
                work = shop.works[name]
                return f"{work.name} (work {name}, {work.hours} h)"
            case "swap":
                return f"fit another: {shop.positions[name].name.lower()}"
            case "add":
                label = shop.positions[name].name if name in shop.positions else shop.parts[name].name
                return f"add: {label.lower()}"
        return name

    def unknown(self, rule: BoundRule, gap: Missing) -> Finding:
        """The finding when a spec is not stated or a formula refuses."""
        specs = sorted(gap.specs)
        if gap.out_of_reach and not specs:
            return self.finding(rule, rule.rule.fails_as, "; ".join(gap.reasons))
        says = []
        if specs:
            says.append(f"not stated: {', '.join(specs)}")
        says += gap.reasons
        finding = self.finding(rule, "unknown", "; ".join(says) or "cannot be decided", unstated=specs)
        finding.remedies = [f"Measure or look up {spec}." for spec in specs] or finding.remedies
        return finding

    def estimates(self, rule: BoundRule) -> list[str]:
        """Estimates that the rule's numbers rest on: specs by their basis, figures by theirs."""
        specs = self.world.settled.specs
        figures, names = self.world.settled.book.rests_on(rule)
        return figures + [f"{p}.{s}" for p, s in names if (p, s) in specs and specs[p, s].basis == "estimate"]

    # limits

    def limits(self, rule: BoundRule) -> Finding:
        """Hold a measured value and its band against the limits."""
        assert rule.measure is not None
        value = rule.measure.run(self.world)
        bounds: list[Number | None] = []
        gaps = value if isinstance(value, Missing) else None
        for limit in (rule.at_least, rule.at_most):
            bound = self.bound(limit)
            if isinstance(bound, Missing):
                gaps = bound if gaps is None else gaps | bound
                bound = None
            bounds.append(bound)
        if gaps is not None:
            return self.unknown(rule, gaps)
        assert isinstance(value, Number)
        lower, upper = bounds
        half = self.world.worst(value)
        verdict, side = self.side(rule, value.x, half, lower, upper)
        if (
            verdict == "measure"
            and self.side(rule, value.x, self.world.worst_of_pieces(value), lower, upper)[1] == ""
        ):
            verdict = "caution"  # the model may be off by that much; no piece in hand can settle it
        own = unit(rule.unit)
        limits = [bound.x for bound in (lower, upper) if bound is not None]
        near = lower if side == "below" else upper if side == "above" else None
        nearest_limit = near.x if near else min(limits, key=lambda each: abs(each - value.x))
        return self.finding(
            rule,
            verdict,
            self.say_limits(rule, verdict, side, value.x, half, lower, upper),
            value=own.from_si(value.x),
            low=own.from_si(value.x - half),
            high=own.from_si(value.x + half),
            likely=self.world.likely(value) / own.factor,
            limit=own.from_si(nearest_limit),
            at_least=own.from_si(lower.x) if lower else None,
            at_most=own.from_si(upper.x) if upper else None,
            unit=rule.unit,
            contributor=self.world.contributor(value),
            rests_on_estimate=self.estimates(rule),
        )

    def bound(self, limit: Limit | None) -> Number | Missing | None:
        """A limit as a number."""
        if limit is None:
            return None
        if limit.band is not None:
            return Number(limit.band.nominal)
        assert limit.expression is not None
        value: Value = limit.expression.run(self.world)
        assert isinstance(value, Number | Missing)
        return value

    @staticmethod
    def side(
        rule: BoundRule, value: float, half: float, lower: Number | None, upper: Number | None
    ) -> tuple[Verdict, str]:
        """The verdict, and at which limit it falls."""
        # floats of a stack of decimal dimensions: a millionth of the limit is no difference
        slack = 1e-9 * max(abs(value), abs(lower.x) if lower else 0.0, abs(upper.x) if upper else 0.0)
        if lower and value < lower.x - slack:
            return rule.rule.below or rule.rule.fails_as, "below"
        if upper and value > upper.x + slack:
            return rule.rule.above or rule.rule.fails_as, "above"
        # a side that only earns a caution does not ask for measuring
        if lower and value - half < lower.x - slack and (rule.rule.below or rule.rule.fails_as) != "caution":
            return "measure", "below"
        if upper and value + half > upper.x + slack and (rule.rule.above or rule.rule.fails_as) != "caution":
            return "measure", "above"
        return "ok", ""

    def say_limits(
        self, rule: BoundRule, verdict: Verdict, side: str, value: float, half: float, lower: Number | None,
        upper: Number | None,
    ) -> str:  # fmt: skip
        """The outcome as a sentence."""
        name = rule.unit
        text = show(value, name)
        if half > 0:
            text += f" ({show(value - half, name, bare=True)} to {show(value + half, name, bare=True)})"
        if side and not self.inside(value, lower, upper):
            bound = lower if side == "below" else upper
            assert bound is not None
            word = "less than the least allowed" if side == "below" else "more than the most allowed"
            return f"{text} is {word}, {show(bound.x, name)}"
        allowed = self.allowed(name, lower, upper)
        if verdict == "measure":
            return f"{text} crosses {allowed} within tolerance: measure the pieces and select"
        if verdict == "caution":
            return f"{text} crosses {allowed} within what the model may be off"
        return f"{text} is within {allowed}"

    @staticmethod
    def inside(value: float, lower: Number | None, upper: Number | None) -> bool:
        """Whether a value lies within its limits."""
        slack = 1e-9 * max(abs(value), abs(lower.x) if lower else 0.0, abs(upper.x) if upper else 0.0)
        return not (lower and value < lower.x - slack) and not (upper and value > upper.x + slack)

    @staticmethod
    def allowed(name: str, lower: Number | None, upper: Number | None) -> str:
        """The allowed range as words."""
        if lower and upper:
            return f"{show(lower.x, name, bare=True)} to {show(upper.x, name)}"
        bound = lower or upper
        assert bound is not None
        return f"{'at least' if lower else 'at most'} {show(bound.x, name)}"

    # load

    def load(self, rule: BoundRule) -> Finding:
        """Hold capacity against load with the headroom that the duty asks."""
        assert rule.load is not None
        assert rule.capacity is not None
        load, capacity = rule.load.run(self.world), rule.capacity.run(self.world)
        gaps = [entry for entry in (load, capacity) if isinstance(entry, Missing)]
        if gaps:
            return self.unknown(rule, gaps[0] | gaps[-1])
        assert isinstance(load, Number)
        assert isinstance(capacity, Number)
        duty = self.world.settled.goal.duty
        asked = rule.rule.headroom_for(duty)
        own = unit(rule.unit)
        if load.x <= 0:
            because = f"no load: {show(load.x, rule.unit)} against {show(capacity.x, rule.unit)}"
            headroom, low, verdict = None, None, "ok"
        else:
            headroom = capacity.x / load.x - 1
            wide_load, wide_capacity = self.world.worst(load), self.world.worst(capacity)
            low = (capacity.x - wide_capacity) / (load.x + wide_load) - 1
            verdict = "ok"
            says = f"{show(capacity.x, rule.unit)} against a load of {show(load.x, rule.unit)}"
            because = f"{says}: headroom {headroom:.0%}, {duty} asks {asked:.0%}"
            if headroom < asked - 1e-9:
                verdict = rule.rule.fails_as
            elif low < asked - 1e-9:
                verdict = "caution" if low < 0 else "ok"
                because += f"; within the uncertainty it may be {low:.0%}"
        return self.finding(
            rule,
            verdict,  # type: ignore[arg-type]
            because,
            load=own.from_si(load.x),
            capacity=own.from_si(capacity.x),
            headroom=headroom,
            headroom_asked=asked,
            low=low,
            unit=rule.unit,
            contributor=self.world.contributor(load) or self.world.contributor(capacity),
            rests_on_estimate=self.estimates(rule),
        )

    # match and never

    def match(self, rule: BoundRule) -> Finding:
        """Hold every pair against each other."""
        differ: list[str] = []
        agree: list[str] = []
        gaps: Missing | None = None
        for left, right in rule.pairs:
            a, b = left.run(self.world), right.run(self.world)
            if isinstance(a, Missing) or isinstance(b, Missing):
                for gap in (a, b):
                    if isinstance(gap, Missing):
                        gaps = gap if gaps is None else gaps | gap
                continue
            text = f"{left.text} {self.word(left, a)} and {right.text} {self.word(right, b)}"
            (agree if self.same(a, b, rule.within) else differ).append(text)
        if differ:
            return self.finding(rule, rule.rule.fails_as, f"{'; '.join(differ)} do not match")
        if gaps is not None:
            return self.unknown(rule, gaps)
        return self.finding(rule, "ok", f"{'; '.join(agree)} match")

    def same(self, a: Value, b: Value, within: float | None) -> bool:
        """Whether two values match: equal, one in the other's list, or numbers close enough."""
        if isinstance(a, Number) and isinstance(b, Number):
            slack = within if within is not None else self.world.worst(a) + self.world.worst(b)
            return abs(a.x - b.x) <= slack + 1e-9 * max(abs(a.x), abs(b.x))
        if isinstance(a, tuple) and isinstance(b, tuple):
            return bool(set(a) & set(b))
        if isinstance(a, tuple):
            return b in a
        if isinstance(b, tuple):
            return a in b
        return a == b

    def word(self, expression: Expression, value: Value) -> str:
        """A value as text in the unit of the spec it comes from."""
        if isinstance(value, Number):
            name = ""
            for position, spec in expression.names.specs:
                name = self.world.settled.shop.kinds[position][spec].unit
                break
            return show(value.x, name)
        if isinstance(value, tuple):
            return "[" + ", ".join(map(str, value)) + "]"
        return ("yes" if value else "no") if isinstance(value, bool) else str(value)

    def never(self, rule: BoundRule) -> Finding:
        """An outright exclusion."""
        assert rule.never is not None
        value = rule.never.run(self.world)
        if isinstance(value, Missing):
            return self.unknown(rule, value)
        if value is True:
            verdict = rule.rule.fails_as
            says = "not allowed together" if verdict == "conflict" else "this does not do"
            return self.finding(rule, verdict, f"{self.facts(rule.never)}: {says}")
        return self.finding(rule, "ok", f"{self.facts(rule.never)}: allowed")

    def facts(self, expression: Expression) -> str:
        """The specs an expression names, with their values, as words."""
        says = []
        for position, spec in dict.fromkeys(expression.names.specs):
            try:
                value = self.world.spec(position, spec)
            except Absent:
                continue
            if not isinstance(value, Missing):
                kind = self.world.settled.shop.kinds[position][spec]
                text = show(value.x, kind.unit) if isinstance(value, Number) else self.word(expression, value)
                says.append(f"{position}.{spec} {text}")
        for position in expression.names.positions:
            entry = self.world.settled.fitted.get(position)
            says.append(f"{position} is {entry.part.part if entry else 'empty'}")
        return ", ".join(says) or expression.text
