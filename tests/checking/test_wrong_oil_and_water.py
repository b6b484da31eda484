"""Oil, sump, turbocharger oil and water: a build that breaks each rule of the map.

The ids are those of the trade's map of interplays; "interface" is a dimension that two parts share.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, LONG, TURBO, V6, holds, verdict, wrong

DRY = {"sump": "rd-sump-dry", "scavenge_pump": "rd-scavenge-3", "oil_tank": "rd-oil-tank-9"}


def stated(spec: str, value: str) -> dict[str, Any]:
    return {"measured": {spec: value}}


@wrong(
    # sump, level, pickup
    ("SB22", BASE, {"leave_out": ["dipstick"]}, "dipstick-present", "missing"),
    ("SB22", V6, stated("oil_level_sensor.sump_depth", "170 mm"), "level-sensor-and-sump", "conflict"),
    ("LU6", BASE, {"fit": {"sump": "rd-sump-turbo"}}, "drain-and-rack", "caution"),
    ("interface", BASE, stated("drain_plug.thread", "M16x1.5"), "drain-plug-thread", "conflict"),
    ("LU7", TURBO, stated("sump.tie_bolts", "4"), "sump-tie-bolts", "conflict"),
    (
        "LU8",
        BASE,
        {"fit": {"baffle": "rd-gates-front"}, **stated("pickup.mouth_diameter", "62 mm")},
        "baffle-round-pickup",
        "conflict",
    ),
    (
        "LU8",
        BASE,
        {"fit": {"baffle": "rd-gates-front"}, **stated("baffle.pickup_opening", "120 mm")},
        "baffle-round-pickup",
        "caution",
    ),
    (
        "LU8",
        BASE,
        {
            "fit": {"baffle": "rd-gates-front", "windage_tray": "rd-tray-20"},
            **stated("windage_tray.lowest", "33 mm"),
        },
        "baffle-under-tray",
        "conflict",
    ),
    ("interface", BASE, stated("pickup_seal.section", "1.25 mm"), "pickup-ring-size", "conflict"),
    ("interface", BASE, stated("pickup_seal.inside_diameter", "13 mm"), "pickup-ring-size", "conflict"),
    (
        "interface",
        BASE,
        stated("relief_spring.outside_diameter", "14 mm"),
        "relief-spring-in-its-bore",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("relief_spring.outside_diameter", "6 mm"),
        "relief-spring-in-its-bore",
        "conflict",
    ),
    ("interface", BASE, stated("relief_spring.length", "45 mm"), "relief-spring-length", "conflict"),
    ("interface", BASE, stated("oil_pump.relief_pressure", "225 kPa"), "relief-spring-and-pump", "caution"),
    # dry sump
    ("LU19", TURBO, {"fit": DRY}, "dry-sump-drive", "missing"),
    (
        "LU19",
        TURBO,
        {"fit": {**DRY, "dry_sump_drive": "rd-dry-drive"}, **stated("scavenge_pump.drive_power", "9 kW")},
        "dry-sump-drive-power",
        "shortfall",
    ),
    (
        "LU19",
        TURBO,
        {"fit": DRY, **stated("scavenge_pump.pressure_stage", "yes")},
        "outside-pressure-stage",
        "missing",
    ),
    (
        "LU19",
        TURBO,
        {"fit": {**DRY, "oil_pump_blank": "rd-pump-blank"}, **stated("block.oil_pump_pattern", "op-22")},
        "oil-pump-blank-face",
        "conflict",
    ),
    # turbocharger oil
    ("LU10", TURBO, {"leave_out": ["feed_restrictor"]}, "plain-bearing-turbo-restrictor", "missing"),
    (
        "LU10",
        TURBO,
        {"fit": {"feed_restrictor": "sk-restrictor-ball"}},
        "plain-bearing-turbo-restrictor",
        "missing",
    ),
    ("LU11", TURBO, stated("sump.drain_boss_height", "5 mm"), "turbo-drain-above-oil", "conflict"),
    ("interface", TURBO, stated("turbo_feed_line.thread", "M10x1"), "turbo-feed-thread", "conflict"),
    ("interface", TURBO, stated("turbo_drain_line.thread", "M18x1.5"), "turbo-drain-thread", "conflict"),
    (
        "interface",
        TURBO,
        {"fit": {"drain_boss_plug": "tb-drain-boss-plug"}, **stated("drain_boss_plug.thread", "M18x1.5")},
        "drain-boss-plug-thread",
        "conflict",
    ),
    (
        "interface",
        TURBO,
        {"fit": {"turbo_oil_plug": "tb-turbo-oil-plug"}, **stated("turbo_oil_plug.thread", "M10x1")},
        "turbo-oil-plug-thread",
        "conflict",
    ),
    (
        "interface",
        TURBO,
        {"fit": {"oil_tee": "cb-oil-tee"}, **stated("oil_tee.thread", "M14x1.5")},
        "oil-tee-thread",
        "conflict",
    ),
    (
        "interface",
        TURBO,
        {"fit": {"catch_tank": "cb-catch-tank"}, **stated("catch_tank.outlets", "1")},
        "catch-tank-outlets",
        "caution",
    ),
    ("interface", TURBO, stated("banjo_washer.inside_diameter", "12 mm"), "banjo-washer-size", "conflict"),
    ("interface", TURBO, stated("turbo_water_line.thread", "M16x1.5"), "turbo-water-thread", "conflict"),
    (
        "interface",
        TURBO,
        {"fit": {"turbo_water_plug": "tb-turbo-water-plug"}, **stated("turbo_water_plug.thread", "M12x1.5")},
        "turbo-water-plug-thread",
        "conflict",
    ),
    # water
    ("CO1", BASE, stated("water_pump.spigot_diameter", "66 mm"), "water-pump-spigot", "conflict"),
    ("CO1", BASE, stated("water_pump.bolts", "3"), "water-pump-spigot", "conflict"),
    ("CO1", BASE, stated("water_pump.impeller_depth", "12 mm"), "impeller-to-floor", "shortfall"),
    ("CO1", BASE, stated("water_pump.impeller_depth", "48 mm"), "impeller-to-floor", "conflict"),
    ("CO1", BASE, stated("water_pump.impeller_diameter", "32 mm"), "impeller-to-volute", "shortfall"),
    ("CO1", BASE, stated("water_pump.impeller_diameter", "66.5 mm"), "impeller-to-volute", "conflict"),
    ("CO6", BASE, stated("engine_mount.tilt", "20 deg"), "steam-port-highest", "conflict"),
    ("interface", BASE, stated("thermostat.diameter", "48 mm"), "thermostat-in-its-housing", "conflict"),
    ("interface", BASE, stated("fan.flow", "1000 m^3/h"), "fan-for-the-radiator", "caution"),
    ("interface", BASE, stated("thermostat_housing.outlet", "rear"), "hoses-and-outlet", "conflict"),
    ("interface", LONG, {"fit": {"outlet_blank": "tb-outlet-blank"}}, "outlet-blank-size", "conflict"),
    (
        "interface",
        BASE,
        {"fit": {"heat_sleeve": "cb-heat-sleeve"}, **stated("heat_sleeve.bore", "25 mm")},
        "heat-sleeve-size",
        "conflict",
    ),
    # threads of senders and sensors
    ("interface", BASE, stated("coolant_sensor.thread", "M14x1.5"), "coolant-sensor-thread", "conflict"),
    ("interface", BASE, stated("coolant_gauge_sender.thread", "M14x1.5"), "coolant-sender-thread", "conflict"),
    (
        "interface",
        BASE,
        stated("oil_pressure_sensor.thread", "M12x1.5"),
        "oil-pressure-sensor-thread",
        "conflict",
    ),
    (
        "interface",
        TURBO,
        stated("oil_temperature_sensor.thread", "M10x1"),
        "oil-temperature-sensor-thread",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("charge_temperature_sensor.thread", "M10x1"),
        "charge-temperature-sensor-thread",
        "conflict",
    ),
    ("interface", TURBO, stated("knock_sensor.bolt", "M10x1.5"), "knock-sensor-bolt", "conflict"),
    ("interface", BASE, stated("lambda_sensor.thread", "M12x1.25"), "lambda-sensor-thread", "conflict"),
)
def test_wrong_build(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    ("LU19", TURBO, {"fit": {**DRY, "dry_sump_drive": "rd-dry-drive"}}, "dry-sump-drive", "ok"),
    ("LU11", TURBO, {"work": ["tap-drain"], **stated("sump.volume", "5 L")}, "turbo-drain-above-oil", "ok"),
    (
        "LU11",
        TURBO,
        {"fit": {"sump": "tarn-20-base-sump"}, "work": ["tap-drain"]},
        "turbo-drain-above-oil",
        "ok",
    ),
)
def test_made_good(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    assert verdict(start, rule, **says) == expected
