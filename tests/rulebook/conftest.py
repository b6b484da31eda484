"""A world of plain values for expressions, and a scope to compile them in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from compat.rulebook.compiling import compile_text
from compat.rulebook.expressions import Expression
from compat.rulebook.scope import Scope
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.shop.reading import read_shop
from compat.shop.shop import Shop
from compat.shop.source import Fault
from compat.units import read_band, unit

FIGURES = {"gap": "mm", "ratio": "", "pull": "kN"}


class Plain:
    """A world that answers from tables; a spec not in them is not stated, a position not in them empty."""

    def __init__(self, **values: str | float | bool | tuple[str, ...]) -> None:
        self.values = values
        self.positions = {name.split("__")[0] for name in values}

    def value(self, name: str) -> Value:
        raw = self.values.get(name)
        if raw is None:
            return Missing(frozenset({name.replace("__", ".")}))
        if isinstance(raw, float):
            return Number(raw, {name.replace("__", "."): 1.0})
        return raw

    def spec(self, position: str, name: str) -> Value:
        if position not in self.positions:
            raise Absent(position)
        return self.value(f"{position}__{name}")

    def figure(self, name: str) -> Value:
        return self.value(name)

    def goal(self, name: str) -> Value:
        return self.value(f"goal__{name}")

    def parameter(self, name: str) -> Value:
        return self.value(name)

    def engine(self, name: str) -> float:
        return {"cylinders": 4.0, "valves": 8.0}.get(name, 1.0)

    def fitted(self, position: str) -> bool:
        return position in self.positions

    def count(self, position: str) -> int:
        return 4 * (position in self.positions)

    def changed(self, position: str) -> bool:
        return position == "rod"

    def kept(self, position: str) -> bool:
        return position == "crankshaft"

    def measured(self, position: str, name: str) -> bool:
        return name == "skirt_diameter"

    def done(self, work: str) -> bool:
        return work == "final-wash"

    def opened(self, joint: str) -> bool:
        return joint == "head_joint"

    def offered(self, feature: str) -> int:
        return 2 * (feature == "analogue_input")

    def sister(self, position: str) -> str:
        return "hob-15" if position == "crankshaft" else ""


@pytest.fixture(scope="session")
def shop() -> Shop:
    faults: list[Fault] = []
    found = read_shop(Path(__file__).parents[1] / "tiny" / "catalog", faults)
    assert not faults
    return found


@pytest.fixture(scope="session")
def scope(shop: Shop) -> Scope:
    figures = {name: unit(text).dimension for name, text in FIGURES.items()}
    return Scope(shop, figures, {"depth": unit("mm").dimension})


Compile = Callable[[str], Expression]
Work = Callable[..., Value]


@pytest.fixture(scope="session")
def compiled(scope: Scope) -> Compile:
    return lambda text: compile_text(text, scope)


@pytest.fixture(scope="session")
def work_out(compiled: Compile) -> Work:
    """Run an expression on plain values; a text that reads as a quantity becomes its SI float."""

    def run(text: str, **values: object) -> Value:
        given = {
            name: read_band(value[1:]).nominal if isinstance(value, str) and value.startswith("=") else value
            for name, value in values.items()
        }
        return compiled(text).run(Plain(**given))  # type: ignore[arg-type]

    return run


@pytest.fixture(scope="session")
def world() -> Plain:
    """A world in which some specs are stated, one position is empty and the rest is not known."""
    return Plain(
        rod__mass=0.5,
        rod__centre_length=0.13,
        piston__pin_retention="floating",
        piston__code="a",
        block__bore=0.0855,
        gap=0.001,
        ratio=10.5,
        depth=0.0001,
        goal__rev_limit=700.0,
        goal__duty="track",
    )
