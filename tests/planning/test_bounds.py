"""Bounds cover what the checker gives, value by value; whoever is said to fail surely does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import product
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compat.checking.judging import judge
from compat.checking.spread import Spread, spread_of
from compat.planning.bounds import Bounds
from compat.planning.failing import FAILING, fails
from compat.planning.ranges import (
    ABSENT,
    ANY_WORD,
    BEYOND,
    REFUSED,
    UNSTATED,
    Range,
    absent,
    between,
    of_value,
    point,
    united,
    word,
)
from compat.rulebook.expressions import Expression
from compat.rulebook.growing import grow
from compat.rulebook.models import Rule
from compat.rulebook.rulebook import BoundRule, Limit, Rulebook
from compat.rulebook.scope import Flag, Num, Word
from compat.rulebook.trees import Tree
from compat.rulebook.values import Absent, Missing, Number, Refusal, Value

GONE = Absent("rod")
GAPS = [
    Missing(frozenset({"rod.mass"})),
    Missing(reasons=(Refusal("no"),)),
    Missing(reasons=(Refusal("too much"),), out_of_reach=True),
    GONE,
]
NUMBERS = ["a", "b", "c"]


@dataclass
class World:
    """A world of three numbers, two flags and a word, as expressions and judging ask it."""

    values: Mapping[str, Any]
    half: dict[str, float] = field(default_factory=dict)
    gauged: Mapping[Any, Any] = field(default_factory=dict)

    def spec(self, position: str, name: str) -> Value:
        value = self.values[name]
        if isinstance(value, Absent):
            raise Absent(value.position)  # one raised again and again would hold on to all that it came through
        return value  # type: ignore[no-any-return]

    def fitted(self, position: str) -> bool:
        return bool(self.values[position])

    @property
    def settled(self) -> Any:
        return SimpleNamespace(goal=SimpleNamespace(duty="street"), outside=None)

    def spread(self, value: Number) -> Spread:
        return spread_of(value, self.half)

    def worst(self, value: Number) -> float:
        return self.spread(value).worst


def _number(name: str) -> Tree:
    return ("spec", "rod", name)


def flags(inner: st.SearchStrategy[Tree]) -> st.SearchStrategy[Tree]:
    compared = st.tuples(st.sampled_from(["Eq", "NotEq", "Lt", "LtE", "Gt", "GtE"]), inner, inner)
    return st.recursive(
        st.one_of(
            compared,
            st.sampled_from(["f", "g"]).map(lambda name: ("fitted", name)),
            st.sampled_from(["x", "y"]).map(lambda name: ("Eq", ("spec", "rod", "w"), ("word", name))),
            st.tuples(st.just("chain"), st.sampled_from([("Lt", "Lt"), ("LtE", "Gt")]), inner, inner, inner),
        ),
        lambda more: st.one_of(
            st.tuples(st.sampled_from(["and", "or"]), more, more),
            st.tuples(st.just("not"), more),
            st.tuples(st.sampled_from(["stated", "computed"]), inner),
        ),
        max_leaves=3,
    )


numbers = st.recursive(
    st.one_of(
        st.sampled_from(NUMBERS).map(_number),
        st.sampled_from([0.0, 0.5, 1.0, 2.0, -3.0]).map(lambda x: ("number", x)),
    ),
    lambda inner: st.one_of(
        st.tuples(st.sampled_from(["add", "sub", "mult", "div", "min", "max"]), inner, inner),
        st.tuples(st.sampled_from(["neg", "abs", "sin", "cos"]), inner),
        st.tuples(st.just("pow"), inner, st.sampled_from([2.0, 0.5, -1.0, 3.0])),
        st.tuples(st.just("prefer"), inner, inner),
        st.tuples(st.just("if"), flags(inner), inner, inner),
        st.tuples(st.just("at"), st.just(("spec", "rod", "table")), inner),
    ),
    max_leaves=6,
)

values = st.one_of(
    st.sampled_from([-2.0, -1.0, 0.0, 0.5, 1.0, 1.0 + 1e-13, 2.0, 7.0]).map(Number),
    st.floats(-10, 10).map(Number),
    st.sampled_from(GAPS),
)
TABLES = [((0.0, 1.0), (1.0, 3.0), (2.0, 2.0)), ((-1.0, 0.0), (4.0, 8.0))]
domains = st.fixed_dictionaries(
    {
        **{name: st.lists(values, min_size=1, max_size=3) for name in NUMBERS},
        "f": st.lists(st.booleans(), min_size=1, max_size=2),
        "g": st.lists(st.booleans(), min_size=1, max_size=2),
        "w": st.lists(st.sampled_from(["x", "y", "z", GONE]), min_size=1, max_size=2),
        "table": st.lists(st.sampled_from(TABLES), min_size=1, max_size=2),
    }
)


def _range(value: Any) -> Range:
    return absent() if isinstance(value, Absent) else of_value(value)


def _leaf(found: Mapping[str, list[Any]], tree: Tree) -> Range:
    if tree == ("goal", "duty"):
        return word("street")
    return united(_range(value) for value in found[tree[-1]])


def _bounds(found: Mapping[str, list[Any]]) -> Bounds:
    return Bounds(Rulebook(), lambda tree: _leaf(found, tree))


def _used(trees: list[Tree]) -> list[str]:
    found: dict[str, None] = {}

    def walk(tree: Tree) -> None:
        if tree[0] in ("spec", "fitted"):
            found[tree[-1]] = None
        for part in tree[1:]:
            if type(part) is tuple and tree[0] not in ("words", "word"):
                walk(part)

    for tree in trees:
        walk(tree)
    return list(found)


def _choices(found: Mapping[str, list[Any]], trees: list[Tree]) -> list[dict[str, Any]]:
    """Every way of choosing what the trees look at."""
    used = _used(trees)
    rest = {name: choices[0] for name, choices in found.items()}
    return [{**rest, **dict(zip(used, way, strict=True))} for way in product(*(found[name] for name in used))]


def _run(tree: Tree, chosen: Mapping[str, Any]) -> Any:
    try:
        return grow(tree)(World(chosen))  # type: ignore[arg-type]  # as much of a world as these trees ask
    except Absent as gone:
        return gone


def _covers(found: Range, value: Any) -> bool:
    if isinstance(value, Absent):
        return bool(found.lack & ABSENT)
    if isinstance(value, Missing):
        kind = UNSTATED if value.specs else BEYOND if value.out_of_reach else REFUSED
        return bool(found.lack & kind)
    if isinstance(value, Number):
        return found.low <= value.x <= found.high
    return value in found.words or ANY_WORD in found.words


@settings(max_examples=400, deadline=None)
@given(numbers, domains)
def test_bounds_cover_every_number(tree: Tree, found: dict[str, list[Any]]) -> None:
    bounds = _bounds(found).tree(tree)
    for chosen in _choices(found, [tree]):
        value = _run(tree, chosen)
        assert _covers(bounds, value), (value, bounds)


@settings(max_examples=400, deadline=None)
@given(flags(numbers), domains)
def test_bounds_cover_every_flag(tree: Tree, found: dict[str, list[Any]]) -> None:
    bounds = _bounds(found).tree(tree)
    for chosen in _choices(found, [tree]):
        value = _run(tree, chosen)
        assert _covers(bounds, value), (value, bounds)


@settings(max_examples=400, deadline=None)
@given(st.one_of(numbers, flags(numbers)), domains)
def test_a_single_choice_comes_out_as_the_checker_has_it(tree: Tree, found: dict[str, list[Any]]) -> None:
    one = {name: choices[:1] for name, choices in found.items()}
    bounds = _bounds(one).tree(tree)
    value = _run(tree, {name: choices[0] for name, choices in one.items()})
    assert bounds.point
    if isinstance(value, Number):
        assert (bounds.low, bounds.high, bounds.lack) == (value.x, value.x, 0)
    else:
        assert _covers(bounds, value)


def _expression(tree: Tree, kind: Any) -> Expression:
    return Expression("", tree, kind)


@st.composite
def rules(draw: st.DrawFn) -> BoundRule:
    """A rule of any kind that is judged by itself, and how it fails."""
    common: dict[str, Any] = {"rule": "own", "title": "Own", "why": "x", "source": "x"}
    mild = draw(st.sampled_from(["conflict", "caution", "measure"]))
    where = draw(st.none() | flags(numbers))
    bound: dict[str, Any] = {"where": where and _expression(where, Flag())}
    kind = draw(st.sampled_from(["limits", "load", "match", "never", "note"]))
    if kind == "limits":
        sides = draw(st.sampled_from([("at_least",), ("at_most",), ("at_least", "at_most")]))
        bound["measure"] = _expression(draw(numbers), Num())
        for side in sides:
            bound[side] = Limit("x", expression=_expression(draw(numbers), Num()))
        below, above = (
            draw(st.sampled_from([None, "caution", "conflict"])),
            draw(st.sampled_from([None, "caution"])),
        )
        rule = Rule(
            **common, measure="x", **dict.fromkeys(sides, "x"), below=below, above=above, otherwise=mild
        )
    elif kind == "load":
        bound["load"], bound["capacity"] = (_expression(draw(numbers), Num()) for _ in "ab")
        rule = Rule(**common, load="x", capacity="x", headroom=0.2, otherwise=mild)
    elif kind == "match":
        words = _expression(("spec", "rod", "w"), Word()), _expression(("word", "x"), Word())
        pairs = [(_expression(draw(numbers), Num()), _expression(draw(numbers), Num())), words]
        bound["pairs"] = tuple(draw(st.lists(st.sampled_from(pairs), min_size=1, max_size=2)))
        bound["within"] = draw(st.sampled_from([None, 0.5]))
        rule = Rule(**common, match=(("a", "b"),), otherwise=mild)
    elif kind == "never":
        bound["never"] = _expression(draw(flags(numbers)), Flag())
        rule = Rule(**common, never="x", otherwise=mild)
    else:
        rule = Rule(**common, note="x", otherwise=mild)
    return BoundRule(rule, **bound)


@settings(max_examples=800, deadline=None)
@given(rules(), domains)
def test_what_surely_fails_fails_in_every_way(rule: BoundRule, found: dict[str, list[Any]]) -> None:
    surely = fails(rule, _bounds(found))
    trees = [expression.tree for expression in rule.expressions()]
    for chosen in _choices(found, trees):
        outcome = judge(World(chosen), rule)  # type: ignore[arg-type]
        failed = outcome is not None and outcome.verdict in FAILING
        assert failed or not surely
        alone = fails(rule, _bounds({name: [value] for name, value in chosen.items()}))
        assert alone is failed


def test_a_box_of_limits_fails_only_where_no_choice_passes() -> None:
    room = Rule(rule="own", title="Own", measure="x", at_least="x", why="x", source="x")
    rule = BoundRule(
        room,
        measure=_expression(("sub", _number("a"), _number("b")), Num()),
        at_least=Limit("x", expression=_expression(("number", 1.0), Num())),
    )
    sizes = {_number("a"): between(1.0, 2.0), _number("b"): between(1.5, 3.0)}
    assert fails(rule, Bounds(Rulebook(), sizes.__getitem__))
    assert not fails(rule, Bounds(Rulebook(), {**sizes, _number("b"): between(1.0, 3.0)}.__getitem__))
    assert not fails(
        rule, Bounds(Rulebook(), {**sizes, _number("b"): united([point(3.0), absent()])}.__getitem__)
    )


@pytest.mark.parametrize(
    ("tree", "low", "high"),
    [
        (("div", ("number", 1.0), _number("a")), -math.inf, math.inf),
        (("pow", _number("a"), 2.0), 0.0, 4.0),
        (("cos", _number("a")), math.cos(2.0), 1.0),
        (("abs", _number("a")), 0.0, 2.0),
    ],
)
def test_ends_are_no_wider_than_they_must_be(tree: Tree, low: float, high: float) -> None:
    found = Bounds(Rulebook(), lambda _: between(-1.0, 2.0)).tree(tree)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-12)


def test_a_value_without_an_upper_end_still_lies_above_its_limit() -> None:
    most = Rule(rule="own", title="Own", measure="x", at_most="x", why="x", source="x")
    limit = Limit("x", expression=_expression(("number", 0.85), Num()))
    rule = BoundRule(most, measure=_expression(_number("a"), Num()), at_most=limit)
    refused = between(1.6, math.inf, REFUSED)
    assert fails(rule, Bounds(Rulebook(), lambda _: refused))
    assert not fails(rule, Bounds(Rulebook(), lambda _: between(0.8, math.inf, REFUSED)))
    match = Rule(rule="own", title="Own", match=(("a", "b"),), why="x", source="x")
    pair = BoundRule(match, pairs=((_expression(_number("a"), Num()), _expression(("number", 0.85), Num())),))
    assert fails(pair, Bounds(Rulebook(), lambda _: refused))
