"""Piston to valve on the demo engines: against kinematics of their own, and which way each change moves it."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from compat.checking.lint import lint
from compat.checking.world import BuildWorld
from compat.engineering.valves.cam_profile import valve_lift
from compat.engineering.valves.cam_shape import PROFILES
from compat.engineering.valves.valve_piston import valve_approach
from compat.engineering.valves.valve_pocket import pocket_volume
from compat.library.library import Library
from compat.rulebook.values import Number
from compat.shop.shop import Shop
from compat.shop.specs import state
from tests.checking.wrong import BASE, PHASE, V6, shop, verdict
from tests.look import demo_shop, settle

DEG, MM = math.radians(1), 1e-3
SIDES = ("inlet", "exhaust")
NAMES = (*demo_shop().shop.variants, *demo_shop().shop.builds)


@cache
def world(name: str) -> BuildWorld:
    return settle(demo_shop().shop, demo_shop().book, name)


def spec(name: str, position: str, key: str) -> float:
    value = world(name).spec(position, key)
    assert isinstance(value, Number), (position, key)
    return value.x


def gap_of(name: str, side: str, **says: Any) -> float:
    build = shop().build(name).changed(**says) if says else name
    value = settle(demo_shop().shop, demo_shop().book, build).figure(f"piston_valve_gap_{side}")
    assert isinstance(value, Number)
    return value.x


# --- against kinematics of its own


def _rise(x: np.ndarray) -> np.ndarray:
    """1 + c2 x2 + c8 x8 + c14 x14 + c20 x20 with lift and three derivatives zero at 1, solved from these."""
    powers = np.array([2, 8, 14, 20])
    rows = [powers**0, powers, powers * (powers - 1), powers * (powers - 1) * (powers - 2)]
    weights = np.linalg.solve(np.array(rows, dtype=float), [-1.0, 0.0, 0.0, 0.0])
    return np.where(
        np.abs(x) < 1, 1 + sum(w * np.abs(x) ** p for w, p in zip(weights, powers, strict=True)), 0.0
    )


def _lobe(angle: np.ndarray, lift: float, duration: float, at: float) -> np.ndarray:
    """Lift of a lobe of that duration at that lift; its half length found by halving."""
    low, high = duration / 2, duration
    for _ in range(60):
        middle = (low + high) / 2
        short = lift * float(_rise(np.array([duration / 2 / middle]))[0]) < at
        low, high = (middle, high) if short else (low, middle)
    return lift * _rise(angle / low)


def _least_gap(name: str, side: str) -> float:
    """Valve face and pocket floor along the valve, over every crank angle and all of the phaser's travel."""
    cam = f"camshaft_{side}"
    lean = spec(name, "cylinder_head", f"valve_angle_{side}")
    throw, rod = spec(name, "crankshaft", "stroke") / 2, spec(name, "rod", "centre_length")
    angle = np.linspace(-60, 60, 4801) * DEG
    # the pin hangs on a rod of its own length from the crank's journal
    pin = throw * np.cos(angle) + np.sqrt(rod**2 - (throw * np.sin(angle)) ** 2)
    deck = spec(name, "block", "deck_height") + spec(name, "head_gasket", "thickness")
    crown = pin + spec(name, "piston", "compression_height") - deck  # below the head's face: negative
    floor = crown - spec(name, "piston", f"pocket_depth_{side}")
    retard = world(name).figure("cam_retard_crank")
    assert isinstance(retard, Number)
    park = (1 if side == "inlet" else -1) * spec(name, cam, "lobe_centre") + retard.x
    travel = 0.0
    if side == "inlet" and "cam_phaser" in world(name).settled.fitted:
        stop = world(name).spec("cam_phaser", "limited_range")
        travel = -2 * (stop.x if isinstance(stop, Number) else spec(name, "cam_phaser", "range"))
    lobe = [spec(name, cam, key) for key in ("lift", "duration", "duration_lift")]
    at_top = float(_lobe(np.array([spec(name, cam, "lobe_centre")]), *lobe)[0])
    fuller = max(0.0, spec(name, cam, "overlap_lift") - at_top)
    gaps = []
    for shift in np.linspace(0, travel, 41 if travel else 1):
        lift = _lobe(angle - park - shift, *lobe) + fuller
        # both as distances from the head's face along the valve's own axis
        valve = spec(name, "cylinder_head", f"{side}_valve_depth") - lift
        gaps.append((valve - floor * math.cos(lean)).min())
    return float(min(gaps))


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("name", NAMES)
def test_least_gap_is_that_of_every_crank_angle_and_phaser_place(name: str, side: str) -> None:
    """Card and dimensions put together anew, with the cam where lost height left it."""
    figure = world(name).figure(f"piston_valve_gap_{side}")
    assert isinstance(figure, Number)
    assert figure.x == pytest.approx(_least_gap(name, side), abs=0.002 * MM)


