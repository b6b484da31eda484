"""Sets of groups of options, a bit each, and boxes of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from compat.planning.readings import Option

__all__ = ["Masks", "halved", "members", "within"]

Masks = tuple[int, ...]
"""For each decision of a question a set of groups of its options."""


def members(groups: Sequence[tuple[Option, ...]], mask: int) -> Iterator[tuple[Option, ...]]:
    """The groups that are in a set."""
    for number, group in enumerate(groups):
        if mask >> number & 1:
            yield group


def halved(mask: int) -> tuple[int, int]:
    """The lower and the upper half of the groups in a set."""
    wanted = mask.bit_count() // 2
    low, rest = 0, mask
    for _ in range(wanted):
        bit = rest & -rest
        low |= bit
        rest ^= bit
    return low, rest


def within(one: Masks, other: Masks) -> bool:
    """Whether one box lies in another.

    >>> within((1, 2), (1, 3))
    True
    """
    return all(a & ~b == 0 for a, b in zip(one, other, strict=True))
