"""Declared specs and stated values."""

from __future__ import annotations

import re
from typing import Any

import pytest

from compat.shop.specs import declare, state
from compat.units import Band


@pytest.mark.parametrize(
    ("raw", "sort", "expected"),
    [
        ("mm", "quantity", "a quantity in mm"),
        ("number", "quantity", "a plain number"),
        ("text", "text", "a word or text"),
        ("flag", "flag", "yes or no"),
        ("list", "list", "a list of words"),
        (["iron", "aluminium"], "choice", "one of iron, aluminium"),
        ({"unit": "mm", "is": "height"}, "quantity", "a quantity in mm"),
        ({"one_of": ["a", "b"]}, "choice", "one of a, b"),
        ({"list_of": ["a", "b"], "is": "what it screens"}, "list", "a list of a, b"),
        ({"unit": "cm^3", "signed": "yes"}, "quantity", "a quantity in cm^3"),
        ({"table": {"speed": "rpm", "gain": "number"}}, "table", "a table of rows: speed (rpm), gain ()"),
    ],
)
def test_declarations(raw: Any, sort: str, expected: str) -> None:
    kind = declare("x", raw)
    assert kind.sort == sort
    assert kind.expected == expected
    assert kind.signed is (isinstance(raw, dict) and raw.get("signed") == "yes")


@pytest.mark.parametrize(
    ("declared", "raw", "value"),
    [
        ("text", "M10x1.25", "M10x1.25"),
        ("text", "10.9", "10.9"),
        ("flag", "yes", True),
        ("flag", "False", False),
        ("list", ["a", "b"], ("a", "b")),
        ("list", [], ()),
        ({"list_of": ["loom", "starter"]}, ["starter"], ("starter",)),
        (["iron", "aluminium"], "iron", "iron"),
        ({"table": {"p": "kPa", "f": "number"}}, {"table": [["1 bar", "2"]]}, ((100_000.0, 2.0),)),
        ({"table": {"p": "kPa", "f": "number"}}, [["1 bar", "-2"]], ((100_000.0, -2.0),)),
    ],
)
def test_stated_values(declared: Any, raw: Any, value: Any) -> None:
    assert state(declare("x", declared), raw).value == value


def test_basis_and_note() -> None:
    kind = declare("mass", "g")
    assert state(kind, "5 g", "shop").basis == "shop"
    found = state(kind, {"value": "5 g", "basis": "measured", "note": "one of four"}, "shop")
    assert (found.basis, found.note) == ("measured", "one of four")
    grid = declare("curve", {"table": {"p": "kPa", "f": "number"}})
    assert state(grid, {"table": [["1 kPa", "2"]], "basis": "estimate"}).basis == "estimate"


def test_a_signed_spec_may_reach_below_zero() -> None:
    found = state(declare("crown", {"unit": "cm^3", "signed": "yes"}), "-4 cm^3 ±0.5").value
    assert isinstance(found, Band)
    assert found.low == pytest.approx(-4.5e-6)


@pytest.mark.parametrize("raw", ["80 degC", "-10 degC", "20 degF"])
def test_temperatures_below_freezing_are_not_below_zero(raw: str) -> None:
    assert isinstance(state(declare("limit", "degC"), raw).value, Band)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (["dash", "flying"], "'flying' is no word of 'x', a list of dash, steering"),
        (["stearing"], "did you mean 'steering'"),
        ("dash", "'x' wants a list of dash, steering"),
        ([["dash"]], "'x' wants a list of dash, steering"),
    ],
)
def test_a_list_of_known_words_takes_no_other(raw: Any, says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        state(declare("x", {"list_of": ["dash", "steering"]}), raw)


@pytest.mark.parametrize("raw", ["mm", [], "list"])
def test_a_list_of_wants_words(raw: Any) -> None:
    with pytest.raises(ValueError, match=r"words|no unit"):
        declare("x", {"list_of": raw})
