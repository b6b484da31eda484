"""The operations of the rule language over ranges.

Sums, products and quotients keep to the arithmetic of the checker itself: IEEE 754 rounds monotonically, so
that no float between two ends comes out beyond what the ends give. Where a library function gives no such
promise, ends are moved outward. A range of one number comes out as the checker has it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from compat.planning.ranges import ANY_WORD, REFUSED, Range, joined, united
from compat.rulebook.operations import compare, reach
from compat.rulebook.values import Number
from compat.shop.specs import Rows

__all__ = ["COMPARISONS", "ONE", "TWO", "compared", "interpolated", "power", "size", "wider"]

MOST_PAIRS = 64
"""So many pairs of words are held against each other one by one."""


def finite(low: float, high: float, lack: int, half: float) -> Range:
    """Numbers as arithmetic leaves them: what is not finite is refused."""
    if math.isnan(low) or math.isnan(high):
        return Range(-math.inf, math.inf, frozenset(), lack | REFUSED, math.inf)
    if low == math.inf or high == -math.inf:
        return Range(lack=lack | REFUSED)  # past every float
    if low == -math.inf or high == math.inf:
        lack |= REFUSED
    return Range(low, high, frozenset(), lack, half if half == half else math.inf)


def wider(low: float, high: float, relative: float = 4e-16) -> tuple[float, float]:
    """Ends moved outward, for functions that may round either way; one number stays as it is."""
    if low == high:
        return low, high
    return low - abs(low) * relative - 5e-324, high + abs(high) * relative + 5e-324


def add(a: Range, b: Range) -> Range:
    """Sum."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    return finite(a.low + b.low, a.high + b.high, lack, a.half + b.half)


def sub(a: Range, b: Range) -> Range:
    """Difference."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    return finite(a.low - b.high, a.high - b.low, lack, a.half + b.half)


def _times(x: float, y: float) -> float:
    return x * y if x and y else 0.0  # nought times what has no end is nought: every value has an end


def mult(a: Range, b: Range) -> Range:
    """Product."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    if a.low >= 0 and b.low >= 0:
        low, high = _times(a.low, b.low), _times(a.high, b.high)
    else:
        ends = [_times(x, y) for x in (a.low, a.high) for y in (b.low, b.high)]
        low, high = min(ends), max(ends)
    half = 0.0
    if a.half or b.half:
        half = _times(a.half, size(b)) + _times(b.half, size(a))
    return finite(low, high, lack, half)


TINY = 1e-150
"""Below it the square of a divisor may be no float any more."""


def div(a: Range, b: Range) -> Range:
    """Quotient; refused where the divisor is nought."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    low, high = b.low, b.high
    if low < TINY and high > -TINY:
        if a.low == a.high and low == high:
            try:
                quotient = a.low / low
                _ = a.low / low**2
            except (ZeroDivisionError, OverflowError):
                return Range(lack=lack | REFUSED)
            return finite(quotient, quotient, lack, math.inf if a.half or b.half else 0.0)
        half = math.inf if a.half or b.half else 0.0
        return Range(-math.inf, math.inf, frozenset(), lack | REFUSED, half)
    ends = [_over(x, y) for x in (a.low, a.high) for y in (low, high)]
    half = 0.0
    if a.half or b.half:
        least = min(abs(low), abs(high))
        half = a.half / least + _times(_over(size(a), least), b.half) / least
    return finite(min(ends), max(ends), lack, half)


def _over(x: float, y: float) -> float:
    if abs(y) == math.inf:
        return 0.0
    return x / y


def size(a: Range) -> float:
    """How far from nought a number can lie."""
    return max(abs(a.low), abs(a.high))


def neg(a: Range) -> Range:
    """The number with its sign turned."""
    if a.low > a.high:
        return a
    return Range(-a.high, -a.low, frozenset(), a.lack, a.half)


def absolute(a: Range) -> Range:
    """The number without its sign."""
    if a.low > a.high or a.low >= 0:
        return a
    low = -a.high if a.high < 0 else 0.0
    return Range(low, size(a), frozenset(), a.lack, a.half)


def least(a: Range, b: Range) -> Range:
    """The lesser of two."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    return Range(min(a.low, b.low), min(a.high, b.high), frozenset(), lack, max(a.half, b.half))


