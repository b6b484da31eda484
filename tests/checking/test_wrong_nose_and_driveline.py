"""Crank nose, front drive, timing drive and driveline: a build that breaks each rule of the map.

The ids are those of the trade's map of interplays; "interface" is a dimension that two parts share.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, LONG, PHASE, TURBO, V6, holds, wrong


def stated(spec: str, value: str) -> dict[str, Any]:
    return {"measured": {spec: value}}


@wrong(
    # the stack on the nose and its bolt
    ("TD5", BASE, stated("crank_damper.hub_length", "22 mm"), "nose-stack", "conflict"),
    ("TD5", BASE, stated("crankshaft.nose_length", "90 mm"), "nose-stack", "conflict"),
    ("TD5", BASE, stated("crank_sprocket.depth", "16 mm"), "nose-stack", "conflict"),
    ("TD6", BASE, stated("damper_bolt.length", "27.5 mm"), "damper-bolt-engagement", "conflict"),
    ("TD6", BASE, stated("damper_bolt.length", "110 mm"), "damper-bolt-engagement", "conflict"),
    ("TD6", BASE, stated("crankshaft.damper_bolt_depth", "22 mm"), "damper-bolt-engagement", "conflict"),
    ("TD6", BASE, stated("damper_bolt.property_class", "8.8"), "damper-bolt-class", "shortfall"),
    ("TD6", LONG, {"counts": {"friction_washer": 1}}, "count-friction-washer", "missing"),
    ("TD5", BASE, stated("crank_key.length", "44 mm"), "key-length", "conflict"),
    ("TD5", BASE, stated("crank_key.length", "11 mm"), "key-length", "conflict"),
    ("TD5", BASE, stated("crank_key.style", "woodruff"), "key-style", "conflict"),
    # the timing belt, on wheels of 26 mm
    ("interface", BASE, stated("timing_belt.width", "18 mm"), "timing-belt-width-on-wheels", "conflict"),
    ("interface", BASE, stated("timing_belt.width", "27 mm"), "timing-belt-width-on-wheels", "conflict"),
    # the accessory belt
    ("TD10", BASE, stated("accessory_belt.length", "870 mm"), "accessory-belt-length", "conflict"),
    ("TD10", BASE, {"fit": {"compressor": "tarn-compressor"}}, "accessory-belt-length", "conflict"),
    ("TD10", BASE, {"leave_out": ["steering_pump"]}, "accessory-belt-length", "conflict"),
    ("TD10", BASE, stated("crank_damper.outside_diameter", "75 mm"), "accessory-belt-length", "conflict"),
    ("TD7", V6, stated("water_pump.pulley_offset", "58 mm"), "water-pump-plane", "conflict"),
    ("TD7", V6, stated("water_pump.ribs", "4"), "water-pump-ribs", "conflict"),
    ("TD7", LONG, {"fit": {"supercharger": "rt-supercharger-10"}}, "supercharger-plane", "conflict"),
    ("interface", BASE, stated("alternator.max_speed", "9000 rpm"), "alternator-bursts", "shortfall"),
    ("SB19", BASE, {"fit": {"alternator": "tarn-22-alternator"}}, "accessories-on-block", "conflict"),
    # the timing drive
    ("interface", BASE, stated("cam_sprocket_bolt.thread", "M12x1.5"), "cam-sprocket-bolt-thread", "conflict"),
    ("interface", BASE, stated("idler.diameter", "30 mm"), "idler-size", "conflict"),
    ("TD13", V6, stated("cam_sprocket.teeth", "44"), "chain-wheels-and-guides", "conflict"),
    ("TD13", V6, stated("timing_chain.width", "18 mm"), "chain-on-its-wheels", "conflict"),
    ("TD13", V6, stated("cam_sprocket.width", "4 mm"), "chain-on-its-wheels", "conflict"),
    ("TD13", V6, stated("crank_sprocket.profile", "round"), "chain-wants-chain-wheels", "conflict"),
    ("TD13", V6, stated("block.deck_height", "209.5 mm"), "chain-tensioner-stroke", "conflict"),
    ("TD13", V6, stated("front_cover.chain_jet", "no"), "chain-oiled", "conflict"),
    # flange, flywheel, clutch
    ("FC1", BASE, stated("flywheel.dowel", "one-8"), "flywheel-on-flange", "conflict"),
    ("FC7", BASE, stated("flywheel_bolt.length", "24 mm"), "flywheel-bolt-engagement", "conflict"),
    ("FC7", BASE, stated("flywheel_bolt.thread_diameter", "14 mm"), "flywheel-bolt-engagement", "conflict"),
    ("interface", BASE, stated("flywheel.step_height", "1 mm"), "flywheel-step", "conflict"),
    ("FC4", BASE, stated("clutch_disc.hub_front", "8 mm"), "disc-hub-clears-bolts", "conflict"),
    ("FC11", BASE, {"fit": {"flywheel": "thw-flywheel-6"}}, "flywheel-balanced-as-added", "measure"),
    ("FC11", BASE, {"fit": {"clutch_cover": "thw-cover-215-62"}}, "flywheel-balanced-as-added", "measure"),
    # bellhousing, starter, gearbox
    ("FC5", TURBO, {"fit": {"adapter_plate": "thw-adapter-bp2"}}, "spigot-reach", "conflict"),
    ("FC5", TURBO, {"fit": {"adapter_plate": "thw-adapter-bp2"}}, "starter-meshes", "conflict"),
    ("FC5", TURBO, {"fit": {"adapter_plate": "thw-adapter-bp2"}}, "adapter-moves-the-gearbox", "caution"),
    ("FC5", BASE, stated("gearbox.input_reach", "79 mm"), "spigot-reach", "conflict"),
    ("FC5", BASE, stated("gearbox.input_reach", "316 mm"), "spigot-reach", "conflict"),
    ("FC5", BASE, stated("bellhousing.depth", "172 mm"), "spigot-reach", "conflict"),
    ("FC2", BASE, stated("flywheel.ring_offset", "16 mm"), "starter-meshes", "conflict"),
    ("FC6", BASE, stated("starter.pinion_teeth", "18"), "starter-backlash", "conflict"),
    ("FC6", BASE, stated("starter.pinion_teeth", "8"), "starter-backlash", "conflict"),
    ("FC6", BASE, stated("bellhousing.starter_centre", "158.8 mm"), "starter-backlash", "conflict"),
    ("interface", BASE, stated("release_bearing.kind", "fork"), "release-kind", "conflict"),
    ("interface", BASE, stated("block_dowel.protrusion", "12 mm"), "dowel-length", "conflict"),
    ("interface", BASE, stated("block_dowel.protrusion", "3 mm"), "dowel-length", "conflict"),
    ("interface", BASE, stated("bell_dowel.offset", "2 mm"), "dowel-offset", "conflict"),
    ("SB19", BASE, {"fit": {"engine_mount": "fell-30-engine-mount"}}, "engine-mount-pattern", "conflict"),
    ("LU7", TURBO, stated("bellhousing.tie_bolts", "0"), "sump-tie-bolts", "conflict"),
    # engines of two banks
    ("19", V6, {"fit": {"piston": "hg-piston-860-308-na"}}, "v-crankshaft-balanced-for-its-pistons", "missing"),
    ("19", V6, stated("block.deck_height", "210.40 mm"), "v-inlet-face", "missing"),
    ("HV10", PHASE, {"counts": {"cam_phaser": 2}}, "phasers-for-the-cams-they-move", "conflict"),
)
def test_wrong_build(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    # with work that makes it good
    (
        "19",
        V6,
        {"measured": {"block.deck_height": "210.40 mm"}, "work": ["face-manifold"]},
        "v-inlet-face",
        "ok",
    ),
    (
        "FC11",
        BASE,
        {"fit": {"flywheel": "thw-flywheel-6"}, "work": ["balance"]},
        "flywheel-balanced-as-added",
        "ok",
    ),
)
def test_made_good(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)