@pytest.mark.parametrize("side", SIDES)
def test_tightest_place_is_where_a_degree_wheel_finds_it(side: str) -> None:
    """Common practice, no source: 5 to 15 degrees after top dead centre; before it for exhaust valves."""
    for part in demo_shop().shop.fillers[f"camshaft_{side}"]:
        stated = demo_shop().shop.stated(f"camshaft_{side}", part)
        lift, duration, at, centre = (
            stated[key].value.nominal  # type: ignore[union-attr]
            for key in ("lift", "duration", "duration_lift", "lobe_centre")
        )
        if centre > 120 * DEG:
            continue  # parked late for a phaser: shut round top dead centre
        found = valve_approach(side, PROFILES[1], lift, duration, at, centre, 20 * DEG, 0.087, 0.148)
        degrees = math.degrees(found.crank_angle) * (1 if side == "inlet" else -1)
        # the short lobes of a factory open so little there that they meet the piston sooner
        assert (5 if duration >= 216 * DEG else 3) < degrees < 15, (part, degrees)


def test_model_scatter_covers_the_published_shapes() -> None:
    """Shapes of one lift and duration: the fullest lies no further towards the piston than the scatter says."""
    for centre, duration in ((108, 208), (112, 224), (110, 244), (88, 214), (94, 228), (72, 214)):
        cam = (9.6e-3, duration * DEG, 1e-3, centre * DEG, 20 * DEG, 0.087, 0.148)
        own = valve_approach("inlet", PROFILES[1], *cam).approach
        full = valve_approach("inlet", PROFILES[2], *cam).approach
        assert own * 1.10 < full <= own * 0.999


def test_card_check_lets_the_published_shapes_pass_and_no_other_angle() -> None:
    """Lift at top dead centre of three shapes of one card; and of a card that means ten degrees further on."""
    for lift, duration, centre in ((8.6, 208, 108), (9.4, 226, 110), (10.2, 244, 108), (9.2, 216, 114)):
        card = (lift * MM, duration * DEG, 1 * MM)
        own = valve_lift(PROFILES[1], *card, centre * DEG)
        others = [valve_lift(shape, *card, centre * DEG) for shape in PROFILES]
        assert max(abs(other - own) for other in others) < 0.3 * MM
        assert max(others) - own < 0.2 * MM
        assert valve_lift(PROFILES[1], *card, (centre - 10) * DEG) - own > 0.5 * MM


# --- which way it moves


def _steps(name: str, side: str, spec_name: str, values: list[str]) -> list[float]:
    return [gap_of(name, side, measured={spec_name: value}) for value in values]


ENGINES = (BASE, PHASE, V6, "street-turbo")