def most(a: Range, b: Range) -> Range:
    """The greater of two."""
    lack = joined(a, b)
    if a.low > a.high or b.low > b.high:
        return Range(lack=lack)
    return Range(max(a.low, b.low), max(a.high, b.high), frozenset(), lack, max(a.half, b.half))


def _raised(x: float, exponent: float) -> float:
    """A power as the checker takes it; nan where it refuses."""
    try:
        value = x**exponent
    except (ZeroDivisionError, OverflowError, ValueError):
        return math.nan
    return math.nan if isinstance(value, complex) else value


def power(a: Range, exponent: float) -> Range:
    """A number raised to a fixed exponent."""
    if a.low > a.high:
        return a
    half = _power_half(a, exponent)
    whole = exponent == int(exponent)
    lack = a.lack
    low, high = a.low, a.high
    if low == high:
        value = _raised(low, exponent)
        if math.isnan(value):
            return Range(lack=lack | REFUSED)
        if low == 0.0 and exponent < 1 and a.half:
            lack |= REFUSED  # the root of nought with a tolerance has no slope
        return finite(value, value, lack, half)
    if low <= 0.0 <= high and exponent < 1:
        lack |= REFUSED
    if low < 0.0 and not whole:
        lack |= REFUSED
        if high < 0.0:
            return Range(lack=lack)
        low = 0.0
    if low <= 0.0 <= high and exponent < 0:
        return Range(-math.inf, math.inf, frozenset(), lack | REFUSED, math.inf if a.half else 0.0)
    ends = [_end(x, exponent) for x in (low, high)]
    if low < 0.0 < high and whole and exponent % 2 == 0:
        ends.append(0.0 if exponent else 1.0)
    return finite(*wider(min(ends), max(ends)), lack, half)


def _end(x: float, exponent: float) -> float:
    value = _raised(x, exponent)
    if math.isnan(value):  # overflow
        return -math.inf if x < 0 and exponent % 2 == 1 else math.inf
    return value


def _power_half(a: Range, exponent: float) -> float:
    if not a.half:
        return 0.0
    slopes = [abs(exponent * _raised(x, exponent - 1)) for x in (a.low, a.high)]
    if a.low <= 0.0 <= a.high and exponent < 1:
        return math.inf
    greatest = max(slopes)
    return math.inf if math.isnan(greatest) or math.isnan(min(slopes)) else greatest * a.half


def _turn(a: Range, function: Callable[[float], float], tops: float) -> Range:
    """Sine or cosine: between the ends, and 1 or -1 where a top or bottom lies between."""
    if a.low > a.high:
        return a
    low, high = a.low, a.high
    if low == high:
        return Range(function(low), function(low), frozenset(), a.lack, a.half)
    if high - low >= 2 * math.pi or not math.isfinite(high - low) or size(a) > 1e6:
        return Range(-1.0, 1.0, frozenset(), a.lack, a.half)
    ends = [function(low), function(high)]
    turns = 2 * math.pi
    if _crosses(low, high, tops, turns):
        ends.append(1.0)
    if _crosses(low, high, tops + math.pi, turns):
        ends.append(-1.0)
    down, up = min(ends) - 1e-15, max(ends) + 1e-15
    return Range(max(down, -1.0), min(up, 1.0), frozenset(), a.lack, a.half)


def _crosses(low: float, high: float, at: float, every: float) -> bool:
    slack = 1e-9
    return math.floor((high + slack - at) / every) >= math.ceil((low - slack - at) / every)


def sine(a: Range) -> Range:
    """Sine."""
    return _turn(a, math.sin, math.pi / 2)


def cosine(a: Range) -> Range:
    """Cosine."""
    return _turn(a, math.cos, 0.0)


def tangent(a: Range) -> Range:
    """Tangent; without ends where a pole lies between."""
    if a.low > a.high:
        return a
    if a.low == a.high:
        value = math.tan(a.low)
        return Range(value, value, frozenset(), a.lack, _times(a.half, 1 + value * value))
    wide = high_minus(a) >= math.pi or size(a) > 1e6
    if wide or _crosses(a.low, a.high, math.pi / 2, math.pi):
        return Range(-math.inf, math.inf, frozenset(), a.lack | REFUSED, math.inf if a.half else 0.0)
    low, high = wider(math.tan(a.low), math.tan(a.high), 1e-15)
    return Range(low, high, frozenset(), a.lack, _times(a.half, 1 + max(abs(low), abs(high)) ** 2))


