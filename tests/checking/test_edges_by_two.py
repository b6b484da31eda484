"""Ranges of practice that hang on more than one size: piston, compressor, deck, flywheel, pickup, nose.

Sizes of the steps are common practice, no source, and stand beside each rule.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from compat import OpenShop
from compat.checking.outcome import RANK
from compat.library.library import Library
from compat.rulebook.values import Number
from compat.shop.shop import Shop
from tests.checking.otherwise import STREET, figure, found, goal, otherwise, sizes, step
from tests.checking.wrong import BASE, LONG, PHASE, TURBO, V6

# --- Pistons -----------------------------------------------------------------------------------


@pytest.mark.parametrize("start", [BASE, TURBO])
@pytest.mark.parametrize(
    ("bmep", "expected"), [(1340, "ok"), (1360, "caution"), (1690, "caution"), (1710, "shortfall")]
)
def test_a_cast_piston_that_states_no_limit(
    start: str, bmep: int, expected: str, stating: Callable[[Any], Shop], demo: Library
) -> None:
    """Torque by bmep = 4 pi T/V; whether the engine is boosted does not change the casting."""
    shop = OpenShop(stating({"tarn-20-base-piston": {"bmep_limit": None}}), demo.book)
    torque = (
        bmep * 1e3 * figure(start, "displacement", {"fit": {"piston": "tarn-20-base-piston"}}) / (4 * math.pi)
    )
    says = {"fit": {"piston": "tarn-20-base-piston"}, **goal(power="80 kW", torque=f"{torque:.2f} N*m")}
    assert step(start, ("piston-alloy-under-load", "piston-alloy-near-load"), says, shop) == expected


def test_a_card_comes_before_what_cast_pistons_usually_stand() -> None:
    """The base piston states 1350 kPa: beyond it there is no caution, but a shortfall."""
    torque = 1360e3 * figure(BASE, "displacement", {}) / (4 * math.pi)
    rules = ("piston-alloy-under-load", "piston-alloy-near-load")
    assert step(BASE, rules, goal(torque=f"{torque:.2f} N*m")) == "shortfall"


def test_oil_under_a_cast_crown_takes_heat_out_of_it() -> None:
    hot = goal(power="163 kW")
    jets = {"fit": {"piston_jet": "tarn-20-turbo-piston-jet"}, **hot}
    rules = ("cast-piston-heat", "cast-piston-warm")
    assert [step(BASE, rules, says) for says in (hot, jets)] == ["shortfall", "caution"]


# --- Compressor and turbine: from the goal, whose points cross the steps ---------------------------


@pytest.mark.parametrize(
    ("rules", "name", "ends", "boost", "entry", "values"),
    [
        (
            ("compressor-efficiency", "compressor-off-its-best"),
            "compressor_waste_heat",
            (6.0, 20.0),
            "60 kPa",
            "power",
            [f"{power} kW" for power in range(150, 236, 6)],
        ),
        (
            ("compressor-near-surge", "compressor-surge"),
            "compressor_surge_margin",
            (0.10, 0.03),
            "120 kPa",
            "torque_at",
            [f"{rpm} rpm" for rpm in range(2400, 3500, 60)],
        ),
    ],
)
def test_steps_of_the_compressor(
    rules: tuple[str, ...], name: str, ends: tuple[float, float], boost: str, entry: str, values: list[str]
) -> None:
    near, far = ends
    seen = set()
    for value in values:
        checked = otherwise(STREET, goal(boost=boost, **{entry: value}))
        at = checked.world.figure(name)
        if not isinstance(at, Number):
            continue  # off the map, which has rules of its own
        findings = {finding.rule: finding.verdict for finding in checked.report.findings}
        told = min((findings[rule] for rule in rules if rule in findings), key=RANK.__getitem__)
        past_far, past_near = ((at.x > end) == (far > near) for end in (far, near))
        if past_far:
            assert told in ("shortfall", "conflict")
        elif past_near:
            assert told == "caution"
        else:
            assert told in ("ok", "caution")  # what the model may be off
        seen.add(told)
    assert len(seen) == 3


@pytest.mark.parametrize(
    ("swallowing", "expected"), [("0.150 kg/s", "ok"), ("0.080 kg/s", "caution"), ("0.060 kg/s", "shortfall")]
)
def test_steps_of_the_turbine(swallowing: str, expected: str) -> None:
    rules = ("turbine-pressure", "turbine-holds-gas-back")
    assert step(STREET, rules, sizes(turbocharger__swallowing_capacity=swallowing)) == expected


# --- Deck, flywheel, pickup, nose ------------------------------------------------------------------


def test_an_open_deck_by_wall_and_bore(stating: Callable[[Any], Shop], demo: Library) -> None:
    """Without a card 100 bar x (wall/bore)/0.065; the goal's torque moves the pressure."""
    shop = OpenShop(
        stating({"tarn-20-turbo-block": {"deck_style": "open", "deck_pressure_limit": None}}), demo.book
    )
    rules = ("deck-carries-pressure", "deck-near-pressure")
    told = [
        step(TURBO, rules, goal(torque=torque, power="105 kW"), shop)
        for torque in ("190 N*m", "245 N*m", "270 N*m")
    ]
    assert told == ["ok", "caution", "shortfall"]
    thin, thick = (
        found(TURBO, {**goal(torque="245 N*m", power="105 kW"), **sizes(block__wall_thickness=wall)}, shop)
        for wall in ("5.2 mm", "6.4 mm")
    )
    assert thin["deck-carries-pressure"].capacity < thick["deck-carries-pressure"].capacity  # type: ignore[operator]
    assert thick["deck-near-pressure"].verdict == "ok"


