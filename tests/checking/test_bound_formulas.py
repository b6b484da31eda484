"""Figures that formulas give, where a wrong part shows: a build that each of their rules fails.

`holds` also says that the build it starts from does not fail so.
"""

from __future__ import annotations

from typing import Any

from tests.checking.wrong import BASE, PHASE, TURBO, V6, holds, shop, wrong


def stated(**specs: str) -> dict[str, Any]:
    """What a build says of specs, `__` for the dot."""
    return {"measured": {spec.replace("__", "."): value for spec, value in specs.items()}}


@wrong(
    # a spring that is solid as fitted: no unknown, since a formula refused, but the worst of conflicts
    ("VT", BASE, stated(valve_spring__solid_length="35.5 mm"), "coil-bind", "conflict"),
    ("VT", BASE, stated(valve_spring__solid_length="27 mm"), "coil-bind", "conflict"),
    (
        "VT",
        BASE,
        stated(camshaft_inlet__lobe_velocity_max="0.32 mm/deg"),
        "inlet-lobe-stays-on-bucket",
        "conflict",
    ),
    ("VT", TURBO, stated(exhaust_valve__head_diameter="42 mm"), "exhaust-spring-under-boost", "shortfall"),
    ("VT", BASE, stated(tappet__mass="140 g"), "inlet-spring-holds-valve", "shortfall"),
    # a thumb rule for the gap, where no card states one
    ("RA", BASE, stated(ring_set__top_gap="0.20 mm"), "top-ring-gap", "conflict"),
    # two teeth more on the crank wheel and four on each cam wheel ask three teeth more of the belt
    (
        "TD",
        BASE,
        stated(crank_sprocket__teeth="24", cam_sprocket__teeth="48"),
        "timing-belt-length",
        "conflict",
    ),
    ("TD", BASE, stated(block__deck_height="225 mm"), "timing-belt-length", "conflict"),
)
def test_a_wrong_part_is_found(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    # fillets: a sharp one, a ground pin, iron where steel was, no damper, more pressure than the throw bears
    ("RA", BASE, stated(crankshaft__rod_journal_diameter="44.0 mm"), "crank-pin-fillet", "shortfall"),
    (
        "RA",
        PHASE,
        {"fit": {"crankshaft": "tarn-20-base-crankshaft", "crank_damper": "rd-pulley-light"}},
        "crank-pin-fillet",
        "shortfall",
    ),
    (
        "RA",
        TURBO,
        stated(crankshaft__web_thickness="14 mm", crankshaft__material="nodular_cast"),
        "crank-main-fillet",
        "shortfall",
    ),
    ("RA", BASE, {"goal": {"torque": "330 N*m", "power": "150 kW"}}, "crank-main-fillet", "shortfall"),
)
def test_a_crankshaft_too_weak_is_found(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    # threads in the block: a short stud, a soft block under a stud of the highest class
    ("HB", BASE, stated(head_fastener__length="104 mm"), "head-thread-strips", "shortfall"),
    (
        "HB",
        BASE,
        stated(
            block__material="aluminium", head_fastener__property_class="15.9", head_fastener__length="113 mm"
        ),
        "head-bolt-before-thread",
        "caution",
    ),
    ("SB", BASE, stated(main_fastener__length="60 mm"), "main-thread-strips", "shortfall"),
    (
        "SB",
        BASE,
        stated(
            block__material="aluminium", main_fastener__property_class="15.9", main_fastener__length="78 mm"
        ),
        "main-bolt-before-thread",
        "caution",
    ),
    # a large iron flywheel
    ("FC", V6, stated(ring_gear__teeth="165", flywheel__ring_teeth="165"), "flywheel-burst", "shortfall"),
    ("FC", BASE, {"goal": {"rev_limit": "8600 rpm"}}, "flywheel-burst", "shortfall"),
    # a clamp that the ends of the head have and its middle has not
    ("HB", BASE, stated(head_fastener__preload="38 kN"), "head-joint-lifts-inside", "shortfall"),
    ("HB", V6, {"goal": {"torque": "420 N*m", "power": "260 kW"}}, "head-joint-lifts-inside", "shortfall"),
    # rod bolts of a lower class at the same preload
    ("RA", BASE, stated(rod_fastener__property_class="8.8"), "rod-bolt-yields", "shortfall"),
    ("RA", BASE, stated(rod_fastener__preload="38 kN"), "rod-bolt-near-yield", "caution"),
    # coils that draw too much
    ("IG", BASE, stated(ignition_coil__primary_current="80 A"), "main-relay-load", "shortfall"),
    ("IG", BASE, stated(ignition_coil__primary_current="80 A"), "alternator-and-current", "shortfall"),
    # a soft heavy spring
    ("VT", BASE, stated(valve_spring__mass="52 g"), "spring-surge-near", "caution"),
    ("VT", BASE, stated(valve_spring__mass="80 g"), "spring-surge", "shortfall"),
)
def test_threads_and_springs(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


@wrong(
    # the full-load line: between the two points that are looked at by themselves, and past the last
    ("IN", TURBO, stated(turbocharger__max_speed="153000 rpm"), "turbo-overspeed-at-the-limit", "shortfall"),
    ("IN", TURBO, {"goal": {"rev_limit": "8300 rpm"}}, "compressor-chokes-at-the-limit", "caution"),
    ("IN", TURBO, {"goal": {"torque_at": "1700 rpm"}}, "compressor-surge-on-the-way", "caution"),
)
def test_the_full_load_line(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    holds(start, says, rule, expected)


def test_a_wheel_takes_the_belt_that_lies_on_it() -> None:
    """One tooth more on the crank wheel asks the share of its pitch that its wrap is of a turn, not a half."""
    ready = shop().build(BASE)
    more = ready.measuring({"crank_sprocket.teeth": "23"})
    paths = [shop().check(one).world.figure("belt_path").x for one in (ready, more)]
    assert 0.25 * 8e-3 < paths[1] - paths[0] < 0.40 * 8e-3
