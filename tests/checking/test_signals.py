"""Wrong wiring, sensors and control units: each build breaks one thing, and its rule says so.

The builds stand in wrong_signals.yaml. That they are wrong is common practice, no source.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

from compat.checking.judging import judge
from compat.library.library import Library
from compat.shop.builds import as_build, prepare
from compat.shop.shop import Shop
from compat.words.report import Finding, Report
from tests.look import check, settle

Says = Mapping[str, Any]
States = Mapping[str, Mapping[str, Any]]
WRONG = yaml.load((Path(__file__).parent / "wrong_signals.yaml").read_text("utf-8"), yaml.BaseLoader)


def cases(kind: str) -> list[Any]:
    return [pytest.param(case, id=f"{case['rule']}-{n}") for n, case in enumerate(WRONG[kind])]


def seen(case: Mapping[str, Any], shop: Shop, demo: Library) -> Finding:
    finding = found(report(shop, demo, case["build"], case.get("says", {})), case["rule"])
    assert finding is not None
    return finding


def changed(shop: Shop, what: str, says: Says) -> Any:
    """A variant or demo build with some of its entries said otherwise; `fit` and `setup` add to its own."""
    build = shop.builds.get(what) or as_build(shop.variants[what])
    said = {"fit": {**build.fit, **says.get("fit", {})}, "setup": {**build.setup, **says.get("setup", {})}}
    return prepare(shop, build).changed(**{**says, **said})


def report(shop: Shop, demo: Library, what: str, says: Says) -> Report:
    return check(shop, demo.book, changed(shop, what, says)).report


def found(report: Report, rule: str) -> Finding | None:
    return next((finding for finding in report.findings if finding.rule == rule), None)


# --- Pieces count ------------------------------------------------------------------------------------------

COIL_ON_BASE = {"ignition_coil": "spn-coil-power", "coil_bracket": "spn-coil-plate"}


@pytest.mark.parametrize("case", cases("pieces"))
def test_pieces_count(case: Mapping[str, Any], demo: Library) -> None:
    finding = seen(case, demo.shop, demo)
    assert finding.verdict == case["verdict"], finding.because


def test_on_plug_coils_are_counted_by_the_cylinders_and_a_pack_by_its_plugs(demo: Library) -> None:
    def coils(what: str, **fit: str) -> int:
        return settle(demo.shop, demo.book, changed(demo.shop, what, {"fit": fit})).count("ignition_coil")

    assert coils("tarn-20-base") == 1
    assert coils("tarn-20-base", **COIL_ON_BASE) == 4
    assert coils("tarn-20-phase", ignition_coil="spn-pack-power") == 1
    assert coils("fell-30-base") == 6


def test_what_is_added_comes_in_its_number(demo: Library) -> None:
    """A need that only another part meets: as many are ordered as the engine takes of that part."""
    says = {"fit": {"ignition_coil": "spn-coil-logic"}, "leave_out": ["coil_bracket"]}
    result = report(demo.shop, demo, "tarn-20-base", says)
    assert found(result, "loom-coil-plugs").verdict == "missing"  # type: ignore[union-attr]
    knocks = report(demo.shop, demo, "fell-30-base", {"leave_out": ["knock_sensor"]}).extra_parts
    assert [entry.count for entry in knocks if entry.position == "knock_sensor"] == [2]


# --- What a card forgets -----------------------------------------------------------------------------------


@pytest.mark.parametrize("case", cases("needless"))
def test_a_rule_stands_behind_a_card_that_forgets(case: Mapping[str, Any], demo: Library) -> None:
    parts = dict(demo.shop.parts)
    for name in demo.shop.fillers[case["position"]]:
        parts[name] = dataclasses.replace(parts[name], needs=())
    finding = seen(case, dataclasses.replace(demo.shop, parts=parts), demo)
    assert finding.verdict == case["verdict"], finding.because


@pytest.mark.parametrize(
    ("position", "rule"),
    [
        ("inlet_manifold", "pressure-port"),
        ("inlet_manifold", "charge-temperature-boss"),
        ("thermostat_housing", "coolant-bosses"),
        ("crank_reluctor", "crank-wheel-present"),
        ("filter_housing", "oil-temperature-boss"),
        ("turbocharger", "boost-signals"),
        ("ecu", "pump-on-own-output"),
    ],
)
def test_a_place_that_is_gone_is_missed(position: str, rule: str, demo: Library) -> None:
    """The factory turbo engine, whose part no longer offers what the sensor of that place wants."""
    parts = dict(demo.shop.parts)
    for place in (position, "charge_pipe", "sump", "intercooler"):
        for name in demo.shop.fillers[place]:
            parts[name] = dataclasses.replace(parts[name], offers=())
    finding = found(report(dataclasses.replace(demo.shop, parts=parts), demo, "tarn-20-turbo", {}), rule)
    assert finding is not None
    assert finding.verdict == "missing", finding.because


# --- What a card states ------------------------------------------------------------------------------------

TURBO, PHASE, BASE, FELL = "tarn-20-turbo", "tarn-20-phase", "tarn-20-base", "fell-30-base"


@pytest.mark.parametrize("case", cases("stated"))
def test_a_signal_that_does_not_suit(
    case: Mapping[str, Any], demo: Library, stating: Callable[[States], Shop]
) -> None:
    states = {
        part: {name: text or None for name, text in said.items()}
        for part, said in case.get("states", {}).items()
    }
    shop, bound = stating(states), demo.book.rules[case["rule"]]
    if bound.rule.sort == "need":
        finding = seen(case, shop, demo)
        assert finding.verdict == case["verdict"], finding.because
        return
    outcome = judge(settle(shop, demo.book, changed(shop, case["build"], case.get("says", {}))), bound)
    assert outcome is not None
    assert outcome.verdict == case["verdict"]
    before = judge(settle(demo.shop, demo.book, case["build"]), bound)
    assert before is None or before.verdict == "ok"


# --- Plug by plug ------------------------------------------------------------------------------------------

PLUGS = {
    "ecu": "ecu-connector", "injector": "injector-connector", "ignition_coil": "coil-connector",
    **{
        position: position.replace("_", "-")
        for position in (
            "map_sensor", "throttle_sensor", "throttle_motor", "crank_sensor", "coolant_sensor",
            "coolant_gauge_sender", "charge_temperature_sensor", "cam_sensor", "lambda_sensor", "pedal_sensor",
            "idle_valve", "purge_valve", "phaser_valve", "boost_valve", "knock_sensor", "oil_pressure_sensor",
            "oil_temperature_sensor", "ethanol_sensor", "fuel_pressure_sensor", "barometric_sensor",
            "charge_pressure_sensor", "air_mass_meter",
        )
    },
}  # fmt: skip


@pytest.mark.parametrize("position", PLUGS)
def test_a_plug_is_adapted_by_its_own_work_alone(
    position: str, demo: Library, stating: Callable[[States], Shop]
) -> None:
    """Another plug at one part: missing, put right by the work on that plug, by no other."""
    what = next((v for v in (TURBO, PHASE, BASE) if position in demo.shop.variants[v].parts), TURBO)
    part = demo.shop.variants[what].parts.get(position, demo.shop.fillers[position][0])
    rule = demo.book.rules[f"loom-{PLUGS[position]}"]
    own = rule.rule.remedies[0]["work"]
    shop = stating({part: {"connector": "odd-9"}})

    def verdict(*work: str) -> str | None:
        ready = changed(shop, what, {"fit": {position: part}, "work": list(work)})
        outcome = judge(settle(shop, demo.book, ready), rule)
        return outcome.verdict if outcome else None

    others = [work for work in shop.works if work.startswith("adapt-loom") and work != own]
    assert verdict() == "missing"
    assert verdict(*others) == "missing"
    assert verdict(own) is None


@pytest.mark.parametrize(
    ("loom", "rules"),
    [
        (
            "tarn-phase-loom",
            {"loom-injector-plugs", "loom-coil-plugs", "loom-knock-plugs", "loom-lambda-plugs"},
        ),
        ("tarn-20-base-loom", {"loom-for-sequential", "loom-cam-plugs"}),
    ],
)
def test_a_loom_of_a_smaller_engine_lacks_plugs(loom: str, rules: set[str], demo: Library) -> None:
    missing = {
        f.rule
        for f in report(demo.shop, demo, FELL, {"fit": {"loom": loom}}).findings
        if f.verdict == "missing"
    }
    assert rules <= missing
    works = {
        entry["work"] for rule in rules for entry in demo.book.rules[rule].rule.remedies if "work" in entry
    }
    world = settle(
        demo.shop, demo.book, changed(demo.shop, FELL, {"fit": {"loom": loom}, "work": sorted(works)})
    )
    assert not [
        rule for rule in rules if (outcome := judge(world, demo.book.rules[rule])) and outcome.verdict != "ok"
    ]


def test_hours_go_with_the_plugs(demo: Library) -> None:
    works = [work for name, work in demo.shop.works.items() if name.startswith("adapt-loom")]
    assert len(works) == len(PLUGS) + 1
    assert all(0 < work.hours < 8 for work in works)


# --- A slow signal may come over the bus, a fast one not --------------------------------------------------


def test_an_expander_stands_in_for_slow_signals_alone(demo: Library) -> None:
    guard = {"fuel_pressure_sensor": "wx-sensor-fuel-pressure"}
    crowded = {
        "fit": {
            "ecu": "wx-ecu-6",
            "pedal_sensor": "wx-pedal",
            "throttle_sensor": "tarn-phase-throttle-sensor",
            **guard,
        }
    }
    wide = {"fit": {**crowded["fit"], "channel_expander": "wx-expander"}}
    for says, own, all_of_them in ((crowded, "ok", "conflict"), (wide, "ok", "ok")):
        result = report(demo.shop, demo, TURBO, says)
        assert found(result, "own-analogue-inputs").verdict == own  # type: ignore[union-attr]
        assert found(result, "analogue-inputs").verdict == all_of_them  # type: ignore[union-attr]
    small = {"fit": {**wide["fit"], "ecu": "wx-ecu-4"}}
    assert found(report(demo.shop, demo, TURBO, small), "own-analogue-inputs").verdict == "conflict"  # type: ignore[union-attr]


# --- What is not in the shop -------------------------------------------------------------------------------


def test_a_remedy_says_when_the_shop_has_no_other_part(demo: Library) -> None:
    result = report(demo.shop, demo, FELL, {"setup": {"sump_bowl": "rear"}})
    told = [text for f in result.findings if f.rule == "sump-bowl-and-chassis" for text in f.remedies]
    assert any(text.endswith("(none in this shop).") for text in told), told


def test_work_done_twice_offers_twice(demo: Library) -> None:
    """Two blind bosses tapped for the two sensors: boss by boss in the need, and in the rule behind it."""
    says = {"fit": {"ecu": "wx-ecu-6", "knock_sensor": "wx-knock-wide"}, "counts": {"knock_sensor": 2}}
    for times, verdict in ((1, "missing"), (2, "ok")):
        result = report(demo.shop, demo, BASE, {**says, "work": ["tap-knock-boss"] * times})
        assert found(result, "knock-bosses").verdict == verdict  # type: ignore[union-attr]
        assert found(result, "need-knock-boss").verdict == verdict  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("what", "amperes"),
    [
        # coils (half of 7.5 A for 3.2 ms, two of them a turn at 6500 rpm), injectors, unit, one heater of 1.5 A
        (BASE, 7.5 / 2 * 3.2e-3 * 2 * 6500 / 60 + 4 * 0.5 + 4 + 1.5),
        (FELL, 8.0 / 2 * 2.8e-3 * 3 * 6800 / 60 + 6 * 0.5 + 4 + 2 * 1.0),
    ],
)
def test_current_goes_with_the_cylinders(what: str, amperes: float, demo: Library) -> None:
    value = settle(demo.shop, demo.book, what).figure("relay_current")
    assert value.x == pytest.approx(amperes)  # type: ignore[union-attr]