def high_minus(a: Range) -> float:
    """How wide the numbers lie."""
    return a.high - a.low


def interpolated(rows: Range, at: Range) -> Range:
    """Linear interpolation in tables of two columns; of what lies beyond their ends nothing is known."""
    lack = joined(rows, at)
    if not rows.words or at.low > at.high:
        return Range(lack=lack)
    if ANY_WORD in rows.words:
        return Range(-math.inf, math.inf, frozenset(), lack | REFUSED, math.inf)
    found = united(_along(table, at) for table in rows.words)
    return found._replace(lack=lack | found.lack)


def _along(table: Rows, at: Range) -> Range:
    points = sorted((float(row[0]), float(row[1])) for row in table)
    least, most = reach(points)
    first, last = max(at.low, least), min(at.high, most)
    if first > last:
        return Range(lack=REFUSED)
    lack = REFUSED if at.low < least or at.high > most else 0
    ends = [_read(points, first), _read(points, last)]
    ends += [y for x, y in points if first < x < last]
    low, high = wider(min(ends), max(ends), 1e-12) if first < last else (ends[0], ends[0])
    slopes = [abs((y1 - y0) / (x1 - x0)) for (x0, y0), (x1, y1) in pairwise(points) if x1 > x0]
    return Range(low, high, lack=lack, half=_times(max(slopes, default=0.0), at.half))


def _read(points: Sequence[tuple[float, float]], x: float) -> float:
    """The value at one place, worked out as the checker does."""
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            slope = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
            return y0 + slope * (x - x0)
    return points[-1][1]


# comparing


def compared(operator: str, a: Range, b: Range) -> Range:
    """Hold two values against each other.

    >>> compared("Lt", Range(1.0, 2.0), Range(3.0, 3.0)).words
    frozenset({True})
    """
    lack = joined(a, b)
    numbers = a.low <= a.high and b.low <= b.high
    found: frozenset[bool] = _numbers_compared(operator, a, b) if numbers else frozenset()
    if a.words and b.words:
        if len(a.words) * len(b.words) > MOST_PAIRS or ANY_WORD in a.words or ANY_WORD in b.words:
            found |= {True, False}
        else:
            found |= {compare(operator, one, other) is True for one in a.words for other in b.words}
    return Range(words=found, lack=lack)


def _numbers_compared(operator: str, a: Range, b: Range) -> frozenset[bool]:
    if a.low == a.high and b.low == b.high:
        return frozenset({compare(operator, Number(a.low), Number(b.low)) is True})
    below, above = _surely_less(a, b), _surely_less(b, a)
    if not (below or above):
        if operator in ("LtE", "Gt") and a.high <= b.low:
            return frozenset({operator == "LtE"})
        if operator in ("GtE", "Lt") and b.high <= a.low:
            return frozenset({operator == "GtE"})
        return frozenset({True, False})
    holds = {"Eq": False, "NotEq": True, "Lt": below, "LtE": below, "Gt": above, "GtE": above}
    return frozenset({holds[operator]})


def _surely_less(a: Range, b: Range) -> bool:
    # twice what counts as equal, so that no pair between counts as equal
    return a.high < b.low and not math.isclose(a.high, b.low, rel_tol=2e-12, abs_tol=2e-15)


ONE: dict[str, Callable[[Range], Range]] = {
    "neg": neg,
    "abs": absolute,
    "sin": sine,
    "cos": cosine,
    "tan": tangent,
}
"""Operations on one number, by the node."""

TWO: dict[str, Callable[[Range, Range], Range]] = {
    "add": add,
    "sub": sub,
    "mult": mult,
    "div": div,
    "min": least,
    "max": most,
}
"""Operations on two numbers, by the node."""

COMPARISONS = ("Eq", "NotEq", "Lt", "LtE", "Gt", "GtE", "In", "NotIn")
