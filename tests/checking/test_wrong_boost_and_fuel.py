"""Boost, exhaust and fuel: a build that breaks each rule of the map.

The ids are those of the trade's map of interplays; "interface" is a dimension that two parts share.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, TURBO, holds, wrong

TUBE = {"exhaust_manifold": "vm-manifold-tube-25"}
TWIN = {"exhaust_manifold": "vm-manifold-tube-30t", "turbocharger": "sk-60-ball", "wastegate": "vm-gate-44"}


def stated(spec: str, value: str) -> dict[str, Any]:
    return {"measured": {spec: value}}


@wrong(
    # a goal that contradicts itself
    (
        "goal",
        TURBO,
        {"goal": {"torque": "330 N*m", "torque_at": "7000 rpm"}},
        "torque-within-the-power",
        "conflict",
    ),
    # wastegates
    ("IN5", TURBO, {"fit": TWIN, "counts": {"wastegate": 1}}, "a-gate-on-every-flange", "missing"),
    ("IN5", TURBO, {"fit": TWIN, "counts": {"wastegate": 1}}, "count-wastegate", "missing"),
    ("IN5", TURBO, {"fit": {"wastegate": "vm-gate-44"}}, "a-gate-on-every-flange", "missing"),
    ("IN5", TURBO, {"fit": {"wastegate": "vm-gate-44"}}, "need-gate-flange", "missing"),
    (
        "IN5",
        TURBO,
        {"fit": {**TUBE, "turbocharger": "sk-56-ball", "wastegate": "vm-gate-38"}, "counts": {"wastegate": 2}},
        "a-gate-on-every-flange",
        "missing",
    ),
    ("IN5", TURBO, stated("exhaust_manifold.scroll", "twin"), "open-turbine-on-divided-manifold", "caution"),
    ("IN6", TURBO, stated("turbocharger.gate_diameter", "8 mm"), "wastegate-size", "shortfall"),
    ("IN6", "street-turbo", stated("turbocharger.gate_diameter", "10 mm"), "wastegate-size", "shortfall"),
    (
        "IN6",
        TURBO,
        {"fit": {**TUBE, "wastegate": "vm-gate-38"}, **stated("wastegate.valve_diameter", "8 mm")},
        "wastegate-size",
        "shortfall",
    ),
    ("interface", TURBO, {"fit": TUBE}, "gate-flange-closed", "missing"),
    (
        "EX",
        TURBO,
        {"leave_out": ["catalyst"], **stated("silencer.bore", "45 mm")},
        "silencer-pipe-bore",
        "caution",
    ),
    ("interface", TURBO, stated("exhaust_manifold.gate_flange", "gf-38"), "gate-flange-closed", "missing"),
    ("interface", TURBO, {"fit": {**TUBE, "gate_blank": "vm-gate-blank-44"}}, "gate-blank-flange", "conflict"),
    (
        "interface",
        BASE,
        stated("exhaust_manifold.turbine_flange", "tf-25"),
        "manifold-made-for-what-it-carries",
        "conflict",
    ),
    (
        "interface",
        TURBO,
        stated("exhaust_manifold.outlet_flange", "of-55"),
        "manifold-made-for-what-it-carries",
        "conflict",
    ),
    ("interface", TURBO, stated("blow_off_valve.bore", "12 mm"), "blow-off-bore", "caution"),
    # exhaust
    ("EX5", TURBO, stated("downpipe.lambda_place", "before_turbine"), "lambda-after-the-turbine", "conflict"),
    (
        "EX5",
        TURBO,
        {"fit": {"downpipe": "vm-downpipe-63"}, **stated("downpipe.lambda_distance", "50 mm")},
        "lambda-distance",
        "caution",
    ),
    ("EX5", TURBO, stated("downpipe.lambda_distance", "2 m"), "lambda-distance", "caution"),
    ("EX9", TURBO, {"fit": {"heat_shield": "tarn-heat-shield"}}, "shield-covers-engine-parts", "caution"),
    ("interface", BASE, stated("exhaust_stud.length", "21 mm"), "exhaust-stud-length", "conflict"),
    ("interface", BASE, stated("exhaust_stud.length", "84 mm"), "exhaust-stud-length", "conflict"),
    # fuel
    ("FU6", TURBO, stated("injector.dead_time", "6 ms"), "injector-open-time", "shortfall"),
    # seals of 7.5 by 14.5 mm on grooves of 7.7 mm, in cups and pockets of 14 mm
    (
        "interface",
        BASE,
        stated("injector_seal.inside_diameter", "9 mm"),
        "injector-seal-on-injector",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("injector_seal.inside_diameter", "6.5 mm"),
        "injector-seal-on-injector",
        "conflict",
    ),
    ("interface", BASE, stated("injector_seal.outside_diameter", "13 mm"), "injector-seal-in-rail", "conflict"),
    ("interface", BASE, stated("injector_seal.outside_diameter", "16 mm"), "injector-seal-in-rail", "conflict"),
    (
        "interface",
        BASE,
        stated("injector_seal.outside_diameter", "13 mm"),
        "injector-seal-in-manifold",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("inlet_manifold.injector_bore", "11 mm"),
        "injector-seal-in-manifold",
        "conflict",
    ),
    (
        "FU7",
        TURBO,
        {"goal": {"fuel": "ethanol-85", "air_temperature": "-5 degC"}},
        "cold-start-on-alcohol",
        "caution",
    ),
    (
        "FU11",
        BASE,
        {"fit": {"feed_line": "ash-feed-8"}, "leave_out": ["fuel_clip"]},
        "injection-hose-clips",
        "missing",
    ),
    (
        "FU11",
        BASE,
        {"fit": {"feed_line": "ash-feed-8", "fuel_clip": "ash-clips-10"}},
        "fuel-clip-size",
        "conflict",
    ),
    (
        "FU11",
        BASE,
        {"fit": {"feed_line": "ash-feed-8"}, **stated("fuel_clip.style", "worm")},
        "fuel-clip-style",
        "conflict",
    ),
    (
        "interface",
        BASE,
        {"fit": {"fuel_pressure_sensor": "wx-sensor-fuel-pressure"}},
        "fuel-pressure-sensor-thread",
        "conflict",
    ),
)
def test_wrong_build(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    ("interface", TURBO, {"fit": {**TUBE, "gate_blank": "vm-gate-blank-38"}}, "gate-flange-closed", "ok"),
    ("IN5", TURBO, {"fit": TWIN}, "a-gate-on-every-flange", "ok"),
    ("IN5", TURBO, {"fit": TWIN, "counts": {"wastegate": 2}}, "a-gate-on-every-flange", "ok"),
    ("IN5", TURBO, {"fit": TWIN}, "need-gate-flange", "ok"),
    ("FU11", BASE, {"fit": {"feed_line": "ash-feed-8"}}, "injection-hose-clips", "ok"),
    ("FU7", TURBO, {"goal": {"fuel": "ethanol-85"}}, "cold-start-on-alcohol", "ok"),
)
def test_made_good(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)
