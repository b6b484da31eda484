"""Knock verdicts carry the doubt of delay, ratio and charge; what feeds them has no step."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import pytest

import compat
from compat.checking.world import BuildWorld
from compat.rulebook.values import Number
from tests.look import demo_shop, settle

DEGREE = math.pi / 180


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    demo = demo_shop()
    return compat.OpenShop(demo.shop, demo.book)


def figure(world: BuildWorld, name: str) -> Number:
    value = world.figure(name)
    assert isinstance(value, Number)
    return value


def test_the_delay_s_doubt_and_the_ratio_stand_in_the_band(shop: compat.OpenShop) -> None:
    check = shop.check("street-turbo")
    retard = figure(check.world, "knock_retard_at_torque")
    leaves = {leaf: abs(slope) * check.world.half[leaf] / DEGREE for leaf, slope in (retard.g or {}).items()}
    assert 4.0 < leaves["model of end_gas_doubt"] < 9.0
    ratio = figure(check.world, "compression_ratio")
    assert set(ratio.g or {}) <= set(leaves)
    of_ratio = sum(leaves[leaf] for leaf in ratio.g or {})
    # five to six degrees for one of ratio
    assert of_ratio == pytest.approx(5.9 * check.world.worst(ratio), rel=0.35)


@pytest.mark.parametrize(
    ("entry", "sure", "loose"),
    [
        ("boost", "100 kPa", "100 kPa ±20 kPa"),
        ("air_temperature", "20 degC", "20 degC ±15"),
    ],
)
def test_what_a_goal_leaves_open_widens_it(shop: compat.OpenShop, entry: str, sure: str, loose: str) -> None:
    build = shop.build("street-turbo")
    bands = []
    for goal in (sure, loose):
        check = shop.check(build.aiming(**{entry: goal}))
        bands.append(check.world.worst(figure(check.world, "knock_retard_at_torque")))
    assert bands[1] > bands[0] + 0.3 * DEGREE


def test_verdicts_go_from_clear_over_may_to_past_it(shop: compat.OpenShop) -> None:
    """The band reaches the limit before the middle; where ratio and charge alone do, they are measured."""
    build, order = shop.build("street-turbo"), ["ok", "caution", "measure", "shortfall"]
    found = []
    for torque in range(320, 560, 10):
        findings = {f.rule: f for f in shop.check(build.aiming(torque=f"{torque} N*m")).report.findings}
        finding = findings["knock-limit-at-torque"]
        found.append(finding.verdict)
        if finding.verdict == "caution":
            assert finding.value is not None
            assert finding.high is not None
            assert finding.value <= 18.0 < finding.high
            assert "could be" in finding.because
    assert set(found) == set(order)
    assert [order.index(verdict) for verdict in found] == sorted(order.index(verdict) for verdict in found)


def test_a_goal_that_knock_forbids_is_told_before_all_else(shop: compat.OpenShop) -> None:
    rules = demo_shop().book.rules
    assert all(rules[f"knock-limit-at-{point}"].rule.decides for point in ("torque", "power"))


@pytest.mark.parametrize("name", ["street-turbo", "tarn-20-turbo", "endurance-ethanol"])
def test_charge_and_turbine_have_no_step_where_the_compressor_s_map_ends(
    name: str, shop: compat.OpenShop
) -> None:
    build, own = shop.build(name), settle(shop.things, shop.book, name)
    power, displacement = figure(own, "specific_power").x, figure(own, "displacement").x
    steps = []
    ends = set()
    for share in (1.3 + 0.01 * k for k in range(81)):
        goal = f"{share * power * displacement / 1e3:.3f} kW"
        world = settle(shop.things, shop.book, build.aiming(power=goal, torque="600 N*m"))
        ends.add(isinstance(world.figure("compressor_efficiency"), Number))
        steps.append((figure(world, "manifold_temperature").x, figure(world, "turbine_pressure").x))
    assert ends == {True, False}
    for before, after in pairwise(steps):
        assert all(0.999 * a < b < 1.05 * a for a, b in zip(before, after, strict=True))


def test_a_filter_that_states_nothing_is_taken_as_usual(shop: compat.OpenShop) -> None:
    """Its own rule asks for the drop; compressor, charge and turbine go on with a usual one, and say so."""
    demo = demo_shop()
    part = shop.check("street-turbo").world.settled.fitted["air_filter"].part.part
    own = {key: value for key, value in demo.shop.specs[part].items() if key != "pressure_drop"}
    silent = dataclasses.replace(demo.shop, specs={**demo.shop.specs, part: own})
    check, stated = compat.OpenShop(silent, demo.book).check("street-turbo"), shop.check("street-turbo")
    found = {finding.rule: finding for finding in check.report.findings}
    assert found["filter-drop"].verdict == "unknown"
    assert any("Pressure lost before the compressor" in text for text in found["compressor-flow"].taken)
    for name in ("turbine_pressure", "manifold_temperature"):
        assert figure(check.world, name).x == pytest.approx(figure(stated.world, name).x, rel=0.03)
