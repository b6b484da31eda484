"""Holding one rule against a build: the numbers and the verdict, no words."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.by_pieces import Room, Weighed, judge_pieces
from compat.checking.outcome import Barred, Borne, Gap, Held, Noted, Outcome, Paired
from compat.checking.pairing import gauged_in
from compat.checking.world import BuildWorld
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule, Limit
from compat.rulebook.values import Absent, Missing, Number, Plain, Value, combine, missing, plain

__all__ = ["applies", "beyond_scope", "judge", "same_word", "undecided", "unknown", "weigh"]


def judge(world: BuildWorld, rule: BoundRule) -> Outcome | None:
    """Hold a rule that looks at numbers and words against a build.

    Parameters
    ----------
    world : BuildWorld
        The build.
    rule : BoundRule
        Any rule but one of need or renewal, which are judged together with all others of their kind.

    Returns
    -------
    Outcome or None
        What came of it; None when the rule does not apply.
    """
    outside = world.settled.outside
    if outside is None:
        return _whole(world, rule)
    if outside.rule(rule):
        return None
    outcome = _whole(world, rule)
    if outcome is not None and outcome.verdict == "unknown" and undecided(world, outcome):
        return None
    return outcome


def undecided(world: BuildWorld, outcome: Outcome) -> bool:
    """Whether an unknown hangs on nothing but what lies outside the scope of the build."""
    outside, seen = world.settled.outside, outcome.seen
    if outside is None:
        return False
    if isinstance(seen, Gap):
        return outside.gap(seen.missing)
    return isinstance(seen, Held) and bool(seen.unstated) and outside.specs(seen.unstated)


def beyond_scope(world: BuildWorld) -> Iterator[str]:
    """Rules that speak of the build and cannot be decided without what lies outside its scope."""
    outside = world.settled.outside
    for name, rule in world.settled.book.judged.items() if outside is not None else ():
        if outside is not None and not outside.rule(rule):
            outcome = _whole(world, rule)
            if outcome is not None and outcome.verdict == "unknown" and undecided(world, outcome):
                yield name


def _whole(world: BuildWorld, rule: BoundRule) -> Outcome | None:
    """Hold a rule against a build, whatever its scope."""
    if world.gauged:
        measured = gauged_in(world, rule)
        if measured:
            return judge_pieces(world, rule, measured, _once, weigh)
    return _once(world, rule)


def _once(world: BuildWorld, rule: BoundRule) -> Outcome | None:
    """Hold a rule against a build as it stands, every spec one value."""
    try:
        holds = applies(world, rule)
        if holds is False:
            return None
        if isinstance(holds, Missing):
            return unknown(rule, holds)
        return _JUDGES[rule.rule.sort](world, rule)
    except Absent:
        return None


def applies(world: BuildWorld, rule: BoundRule) -> Missing | bool:
    """Whether the rule applies; raises Absent when its condition names an empty position."""
    if rule.where is None:
        return True
    value = rule.where.run(world)
    return value if isinstance(value, Missing) else value is True


def unknown(rule: BoundRule, gap: Missing) -> Outcome:
    """The outcome when a spec is not stated or a formula refuses."""
    # a goal out of reach is no want of a figure: the rule fails as it says
    verdict: Verdict = rule.rule.fails_as if gap.out_of_reach and not gap.specs else "unknown"
    return Outcome(rule.rule.rule, verdict, Gap(gap))


# limits


def _limits(world: BuildWorld, rule: BoundRule) -> Outcome:
    """Hold a measured value and its band against the limits."""
    value, lower, upper = _numbers(world, rule)
    gap = missing(value, lower, upper)
    if isinstance(value, Missing):
        assert gap is not None
        return unknown(rule, gap)
    least = None if isinstance(lower, Missing) else lower
    most = None if isinstance(upper, Missing) else upper
    verdict, side = _side(world, rule, value, least, most)
    if gap is not None and verdict in ("ok", "caution", "measure"):
        return unknown(rule, gap)  # a limit that is known and broken decides; one that holds does not
    near = _nearest(value, least, most, side)
    sign = 1 if side == "below" else -1
    outside = side != "" and sign * (value.x - near.x) + _slack(value.x, near.x) < 0
    held = Held(
        value.x,
        world.spread(value),
        least.x if least else None,
        most.x if most else None,
        side,
        near.x,
        outside,
        tuple(sorted(gap.specs)) if gap else (),
    )
    return Outcome(rule.rule.rule, verdict, held)


def _numbers(
    world: BuildWorld, rule: BoundRule
) -> tuple[Number | Missing, Number | Missing | None, Number | Missing | None]:
    """What a rule measures, and its limits."""
    assert rule.measure is not None
    value = rule.measure.run(world)
    assert isinstance(value, Number | Missing)
    return value, _bound(world, rule.at_least), _bound(world, rule.at_most)


def weigh(world: BuildWorld, rule: BoundRule) -> Weighed | Missing | None:
    """What a rule measures against those of its limits that are known; None where it does not apply."""
    try:
        holds = applies(world, rule)
        if holds is False:
            return None
        if isinstance(holds, Missing):
            return holds
        value, lower, upper = _numbers(world, rule)
    except Absent:
        return None
    if isinstance(value, Missing):
        return value
    gap = missing(lower, upper)
    bounds = []
    for bound, side in ((lower, "below"), (upper, "above")):
        if isinstance(bound, Number):
            sign = 1.0 if side == "below" else -1.0
            room = _difference(value, bound)
            fails = (rule.rule.below if side == "below" else rule.rule.above) or rule.rule.fails_as
            bounds.append(Room(side, fails, bound.x, sign * room.x + _slack(value.x, bound.x), room))
    return Weighed(value, tuple(bounds), gap) if bounds else gap


def _slack(a: float, b: float) -> float:
    """What a stack of decimal dimensions held as floats may be off: a thousandth of a millionth of its size."""
    return 1e-9 * max(abs(a), abs(b))


def _difference(a: Number, b: Number) -> Number:
    """One number less another, tolerances they share counted once."""
    found = combine(a.x - b.x, (1.0, a.g), (-1.0, b.g))
    return found if isinstance(found, Number) else a


def _nearest(value: Number, least: Number | None, most: Number | None, side: str) -> Number:
    """The limit that is crossed, or the nearer one."""
    if least is None or most is None:
        only = most if least is None else least
        assert only is not None
        return only
    if side:
        return least if side == "below" else most
    return least if value.x - least.x <= most.x - value.x else most


def _bound(world: BuildWorld, limit: Limit | None) -> Number | Missing | None:
    """A limit as a number."""
    if limit is None:
        return None
    if limit.expression is None:
        return limit.fixed
    return limit.expression.run(world)  # type: ignore[return-value]  # a number, as read


def _side(
    world: BuildWorld, rule: BoundRule, value: Number, lower: Number | None, upper: Number | None
) -> tuple[Verdict, str]:
    """The verdict, and at which limit it falls."""
    found: tuple[Verdict, str] = ("ok", "")
    for bound, sign, side in ((lower, 1, "below"), (upper, -1, "above")):
        if bound is None:
            continue
        fails = (rule.rule.below if side == "below" else rule.rule.above) or rule.rule.fails_as
        margin = sign * (value.x - bound.x) + _slack(value.x, bound.x)
        if margin < 0:
            return fails, side
        # a side that only earns a caution does not ask for measuring
        if found[0] == "measure" or fails == "caution" or not (value.g or bound.g):
            continue
        # what the limit itself may be off counts too, once where both hang on the same dimension
        both = world.spread(value if not bound.g else _difference(value, bound))
        if margin < both.pieces:
            found = "measure", side
        elif margin < both.worst and not found[1]:
            found = "caution", side  # a model may be off by that much; no piece in hand can settle it
    return found


# load


def _load(world: BuildWorld, rule: BoundRule) -> Outcome:
    """Hold capacity against load with the headroom that the duty asks."""
    assert rule.load is not None
    assert rule.capacity is not None
    load, capacity = rule.load.run(world), rule.capacity.run(world)
    gaps = [entry for entry in (load, capacity) if isinstance(entry, Missing)]
    if gaps:
        return unknown(rule, gaps[0] | gaps[-1])
    assert isinstance(load, Number)
    assert isinstance(capacity, Number)
    asked = rule.rule.headroom_for(world.settled.goal.duty)
    verdict: Verdict = "ok"
    headroom = low = None
    if load.x > 0:
        headroom = capacity.x / load.x - 1
        wide_load, wide_capacity = world.worst(load), world.worst(capacity)
        low = (capacity.x - wide_capacity) / (load.x + wide_load) - 1
        if headroom < asked - 1e-9:
            verdict = rule.rule.fails_as
        elif low < asked - 1e-9:
            verdict = "caution" if low < 0 else "ok"
    borne = Borne(load.x, capacity.x, headroom, low, asked, _contributor(world, load, capacity))
    return Outcome(rule.rule.rule, verdict, borne)


def _contributor(world: BuildWorld, load: Number, capacity: Number) -> str:
    """Tolerance that moves the headroom most."""
    if not load.x:
        return world.spread(capacity).most
    headroom = combine(capacity.x / load.x, (1 / load.x, capacity.g), (-capacity.x / load.x / load.x, load.g))
    return world.spread(headroom).most if isinstance(headroom, Number) else ""


# match, never and note


def _match(world: BuildWorld, rule: BoundRule) -> Outcome:
    """Hold every pair against each other."""
    pairs: list[tuple[int, Plain, Plain, bool]] = []
    gaps: Missing | None = None
    for number, (left, right) in enumerate(rule.pairs):
        a, b = left.run(world), right.run(world)
        gap = missing(a, b)
        if gap is not None:
            gaps = gap if gaps is None else gaps | gap
        else:
            pairs.append((number, plain(a), plain(b), _same(world, a, b, rule.within)))
    differ = any(not agree for *_, agree in pairs)
    if gaps is not None and not differ:
        return unknown(rule, gaps)
    return Outcome(rule.rule.rule, rule.rule.fails_as if differ else "ok", Paired(tuple(pairs)))


def _same(world: BuildWorld, a: Value, b: Value, within: float | None) -> bool:
    """Whether two values match: equal, one in the other's list, or numbers close enough."""
    if isinstance(a, Number) and isinstance(b, Number):
        slack = within if within is not None else world.worst(a) + world.worst(b)
        return abs(a.x - b.x) <= slack + 1e-9 * max(abs(a.x), abs(b.x))
    return same_word(a, b)


def same_word(a: object, b: object) -> bool:
    """Whether two values that are no numbers match: equal, or one in the other's list."""
    if isinstance(a, tuple) and isinstance(b, tuple):
        return bool(set(a) & set(b))
    if isinstance(a, tuple):
        return b in a
    if isinstance(b, tuple):
        return a in b
    return a == b


def _never(world: BuildWorld, rule: BoundRule) -> Outcome:
    """An outright exclusion."""
    assert rule.never is not None
    value = rule.never.run(world)
    if isinstance(value, Missing):
        return unknown(rule, value)
    strikes = value is True
    return Outcome(rule.rule.rule, rule.rule.fails_as if strikes else "ok", Barred(strikes))


def _note(world: BuildWorld, rule: BoundRule) -> Outcome:
    """Something that is said where it applies."""
    return Outcome(rule.rule.rule, rule.rule.fails_as, Noted())


_JUDGES = {"limits": _limits, "load": _load, "match": _match, "never": _never, "note": _note}