def test_the_speed_that_a_flywheel_states_decides_and_not_its_metal(
    stating: Callable[[Any], Shop], demo: Library
) -> None:
    fast = goal(rev_limit="7300 rpm")
    assert found(BASE, fast)["flywheel-speed"].verdict == "ok"  # cast iron, and 7500 rpm on its card
    shop = OpenShop(stating({"tarn-20-flywheel": {"max_speed": None}}), demo.book)
    assert found(BASE, fast, shop)["flywheel-speed"].verdict == "conflict"
    assert found(BASE, goal(rev_limit="6500 rpm"), shop)["flywheel-speed"].verdict == "ok"
    larger, smaller = (
        found(BASE, {**fast, **sizes(ring_gear__teeth=teeth)}, shop)["flywheel-speed"].at_most
        for teeth in ("140", "120")
    )
    assert larger < smaller  # type: ignore[operator]
    steel = OpenShop(stating({"tarn-20-flywheel": {"max_speed": None, "material": "steel"}}), demo.book)
    assert found(BASE, fast, steel)["flywheel-speed"].verdict == "unknown"


@pytest.mark.parametrize(
    ("gap", "expected"), [(2, "conflict"), (5, "caution"), (9, "ok"), (14, "caution"), (17, "conflict")]
)
def test_steps_of_the_pickup(gap: int, expected: str) -> None:
    """A sump of 152 mm: the pickup drops by the rest."""
    own = figure(BASE, "pickup_gap", {}) + otherwise(BASE, {}).world.spec("pickup", "drop").x
    says = sizes(pickup__drop=f"{own * 1e3 - gap:.2f} mm")
    assert step(BASE, ("pickup-to-sump-floor", "pickup-gap-usual"), says) == expected


def test_the_swing_of_the_nose_follows_the_cylinders() -> None:
    """Four fire twice a turn, six three times; twice that meets the nose's note within their speeds."""
    slow = goal(rev_limit="3000 rpm")
    assert figure(BASE, "nose_swing_speed", slow) == pytest.approx(3000 * math.pi / 30)
    for name, cylinders, banks in ((BASE, 4, 1), (V6, 6, 2)):
        note = figure(name, "nose_frequency", {})
        spacing = otherwise(name, {}).world.spec("block", "bore_spacing").x
        assert note == pytest.approx((150 if banks == 1 else 128) / (cylinders / banks * spacing))
        assert figure(name, "nose_swing_speed", {}) == pytest.approx(2 * math.pi * note / cylinders)
    assert figure(V6, "nose_swing_speed", {}) < figure(BASE, "nose_swing_speed", {})


# --- What is not stated stays a question -------------------------------------------------------------


@pytest.mark.parametrize(
    ("part", "start", "spec", "rules"),
    [
        ("tarn-20-turbo-ignition-coil", TURBO, "energy", ("spark-beyond-the-coil", "coil-energy")),
        ("tarn-20-base-spark-plug", BASE, "gap", ("spark-beyond-the-coil", "plug-gap-small")),
        ("tarn-20-base-rod", BASE, "least_section_area", ("quench-gap-least",)),
        ("tarn-20-turbo-breather", TURBO, "bore", ("crankcase-breathing",)),
        ("tarn-20-turbo-sump", TURBO, "volume", ("sump-volume-by-duty",)),
        ("tarn-20-base-crank-damper", BASE, "inertia", ("damper-slips",)),
    ],
)
def test_what_is_not_stated_stays_unknown(
    part: str, start: str, spec: str, rules: tuple[str, ...], stating: Callable[[Any], Shop], demo: Library
) -> None:
    findings = found(start, {}, OpenShop(stating({part: {spec: None}}), demo.book))
    assert {rule: findings[rule].verdict for rule in rules} == dict.fromkeys(rules, "unknown")


def test_factory_engines_run_short_of_every_range() -> None:
    """What a maker sold is not where practice begins to doubt."""
    for name in (BASE, PHASE, LONG, TURBO, V6):
        findings = found(name, {})
        for rule in ("spark-near-the-coil", "quench-gap-near", "sump-volume-near", "crankcase-breathing-fast"):
            assert findings[rule].verdict == "ok", (name, rule)
