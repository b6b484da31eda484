"""Declared directions and sums of formulas: true wherever the formula has a result, however far it is moved.

Directions are what planning proves with, so that each is held over wide ranges, one argument at a time and many
at once. Heavy formulas get ranges that engines of this shop's kind and well beyond come from.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import pytest

from compat.engineering import OutOfRange
from compat.engineering.formula import Formula, Table, formula
from compat.planning.bounds import HEAVY_NOISE, NOISE
from tests.engineering.examples import FORMULAS, example_of

RPM = math.pi / 30
DECLARED = [
    (name, result)
    for name, one in sorted(FORMULAS.items())
    for result in one.gives
    if one.rises_with.get(result) or one.falls_with.get(result)
]
SUMS = sorted(name for name, one in FORMULAS.items() if one.sum_of)

NARROW = ("volumetric_efficiency",)
"""Formulas of so many arguments that, each drawn as wide as elsewhere, few would make an engine together."""
CYCLE = {
    "power": (50e3, 450e3),
    "speed": (2500 * RPM, 8500 * RPM),
    "bore": (0.07, 0.1),
    "stroke": (0.065, 0.1),
    "rod_length": (0.12, 0.17),
    "compression_ratio": (7.5, 13.0),
    "octane": (91.0, 104.0),
    "relative_air_fuel_ratio": (0.75, 1.0),
    "ambient_pressure": (85e3, 103e3),
    "charge_temperature": (285.0, 370.0),
    "volumetric_efficiency": (0.6, 1.05),
    "inlet_closes": (0.3, 1.3),
    "exhaust_opens": (0.5, 1.2),
    "evaporated_share": (0.0, 1.0),
    "friction_factor": (0.7, 1.4),
    "motor_octane_weight": (0.0, 1.0),
    "exhaust_back_pressure": (0.0, 60e3),
    "back_pressure_to_boost": (0.0, 2.5),
    "octane_sensitivity": (0.0, 12.0),
}
RANGES: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "operating_point": CYCLE,
    "design_point": CYCLE,
    "pump_flow_at": {"pressure": (300e3, 500e3)},
    "compressor_point": {"corrected_flow": (0.03, 0.3), "pressure_ratio": (1.05, 3.2)},
    "crank_train_loads": {
        "bore": (0.07, 0.1),
        "stroke": (0.065, 0.1),
        "centre_length": (0.125, 0.17),
        "compression_ratio": (7.5, 13.0),
        "reciprocating_mass": (0.3, 0.9),
        "rod_rotating_mass": (0.2, 0.7),
        "peak_pressure": (40e5, 160e5),
        "manifold_pressure": (50e3, 300e3),
        "torque_speed": (2500 * RPM, 6000 * RPM),
        "rev_limit": (6000 * RPM, 9500 * RPM),
        "power_speed": (5000 * RPM, 8000 * RPM),
        "power_peak_pressure": (40e5, 160e5),
        "exhaust_pressure": (90e3, 400e3),
        "net_throw_mass": (0.0, 2.0),
        "ca50": (0.05, 0.6),
    },
}


def _drawn(rng: random.Random, one: Formula, key: str) -> Any:
    """A value for an argument: well about that of the docstring's example, or within the ranges above."""
    value = example_of(one.name)[key]
    takes = one.takes[key]
    if key in RANGES.get(one.name, {}):
        low, high = RANGES[one.name][key]
        return rng.choice([low, high, *(rng.uniform(low, high) for _ in range(3))])
    if isinstance(takes, Table) or value is None or (one.heavy and one.name in RANGES):
        return value
    if isinstance(takes, tuple):
        return rng.choice(takes)
    if takes in ("degC", "K"):
        return value + rng.uniform(-60, 90) * _width(one)
    if takes == "deg":
        return value * rng.uniform(0.6, 1.5) + rng.uniform(-0.1, 0.1)
    return value * math.exp(rng.uniform(-1.2, 1.2) * _width(one))


def _width(one: Formula) -> float:
    return 0.4 if one.heavy or one.name in NARROW else 1.0


def _run(one: Formula, result: str, arguments: Mapping[str, Any]) -> float | None:
    """A result; None where the formula has none, whether it says so or the arithmetic does."""
    try:
        found = one.function(**arguments)
    except (OutOfRange, ArithmeticError, ValueError):
        return None
    return float(getattr(found, result) if result else found)


def _steps(one: Formula, result: str, count: int) -> Iterator[tuple[float, float, str]]:
    """A result before and after some arguments were moved so that it should not fall; and which were moved."""
    rng = random.Random(f"{one.name} {result}")
    rises, falls = one.rises_with.get(result, ()), one.falls_with.get(result, ())
    for _ in range(count):
        low = {key: _drawn(rng, one, key) for key in one.takes}
        before = _run(one, result, low)
        if before is None:
            continue
        declared = [key for key in (*rises, *falls) if low[key] is not None]
        moved = rng.sample(declared, rng.choice([1, 1, rng.randint(1, len(declared))]))
        high = dict(low)
        for key in moved:
            step = (_drawn(rng, one, key) - low[key]) * rng.choice([1, 1, 0.1, 0.01])
            high[key] = low[key] + (abs(step) if key in rises else -abs(step))
        after = _run(one, result, high)
        if after is not None:
            yield before, after, ", ".join(moved)


