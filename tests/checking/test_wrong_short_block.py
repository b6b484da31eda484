"""Shells, caps, jets, pins, rings and the bosses of the block: a build that breaks each rule of the map.

The ids are those of the trade's map of interplays; "interface" is a dimension that two parts share.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, LONG, PHASE, TURBO, holds, wrong


def stated(spec: str, value: str) -> dict[str, Any]:
    return {"measured": {spec: value}}


@wrong(
    # shells
    ("SB7", BASE, stated("main_bearing.width", "9 mm"), "main-shell-width", "conflict"),
    ("SB7", BASE, stated("main_bearing.width", "20 mm"), "main-shell-width", "conflict"),
    ("SB7", BASE, stated("main_bearing.oil_hole", "oh-9"), "main-shell-oil-hole", "conflict"),
    ("SB7", BASE, stated("main_bearing.groove", "none"), "main-shell-groove", "conflict"),
    ("RA18", BASE, stated("rod_bearing.width", "24 mm"), "rod-shell-width", "conflict"),
    ("RA18", BASE, stated("rod_bearing.width", "9 mm"), "rod-shell-width", "conflict"),
    ("RA18", BASE, stated("rod.oil_hole", "spray-1"), "rod-shell-oil-hole", "conflict"),
    # standard shells and halves that are called undersize or oversize, on journals and faces as made
    ("SB5", BASE, stated("main_bearing.undersize", "0.25 mm"), "main-shell-for-ground-journal", "conflict"),
    ("RA18", BASE, stated("rod_bearing.undersize", "0.25 mm"), "rod-shell-for-ground-journal", "conflict"),
    (
        "SB5",
        BASE,
        {"measured": {"main_bearing.undersize": "0.25 mm", "crankshaft.main_journal_diameter": "57.9 mm"}},
        "main-shell-for-ground-journal",
        "conflict",
    ),
    ("SB9", BASE, stated("thrust_bearing.oversize", "0.25 mm"), "thicker-thrust-on-ground-faces", "conflict"),
    # caps
    ("interface", BASE, stated("main_fastener.length", "75 mm"), "main-fastener-engagement", "conflict"),
    ("interface", BASE, stated("main_fastener.length", "184 mm"), "main-fastener-engagement", "conflict"),
    ("interface", BASE, stated("main_cap.bolt_height", "80 mm"), "main-fastener-engagement", "conflict"),
    (
        "interface",
        BASE,
        {"fit": {"main_fastener": "bm-stud-main"}, **stated("main_fastener.greatest_length", "194 mm")},
        "main-fastener-of-its-scrap-length",
        "conflict",
    ),
    (
        "interface",
        BASE,
        stated("main_fastener.tightening_angle", "270 deg"),
        "main-fastener-turned",
        "conflict",
    ),
    ("interface", BASE, stated("main_fastener.property_class", "8.8"), "main-fastener-class", "shortfall"),
    ("interface", "street-turbo", stated("rod_fastener.property_class", "8.8"), "rod-bolt-class", "shortfall"),
    ("interface", BASE, stated("rod_fastener.length", "40 mm"), "rod-bolt-length", "conflict"),
    (
        "interface",
        "street-turbo",
        stated("rod_fastener.greatest_length", "92 mm"),
        "rod-bolt-of-its-scrap-length",
        "conflict",
    ),
    ("interface", BASE, stated("rod.material", "billet_steel"), "caps-split-by-breaking", "caution"),
    # jets
    ("SB12", TURBO, stated("rod.big_end_reach", "38 mm"), "jet-clears-rod", "conflict"),
    ("SB12", TURBO, stated("piston_jet.nozzle_radius", "79.5 mm"), "jet-clears-rod", "conflict"),
    (
        "SB13",
        TURBO,
        stated("piston_jet.opening_pressure", "120 kPa"),
        "jet-opening-over-idle-pressure",
        "caution",
    ),
    ("interface", TURBO, stated("piston_jet.thread", "M6x1"), "jet-thread", "conflict"),
    (
        "interface",
        TURBO,
        {"leave_out": ["piston_jet"], "fit": {"jet_plug": "tb-jet-plug"}, **stated("jet_plug.thread", "M6x1")},
        "jet-plug-thread",
        "conflict",
    ),
    # the block's faces, bosses and openings
    ("interface", BASE, stated("gallery_plug.thread", "M14x1.5"), "gallery-plug-thread", "conflict"),
    ("interface", BASE, stated("rear_seal_carrier.rail_height", "60 mm"), "carrier-rail-height", "conflict"),
    (
        "SB19",
        BASE,
        {"fit": {"filter_housing": "fell-30-filter-housing"}},
        "filter-housing-on-block",
        "conflict",
    ),
    ("SB19", BASE, {"fit": {"dipstick": "tarn-22-long-dipstick"}}, "dipstick-on-block", "conflict"),
    ("SB19", BASE, {"fit": {"block": "tarn-22-long-block"}}, "accessories-on-block", "conflict"),
    ("SB19", BASE, stated("engine_mount.pattern", "mt-9"), "engine-mount-pattern", "conflict"),
    ("LU15", TURBO, {"leave_out": ["turbocharger", "turbo_feed_line"]}, "unused-turbo-oil-port", "missing"),
    ("LU15", BASE, {"leave_out": ["tail_blank"]}, "tail-hole-closed", "missing"),
    ("interface", BASE, stated("block.liner_style", "wet"), "wet-liners-in-place", "missing"),
    ("interface", BASE, stated("block.liner_style", "plated"), "plated-bore-has-its-plating", "conflict"),
    (
        "interface",
        BASE,
        {
            "fit": {"balance_shaft_plug": "bm-plug-balance-feed"},
            "measured": {"block.balance_shaft_feeds": "2", "block.balance_feed_diameter": "16 mm"},
        },
        "balance-feed-plug-size",
        "conflict",
    ),
    (
        "interface",
        BASE,
        {
            "fit": {"cylinder_liner": "hl-dry-liner-855"},
            "measured": {"cylinder_liner.style": "wet", "block.liner_seat_depth": "3.80 mm"},
        },
        "liner-on-its-seat",
        "conflict",
    ),
    # pins, rings, crowns
    ("interface", PHASE, {"fit": {"pin_clip": "hg-clip-22"}}, "clip-suits-pin", "conflict"),
    ("interface", PHASE, stated("pin_clip.style", "flat"), "clip-suits-pin", "conflict"),
    ("interface", LONG, stated("pin_clip.pin_diameter", "10 mm"), "clip-suits-pin", "conflict"),
    (
        "RA23",
        TURBO,
        {"goal": {"fuel": "ethanol-85"}, **stated("ring_set.top_gap", "0.45 mm")},
        "top-ring-gap-on-alcohol",
        "conflict",
    ),
    (
        "RA23",
        TURBO,
        stated("ring_set.top_gap", "0.05 mm"),
        "top-ring-gap",
        "conflict",
    ),
    ("RA23", BASE, stated("ring_set.top_gap", "0.36 mm ±0.03"), "top-ring-gap", "measure"),
    ("RA23", BASE, stated("ring_set.second_gap", "0 mm"), "second-ring-gap-least", "conflict"),
    ("RA23", TURBO, stated("ring_set.second_gap", "0.36 mm"), "second-ring-gap-least", "conflict"),
    (
        "RA28",
        BASE,
        {"measured": {"piston.crown_volume": "-3 cm^3", "piston.dome_diameter": "84 mm"}},
        "dome-within-chamber",
        "conflict",
    ),
    ("RA28", BASE, stated("piston.crown_volume", "-3 cm^3"), "dome-within-chamber", "unknown"),
)
def test_wrong_build(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    (
        "SB5",
        BASE,
        {"measured": {"main_bearing.undersize": "0.25 mm", "crankshaft.main_journal_diameter": "57.755 mm"}},
        "main-shell-for-ground-journal",
        "ok",
    ),
    (
        "LU15",
        TURBO,
        {"leave_out": ["turbocharger", "turbo_feed_line"], "fit": {"turbo_oil_plug": "tb-turbo-oil-plug"}},
        "unused-turbo-oil-port",
        "ok",
    ),
    (
        "RA28",
        BASE,
        {"measured": {"piston.crown_volume": "-3 cm^3", "piston.dome_diameter": "80 mm"}},
        "dome-within-chamber",
        "ok",
    ),
    (
        "RA23",
        TURBO,
        {"goal": {"fuel": "ethanol-85"}, **stated("ring_set.top_gap", "0.52 mm")},
        "top-ring-gap-on-alcohol",
        "ok",
    ),
)
def test_made_good(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)
