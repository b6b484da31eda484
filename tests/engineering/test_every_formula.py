"""What every formula owes its caller: finite numbers or OutOfRange, and a register entry that is whole."""

from __future__ import annotations

import inspect
import math
import re
from typing import Any

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from compat.engineering import OutOfRange
from compat.engineering.arguments import parameters_of
from compat.engineering.formula import Formula, Table, Takes
from compat.units import unit
from tests.engineering.examples import FORMULAS, example_of

LIGHT = sorted(name for name, formula in FORMULAS.items() if not formula.heavy)
NONSENSE = (math.nan, math.inf, -math.inf, 0.0, -1.0, 1e-30, 1e30, -1e30)


def _values(result: Any) -> tuple[float, ...]:
    return tuple(result) if isinstance(result, tuple) else (result,)


def _finite(result: Any) -> bool:
    return all(isinstance(value, int | float) and math.isfinite(value) for value in _values(result))


def _nudged(takes: Takes, value: Any, factor: float) -> Any:
    if isinstance(takes, Table):
        return tuple(tuple(cell * factor for cell in row) for row in value)
    if isinstance(takes, tuple) or value is None:
        return value
    return value * factor


@pytest.mark.parametrize("name", LIGHT)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(data=st.data())
def test_gives_finite_numbers_near_its_example(name: str, data: st.DataObject) -> None:
    """Each argument moved by up to a third, each word exchanged: finite numbers, or a refusal in words."""
    formula = FORMULAS[name]
    arguments = dict(example_of(name))
    for key, takes in formula.takes.items():
        if isinstance(takes, tuple):
            arguments[key] = data.draw(st.sampled_from(takes), label=key)
        else:
            arguments[key] = _nudged(takes, arguments[key], data.draw(st.floats(0.7, 1.35), label=key))
    try:
        assert _finite(formula.function(**arguments))
    except OutOfRange:
        event("refused")


def _spoilt(takes: Takes, value: Any) -> list[Any]:
    """The argument in all the ways that nobody should write it."""
    if isinstance(takes, Table):
        first = value[0]
        rows = [
            tuple(bad if index == column else cell for index, cell in enumerate(first))
            for column in range(len(first))
            for bad in NONSENSE
        ]
        return [(), (first,), (first, first), tuple(reversed(value)), *((row, *value[1:]) for row in rows)]
    if isinstance(takes, tuple):
        return ["no such word", ""]
    return list(NONSENSE)


@pytest.mark.parametrize("name", LIGHT)
def test_one_nonsense_argument_never_comes_through(name: str) -> None:
    formula = FORMULAS[name]
    example = example_of(name)
    assert _finite(formula.function(**example))
    for key, takes in formula.takes.items():
        for bad in _spoilt(takes, example[key]):
            try:
                result = formula.function(**{**example, key: bad})
            except OutOfRange:
                continue
            assert _finite(result), f"{name} gives {result} for {key} = {bad!r}"
            # What passes must be a number that can be; an unknown word or one that is none cannot.
            assert not isinstance(bad, str), f"{name} takes {key} = {bad!r}"
            assert isinstance(bad, tuple) or math.isfinite(bad), f"{name} takes {key} = {bad!r}"


@pytest.mark.parametrize("name", sorted(set(FORMULAS) - set(LIGHT)))
def test_heavy_formulas_refuse_what_is_no_number(name: str) -> None:
    formula = FORMULAS[name]
    example = example_of(name)
    for key, takes in formula.takes.items():
        if isinstance(takes, str):
            for bad in (math.nan, math.inf):
                with pytest.raises(OutOfRange):
                    formula.function(**{**example, key: bad})


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_is_fit_to_be_shown(name: str) -> None:
    formula: Formula = FORMULAS[name]
    text = inspect.getdoc(formula.function) or ""
    for section in ("Parameters", "Returns", "Raises", "References", "Examples"):
        assert re.search(rf"^{section}\n-+$", text, re.MULTILINE), f"{name} has no {section}"
    assert ">>>" in text
    assert formula.summary.endswith(".")
    assert formula.source
    if formula.scatter:
        assert formula.scatter_source
    described = text.split("Returns\n")[0]
    for argument, takes in formula.takes.items():
        assert re.search(rf"\b{argument}\b", described), f"{name} does not describe {argument}"
        for written in takes.units if isinstance(takes, Table) else [takes] if isinstance(takes, str) else []:
            unit(written)
    for written in formula.gives.values():
        unit(written)


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_what_is_read_off_its_code_is_its_signature(name: str) -> None:
    formula = FORMULAS[name]
    told = inspect.signature(formula.function).parameters.values()
    usual = {one.name: one.default is not inspect.Parameter.empty for one in told}
    assert parameters_of(formula.function) == usual
    assert list(parameters_of(formula.function)) == list(usual)
    assert formula.optional == {key for key, may in usual.items() if may}


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_result_fields_are_the_ones_declared(name: str) -> None:
    formula = FORMULAS[name]
    result = inspect.signature(inspect.unwrap(formula.function), eval_str=True).return_annotation
    if formula.single:
        assert result is float
    else:
        assert tuple(result._fields) == tuple(formula.gives)
