"""What contributes most is told the same whatever the order of adding up leaves in the last bits."""

from __future__ import annotations

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from compat.checking.spread import shares_of, spread_of
from compat.rulebook.values import Number

HALF = dict.fromkeys("abcd", 1.0)


@given(st.floats(1e-12, 1e12), st.lists(st.integers(-3, 3), min_size=4, max_size=4))
def test_of_shares_that_are_alike_the_first_by_name_is_told(share: float, bits: list[int]) -> None:
    slopes = {leaf: share * (1 + bit * 2.3e-16) for leaf, bit in zip("abcd", bits, strict=True)}
    for order in permutations("abcd"):
        value = Number(1.0, {leaf: slopes[leaf] for leaf in order})
        assert spread_of(value, HALF).most == "a"
        assert [*shares_of(value, HALF)] == ["a", "b", "c", "d"]


@given(st.lists(st.floats(1e-6, 1e6), min_size=4, max_size=4, unique=True))
def test_what_is_greater_is_told_whatever_its_name(shares: list[float]) -> None:
    first, second = sorted(shares)[-1:-3:-1]
    if first * (1 - 1e-8) > second:
        value = Number(1.0, dict(zip("abcd", shares, strict=True)))
        assert spread_of(value, HALF).most == "abcd"[shares.index(first)]
        assert next(iter(shares_of(value, HALF))) == "abcd"[shares.index(first)]


def test_nothing_contributes_to_what_has_no_tolerance() -> None:
    assert spread_of(Number(1.0, {"a": 0.0}), HALF).most == ""