@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize("side", SIDES)
def test_nothing_that_brings_them_nearer_gives_room(name: str, side: str) -> None:
    """More duration, less gasket, pocket or recess, a piston higher: never more room."""
    cam, head = f"camshaft_{side}", "cylinder_head"
    wide = spec(name, cam, "duration") / DEG
    deep, recess = (
        spec(name, "piston", f"pocket_depth_{side}") / MM,
        spec(name, head, f"{side}_valve_depth") / MM,
    )
    tall = spec(name, "piston", "compression_height") / MM
    changes = {
        f"{cam}.duration": [f"{wide + more} deg" for more in (0, 2, 8, 20)],
        f"piston.pocket_depth_{side}": [f"{deep - less} mm" for less in (0, 0.1, 0.5, 1)],
        f"cylinder_head.{side}_valve_depth": [f"{recess - less} mm" for less in (0, 0.1, 0.3, 0.6)],
        "piston.compression_height": [f"{tall + more} mm" for more in (0, 0.1, 0.3)],
    }
    for what, values in changes.items():
        gaps = _steps(name, side, what, values)
        assert all(after < before for before, after in pairwise(gaps)), (what, gaps)


@pytest.mark.parametrize("name", ENGINES)
@pytest.mark.parametrize("side", SIDES)
def test_more_lift_never_gives_room(name: str, side: str) -> None:
    """As a longer rocker gives it, every lift in the same share; the duration is then of a higher lift too."""
    cam = f"camshaft_{side}"
    lift, at = spec(name, cam, "lift") / MM, spec(name, cam, "duration_lift") / MM
    gaps, alone = [], []
    for share in (1.0, 1.03, 1.1, 1.2):
        more = {f"{cam}.lift": f"{lift * share} mm"}
        alone.append(gap_of(name, side, measured=more))
        gaps.append(gap_of(name, side, measured={**more, f"{cam}.duration_lift": f"{at * share} mm"}))
    assert all(after < before for before, after in pairwise(gaps)), gaps
    # with the duration held at 1 mm a higher lobe is a quicker one, and below that 1 mm it lies a hair lower
    assert max(alone) - alone[0] < 0.06 * MM


@pytest.mark.parametrize("side", SIDES)
def test_a_skim_takes_room_from_both_valves_and_more_from_the_exhaust(side: str) -> None:
    """Decking retards the cams: the inlet gets a little back, the exhaust loses once more."""
    loss = [gap_of(BASE, side, work=[{"work": "deck-block", "depth": f"{depth} mm"}]) for depth in (0.05, 0.2)]
    lost = (loss[0] - loss[1]) / (0.15 * MM)
    lean = math.cos(spec(BASE, "cylinder_head", f"valve_angle_{side}"))
    assert 0.5 * lean < lost < lean if side == "inlet" else lean < lost < 1.5 * lean


def test_a_cam_set_by_degree_wheel_gives_no_room_that_lost_height_would() -> None:
    """Brought to its card by a slotted wheel, or found there: what the skim retarded is made good."""
    decked: list[Any] = [{"work": "deck-block", "depth": "0.20 mm"}]
    slotted = {"cam_sprocket": "trn-cam-wheel-adjustable"}
    late = {side: gap_of(BASE, side, work=[*decked, "degree-cams"]) for side in SIDES}
    set_right = {side: gap_of(BASE, side, fit=slotted, work=[*decked, "degree-cams"]) for side in SIDES}
    assert set_right["inlet"] < late["inlet"] - 0.02 * MM
    assert set_right["exhaust"] > late["exhaust"] + 0.02 * MM
    found = {
        f"camshaft_{side}.lobe_centre": f"{spec(BASE, f'camshaft_{side}', 'lobe_centre') / DEG} deg"
        for side in SIDES
    }
    for side in SIDES:
        assert gap_of(BASE, side, work=decked, measured=found) == pytest.approx(set_right[side])


def test_a_lobe_fuller_at_overlap_than_its_shape_takes_room_and_a_leaner_one_gives_none() -> None:
    gaps = _steps(BASE, "inlet", "camshaft_inlet.overlap_lift", ["0.40 mm", "0.60 mm", "0.80 mm", "0.90 mm"])
    assert gaps[0] == gaps[1] > gaps[2]
    assert gaps[2] - gaps[3] == pytest.approx(0.1 * MM)


# --- the phaser


