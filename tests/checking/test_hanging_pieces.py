"""Pieces that hang on nothing, and work that leaves something open: each passed once without a word.

All are common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.checking.wrong import BASE, PHASE, TURBO, V6, Wrong, holds, verdict, wrong

STREET = "street-turbo"
TUBE = {"exhaust_manifold": "vm-manifold-tube-25"}
SHORT_PISTON = {"piston": "hg-piston-860-228-d140"}


def fitted(start: str, rule: str, expected: str, **parts: str) -> Wrong:
    """A part too many."""
    return ("piece", start, {"fit": parts}, rule, expected)


def worked(start: str, rule: str, expected: str, *works: str | dict[str, str]) -> Wrong:
    """A piece of work by itself."""
    return ("work", start, {"work": list(works)}, rule, expected)


@wrong(
    # boost: between a compressor and a throttle, and there is no compressor
    fitted(BASE, "charge-pieces-without-boost", "caution", intercooler="cb-intercooler-s"),
    fitted(BASE, "charge-pieces-without-boost", "caution", charge_pipe="cb-charge-pipe-57"),
    fitted(BASE, "charge-pieces-without-boost", "caution", charge_hose="cb-charge-hose-57"),
    fitted(BASE, "charge-pieces-without-boost", "caution", hose_clamp="cb-clamp-t-57"),
    fitted(V6, "charge-pieces-without-boost", "caution", blow_off_valve="vm-blow-off-25"),
    fitted(BASE, "turbo-pieces-without-turbo", "caution", banjo_washer="bm-washer-banjo"),
    fitted(TURBO, "gate-pieces-without-gate", "caution", dump_pipe="vm-dump-38"),
    fitted(TURBO, "gate-pieces-without-gate", "caution", gate_gasket="lg-gasket-gate-38"),
    fitted(BASE, "gate-pieces-without-gate", "caution", gate_gasket="lg-gasket-gate-38"),
    fitted(TURBO, "gate-blank-gasket", "missing", gate_blank="vm-gate-blank-38", **TUBE),
    fitted(TURBO, "gate-or-blank", "conflict", gate_blank="vm-gate-blank-38", wastegate="vm-gate-38", **TUBE),
    # oil: what a plate, a tee, a blank open or shut
    fitted(BASE, "plate-without-cooler", "missing", sandwich_plate="cb-plate-thermostat"),
    fitted(BASE, "oil-thermostat-without-cooler", "caution", oil_thermostat="cb-oil-thermostat"),
    fitted(BASE, "oil-tee-without-line", "caution", oil_tee="cb-oil-tee"),
    fitted(BASE, "own-pump-blanked", "conflict", oil_pump_blank="rd-pump-blank"),
    fitted(BASE, "dry-sump-pieces-without-pump", "caution", oil_tank="rd-oil-tank-9"),
    fitted(BASE, "dry-sump-pieces-without-pump", "caution", dry_sump_drive="rd-dry-drive"),
    # valve gear
    fitted(PHASE, "shims-under-hydraulic-buckets", "conflict", lash_shim="tarn-20-base-lash-shim"),
    fitted(BASE, "phaser-feed-without-phaser", "conflict", phaser_feed_line="tb-phaser-feed-line"),
    fitted(STREET, "phaser-valve-without-phaser", "caution", phaser_valve="tarn-phaser-valve"),
    fitted(BASE, "lash-after-seats-or-cams", "measure", tappet="qn-tappet-solid-33"),
    # fuel and spark
    fitted(BASE, "series-resistors-and-injectors", "conflict", series_resistor="wx-resistors-4"),
    fitted("endurance-ethanol", "driver-box-and-injectors", "caution", driver_box="wx-driver-box-4"),
    fitted(PHASE, "return-line-without-return", "caution", return_line="ash-return-8"),
    fitted(BASE, "lift-pump-without-pot", "caution", lift_pump="ash-lift-pump"),
    fitted(
        BASE, "regulator-of-the-tank-on-return-rail", "conflict", fuel_regulator="tarn-phase-fuel-regulator"
    ),
    fitted(PHASE, "leads-without-pack", "caution", plug_lead="spn-leads-resistor"),
    fitted("endurance-ethanol", "pedal-sensor-of-a-cable-throttle", "caution", pedal_sensor="wx-pedal"),
    # rings: a rail stands in the oil groove, and fills it where that is not cut for both
    fitted(STREET, "oil-ring-side-clearance", "conflict", support_rail="hg-rail-860"),
    fitted(STREET, "oil-ring-side-clearance", "conflict", **SHORT_PISTON),
    fitted(BASE, "new-rings-on-a-fresh-hone", "measure", ring_set="hg-rings-855"),
)
def test_a_piece_that_hangs_on_nothing(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    worked(BASE, "grooves-want-rings", "missing", {"work": "cut-ring-grooves", "depth": "0.5 mm"}),
    worked(PHASE, "ground-faces-want-thicker-thrust", "conflict", "grind-thrust"),
    worked(TURBO, "unused-sump-drain-boss", "missing", "tap-drain"),
    worked(TURBO, "welded-cam-boss-in-use", "missing", "weld-cam-boss"),
    worked(PHASE, "blanked-gallery-under-phaser", "conflict", "blank-phaser-gallery"),
    worked(BASE, "lash-after-seats-or-cams", "measure", "tip-grind"),
    worked(BASE, "bored-before-the-hone", "measure", {"work": "hone-torque-plate", "bore": "86.00 mm"}),
    worked(PHASE, "top-ring-gap-wide", "caution", {"work": "file-rings", "gap": "0.90 mm"}),
    worked(PHASE, "top-ring-gap-far-too-wide", "shortfall", {"work": "file-rings", "gap": "1.20 mm"}),
)
def test_work_that_leaves_something_open(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


BLANK = {**TUBE, "gate_blank": "vm-gate-blank-38", "gate_gasket": "lg-gasket-gate-38"}
COOLED = {"sandwich_plate": "cb-plate-thermostat", "oil_cooler": "cb-oil-cooler-13"}
OUTSIDE = {"fit": {"phaser_feed_line": "tb-phaser-feed-line"}, "work": ["blank-phaser-gallery"]}
SENSED = {"fit": {"cam_sensor": "tarn-phase-cam-sensor"}, "work": ["weld-cam-boss"]}
SHIMMED = {"fit": {"tappet": "qn-tappet-solid-33"}, "work": ["set-lash"]}


@pytest.mark.parametrize(
    ("start", "rule", "says"),
    [
        (STREET, "oil-ring-side-clearance", {"fit": {**SHORT_PISTON, "support_rail": "hg-rail-860"}}),
        (TURBO, "gate-blank-gasket", {"fit": BLANK}),
        (BASE, "plate-without-cooler", {"fit": COOLED}),
        (PHASE, "blanked-gallery-under-phaser", OUTSIDE),
        (TURBO, "welded-cam-boss-in-use", SENSED),
        (BASE, "lash-after-seats-or-cams", SHIMMED),
    ],
)
def test_what_it_belongs_to_settles_it(start: str, rule: str, says: dict[str, Any]) -> None:
    assert verdict(start, rule, **says) == "ok"


@pytest.mark.parametrize(("start", "position"), [(TURBO, "gallery_plug"), (V6, "chain_guide")])
def test_no_reason_spares_what_the_engine_lives_on(start: str, position: str) -> None:
    rule = f"left-out-{position.replace('_', '-')}"
    assert verdict(start, rule, leave_out={position: "the customer would rather not"}) == "missing"


def test_stones_and_chips_are_washed_out_of_the_galleries() -> None:
    """Each cut at mains or deck asks for the wash, as boring and decking do."""
    for work in ("align-hone", {"work": "cut-ring-grooves", "depth": "0.5 mm"}):
        assert verdict(BASE, "wash-after-machining", work=[work]) == "missing"
        assert verdict(BASE, "wash-after-machining", work=[work, "final-wash"]) == "ok"


def test_a_gate_spring_holds_where_no_boost_is_asked() -> None:
    """With boost 0 in the goal a turbocharger still makes what its spring allows."""
    goal = {"boost": "0 kPa", "power": "70 kW", "torque": "130 N*m"}
    assert verdict(TURBO, "wastegate-spring", goal=goal) == "conflict"


@pytest.mark.parametrize(
    "parts",
    [
        {"fuel_regulator": "ash-regulator-400"},
        {"inlet_manifold": "tarn-20-turbo-inlet-manifold"},
        {"exhaust_manifold": "tarn-20-turbo-exhaust-manifold"},
        {"supercharger": "rt-supercharger-10"},
        {"air_mass_meter": "wx-air-mass-70"},
    ],
    ids=str,
)
def test_what_changes_breathing_or_fuel_wants_a_calibration(parts: dict[str, str]) -> None:
    assert verdict(BASE, "calibration-after-change", fit=parts) == "missing"
    assert verdict(BASE, "calibration-after-change", fit=parts, work=["calibrate"]) == "ok"


@pytest.mark.parametrize(("start", "limit"), [(BASE, "6700 rpm"), (PHASE, "7200 rpm"), (V6, "7200 rpm")])
def test_a_makers_unit_cuts_where_it_was_set(start: str, limit: str) -> None:
    goal = {"rev_limit": limit}
    assert verdict(start, "rev-limit-of-the-unit") == "ok"
    assert verdict(start, "rev-limit-of-the-unit", goal=goal) == "missing"
    assert verdict(start, "rev-limit-of-the-unit", goal=goal, work=["calibrate"]) == ""
