"""Formulas at the bench: listing, asking, running, and every kind of wrong value."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from compat.engineering import Table, load_all

Run = Callable[..., Any]
DISPLACEMENT = ("engine_displacement", "bore=86 mm", "stroke=86 mm", "cylinders=4")


def test_the_list_names_every_formula(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    ran = run("calc")
    assert (ran.status, ran.err) == (0, "")
    words = set(ran.out.split())
    assert set(load_all()) <= words


def test_a_word_narrows_the_list(run: Run) -> None:
    out = run("calc", "--find", "displacement").out
    assert "engine_displacement" in out
    assert len(out) < len(run("calc").out) / 4


def test_every_formula_says_what_it_takes(run: Run) -> None:
    for name, formula in load_all().items():
        ran = run("calc", name)
        assert (ran.status, ran.err) == (0, ""), name
        assert all(key in ran.out for key in formula.takes), name
        assert "Source:" in ran.out, name


def test_metric_and_imperial_in_and_out(run: Run) -> None:
    """86 mm is 3.3858 in; four of 86 x 86 are 1998.2 cm^3 or 121.94 in^3 (pi/4 by hand)."""
    assert "1998" in run("calc", *DISPLACEMENT).out
    inches = run("calc", "engine_displacement", "bore=3.38583 in", "stroke=3.38583 in", "cylinders=4").out
    assert "1998" in inches
    found = json.loads(run("calc", *DISPLACEMENT, "--units", "imperial", "--json").out)
    assert (found["value"], found["unit"]) == (pytest.approx(121.94, abs=0.01), "in^3")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("bore=86", "stroke=86 mm", "cylinders=4"), "bore: '86' has no unit"),
        (("bore=86 kPa", "stroke=86 mm", "cylinders=4"), "bore: '86 kPa' is a pressure"),
        (("bore=86 mmm", "stroke=86 mm", "cylinders=4"), "unit 'mmm' is not known; did you mean 'mm'?"),
        (("bore=wide", "stroke=86 mm", "cylinders=4"), "bore: 'wide' is no quantity"),
        (("bore=", "stroke=86 mm", "cylinders=4"), "bore: '' is no quantity"),
        (("bore=nan mm", "stroke=86 mm", "cylinders=4"), "not a finite number"),
        (("bore=1e999 mm", "stroke=86 mm", "cylinders=4"), "too large a number"),
        (("bore=86,0 mm", "stroke=86 mm", "cylinders=4"), "comma"),
        (("bore=-86 mm", "stroke=86 mm", "cylinders=4"), "bore"),
        (("bore=0 mm", "stroke=86 mm", "cylinders=4"), "bore"),
        (("bore=86 mm", "stroke=86 mm", "cylinders=0"), "cylinders"),
        (("bore=1e200 m", "stroke=1e200 m", "cylinders=4"), "larger than anything an engine holds"),
        (("bore=86 Mm", "stroke=86 mm", "cylinders=4"), "check the unit's prefix"),
        (("bore=86 mm", "cylinders=4"), "stroke"),
        (("bore=86 mm", "bore=87 mm", "stroke=86 mm", "cylinders=4"), "bore"),
        (("boer=86 mm", "bore=86 mm", "stroke=86 mm", "cylinders=4"), "did you mean 'bore'?"),
        (("86 mm", "stroke=86 mm", "cylinders=4"), "name=value"),
    ],
)
def test_wrong_values_are_told_in_words(words: tuple[str, ...], says: str, run: Run) -> None:
    ran = run("calc", "engine_displacement", *words)
    assert (ran.status, ran.out) == (2, "")
    assert says in ran.err


def test_all_wrong_values_are_told_in_one_go(run: Run) -> None:
    err = run("calc", "engine_displacement", "bore=86", "stroke=86 kPa", "cylindres=4").err
    assert all(word in err for word in ("bore", "stroke", "cylindres"))


def test_a_misspelt_formula_gets_its_nearest(run: Run) -> None:
    ran = run("calc", "engine_displacment", "bore=86 mm")
    assert ran.status == 2
    assert "did you mean 'engine_displacement'?" in ran.err


TABLES = [(name, key) for name, f in load_all().items() for key, t in f.takes.items() if isinstance(t, Table)]


@pytest.mark.parametrize(("name", "key"), TABLES)
@pytest.mark.parametrize("rows", ["", ";", "1, 2, 3, 4, 5, 6, 7", "1 mm, 1 mm; 2 mm"])
def test_wrong_rows_are_told_in_words(name: str, key: str, rows: str, run: Run) -> None:
    formula = load_all()[name]
    given = {k: _some(t) for k, t in formula.takes.items() if k != key}
    ran = run("calc", name, f"{key}={rows}", *(f"{k}={v}" for k, v in given.items()))
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.strip()


def _some(takes: Any) -> str:
    if isinstance(takes, Table):
        return "; ".join(", ".join(f"{n} {'' if u == 'number' else u}" for u in takes.units) for n in (1, 2))
    if isinstance(takes, tuple):
        return str(takes[0] if takes else "1-3-4-2")
    return "1" if takes == "number" else f"1 {takes}"


@pytest.mark.parametrize("name", sorted(load_all()))
@pytest.mark.parametrize("size", ["1", "1e30"])
def test_no_value_brings_a_formula_down(name: str, size: str, run: Run) -> None:
    """Whatever is typed, a formula gives a number or refuses in words."""
    formula = load_all()[name]
    words = []
    for key, takes in formula.takes.items():
        if isinstance(takes, str):
            words.append(f"{key}={size}" if takes == "number" else f"{key}={size} {takes}")
        else:
            words.append(f"{key}={_some(takes)}")
    ran = run("calc", name, *words)
    assert ran.status in (0, 2)
    assert bool(ran.out) != bool(ran.err)