def test_more_travel_never_gives_room_and_a_lock_at_park_takes_it_all_back() -> None:
    gaps = _steps(
        PHASE, "inlet", "cam_phaser.range", ["0 deg", "5 deg", "12 deg", "20 deg", "25 deg", "30 deg"]
    )
    assert all(after < before for before, after in pairwise(gaps))
    assert gap_of(PHASE, "inlet", work=["lock-phaser"]) == pytest.approx(gaps[0])
    limited = gap_of(PHASE, "inlet", work=[{"work": "limit-phaser", "travel": "12 deg"}])
    assert limited == pytest.approx(gaps[2])
    assert gaps[4] == gap_of(PHASE, "inlet")  # 25 degrees of the cam are 50 of the crank


def test_a_phaser_bought_locked_is_trusted_only_where_its_cam_was_found() -> None:
    """Nobody knows at which angle another shop locked it."""
    locked = {"cam_phaser.control": "locked"}
    whole = gap_of(PHASE, "inlet")
    assert gap_of(PHASE, "inlet", measured=locked) == whole
    assert gap_of(PHASE, "inlet", measured=locked, work=["degree-cams"]) == whole
    early = gap_of(PHASE, "inlet", measured={**locked, "camshaft_inlet.lobe_centre": "100 deg"})
    parked = gap_of(PHASE, "inlet", measured={**locked, "camshaft_inlet.lobe_centre": "132 deg"})
    assert whole < early < parked


@pytest.mark.parametrize(
    ("park", "share"), [("retarded", 1.0), ("middle", 0.5), ("advanced", 0.0)], ids=lambda x: str(x)
)
def test_where_a_phaser_fails_to_is_within_what_is_looked_at(park: str, share: float) -> None:
    """The lobe centre is stated where it parks; from the middle half the travel is left, else all or none."""
    travel = f"{25 * share} deg"
    parked = gap_of(PHASE, "inlet", measured={"cam_phaser.park_position": park})
    assert parked == pytest.approx(gap_of(PHASE, "inlet", measured={"cam_phaser.range": travel}))


@pytest.mark.parametrize(("park", "share"), [("advanced", 1.0), ("middle", 0.5), ("retarded", 0.0)])
def test_an_exhaust_phaser_brings_the_valve_nearer_by_retard(park: str, share: float) -> None:
    moves = {"cam_phaser.moves": "exhaust", "cam_phaser.park_position": park}
    whole = gap_of(PHASE, "exhaust", measured=moves)
    part = {**moves, "cam_phaser.park_position": "advanced", "cam_phaser.range": f"{25 * share} deg"}
    assert whole == pytest.approx(gap_of(PHASE, "exhaust", measured=part))
    assert gap_of(PHASE, "inlet", measured=moves) > gap_of(PHASE, "inlet")


def test_a_stop_that_comes_loose_must_not_let_the_valves_touch() -> None:
    """The cam runs on to the end of the phaser's own vanes; a lock is no stop."""
    start, rule = "phase-upgrade", "phaser-stop-lost"
    assert verdict(start, rule) == "caution"
    shallow = [
        {"work": "cut-pockets", "depth": "0.80 mm"},
        {"work": "limit-phaser", "travel": "14 deg"},
    ]
    assert verdict(start, rule, work=shallow) == "conflict"
    assert verdict(start, rule, work=[*shallow, "lock-phaser"]) == ""
    assert verdict(PHASE, rule) == ""
    assert verdict(PHASE, rule, work=[{"work": "limit-phaser", "travel": "14 deg"}]) == "ok"


def test_no_stop_gives_travel() -> None:
    stop = {
        "work": [{"work": "limit-phaser", "travel": "14 deg"}],
        "measured": {"cam_phaser.park_position": "middle"},
    }
    assert verdict(PHASE, "phaser-stop-in-range", **stop) == "conflict"
    assert verdict(PHASE, "phaser-stop-in-range", work=stop["work"]) == "ok"


