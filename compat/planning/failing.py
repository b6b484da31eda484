"""Whether a rule surely fails, over every choice that a view of its leaves covers.

Failing is conflict, shortfall, missing or unknown, as the checker gives it; what makes a measure or a caution
is not. The answer is sound one way: yes is proven, no may only mean that the bounds are too wide to tell.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from compat.checking.judging import same_word
from compat.planning.bounds import Bounds
from compat.planning.ranges import ABSENT, ANY_WORD, BEYOND, GAPS, Range, joined
from compat.planning.reckoning import size
from compat.rulebook.models import AGAINST, Verdict
from compat.rulebook.rulebook import BoundRule

__all__ = ["FAILING", "fails", "may_pass"]

SLACK = 1e-9
"""Relative: what the checker lets pass for decimals held as floats."""
FAILING: frozenset[Verdict] = frozenset((*AGAINST, "unknown"))
"""What no build that is ready may have. An unknown is no pass, or the cheapest build says least."""


def fails(rule: BoundRule, bounds: Bounds) -> bool:
    """Whether a rule fails whatever is chosen.

    Parameters
    ----------
    rule : BoundRule
        Any rule; of a need only that it is unknown whether it asks can be told, of a renewal nothing.
    bounds : Bounds
        What its leaves can be.

    Returns
    -------
    bool
        True where every choice that the bounds cover comes out as conflict, shortfall, missing or unknown.
    """
    return not may_pass(rule, bounds)


def may_pass(rule: BoundRule, bounds: Bounds) -> bool:
    """Whether some choice may pass the rule, as far as bounds can tell."""
    if rule.where is not None:
        where = bounds.of(rule.where)
        if where.lack & ABSENT or False in where.words:
            return True
        if _spared(rule, where.lack):
            return True
        if True not in where.words:
            return False
    passes = _PASSES.get(rule.rule.sort)
    return passes is None or passes(rule, bounds)


def _spared(rule: BoundRule, lack: int) -> bool:
    """Whether what stands in the way may be no failure: no part there, or a goal out of reach, taken mildly."""
    return bool(lack & ABSENT or (lack & BEYOND and rule.rule.fails_as not in FAILING))


def _limits(rule: BoundRule, bounds: Bounds) -> bool:
    assert rule.measure is not None
    value = bounds.of(rule.measure)
    lower, upper = bounds.limit(rule.at_least), bounds.limit(rule.at_most)
    lack = value.lack
    so_far = value
    for limit in (lower, upper):
        if limit is not None:
            lack = joined(so_far, limit)
            so_far = Range(words=frozenset({True} if so_far.known and limit.known else ()), lack=lack)
    if _spared(rule, lack):
        return True
    if not value.known:
        return False
    below, above = rule.rule.below or rule.rule.fails_as, rule.rule.above or rule.rule.fails_as
    under, over = _margins(value, lower, 1), _margins(value, upper, -1)
    # a side that fails mildly, where the other is known
    if below not in FAILING and under[0] < 0 and (upper is None or upper.known):
        return True
    if above not in FAILING and over[0] < 0 and under[1] >= 0 and (lower is None or lower.known):
        return True
    inside_lower = lower is None or (lower.known and under[1] >= 0)
    inside_upper = upper is None or (upper.known and over[1] >= 0)
    return inside_lower and inside_upper


def _margins(value: Range, limit: Range | None, sign: int) -> tuple[float, float]:
    """The least and the greatest room to a limit, with the slack that the checker gives."""
    if limit is None or not limit.numeric:
        return 0.0, 0.0
    more, less = (value, limit) if sign > 0 else (limit, value)
    # room grows with the one and falls with the other, slack and all: the ends are at the corners
    return _room(more.low, less.high), _room(more.high, less.low)


def _room(more: float, less: float) -> float:
    return more - less + SLACK * max(abs(more), abs(less)) if math.isfinite(more - less) else more - less


def _load(rule: BoundRule, bounds: Bounds) -> bool:
    assert rule.load is not None
    assert rule.capacity is not None
    load, capacity = bounds.of(rule.load), bounds.of(rule.capacity)
    if _spared(rule, joined(load, capacity)):
        return True
    if not (load.known and capacity.known):
        return False
    if rule.rule.fails_as not in FAILING or load.low <= 0:
        return True
    duties = bounds.leaf(("goal", "duty")).words
    asked = min(rule.rule.headroom_for("" if duty is ANY_WORD else duty) for duty in duties)
    # the greatest headroom of all; a capacity below nought lacks least under the greatest load
    headroom = capacity.high / (load.low if capacity.high >= 0 else load.high) - 1
    return headroom >= asked - 1e-9


def _match(rule: BoundRule, bounds: Bounds) -> bool:
    mild = rule.rule.fails_as not in FAILING
    agree = True
    some_gap = False
    for left, right in rule.pairs:
        a, b = bounds.of(left), bounds.of(right)
        lack = joined(a, b)
        if _spared(rule, lack):
            return True
        ways = _agreeing(a, b, rule.within) if a.known and b.known else frozenset()
        if mild and False in ways:
            return True
        some_gap = some_gap or bool(lack & GAPS)
        agree = agree and True in ways
    return agree


def _agreeing(a: Range, b: Range, within: float | None) -> frozenset[bool]:
    """Whether two values may match, and whether they may differ."""
    found: set[bool] = set()
    if a.numeric and b.numeric:
        slack = within if within is not None else a.half + b.half
        one, other = (a, b) if a.low <= b.low else (b, a)
        if one.high >= other.low or other.low - one.high <= slack + SLACK * max(abs(one.high), abs(other.low)):
            found.add(True)
        surely = within if within is not None else 0.0
        if a.point and b.point:
            surely = slack + SLACK * max(size(a), size(b))
        if max(a.high - b.low, b.high - a.low) > surely:
            found.add(False)
    if ANY_WORD in a.words or ANY_WORD in b.words:
        return frozenset({True, False})
    for one in a.words:
        for other in b.words:
            found.add(same_word(one, other))
    return frozenset(found)


def _never(rule: BoundRule, bounds: Bounds) -> bool:
    assert rule.never is not None
    found = bounds.of(rule.never)
    if _spared(rule, found.lack) or False in found.words:
        return True
    return True in found.words and rule.rule.fails_as not in FAILING


def _note(rule: BoundRule, bounds: Bounds) -> bool:
    return rule.rule.fails_as not in FAILING


def _need(rule: BoundRule, bounds: Bounds) -> bool:
    """A need fails by itself only where what it must agree on is not known; else it hangs on who provides."""
    going = Range(words=frozenset({True}))
    for expression in rule.matching.values():
        value = bounds.of(expression)
        going = Range(words=going.words if value.known else frozenset(), lack=joined(going, value))
    return bool(going.words) or _spared(rule, going.lack)


_PASSES: dict[str, Callable[[BoundRule, Bounds], bool]] = {
    "limits": _limits,
    "load": _load,
    "match": _match,
    "never": _never,
    "note": _note,
    "need": _need,
}
