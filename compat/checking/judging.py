"""Holding one rule against a build: the numbers and the verdict; `telling` says it as a sentence."""

from __future__ import annotations

from compat.checking.report import Finding
from compat.checking.telling import Teller
from compat.checking.world import BuildWorld
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.values import Absent, Missing, Number, Value, combine, missing
from compat.units import unit

__all__ = ["Judge"]


def slack(a: float, b: float) -> float:
    """What a stack of decimal dimensions held as floats may be off: a thousandth of a millionth of its size."""
    return 1e-9 * max(abs(a), abs(b))


def difference(a: Number, b: Number) -> Number:
    """One number less another, tolerances they share counted once."""
    found = combine(a.x - b.x, (1.0, a.g), (-1.0, b.g))
    return found if isinstance(found, Number) else a


class Judge:
    """Judges the rules that look at numbers and words; needs and renewals are judged elsewhere."""

    def __init__(self, world: BuildWorld, system: str = "metric") -> None:
        self.world = world
        self.tell = Teller(world, system)
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
        return [self.tell.remedy(key, name) for entry in rule.rule.remedies for key, name in entry.items()]

    def unknown(self, rule: BoundRule, gap: Missing) -> Finding:
        """The finding when a spec is not stated or a formula refuses."""
        specs = sorted(gap.specs)
        if gap.out_of_reach and not specs:
            return self.finding(rule, rule.rule.fails_as, self.tell.gap(gap))
        finding = self.finding(rule, "unknown", self.tell.gap(gap))
        finding.unstated = specs
        finding.remedies = self.tell.to_state(specs) or finding.remedies
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
        near = self.nearest(value, least, most, side)
        sign = 1 if side == "below" else -1
        outside = side != "" and sign * (value.x - near.x) + slack(value.x, near.x) < 0
        says = self.tell.limits(
            rule.unit, value.x, spread.worst, least.x if least else None, most.x if most else None,
            side, verdict, outside, rule.measure,
        )  # fmt: skip
        finding = self.finding(rule, verdict, says)
        finding.value = own.from_si(value.x)
        finding.low = own.from_si(value.x - spread.worst)
        finding.high = own.from_si(value.x + spread.worst)
        finding.likely = spread.likely / own.factor
        finding.limit = own.from_si(near.x)
        finding.at_least = own.from_si(least.x) if least else None
        finding.at_most = own.from_si(most.x) if most else None
        finding.unit = rule.unit
        finding.contributor = spread.most
        finding.rests_on_estimate = self.estimates(rule)
        finding.unstated = sorted(gap.specs) if gap else []
        return finding

    @staticmethod
    def nearest(value: Number, least: Number | None, most: Number | None, side: str) -> Number:
        """The limit that is crossed, or the nearer one."""
        if least is None or most is None:
            only = most if least is None else least
            assert only is not None
            return only
        if side:
            return least if side == "below" else most
        return least if value.x - least.x <= most.x - value.x else most

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
        asked = rule.rule.headroom_for(self.world.settled.goal.duty)
        own = unit(rule.unit)
        verdict: Verdict = "ok"
        headroom = low = None
        if load.x > 0:
            headroom = capacity.x / load.x - 1
            wide_load, wide_capacity = self.world.worst(load), self.world.worst(capacity)
            low = (capacity.x - wide_capacity) / (load.x + wide_load) - 1
            if headroom < asked - 1e-9:
                verdict = rule.rule.fails_as
            elif low < asked - 1e-9:
                verdict = "caution" if low < 0 else "ok"
        because = self.tell.load(rule.unit, load.x, capacity.x, headroom, low, asked)
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
            same = self.same(a, b, rule.within)
            (agree if same else differ).append(self.tell.pair(left, a, right, b, agree=same))
        if differ:
            return self.finding(rule, rule.rule.fails_as, "; ".join(differ))
        if gaps is not None:
            return self.unknown(rule, gaps)
        return self.finding(rule, "ok", "; ".join(agree))

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

    def never(self, rule: BoundRule) -> Finding:
        """An outright exclusion."""
        assert rule.never is not None
        value = rule.never.run(self.world)
        if isinstance(value, Missing):
            return self.unknown(rule, value)
        holds = value is True
        verdict = rule.rule.fails_as if holds else "ok"
        return self.finding(rule, verdict, self.tell.never(rule.never, verdict, holds=holds))