def test_without_pockets_and_stop_the_upgrade_s_cam_meets_the_pistons() -> None:
    assert verdict("phase-upgrade", "piston-to-inlet-valve", work=["trial-build", "degree-cams"]) == "conflict"
    assert verdict("long-stroke-20", "piston-to-inlet-valve", work=["trial-build", "degree-cams"]) != "ok"


# --- verdicts


@pytest.mark.parametrize(
    ("start", "side", "usual", "least"),
    [
        (BASE, "inlet", 2.2, 1.7),
        (BASE, "exhaust", 2.7, 2.2),
        (V6, "inlet", 2.1, 1.6),  # a chain gives less than a belt
        (V6, "exhaust", 2.6, 2.1),
    ],
)
def test_verdicts_come_in_steps(start: str, side: str, usual: float, least: float) -> None:
    """Room as usual; then short of it until each valve is tried; then a conflict, whatever is tried."""
    deep = spec(start, "cylinder_head", f"{side}_valve_depth")
    shallow = {f"piston.pocket_depth_{side}": "0.2 mm"}
    here = gap_of(start, side, measured=shallow)

    def at(gap: float) -> tuple[str, str, str]:
        seat = {**shallow, f"cylinder_head.{side}_valve_depth": f"{(deep - here) / MM + gap} mm"}
        return tuple(
            verdict(start, f"piston-{how}-{side}-valve", measured=seat) for how in ("to", "near", "tried-near")
        )  # type: ignore[return-value]

    def tried(gap: float) -> tuple[str, str, str]:
        seat = {f"cylinder_head.{side}_piston_gap": f"{gap} mm"}
        return tuple(
            verdict(start, f"piston-{how}-{side}-valve", measured=seat) for how in ("to", "near", "tried-near")
        )  # type: ignore[return-value]

    assert at(usual + 1.0) == ("ok", "ok", "")
    # within what cards and model may be off the bench is asked, and never told that all is well
    assert at(usual + 0.05)[1] in ("measure", "caution")
    assert at(usual - 0.01)[1:] == ("shortfall", "")
    assert at(least + 0.05)[0] in ("measure", "caution")
    assert at(least + 0.05)[1] == "shortfall"
    assert at(least - 0.05) == ("conflict", "", "")
    assert tried(usual + 0.01) == ("ok", "", "ok")
    assert tried(usual - 0.01) == ("ok", "", "caution")
    assert tried(least - 0.01) == ("conflict", "", "")


def test_speed_asks_for_more_room_and_no_step_of_it() -> None:
    """From 7000 rpm on, 0.2 mm for each 1000 rpm; the allowance never jumps."""

    def allowance(speed: int) -> float:
        build = shop().build(BASE)
        goal = {"power": "92 kW", "at": "5800 rpm", "rev_limit": f"{speed} rpm", "duty": "street"}
        value = settle(demo_shop().shop, demo_shop().book, build.changed(goal=goal)).figure(
            "valve_gap_allowance"
        )
        assert isinstance(value, Number)
        return value.x / MM

    assert [round(allowance(speed), 6) for speed in (6500, 7000, 7001, 7500, 8000)] == [
        0.2,
        0.2,
        0.2002,
        0.3,
        0.4,
    ]


# --- cards


def test_every_cam_card_of_the_shop_agrees_with_itself(demo: Library) -> None:
    assert [str(remark) for remark in lint(demo) if "contradicts itself" in str(remark)] == []


def _lint_of(demo: Library, part: str, **stated: str) -> list[str]:
    position = demo.shop.parts[part].fills[0]
    wrong = {key: state(demo.shop.kinds[position][key], value) for key, value in stated.items()}
    specs = {**demo.shop.specs, part: {**demo.shop.specs[part], **wrong}}
    return [
        str(remark)
        for remark in lint(dataclasses.replace(demo, shop=dataclasses.replace(demo.shop, specs=specs)))
    ]


