"""Entries: frozen through and through, equal by value, and made without pydantic."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from typing import Any

import pytest

from compat.shop.entry import Entry
from compat.shop.models import Build, Goal, Need, Offer, Parameter, TakeFrom, WorkDone
from compat.shop.reading import MODELS
from compat.units import read_band

GOAL = Goal(power=read_band("100 kW"), at=read_band("6000 rpm"))


def test_what_an_entry_was_given_can_be_changed_without_touching_it() -> None:
    fit = {"rod": "a"}
    setup: dict[str, Any] = {"spark": {"value": ["a", "b"]}}
    build = Build(build="b", name="B", variant="v", goal=GOAL, fit=fit, setup=setup, work=[WorkDone(work="w")])  # type: ignore[arg-type]
    fit["rod"] = "other"
    setup["spark"]["value"].append("c")
    assert build.fit == {"rod": "a"}
    assert build.setup == {"spark": {"value": ("a", "b")}}
    assert build.work == (WorkDone(work="w"),)


@pytest.mark.parametrize("path", ["fit", "setup", "counts", "measured"])
def test_a_mapping_of_an_entry_takes_nothing(path: str) -> None:
    build = Build(build="b", name="B", variant="v", goal=GOAL, fit={"rod": "a"}, setup={"x": {"y": "z"}})
    with pytest.raises(TypeError):
        getattr(build, path)["more"] = "x"
    with pytest.raises(TypeError):
        build.setup["x"]["y"] = "other"
    with pytest.raises(dataclasses.FrozenInstanceError):
        build.name = "C"  # type: ignore[misc]


def sister() -> TakeFrom:
    return TakeFrom(variant="w", positions=("rod",))


def test_entries_are_equal_by_value() -> None:
    one, other = (
        Build(
            build="b",
            name="B",
            variant="v",
            goal=GOAL,
            fit={"rod": "a"},
            take_from=(TakeFrom(variant="w", positions=("rod",)),),
        )
        for _ in range(2)
    )
    assert one == other
    assert one != dataclasses.replace(other, fit={"rod": "b"})


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Need(), "says either 'feature' or 'any_of'"),
        (lambda: Need(feature="a", any_of=("b",)), "says either 'feature' or 'any_of'"),
        (lambda: Parameter(unit="mm", default="5 kPa"), "'5 kPa' is a pressure; wanted is a quantity in mm"),
        (lambda: Parameter(unit="mmm"), "unit 'mmm' is not known"),
    ],
)
def test_what_does_not_go_together_is_refused_in_python_as_in_a_file(make: Any, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        make()


def test_things_are_made_without_what_reads_files() -> None:
    script = (
        "import sys; import compat.shop.shop, compat.rulebook.models, compat.rulebook.rulebook;"
        "heavy = ('pydantic', 'networkx', 'numpy', 'pint', 'compat.rulebook.compiling');"
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_kind_of_entry_is_frozen_and_described() -> None:
    for model in (*MODELS.values(), Offer, Need, Goal):
        assert issubclass(model, Entry)
        with pytest.raises(dataclasses.FrozenInstanceError):
            object.__new__(model).spot = None  # type: ignore[attr-defined]
        assert model.__doc__
