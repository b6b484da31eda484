"""Holding one rule against a build: the numbers, the verdict, and the sentence that says it."""

from __future__ import annotations

from compat.checking.report import Finding
from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.values import Absent, Missing, Number, Value, combine, missing
from compat.units import show, unit

__all__ = ["Judge"]


def slack(*values: float) -> float:
    """What a stack of decimal dimensions held as floats may be off: a thousandth of a millionth of its size."""
    return 1e-9 * max(map(abs, values))


def difference(a: Number, b: Number) -> Number:
    """One number less another, tolerances they share counted once."""
    found = combine(a.x - b.x, (1.0, a.g), (-1.0, b.g))
    return found if isinstance(found, Number) else a


class Judge:
    """Judges the rules that look at numbers and words; needs and renewals are judged elsewhere."""

    def __init__(self, world: BuildWorld) -> None:
        self.world = world
        settled = world.settled
        self.book = settled.book
        self.parts = {position: entry.part.part for position, entry in settled.fitted.items()}
        self.estimated = {key for key, spec in settled.specs.items() if spec.basis == "estimate"}

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

    def finding(self, rule: BoundRule, verdict: Verdict, because: str) -> Finding:
        """Build a finding with what every finding carries."""
        positions = self.book.positions_of(rule)
        parts = self.parts
        return Finding(
            rule=rule.rule.rule,
            verdict=verdict,
            title=rule.rule.title,
            positions=positions,
            parts=list(dict.fromkeys([parts[position] for position in positions if position in parts])),
            because=because,
            remedies=[] if verdict == "ok" else self.remedies(rule),
            source=rule.rule.source,
            why=rule.rule.why,
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
        finding = self.finding(rule, "unknown", "; ".join(says) or "cannot be decided")
        finding.unstated = specs
        finding.remedies = [f"Measure or look up {spec}." for spec in specs] or finding.remedies
        return finding

    def estimates(self, rule: BoundRule) -> list[str]:
        """Estimates that the rule's numbers rest on: specs by their basis, figures by theirs."""
        figures, names = self.book.rests_on(rule)
        if self.estimated.isdisjoint(names):
            return list(figures)
        return [*figures, *(f"{p}.{s}" for p, s in names if (p, s) in self.estimated)]

    # limits

    def limits(self, rule: BoundRule) -> Finding:
        """Hold a measured value and its band against the limits."""
        assert rule.measure is not None
        value = rule.measure.run(self.world)
        lower, upper = self.bound(rule.at_least), self.bound(rule.at_most)
        gap = missing(value, lower, upper)
        if isinstance(value, Missing):
            assert gap is not None
            return self.unknown(rule, gap)
        assert isinstance(value, Number)
        least = None if isinstance(lower, Missing) else lower
        most = None if isinstance(upper, Missing) else upper
        verdict, side = self.side(rule, value, least, most)
        if gap is not None and verdict in ("ok", "caution", "measure"):
            return self.unknown(rule, gap)  # a limit that is known and broken decides; one that holds does not
        own = unit(rule.unit)
        spread = self.world.spread(value)
        limits = [bound.x for bound in (least, most) if bound is not None]
        near = least if side == "below" else most if side == "above" else None
        nearest_limit = near.x if near else min(limits, key=lambda each: abs(each - value.x))
        says = self.say_limits(rule, verdict, side, value.x, spread.worst, least, most)
        finding = self.finding(rule, verdict, says)
        finding.value = own.from_si(value.x)
        finding.low = own.from_si(value.x - spread.worst)
        finding.high = own.from_si(value.x + spread.worst)
        finding.likely = spread.likely / own.factor
        finding.limit = own.from_si(nearest_limit)
        finding.at_least = own.from_si(least.x) if least else None
        finding.at_most = own.from_si(most.x) if most else None
        finding.unit = rule.unit
        finding.contributor = spread.most
        finding.rests_on_estimate = self.estimates(rule)
        finding.unstated = sorted(gap.specs) if gap else []
        return finding

    def bound(self, limit: Limit | None) -> Number | Missing | None:
        """A limit as a number."""
        if limit is None:
            return None
        if limit.expression is None:
            return limit.fixed
        return limit.expression.run(self.world)  # type: ignore[return-value]  # a number, as read

    def side(
        self, rule: BoundRule, value: Number, lower: Number | None, upper: Number | None
    ) -> tuple[Verdict, str]:
        """The verdict, and at which limit it falls."""
        found: tuple[Verdict, str] = ("ok", "")
        for bound, sign, side in ((lower, 1, "below"), (upper, -1, "above")):
            if bound is None:
                continue
            fails = (rule.rule.below if side == "below" else rule.rule.above) or rule.rule.fails_as
            margin = sign * (value.x - bound.x) + slack(value.x, bound.x)
            if margin < 0:
                return fails, side
            # a side that only earns a caution does not ask for measuring
            if found[0] == "measure" or fails == "caution" or not (value.g or bound.g):
                continue
            # what the limit itself may be off counts too, once where both hang on the same dimension
            both = self.world.spread(value if not bound.g else difference(value, bound))
            if margin < both.pieces:
                found = "measure", side
            elif margin < both.worst and not found[1]:
                found = "caution", side  # a model may be off by that much; no piece in hand can settle it
        return found

    def say_limits(
        self, rule: BoundRule, verdict: Verdict, side: str, value: float, half: float, lower: Number | None,
        upper: Number | None,
    ) -> str:  # fmt: skip
        """The outcome as a sentence."""
        name = rule.unit
        text = show(value, name)
        if half > 0:
            text += f" ({show(value - half, name, bare=True)} to {show(value + half, name, bare=True)})"
        bound = lower if side == "below" else upper
        if side and bound and (value - bound.x) * (1 if side == "below" else -1) + slack(value, bound.x) < 0:
            word = "less than the least allowed" if side == "below" else "more than the most allowed"
            return f"{text} is {word}, {show(bound.x, name)}"
        allowed = self.allowed(name, lower, upper)
        if verdict == "measure":
            return f"{text} crosses {allowed} within tolerance: measure the pieces and select"
        if verdict == "caution":
            return f"{text} crosses {allowed} within what the model may be off"
        return f"{text} is within {allowed}"

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
        verdict: Verdict = "ok"
        headroom = low = None
        if load.x <= 0:
            because = f"no load: {show(load.x, rule.unit)} against {show(capacity.x, rule.unit)}"
        else:
            headroom = capacity.x / load.x - 1
            wide_load, wide_capacity = self.world.worst(load), self.world.worst(capacity)
            low = (capacity.x - wide_capacity) / (load.x + wide_load) - 1
            says = f"{show(capacity.x, rule.unit)} against a load of {show(load.x, rule.unit)}"
            because = f"{says}: headroom {headroom:.0%}, {duty} asks {asked:.0%}"
            if headroom < asked - 1e-9:
                verdict = rule.rule.fails_as
            elif low < asked - 1e-9:
                verdict = "caution" if low < 0 else "ok"
                because += f"; within the uncertainty it may be {low:.0%}"
        finding = self.finding(rule, verdict, because)
        finding.load = own.from_si(load.x)
        finding.capacity = own.from_si(capacity.x)
        finding.headroom = headroom
        finding.headroom_asked = asked
        finding.low = low
        finding.unit = rule.unit
        finding.contributor = self.contributor(load, capacity)
        finding.rests_on_estimate = self.estimates(rule)
        return finding

    def contributor(self, load: Number, capacity: Number) -> str:
        """Tolerance that moves the headroom most."""
        if not load.x:
            return self.world.spread(capacity).most
        headroom = combine(capacity.x / load.x, (1 / load.x, capacity.g), (-capacity.x / load.x**2, load.g))
        return self.world.spread(headroom).most if isinstance(headroom, Number) else ""

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
