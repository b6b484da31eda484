"""Expressions as plain data: written out and read back they say the same."""

from __future__ import annotations

import ast
import gc
import json
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.library.library import Library
from compat.rulebook.compiling import ExpressionFault, compile_text
from compat.rulebook.expressions import Expression
from compat.rulebook.growing import grow
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.scope import Scope
from compat.rulebook.trees import Tree, names_in
from compat.rulebook.values import Absent, Missing, Number, Value


def expressions(book: Rulebook) -> Iterator[Expression]:
    for bound in (*book.rules.values(), *book.figures.values()):
        yield from bound.expressions()
    yield from book.conditions.values()
    for changes in book.changes.values():
        yield from (change.expression for change in changes if change.expression is not None)


def through_json(expression: Expression) -> Expression:
    return Expression.of_card(json.loads(json.dumps(expression.card())))


def test_every_expression_of_the_demo_comes_back_from_json_as_it_was(demo: Library) -> None:
    found = list(expressions(demo.book))
    assert len(found) > 2000
    for expression in found:
        back = through_json(expression)
        assert back == expression
        assert hash(back) == hash(expression)
        assert back.names == expression.names
        assert plain(back.tree)


def plain(tree: Tree) -> bool:
    """Whether a tree holds texts, floats, booleans and tuples alone."""
    return all(plain(part) if type(part) is tuple else type(part) in (str, float, bool) for part in tree)


def told(run: Callable[[Any], Value], world: Any) -> object:
    """A value as something that can be compared."""
    try:
        value = run(world)
    except Absent as absent:
        return ("absent", absent.position)
    if isinstance(value, Number):
        return (value.x, value.g)
    return value


TEXTS = st.recursive(
    st.sampled_from(
        [
            "gap",
            "depth",
            "ratio*mm",
            "rod.centre_length",
            "2*mm",
            "head_gasket.thickness",
            "piston.least_clearance",
            "0",
            "count(rod)*mm",
        ]
    ),
    lambda inner: st.one_of(
        st.builds("({} + {})".format, inner, inner),
        st.builds("({} - {})".format, inner, inner),
        st.builds("min({}, {})".format, inner, inner),
        st.builds("-{}".format, inner),
        st.builds("abs({})".format, inner),
        st.builds("sqrt(({})*({}))".format, inner, inner),
        st.builds("prefer({}, {})".format, inner, inner),
        st.builds("({} if {} < {} <= {} else {})".format, inner, inner, inner, inner, inner),
        st.builds("({} if not stated({}) or {} > 1*mm else {})".format, inner, inner, inner, inner),
        st.builds("({} if fitted(rod) and changed(rod) else {})".format, inner, inner),
    ),
    max_leaves=8,
)


@given(TEXTS)
def test_a_tree_from_json_runs_as_the_one_that_was_compiled(scope: Scope, world: Any, text: str) -> None:
    try:
        expression = compile_text(text, scope)
    except ExpressionFault:
        return  # a zero that never met a length
    assert told(through_json(expression).run, world) == told(expression.run, world)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1*mm < gap < 3*mm < rod.centre_length", False),
        ("0.1*mm < gap < 3*mm < rod.centre_length", True),
        ("rod.mass < 0.6*kg < 700*g", True),
        ("piston.code in ['a', 'b']", True),
        ("piston.code == 'a' != 'b'", True),
    ],
)
def test_a_chain_holds_where_every_link_does(text: str, value: bool, scope: Scope, world: Any) -> None:
    assert compile_text(text, scope).run(world) is value


def test_a_chain_is_undecided_only_while_no_link_has_failed(scope: Scope, world: Any) -> None:
    unknown = compile_text("1*kPa < goal.boost < 3*kPa", scope).run(world)
    assert isinstance(unknown, Missing)
    assert compile_text("goal.boost > 2*kPa > 3*kPa", scope).run(world) is False


def test_chains_within_chains_grow_no_faster_than_their_text(scope: Scope, world: Any) -> None:
    text = "ratio"
    for _ in range(14):
        text = f"(1 if 0 < {text} < 20 else 2)"
    started = time.process_time()
    assert compile_text(text, scope).run(world).x == 1.0  # type: ignore[union-attr]
    assert time.process_time() - started < 1


@pytest.mark.parametrize(
    ("listed", "wheel", "cam", "holds"),
    [
        (("60-2/4+1", "36-1/none"), "60-2", "4+1", True),
        (("60-2/4+1", "36-1/none"), "36-1", "none", True),
        (("60-2/4+1", "36-1/none"), "60-2", "none", False),
        (("60-2", "4+1"), "60-2", "4+1", False),
        ((), "60-2", "4+1", False),
    ],
)
def test_a_list_holds_a_pair_of_words(
    listed: tuple[str, ...], wheel: str, cam: str, holds: bool, scope: Scope, world: Any
) -> None:
    """Crank and cam patterns are decoded in pairs: each alone in the list is not enough."""
    expression = compile_text(f'holds(rod.small_ends, "{wheel}", "{cam}")', scope)
    own = type(world)(rod__small_ends=listed)
    assert expression.run(own) is holds
    assert isinstance(expression.run(type(world)(rod__mass=1.0)), Missing)
    assert Expression.of_card(json.loads(json.dumps(expression.card()))).run(own) is holds


def test_names_are_told_in_the_order_of_the_text(scope: Scope) -> None:
    tree = compile_text("gap if rod.mass > 1*kg and fitted(piston) else depth + block.bore + gap", scope).tree
    names = names_in(tree)
    assert names.specs == (("rod", "mass"), ("block", "bore"))
    assert names.figures == ("gap", "gap")
    assert names.positions == ("piston",)


def test_nothing_runs_that_is_no_node(world: Any) -> None:
    with pytest.raises(KeyError):
        grow(("__import__", ("word", "os")))


def count(tree: Tree) -> int:
    return 1 + sum(count(part) for part in tree[1:] if type(part) is tuple and tree[0] != "words")


def test_what_is_parsed_while_rubbish_is_collected_breaks_no_expression(scope: Scope) -> None:
    """A finalizer may have Python parse something, as the report of a warning does."""
    parsed = []

    def parse(phase: str, _: dict[str, int]) -> None:
        parsed.append(ast.parse("1 + 2", mode="eval"))

    threshold = gc.get_threshold()
    gc.callbacks.append(parse)
    gc.set_threshold(1)
    try:
        for number in range(50):
            compile_text(f"goal.boost + {number}*kPa - (goal.boost - {number}*kPa)/2 > 0*kPa", scope)
    finally:
        gc.callbacks.remove(parse)
        gc.set_threshold(*threshold)
    assert parsed
    assert gc.isenabled()
