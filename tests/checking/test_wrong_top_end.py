"""Head, valve gear, sealing and induction: a build that breaks each rule of the map.

The ids are those of the trade's map of interplays; "interface" is a dimension that two parts share.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, PHASE, TURBO, V6, holds, wrong


def stated(spec: str, value: str) -> dict[str, Any]:
    return {"measured": {spec: value}}


@wrong(
    # springs and seats
    ("interface", BASE, stated("valve_spring.outside_diameter", "55 mm"), "spring-in-its-pocket", "conflict"),
    ("interface", BASE, stated("valve_spring.outside_diameter", "13 mm"), "spring-in-its-pocket", "conflict"),
    ("interface", BASE, stated("valve_spring.outside_diameter", "22 mm"), "spring-wire", "conflict"),
    ("interface", BASE, stated("spring_seat.thickness", "3 mm"), "spring-installed-height", "conflict"),
    (
        "interface",
        BASE,
        stated("valve_spring.installed_length", "33 mm"),
        "spring-installed-height",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("camshaft_inlet.least_seat_load", "400 N"),
        "spring-seat-load-of-the-cams",
        "shortfall",
    ),
    (
        "interface",
        BASE,
        stated("valve_seat.inlet_outside_diameter", "34.9 mm"),
        "inlet-seat-interference",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("valve_seat.inlet_outside_diameter", "34.0 mm"),
        "inlet-seat-interference",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("valve_seat.exhaust_outside_diameter", "30.0 mm"),
        "exhaust-seat-interference",
        "conflict",
    ),
    (
        "interface",
        BASE,
        {"fit": {"valve_seat": "tarn-phase-valve-seat"}},
        "inlet-seat-interference",
        "conflict",
    ),
    ("interface", BASE, stated("valve_seat.inlet_depth", "7 mm"), "seat-depth", "conflict"),
    ("interface", BASE, stated("valve_seat.exhaust_depth", "3 mm"), "seat-depth", "conflict"),
    ("HV18", BASE, {"work": ["cut-seats"]}, "seats-measured", "measure"),
    ("HV18", BASE, stated("cylinder_head.seat_runout", "0.06 mm"), "seat-runout", "conflict"),
    # lash
    ("HV17", PHASE, stated("camshaft_inlet.base_circle", "31 mm"), "hydraulic-plunger-travel", "conflict"),
    ("HV17", PHASE, stated("inlet_valve.length", "107.5 mm"), "hydraulic-plunger-travel", "conflict"),
    ("HV17", BASE, stated("camshaft_inlet.base_circle", "32.8 mm"), "shims-in-range", "conflict"),
    ("HV17", BASE, stated("lash_shim.greatest_thickness", "2.2 mm"), "shims-in-range", "conflict"),
    ("HV17", PHASE, stated("camshaft_exhaust.base_circle", "31 mm"), "hydraulic-plunger-travel", "conflict"),
    ("HV17", PHASE, stated("exhaust_valve.length", "106.5 mm"), "hydraulic-plunger-travel", "conflict"),
    ("HV17", BASE, stated("camshaft_exhaust.base_circle", "32.8 mm"), "shims-in-range", "conflict"),
    # cams
    ("HV10", PHASE, stated("cam_phaser.moves", "both"), "piston-to-exhaust-valve", "conflict"),
    ("HV10", PHASE, {"counts": {"cam_phaser": 2}}, "piston-to-exhaust-valve", "conflict"),
    ("HV10", PHASE, stated("cam_phaser.range", "32 deg"), "piston-to-inlet-valve", "conflict"),
    ("HV10", PHASE, stated("camshaft_inlet.lobe_centre", "118 deg"), "piston-to-inlet-valve", "conflict"),
    ("HV10", PHASE, stated("piston.pocket_depth_inlet", "1.8 mm"), "piston-to-inlet-valve", "conflict"),
    ("HV10", BASE, stated("cylinder_head.inlet_piston_gap", "1.6 mm"), "piston-to-inlet-valve", "conflict"),
    (
        "HV10",
        BASE,
        stated("cylinder_head.exhaust_piston_gap", "2.4 mm"),
        "piston-tried-near-exhaust-valve",
        "caution",
    ),
    ("HV10", BASE, stated("camshaft_inlet.overlap_lift", "1.60 mm"), "inlet-cam-card", "conflict"),
    ("HV10", BASE, stated("camshaft_exhaust.overlap_lift", "1.40 mm"), "exhaust-cam-card", "conflict"),
    ("HV10", V6, stated("camshaft_inlet.overlap_lift", "0.40 mm"), "inlet-cam-card", "conflict"),
    ("20", BASE, {"leave_out": ["tail_blank"]}, "tail-hole-closed", "missing"),
    ("20", BASE, stated("tail_blank.diameter", "40 mm"), "tail-blank-size", "conflict"),
    ("20", BASE, {"fit": {"tail_pump": "qd-vacuum-pump-tail"}}, "cam-turns-tail-pump", "conflict"),
    # sealing
    (
        "interface",
        BASE,
        stated("head_fastener.tightening_angle", "360 deg"),
        "head-fastener-turned",
        "conflict",
    ),
    ("interface", BASE, stated("head_fastener.tightening_angle", "60 deg"), "head-fastener-turned", "conflict"),
    # a stud of 13.9 and M11 yields at about 70 kN; 160 N m on moly paste would draw it to more than 100 kN
    (
        "interface",
        "street-turbo",
        stated("head_fastener.tightening_torque", "160 N*m"),
        "head-fastener-past-yield",
        "conflict",
    ),
    (
        "interface",
        "street-turbo",
        stated("head_fastener.property_class", "10.9"),
        "head-fastener-class",
        "shortfall",
    ),
    (
        "interface",
        "street-turbo",
        stated("head_fastener.grip_length", "80 mm"),
        "head-fastener-of-this-joint",
        "conflict",
    ),
    (
        "interface",
        "street-turbo",
        stated("head_fastener.grip_length", "130 mm"),
        "head-fastener-of-this-joint",
        "conflict",
    ),
    ("interface", BASE, stated("head_dowel.length", "9 mm"), "head-dowel-reach", "conflict"),
    ("interface", BASE, stated("head_dowel.length", "36 mm"), "head-dowel-reach", "conflict"),
    ("interface", BASE, stated("plug_tube_seal.inside_diameter", "13 mm"), "plug-tube-seal-fit", "conflict"),
    ("interface", BASE, stated("plug_tube_seal.outside_diameter", "76 mm"), "plug-tube-seal-fit", "conflict"),
    ("interface", BASE, stated("cam_seal.shaft_diameter", "28 mm"), "cam-seal-fit", "conflict"),
    ("interface", BASE, stated("cam_seal.outside_diameter", "46 mm"), "cam-seal-fit", "conflict"),
    ("interface", BASE, stated("camshaft_exhaust.seal_diameter", "32 mm"), "cam-seal-fit", "conflict"),
    ("interface", TURBO, stated("crank_seal_front.lip_material", "nbr"), "seal-rubber-under-heat", "caution"),
    ("interface", TURBO, stated("stem_seal.lip_material", "nbr"), "seal-rubber-under-heat", "caution"),
    ("interface", TURBO, stated("cam_seal.lip_material", "nbr"), "cam-seal-rubber-under-heat", "caution"),
    ("interface", BASE, stated("cam_cover.breather_bore", "10 mm"), "breather-on-cam-cover", "caution"),
    # induction
    ("SC17", BASE, stated("inlet_manifold.port_area", "760 mm^2"), "manifold-port-area", "caution"),
    ("SC17", BASE, stated("inlet_manifold.port_area", "850 mm^2"), "manifold-port-area", "caution"),
    ("SC17", BASE, stated("inlet_manifold.port_height", "86.7 mm"), "manifold-port-height", "conflict"),
    ("SC17", BASE, stated("exhaust_manifold.primary_bore", "28 mm"), "primary-bore", "caution"),
    ("interface", BASE, stated("throttle_body.bore", "28 mm"), "throttle-of-another-flange", "conflict"),
    ("interface", BASE, stated("throttle_body.bore", "70 mm"), "throttle-of-another-flange", "conflict"),
    ("interface", PHASE, stated("throttle_motor.pattern", "tm-9"), "throttle-motor-on-body", "conflict"),
    ("interface", PHASE, {"fit": {"throttle_body": "vm-throttle-65"}}, "throttle-motor-on-body", "conflict"),
    ("18", BASE, stated("inlet_manifold.throttles", "4"), "servo-vacuum", "missing"),
    ("18", BASE, stated("camshaft_inlet.duration", "290 deg"), "servo-vacuum", "missing"),
    ("18", BASE, stated("inlet_manifold.throttles", "4"), "load-signal-of-many-throttles", "caution"),
    (
        "18",
        BASE,
        {"fit": {"vacuum_pump": "qd-vacuum-pump"}, **stated("vacuum_pump.current", "30 A")},
        "vacuum-pump-current",
        "caution",
    ),
    # of the V6, which has its own
    ("interface", V6, stated("plug_tube_seal.outside_diameter", "38 mm"), "plug-tube-seal-fit", "conflict"),
    ("interface", V6, stated("valve_spring.outside_diameter", "29 mm"), "spring-in-its-pocket", "conflict"),
)
def test_wrong_build(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    (
        "18",
        BASE,
        {"fit": {"vacuum_pump": "qd-vacuum-pump"}, **stated("inlet_manifold.throttles", "4")},
        "servo-vacuum",
        "ok",
    ),
    (
        "SC17",
        BASE,
        {"work": ["port-match"], **stated("inlet_manifold.port_area", "760 mm^2")},
        "manifold-port-area",
        "",
    ),
    ("HV18", BASE, {"work": ["cut-seats", "measure"]}, "seats-measured", "ok"),
    (
        "20",
        BASE,
        {"fit": {"tail_pump": "qd-vacuum-pump-tail"}, **stated("camshaft_inlet.tail", "slot")},
        "cam-turns-tail-pump",
        "ok",
    ),
)
def test_made_good(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)
