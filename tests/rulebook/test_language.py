"""What the language of rules lets in and what it refuses; types and dimensions, told before anything runs."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.rulebook.compiling import ExpressionFault, compile_text
from compat.rulebook.scope import Flag, Num, Scope, Word, Words
from compat.units import unit

FORBIDDEN = [
    "__import__('os').system('ls')",
    "().__class__.__bases__[0].__subclasses__()",
    "rod.mass.__class__",
    "rod.__class__",
    "rod.mass.real.imag",
    "lambda: 1",
    "(lambda x: x)(rod.mass)",
    "[x for x in rod.small_ends]",
    "{x for x in rod.small_ends}",
    "{x: x for x in rod.small_ends}",
    "(x for x in rod.small_ends)",
    "(x := rod.mass)",
    "f'{rod.mass}'",
    "f'{rod.mass!r:>10}'",
    "rod.small_ends[0]",
    "rod.small_ends[::2]",
    "min(*[1, 2])",
    "max(1, 2, key=abs)",
    "abs(x=1)",
    "print(1)",
    "eval('1')",
    "getattr(rod, 'mass')",
    "exec('1')",
    "open('/etc/passwd')",
    "rod.mass()",
    "rod()",
    "(min)(1, 2)()",
    "1 if rod.mass",
    "1if fitted(rod) else 2",
    "'\\d' == piston.code",
    "yield rod.mass",
    "await rod.mass",
    "rod.mass; rod.mass",
    "import os",
    "x = 1",
    "rod.mass, rod.mass",
    "(1, 2)",
    "{1, 2}",
    "{'a': 1}",
    "...",
    "None",
    "b'bytes'",
    "3j",
    "1 // 2",
    "1 % 2",
    "1 @ 2",
    "1 << 2",
    "1 >> 2",
    "1 & 2",
    "1 | 2",
    "1 ^ 2",
    "~1",
    "+1",
    "1 is 1",
    "1 is not 2",
    "*rod.mass",
    "rod.mass!",
    "rod.mass as x",
    "@rod.mass",
    "rod..mass",
    "rod.",
    "",
    " ",
    "[1, 2]",
    "[rod.mass]",
    "'a' 'b' in ['ab'] in ['x']",
]


@pytest.mark.parametrize("text", FORBIDDEN)
def test_what_is_no_expression_is_refused(text: str, scope: Scope) -> None:
    with pytest.raises(ExpressionFault) as caught:
        compile_text(text, scope)
    assert str(caught.value)
    assert "\n" not in str(caught.value)


BOMBS = [
    "9**9**9**9",
    "ratio**(10**9)",
    "ratio**9e99",
    "ratio**-9",
    "ratio**ratio",
    "ratio**True",
    "ratio**'2'",
    f"ratio**1{'0' * 400}",
    f"ratio*1{'0' * 400}",
    "ratio*1e400",
    "-" * 400 + "ratio",
    "not " * 300 + "fitted(rod)",
    "(" * 250 + "ratio" + ")" * 250,
    "ratio" + "+ratio" * 200,
    "abs(" * 200 + "ratio" + ")" * 200,
    "sin(" * 200 + "ratio" + ")" * 200,
    "lambda: " + "-" * 900 + "1",
    "[" * 190 + "]" * 190,
    "1 if fitted(rod) else " * 60 + "2",
    "ratio + " * 400,
    "x" * 5000,
    "'" + "x" * 3000 + "'",
]


@pytest.mark.parametrize("text", BOMBS, ids=[text[:25] for text in BOMBS])
def test_what_would_take_for_ever_is_refused_at_once(text: str, scope: Scope) -> None:
    started = time.process_time()
    with pytest.raises(ExpressionFault):
        compile_text(text, scope)
    assert time.process_time() - started < 1


def test_nested_calls_cost_no_more_than_their_length(scope: Scope) -> None:
    started = time.process_time()
    compile_text("sin(" * 50 + "ratio" + ")" * 50, scope)
    assert time.process_time() - started < 1


@given(st.text("abcdelnoprt_.()[]{}'\"+-*/<>=! ,:0123456789\\\n", max_size=40))
def test_any_text_compiles_or_is_refused(scope: Scope, text: str) -> None:
    try:
        found = compile_text(text, scope)
    except ExpressionFault:
        return
    assert isinstance(found.type, Num | Word | Words | Flag)


MISFITS = [
    ("rod.mass + rod.centre_length", "mixes a mass and a length", 0),
    ("rod.centre_length - 5", "mixes a length and a plain number", 0),
    ("gap > 100*kPa", "mixes a length and a pressure", 0),
    ("1*mm < rod.mass < 2*mm", "mixes a length and a mass", 0),
    ("min(gap, rod.mass)", "mixes a length and a mass", 0),
    ("max(gap, 3)", "mixes a length and a plain number", 0),
    ("measured(2*rod.mass)", "'measured(2 * rod.mass)': measured takes a spec", 0),
    ("computed(piston.code)", "is a word, not a number", 9),
    ("kept(rods)", "position 'rods' is not known; did you mean 'rod'?", 5),
    ("prefer(piston.least_clearance, 3)", "mixes a length and a plain number", 0),
    ("gap if fitted(rod) else rod.mass", "mixes a length and a mass", 0),
    ("sin(gap)", "'gap' is a length, not a plain number or angle", 4),
    ("gap + piston.code", "'piston.code' is a word, not a number", 6),
    ("-piston.code", "'piston.code' is a word, not a number", 1),
    ("not gap", "'gap' is a length, not a yes-or-no", 4),
    ("fitted(rod) and gap", "'gap' is a length, not a yes-or-no", 16),
    ("piston.pin_retention == 3", "mixes a word and a plain number", 0),
    ("head_gasket.one_use == \"yes\"", "a flag stands alone: write it without ==", 0),
    ("piston.pin_retention == \"floatng\"", "'floatng' is not one of floating, pressed; did", 0),
    ("piston.pin_retention in [\"floating\", \"presed\"]", "'presed' is not one of floating, pressed", 0),
    ("piston.pin_retention == (\"floating\" if fitted(rod) else \"presed\")", "'presed' is not one of", 0),
    ("piston.pin_retention == [\"floating\"]", "mixes a word and a list of words", 0),
    ("piston.pin_retention < \"pressed\"", "only numbers are more or less", 0),
    ("gap in [\"a\"]", "'in' wants a word and a list of words", 0),
    ("\"a\" in piston.code", "'in' wants a word and a list of words", 0),
    ("holds(piston.code, \"a\")", "holds takes a list spec and words", 0),
    ("at(rod.mass, 3)", "'rod.mass' is no table of two columns", 0),
    ("at(fuel_pump.flow_curve, 3)", "mixes a pressure and a plain number", 0),
    ("rod.mas", "position 'rod' has no spec 'mas'; did you mean 'mass'?", 0),
    ("1 + rood.mass", "position 'rood' is not known; did you mean 'rod'?", 4),
    ("goal.powr", "goal has no 'powr'; did you mean 'power'?", 0),
    ("engine.cylinder", "engine has no 'cylinder'; did you mean 'cylinders'?", 0),
    ("gapp", "'gapp' is no figure, unit or parameter; did you mean 'gap'?", 0),
    ("pin_retention == 3", "is no figure, unit or parameter; a spec is named with its position: 'piston.", 0),
    ("rod", "'rod' is a position; name one of its specs, like rod.centre_length", 0),
    ("degC", "'degC' has an offset; write temperatures in K here", 0),
    ("fitted(rood)", "position 'rood' is not known; did you mean 'rod'?", 7),
    ("fitted(\"rod\")", "position ''rod'' is not known", 7),
    ("done(final_wash)", "'final_wash': write the work in quotes", 5),
    ("done(\"finalwash\")", "work 'finalwash' is not known; did you mean 'final-wash'?", 5),
    ("opened(\"head\")", "joint 'head' is not known", 7),
    ("offered(\"analog_input\")", "feature 'analog_input' is not known; did you mean 'analogue_input'?", 8),
    ("mini(gap, gap)", "function 'mini' is not known; did you mean 'min'?", 0),
    ("min(gap)", "min takes at least two values", 0),
    ("sqrt()", "sqrt takes another number of arguments", 0),
    ("abs(gap, gap)", "abs takes another number of arguments", 0),
    ("\"é\" == piston.code and gapp > 0", "'gapp' is no figure", 23),
    ("gap >\n   gapp", "'gapp' is no figure", 9),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says", "column"), MISFITS, ids=[text for text, *_ in MISFITS])
def test_what_does_not_fit_is_told_at_its_column(text: str, says: str, column: int, scope: Scope) -> None:
    with pytest.raises(ExpressionFault) as caught:
        compile_text(text, scope)
    assert says in str(caught.value)
    assert caught.value.column == column


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("gap", "mm"),
        ("gap*rod.mass", "kg*m"),
        ("block.bore**2*pi/4", "mm^2"),
        ("sqrt(block.bore*gap)", "mm"),
        ("(block.bore**0.5)**2", "mm"),
        ("rod.mass*gap*goal.rev_limit**2", "N"),
        ("1/goal.rev_limit", "s"),
        ("5*mm + 0", "mm"),
        ("at(fuel_pump.flow_curve, 2*bar)", "L/h"),
        ("-depth", "mm"),
        ("count(rod)*offered(\"analogue_input\")", ""),
        ("min(gap, 0, depth)", "mm"),
        ("gap/depth", ""),
        ("goal.altitude", "m"),
        ("goal.boost + 100*kPa", "kPa"),
    ],
)  # fmt: skip
def test_dimension_of_an_expression(text: str, dimension: str, compiled: Callable[[str], Any]) -> None:
    kind = compiled(text).type
    assert isinstance(kind, Num)
    assert kind.dimension == pytest.approx(unit(dimension).dimension)


def test_names_are_kept_for_tracing(compiled: Callable[[str], Any]) -> None:
    names = compiled(
        "gap + rod.centre_length > goal.boost/(1*kPa)*mm and fitted(piston) and offered('cam_signal') > 0"
    ).names
    assert names.figures == ("gap",)
    assert names.specs == (("rod", "centre_length"),)
    assert names.goals == ("boost",)
    assert names.positions == ("piston",)
    assert names.features == ("cam_signal",)
