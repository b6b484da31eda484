"""Loads of all load rules move one way: worse never looks stronger, and nothing jumps.

Directions are those of mechanics, each with its reason: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

import compat
from tests.checking.moving_loads import ENGINES, SAME, falling, goal_of, steps_of
from tests.look import demo_shop, settle

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


@pytest.mark.parametrize("name", ENGINES)
def test_more_torque_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    _, torque = goal_of(shop, name)
    values = [f"{torque * share:.2f} N*m" for share in (1.0, 1.03, 1.1, 1.2, 1.35, 1.5)]
    assert not falling(steps_of(shop, name, "torque", values), {})


@pytest.mark.parametrize("name", ENGINES)
def test_more_power_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    power, torque = goal_of(shop, name)
    values = [f"{power * share:.2f} kW" for share in (1.0, 1.02, 1.05, 1.1, 1.2)]
    assert not falling(steps_of(shop, name, "power", values, torque=f"{1.5 * torque:.1f} N*m"), {})


@pytest.mark.parametrize("name", ENGINES)
def test_hotter_air_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    steps = steps_of(shop, name, "air_temperature", ["-10 degC", "10 degC", "25 degC", "40 degC"])
    assert not falling(steps, FALLS["air_temperature"])


@pytest.mark.parametrize("name", ENGINES)
def test_thinner_air_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    steps = steps_of(shop, name, "altitude", ["0 m", "500 m", "1200 m", "2000 m", "3000 m"])
    assert not falling(steps, FALLS["altitude"])


@pytest.mark.parametrize("name", ENGINES)
def test_worse_fuel_is_never_less_load(name: str, shop: compat.OpenShop) -> None:
    """By octane from the best down; what knocks earlier is held back in running and must not look stronger."""
    fuels = ["ethanol-85", "race-102", "pump-98", "pump-95"]
    assert not falling(steps_of(shop, name, "fuel", fuels), FALLS["fuel"])


def _edge(
    shop: compat.OpenShop,
    name: str,
    entry: str,
    unit: str,
    margin: str,
    within: tuple[float, float],
    **fixed: str,
) -> float:
    """Goal at which knock puts it out of reach, to a part in ten thousand."""

    def reached(goal: float) -> bool:
        build = shop.build(name).aiming(**{entry: f"{goal:.3f} {unit}", **fixed})
        return hasattr(settle(shop.things, shop.book, build).figure(margin), "x")

    low, high = within
    assert reached(low)
    assert not reached(high)
    while high - low > 1e-4 * low:
        middle = (low + high) / 2
        low, high = (middle, high) if reached(middle) else (low, middle)
    return high


def _moved(
    shop: compat.OpenShop, name: str, entry: str, unit: str, goal: float, **fixed: str
) -> dict[str, float]:
    """By what share each load moves where the goal rises by a thousandth."""
    before, after = steps_of(shop, name, entry, [f"{goal:.4f} {unit}", f"{goal * 1.001:.4f} {unit}"], **fixed)
    assert before.keys() == after.keys()
    moved = {rule: after[rule] / before[rule] - 1 for rule in before if before[rule] > 0}
    assert len(moved) >= 40
    return moved


AROUND_THE_EDGE = (0.7, 0.9, 0.98, *(0.998 + 0.0005 * k for k in range(8)), 1.02, 1.1, 1.2)


@pytest.mark.parametrize(
    ("name", "within", "fixed"),
    [
        ("street-turbo", (300.0, 700.0), {"boost": "220 kPa"}),
        ("first-draft", (100.0, 360.0), {"power": "60 kW"}),
        ("tarn-20-turbo", (200.0, 600.0), {}),
    ],
)
def test_nothing_jumps_where_knock_ends_thegoal_of(
    name: str, within: tuple[float, float], fixed: dict[str, str], shop: compat.OpenShop
) -> None:
    """A thousandth more torque moves no load by more than four thousandths, at the edge too."""
    edge = _edge(shop, name, "torque", "N*m", "knock_margin_at_torque", within, **fixed)
    for share in AROUND_THE_EDGE:
        moved = _moved(shop, name, "torque", "N*m", share * edge, **fixed)
        assert {rule: by for rule, by in moved.items() if abs(by) > 4e-3} == {}, share


@pytest.mark.parametrize(
    ("name", "within", "fixed"),
    [
        ("street-turbo", (150.0, 500.0), {"boost": "220 kPa", "torque": "600 N*m"}),
        ("first-draft", (60.0, 250.0), {"torque": "360 N*m"}),
    ],
)
def test_nothing_falls_where_knock_ends_the_power(
    name: str, within: tuple[float, float], fixed: dict[str, str], shop: compat.OpenShop
) -> None:
    """Fuel alone runs ahead: the burn goes late ever faster, and beyond the edge is the latest that is run."""
    edge = _edge(shop, name, "power", "kW", "knock_margin_at_power", within, **fixed)
    for share in AROUND_THE_EDGE:
        moved = _moved(shop, name, "power", "kW", share * edge, **fixed)
        ahead = {rule for rule, by in moved.items() if abs(by) > 4e-3}
        assert ahead <= {"fuel-pump-flow", "fuel-filter-flow", "lift-pump-flow"}, share
        assert all(-SAME < by < 0.06 for by in moved.values()), share