@pytest.mark.parametrize(
    ("part", "wrong", "rule"),
    [
        ("fell-30-camshaft-inlet", {"overlap_lift": "1.70 mm"}, "inlet-cam-card"),  # ten degrees further on
        ("qn-cam-in-solid-102", {"overlap_lift": "1.30 mm"}, "inlet-cam-card"),  # the card of another cam
        ("qn-cam-ex-solid-100", {"lobe_centre": "105 deg"}, "exhaust-cam-card"),
        ("tarn-20-base-inlet-camshaft", {"duration": "218 deg"}, "inlet-cam-card"),
        ("tarn-20-phase-inlet-camshaft", {"lobe_centre": "108 deg"}, "inlet-cam-card"),  # not where it parks
    ],
)
def test_lint_tells_a_card_that_contradicts_itself(
    part: str, wrong: dict[str, str], rule: str, demo: Library
) -> None:
    told = _lint_of(demo, part, **wrong)
    assert len(told) == 1
    assert told[0].endswith(f"part '{part}' contradicts itself: its card alone breaks '{rule}'")


def test_lint_tells_other_cards_that_break_a_rule_alone(demo: Library) -> None:
    told = _lint_of(demo, "tarn-20-phase-piston", crown_thickness="9.0 mm")
    assert [line for line in told if "crown-left-under-pockets" in line]


def test_a_card_without_lift_at_overlap_is_taken_as_less_room(demo: Library) -> None:
    without = _without(demo, "tarn-20-base-inlet-camshaft", "overlap_lift")
    bare = settle(without, demo.book, BASE).figure("piston_valve_gap_inlet")
    figure = world(BASE).figure("piston_valve_gap_inlet")
    assert isinstance(bare, Number)
    assert isinstance(figure, Number)
    assert figure.x - 0.15 * MM < bare.x < figure.x


def _without(demo: Library, part: str, key: str) -> Shop:
    left = {name: value for name, value in demo.shop.specs[part].items() if name != key}
    return dataclasses.replace(demo.shop, specs={**demo.shop.specs, part: left})


# --- pockets and what they hold


def test_deeper_pockets_reach_the_compression_ratio() -> None:
    """Of 10.9 by the pistons as bought to 10.5: what was cut stands in the clearance volume."""
    ratio = world("long-stroke-20").figure("compression_ratio")
    assert isinstance(ratio, Number)
    swept = math.pi / 4 * 0.086**2 * 0.095
    volume = swept / (ratio.x - 1)
    assert swept / (volume - 0.82e-6) + 1 == pytest.approx(10.68, abs=0.01)
    assert ratio.x == pytest.approx(10.54, abs=0.01)


@pytest.mark.parametrize("name", NAMES)
def test_crown_volumes_hold_their_pockets(name: str) -> None:
    assert verdict(name, "crown-volume-holds-its-pockets") in ("ok", "measure")


def test_a_crown_that_leaves_out_its_pockets_is_told() -> None:
    assert (
        verdict(PHASE, "crown-volume-holds-its-pockets", measured={"piston.crown_volume": "0.2 cm^3"})
        == "caution"
    )


@pytest.mark.parametrize("depth", [0.05, 0.8, 1.5])
def test_pockets_cut_deeper_add_what_they_hold_to_the_crown(depth: float) -> None:
    """By the hoof of a cylinder, before and after."""
    before = demo_shop().shop.specs["hg-piston-860-308-na"]

    def held(deeper: float) -> float:
        return 2 * sum(
            pocket_volume(
                before[f"pocket_radius_{side}"].value.nominal,
                before[f"pocket_depth_{side}"].value.nominal + deeper / 1000,
                before[f"pocket_angle_{side}"].value.nominal,
            )
            for side in ("inlet", "exhaust")
        )

    cut = [{"work": "cut-pockets", "depth": f"{depth} mm"}]
    build = shop().build("phase-upgrade").changed(work=cut)
    crown = settle(demo_shop().shop, demo_shop().book, build).settled.specs.at("piston", "crown_volume")
    assert crown is not None
    assert crown.value.nominal == pytest.approx(
        before["crown_volume"].value.nominal + held(depth) - held(0), rel=1e-9
    )
    assert crown.value.half_width == pytest.approx(0.2e-6)