def _holds(one: Formula, result: str, count: int) -> int:
    """How often the directions were held; an AssertionError where one does not."""
    held = 0
    noise = HEAVY_NOISE if one.heavy else NOISE
    for before, after, moved in _steps(one, result, count):
        worst = noise * max(abs(before), abs(after))
        assert after >= before - worst, f"{one.name}.{result}: {before} -> {after} with {moved}"
        held += 1
    return held


@pytest.mark.parametrize(("name", "result"), DECLARED)
def test_moves_only_the_way_that_is_declared(name: str, result: str) -> None:
    one = FORMULAS[name]
    assert _holds(one, result, 40 if one.heavy else 400) > (5 if one.heavy else 40)


@pytest.mark.parametrize(
    ("name", "result", "key"),
    [(n, r, key) for n, one in sorted(FORMULAS.items()) for r, keys in one.either_way.items() for key in keys],
)
def test_never_turns_back(name: str, result: str, key: str) -> None:
    """Between two values of the argument the result lies between what it is at these."""
    one = FORMULAS[name]
    rng = random.Random(f"{name} {result} {key}")
    held = 0
    for _ in range(400):
        arguments = {each: _drawn(rng, one, each) for each in one.takes}
        ends = [arguments[key], _drawn(rng, one, key)]
        middle = ends[0] + rng.random() * (ends[1] - ends[0])
        found = [_run(one, result, {**arguments, key: value}) for value in (ends[0], middle, ends[1])]
        if None in found:
            continue
        first, between, last = (value for value in found if value is not None)
        slack = NOISE * max(abs(first), abs(last))
        assert min(first, last) - slack <= between <= max(first, last) + slack
        held += 1
    assert held > 60


@pytest.mark.parametrize(("name", "result"), [(n, r) for n, one in sorted(FORMULAS.items()) for r in one.lies])
def test_lies_between_what_is_told(name: str, result: str) -> None:
    one = FORMULAS[name]
    rng = random.Random(f"{name} {result} lies")
    found = [_run(one, result, {key: _drawn(rng, one, key) for key in one.takes}) for _ in range(600)]
    known = [value for value in found if value is not None]
    low, high = one.lies[result]
    assert len(known) > 100
    assert all(low <= value <= high for value in known)


@pytest.mark.parametrize(
    ("name", "result", "key"),
    [
        ("swept_volume", "", "bore"),
        ("quench_gap", "", "gasket_thickness"),
        ("preload_band", "least", "settling"),
    ],
)
def test_a_wrong_direction_is_found(name: str, result: str, key: str) -> None:
    one = FORMULAS[name]
    rises, falls = one.rises_with.get(result, ()), one.falls_with.get(result, ())
    turned = replace(
        one,
        rises_with={result: (key,) if key in falls else ()},
        falls_with={result: (key,) if key in rises else ()},
    )
    with pytest.raises(AssertionError, match=key):
        _holds(turned, result, 400)


@pytest.mark.parametrize("name", SUMS)
def test_is_the_sum_that_is_declared(name: str) -> None:
    one = FORMULAS[name]
    rng = random.Random(name)
    held = 0
    for _ in range(200):
        arguments = {key: _drawn(rng, one, key) for key in one.takes}
        found = _run(one, "", arguments)
        if found is not None:
            parts = [factor * arguments[key] for key, factor in one.sum_of.items()]
            assert found == pytest.approx(math.fsum(parts), rel=0, abs=1e-12 * math.fsum(map(abs, parts)))
            held += 1
    assert held > 50


def _registered(**told: Any) -> Callable[[], object]:
    def nothing_like_it(bore: float, stroke: float) -> float:
        return bore + stroke

    return lambda: formula(takes={"bore": "mm", "stroke": "mm"}, gives="mm", source="none", **told)(
        nothing_like_it
    )


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"rises_with": ("rod",)}, "no direction can be told of rod"),
        ({"rises_with": ("bore",), "falls_with": ("bore",)}, "no direction can be told of bore"),
        ({"rises_with": {"peak": ("bore",)}}, "peak, which is no result"),
        ({"sum_of": {"bore": 1.0}}, "names every argument"),
        ({"sum_of": {"bore": 1.0, "stroke": 1.0}, "rises_with": ("bore",)}, "tells no directions"),
    ],
)
def test_a_direction_of_nothing_is_refused(told: dict[str, Any], says: str) -> None:
    with pytest.raises(TypeError, match=says):
        _registered(**told)()
