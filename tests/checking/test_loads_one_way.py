"""Loads of all load rules move one way: worse never looks stronger, and nothing jumps.

Directions are those of mechanics, each with its reason: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import pairwise

import pytest

import compat
from tests.look import demo_shop

ENGINES = ("street-turbo", "endurance-ethanol", "tarn-20-base", "tarn-20-turbo", "fell-30-base")
SAME = 1e-4
"""What the search for the charge and the split of the back pressure leave over."""

# load rules that may fall, by what changes: why
FALLS: Mapping[str, Mapping[str, str]] = {
    "altitude": {
        "manifold-sensor-under-boost": "the sensor sees absolute pressure: the same boost on thinner air",
        "charge-sensor-under-boost": "as the manifold sensor",
        "fuel-pump-flow": "at equal power thinner air leaves less to pump out against",
        "fuel-filter-flow": "as the pump",
        "lift-pump-flow": "as the pump",
    },
    "air_temperature": {
        "fuel-pump-flow": "hotter charge wants a little more pressure, and less is pumped against a throttle",
        "fuel-filter-flow": "as the pump",
        "lift-pump-flow": "as the pump",
        "crank-pin-fillet": "at the rev limit charge pressed in harder works against the pistons' inertia",
        "crank-main-fillet": "as the pins",
    },
    "fuel": {
        "fuel-pump-flow": "alcohol holds less heat: the better fuel wants more of it",
        "fuel-filter-flow": "as the pump",
        "lift-pump-flow": "as the pump",
        "exhaust-spring-under-boost": "fuel that holds less heat gives more gas to the turbine",
    },
}


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    demo = demo_shop()
    return compat.OpenShop(demo.shop, demo.book)


def _loads(shop: compat.OpenShop, build: compat.Build) -> dict[str, float]:
    return {
        finding.rule: finding.load for finding in shop.check(build).report.findings if finding.load is not None
    }


def _steps(
    shop: compat.OpenShop, name: str, entry: str, values: Iterable[str], **fixed: str
) -> list[dict[str, float]]:
    build = shop.build(name)
    return [_loads(shop, build.aiming(**{entry: value, **fixed})) for value in values]


def _falling(steps: list[dict[str, float]], allowed: Mapping[str, str]) -> dict[str, tuple[float, float]]:
    return {
        rule: (before[rule], after[rule])
        for before, after in pairwise(steps)
        for rule in before.keys() & after.keys()
        if after[rule] < before[rule] * (1 - SAME) and rule not in allowed
    }


def _goal(shop: compat.OpenShop, name: str) -> tuple[float, float]:
    """Power [kW] and torque [N*m] of the goal."""
    world = shop.check(name).world
    return world.goal("power").x / 1e3, world.figure("torque").x  # type: ignore[union-attr]


@pytest.mark.parametrize("name", ENGINES)
def test_more_torque_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    _, torque = _goal(shop, name)
    values = [f"{torque * share:.2f} N*m" for share in (1.0, 1.03, 1.1, 1.2, 1.35, 1.5)]
    assert not _falling(_steps(shop, name, "torque", values), {})


@pytest.mark.parametrize("name", ENGINES)
def test_more_power_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    power, torque = _goal(shop, name)
    values = [f"{power * share:.2f} kW" for share in (1.0, 1.02, 1.05, 1.1, 1.2)]
    assert not _falling(_steps(shop, name, "power", values, torque=f"{1.5 * torque:.1f} N*m"), {})


@pytest.mark.parametrize("name", ENGINES)
def test_hotter_air_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    steps = _steps(shop, name, "air_temperature", ["-10 degC", "10 degC", "25 degC", "40 degC"])
    assert not _falling(steps, FALLS["air_temperature"])


@pytest.mark.parametrize("name", ENGINES)
def test_thinner_air_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    steps = _steps(shop, name, "altitude", ["0 m", "500 m", "1200 m", "2000 m", "3000 m"])
    assert not _falling(steps, FALLS["altitude"])


@pytest.mark.parametrize("name", ENGINES)
def test_worse_fuel_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    """By octane from the best down; what knocks earlier is held back in running and must not look stronger."""
    fuels = ["ethanol-85", "race-102", "pump-98", "pump-95"]
    assert not _falling(_steps(shop, name, "fuel", fuels), FALLS["fuel"])


def _edge(shop: compat.OpenShop, name: str, **fixed: str) -> float:
    """Torque at which knock puts the goal out of reach [N*m], to a part in ten thousand."""

    def reached(torque: float) -> bool:
        world = shop.check(shop.build(name).aiming(torque=f"{torque:.3f} N*m", **fixed)).world
        return hasattr(world.figure("knock_margin_at_torque"), "x")

    low, high = 300.0, 700.0
    assert reached(low)
    assert not reached(high)
    while high - low > 0.02:
        middle = (low + high) / 2
        low, high = (middle, high) if reached(middle) else (low, middle)
    return high


def test_nothing_jumps_where_knock_ends_the_goal(shop: compat.OpenShop) -> None:
    """A thousandth more torque moves no load by more than four thousandths, at the edge too."""
    fixed = {"boost": "220 kPa"}
    edge = _edge(shop, "street-turbo", **fixed)
    for torque in (330.0, 400.0, edge * 0.9985, edge * 0.9995, edge * 1.02, 1.2 * edge):
        before, after = _steps(
            shop, "street-turbo", "torque", [f"{torque:.4f} N*m", f"{torque * 1.001:.4f} N*m"], **fixed
        )
        assert before.keys() == after.keys()
        moved = {rule: after[rule] / before[rule] - 1 for rule in before if before[rule] > 0}
        assert len(moved) > 40
        assert {rule: share for rule, share in moved.items() if abs(share) > 4e-3} == {}, torque


@pytest.mark.parametrize("name", ENGINES)
def test_inertia_rises_with_speed(name: str, shop: compat.OpenShop) -> None:
    """The overrun at the rev limit is borne by rod, cap and bolts alone, and goes with the square of speed."""
    limit = shop.check(name).world.goal("rev_limit").x * 30 / math.pi  # type: ignore[union-attr]
    steps = _steps(shop, name, "rev_limit", [f"{limit * share:.0f} rpm" for share in (1.0, 1.1, 1.2)])
    for before, after in pairwise(steps):
        for rule in ("rod-tension", "rod-bolt-headroom", "rod-joint-opens"):
            assert after[rule] > before[rule] * 1.15, rule
