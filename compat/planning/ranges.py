"""All that a value can be over many choices: the numbers between two ends, words, or what stands in the way.

A `Range` covers every value that some choice gives, and may cover more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import reduce
from typing import Any, NamedTuple

from compat.rulebook.values import Missing, Number, Plain, Value

__all__ = [
    "ABSENT",
    "ANYTHING",
    "ANY_WORD",
    "BEYOND",
    "EITHER",
    "GAPS",
    "NOWHERE",
    "REFUSED",
    "UNSTATED",
    "Range",
    "absent",
    "between",
    "flag",
    "joined",
    "of_value",
    "point",
    "united",
    "word",
]

UNSTATED = 1
"""Something that it rests on is not stated."""
REFUSED = 2
"""A formula or the arithmetic gives no result."""
BEYOND = 4
"""The goal itself cannot be met, and nothing else is wanting."""
ABSENT = 8
"""A position that it names is empty, so that the question does not arise."""
GAPS = UNSTATED | REFUSED | BEYOND


class _AnyWord:
    """Stands for every word there is; equal to none."""

    def __repr__(self) -> str:
        return "any word"


class Range(NamedTuple):
    """All that a value can be.

    Examples
    --------
    >>> between(1.0, 2.0).point
    False
    """

    low: float = math.inf
    high: float = -math.inf
    """The least and the greatest number [SI]; ``low`` above ``high`` where it is no number."""
    words: frozenset[Any] = frozenset()
    """Words, flags, lists and tables."""
    lack: int = 0
    """What may stand in the way: a sum of UNSTATED, REFUSED, BEYOND and ABSENT."""
    half: float = 0.0
    """The most that tolerances may move a number either way, at worst."""

    @property
    def numeric(self) -> bool:
        """Whether it can be a number."""
        return self.low <= self.high

    @property
    def known(self) -> bool:
        """Whether it can be a value at all."""
        return self.low <= self.high or bool(self.words)

    @property
    def point(self) -> bool:
        """Whether it can be one thing only."""
        if self.low < self.high or self.lack & (self.lack - 1):
            return False
        return (self.low == self.high) + len(self.words) + bool(self.lack) == 1

    @property
    def sure(self) -> bool:
        """Whether it is a value whatever is chosen."""
        return not self.lack

    def may(self, value: Plain) -> bool:
        """Whether it can be this word or flag."""
        return value in self.words


ANY_WORD = _AnyWord()
"""Stands among the words of a range for every word there is."""
NOWHERE = Range()
"""What no choice gives."""
ANYTHING = Range(-math.inf, math.inf, lack=REFUSED | BEYOND, half=math.inf)
"""Any number, or a refusal."""
EITHER = Range(words=frozenset({True, False}))
"""Yes or no."""
YES, NO = Range(words=frozenset({True})), Range(words=frozenset({False}))


def between(low: float, high: float, lack: int = 0, half: float = 0.0) -> Range:
    """The numbers from one to another."""
    return Range(low, high, frozenset(), lack, half)


def point(value: float, half: float = 0.0) -> Range:
    """One number."""
    return Range(value, value, frozenset(), 0, half)


def word(value: Plain) -> Range:
    """One word, list or table."""
    return Range(words=frozenset({value}))


def flag(value: bool) -> Range:
    """Yes, or no."""
    return YES if value else NO


def absent() -> Range:
    """An empty position."""
    return Range(lack=ABSENT)


def united(ranges: Iterable[Range]) -> Range:
    """Everything that any of several can be.

    >>> united([point(1.0), point(3.0), absent()]) == between(1.0, 3.0, lack=ABSENT)
    True
    """
    return reduce(_either, ranges, NOWHERE)


def _either(a: Range, b: Range) -> Range:
    return Range(
        min(a.low, b.low), max(a.high, b.high), a.words | b.words, a.lack | b.lack, max(a.half, b.half)
    )


def joined(a: Range, b: Range) -> int:
    """What may stand in the way of two values asked one after the other.

    A value that is not known does not keep the other from being asked; an empty position does. What is not
    stated outweighs a goal out of reach, and that a refusal: so `compat.checking.judging` reads them.

    >>> joined(Range(lack=REFUSED), Range(lack=BEYOND)) == BEYOND
    True
    """
    one, other = a.lack, b.lack
    if not one | other:
        return 0
    if one == ABSENT and not a.known:
        return ABSENT
    if other == ABSENT and not b.known:
        return ABSENT
    found = (one | other) & (ABSENT | UNSTATED)
    a_fine, b_fine = a.known, b.known
    if (one & BEYOND and (b_fine or other & (REFUSED | BEYOND))) or (
        other & BEYOND and (a_fine or one & (REFUSED | BEYOND))
    ):
        found |= BEYOND
    if (one & REFUSED and (b_fine or other & REFUSED)) or (other & REFUSED and a_fine):
        found |= REFUSED
    return found


def of_value(value: Value, half: float = 0.0) -> Range:
    """What the checker holds for a value, as a range of one.

    >>> of_value(Number(2.0)) == point(2.0)
    True
    """
    if isinstance(value, Number):
        return point(value.x, half)
    if isinstance(value, Missing):
        if value.specs:
            return Range(lack=UNSTATED)
        return Range(lack=BEYOND if value.out_of_reach else REFUSED)
    return word(value)
