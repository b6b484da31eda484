"""Bearings over cycle, speed range and heat: what their rules say where an engine asks too much of them."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest

import compat
from compat.rulebook.values import Missing, Number
from tests.checking.wrong import BASE, TURBO, V6, holds, shop, wrong
from tests.look import demo_shop

RPM = math.pi / 30


def stated(spec: str, value: str, **more: str) -> dict[str, Any]:
    return {"measured": {spec: value}, **({"goal": more} if more else {})}


@wrong(
    # films
    ("film", BASE, stated("rod_bearing.width", "11 mm"), "big-end-film", "shortfall"),
    ("film", BASE, stated("main_bearing.width", "9 mm"), "main-film", "shortfall"),
    (
        "film",
        BASE,
        {"measured": {"main_bearing.groove": "full", "main_bearing.width": "16 mm"}},
        "main-film",
        "caution",
    ),
    ("film", TURBO, {"goal": {"torque": "330 N*m", "torque_at": "1600 rpm"}}, "big-end-film", "caution"),
    ("film", TURBO, {"goal": {"torque": "420 N*m", "torque_at": "1800 rpm"}}, "big-end-film", "shortfall"),
    # clearances: loose when warm, held fast in frost
    ("alloy", V6, stated("main_bearing.shell_thickness", "1.976 mm"), "main-clearance-warm", "caution"),
    ("alloy", V6, stated("main_bearing.shell_thickness", "1.9995 mm"), "main-clearance-cold", "shortfall"),
    ("frost", BASE, stated("rod_bearing.shell_thickness", "1.504 mm"), "big-end-clearance-cold", "shortfall"),
    ("frost", BASE, stated("main_bearing.shell_thickness", "2.006 mm"), "main-clearance-cold", "shortfall"),
    # soft journals, by what loads them
    ("RA5", TURBO, stated("crankshaft.hardening", "none"), "soft-journals-worn", "caution"),
    ("RA5", TURBO, stated("crankshaft.hardening", "rolled_fillet"), "soft-journals-worn", "caution"),
    (
        "RA5",
        TURBO,
        stated("crankshaft.hardening", "none", torque="340 N*m"),
        "soft-journals-overloaded",
        "shortfall",
    ),
)
def test_a_bearing_out_of_its_place(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


def _figure(build: compat.Build | str, name: str) -> float:
    value = shop().check(build).world.figure(name)
    assert isinstance(value, Number), value
    return value.x


def test_soft_journals_may_be_boosted_gently() -> None:
    """Common practice, no source: it is the load that wears a journal, not the boost."""
    build = shop().build(BASE).aiming(boost="25 kPa")
    verdicts = {finding.rule: finding.verdict for finding in shop().check(build).report.findings}
    assert verdicts["soft-journals-worn"] == "ok"


def test_the_worst_point_is_named_and_moves_with_the_goal() -> None:
    """Pulling away where gas rules, the rev limit where inertia does."""
    natural = shop().build(BASE)
    assert _figure(natural, "big_end_film_speed") == pytest.approx(1500 * RPM)
    assert 0 < math.degrees(_figure(natural, "big_end_film_angle")) < 90
    fast = natural.aiming(rev_limit="8200 rpm")
    assert _figure(fast, "big_end_film_speed") == pytest.approx(8200 * RPM)
    assert _figure(fast, "big_end_film") < _figure(natural, "big_end_film")


def test_torque_from_low_down_is_what_a_film_feels() -> None:
    """The same torque asked for at 2000 rpm instead of 3200: a check at the rev limit sees nothing of it."""
    late = shop().build(TURBO)
    early = late.aiming(torque_at="2000 rpm")
    assert _figure(early, "big_end_film") < _figure(late, "big_end_film")
    assert _figure(early, "big_end_film_speed") < 2100 * RPM < _figure(late, "big_end_film_speed")
    strong = [_figure(early.aiming(torque=f"{torque} N*m"), "big_end_film") for torque in (265, 300, 340, 380)]
    assert strong == sorted(strong, reverse=True)
    assert strong[-1] < 0.75 * strong[0]


def test_clearances_warm_and_cold() -> None:
    """Linear expansion by hand: iron block and caps on a steel crank close a millionth a kelvin, an alloy one
    with iron caps opens by five: 62 x 5e-6 x 80 = 0.025 mm (common practice, no source: about as much).
    """
    for variant, journal, difference in ((TURBO, 0.058, -1.0e-6), (V6, 0.062, 5.0e-6)):
        measured = _figure(variant, "main_clearance")
        grown = journal * difference
        assert _figure(variant, "main_clearance_warm") == pytest.approx(measured + 80 * grown, abs=1e-8)
        assert _figure(variant, "main_clearance_cold") == pytest.approx(measured - 40 * grown, abs=1e-8)
    # a steel rod on a steel crank keeps its own
    assert _figure(TURBO, "big_end_clearance_warm") == pytest.approx(_figure(TURBO, "big_end_clearance"))


def test_bearings_take_oil_by_their_own_clearance() -> None:
    """A warm alloy block passes more than iron of the same cold clearance; the pump is held against it."""
    six = shop().build(V6)
    wide = six.changed(measured={"main_bearing.shell_thickness": "1.981 mm"})
    assert _figure(wide, "main_oil") > 1.4 * _figure(six, "main_oil")
    assert _figure(wide, "oil_demand_hot") > _figure(six, "oil_demand_hot")
    assert _figure(wide, "idle_oil_pressure") < _figure(six, "idle_oil_pressure")
    thin = six.changed(measured={"oil.hot_viscosity": "6.5 mPa*s"})
    assert _figure(thin, "main_oil") > _figure(six, "main_oil")


def test_a_compressor_is_read_in_the_air_its_map_was_drawn_for() -> None:
    """Similarity: flow goes with the root of temperature and with pressure, speed with that root alone."""
    turbo = shop().build("street-turbo")
    drawn = turbo.changed(
        measured={"turbocharger.map_pressure": "95 kPa", "turbocharger.map_temperature": "15 degC"}
    )
    share = math.sqrt(298.15 / 288.15) * 95 / 100
    assert _figure(drawn, "compressor_flow") / _figure(turbo, "compressor_flow") == pytest.approx(share)
    world = shop().check(drawn).world
    corrected, true = world.figure("compressor_speed"), world.figure("turbo_speed")
    air = world.goal("air_temperature")
    assert isinstance(corrected, Number)
    assert isinstance(true, Number)
    assert isinstance(air, Number)
    assert true.x == pytest.approx(corrected.x * math.sqrt(air.x / 288.15))


def test_a_map_without_its_air_is_not_read() -> None:
    demo = demo_shop()
    specs = {
        part: {name: spec for name, spec in own.items() if name != "map_temperature"}
        for part, own in demo.shop.specs.items()
    }
    opened = compat.OpenShop(dataclasses.replace(demo.shop, specs=specs), demo.book)
    checked = opened.check("street-turbo")
    assert isinstance(checked.world.figure("compressor_flow"), Missing)
    verdicts = {finding.rule: finding.verdict for finding in checked.report.findings}
    assert verdicts["compressor-flow"] == "unknown"
