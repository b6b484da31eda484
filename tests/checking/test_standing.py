"""What stands where, and how many: strangers, parts kept apart, counts, empty places, words without effect.

The demo's clean builds are spoilt in one thing at a time, all that there is of each kind; the small shop shows
the edges.
"""

from __future__ import annotations

import json
from itertools import product
from typing import Any

import pytest

from compat import OpenShop
from compat.checking.outcome import Apart, LeftOut, Miscounted, Standing, Stranger
from compat.checking.single_changes import effect, effects, single_changes
from compat.checking.standing import standing
from compat.checking.sweeping import OUT, RANK
from compat.library.library import Library
from compat.paper.findings import in_short
from compat.paper.schemas import report_json
from compat.shop.writing import write_build
from tests.look import check

CLEAN = ("street-turbo", "phase-upgrade")


@pytest.fixture(scope="module")
def shop(demo: Library) -> OpenShop:
    return OpenShop(demo.shop, demo.book)


def stands(shop: OpenShop, build: Any) -> dict[str, str]:
    """Verdicts of what stands where, by the finding's id."""
    return {o.rule: o.verdict for o in shop.check(build).outcomes if isinstance(o.seen, Standing)}


# everything of a kind, one at a time


@pytest.mark.parametrize("name", CLEAN)
def test_no_dropped_position_and_no_wrong_count_goes_unnoticed(name: str, shop: OpenShop) -> None:
    base = shop.check(name)
    assert base.clean
    tried = list(effects(shop.session, base.checked, ["empty", "count"]))
    assert len(tried) > 170
    assert [effect.change for effect in tried if not effect.worse] == []


@pytest.mark.parametrize("name", CLEAN)
def test_no_part_of_another_family_goes_unnoticed(name: str, shop: OpenShop) -> None:
    base = shop.check(name)
    strangers = shop.things.strangers["tarn"]
    tried = [change for change in single_changes(base.checked, ["part"]) if change.to in strangers]
    assert len(tried) > 120
    for change in tried:
        found = effect(shop.session, base.checked, change)
        assert f"family-{change.position.replace('_', '-')}" in found.rules, change
        assert found.worse


def test_the_whole_of_another_engine_is_told_piece_by_piece(shop: OpenShop) -> None:
    own, other = shop.check("phase-upgrade").world.settled.fitted, shop.things.variants["fell-30-base"].parts
    strangers = shop.things.strangers["tarn"]
    fit = {place: part for place, part in other.items() if place in own and part in strangers}
    assert len(fit) > 100
    found = stands(shop, shop.build("phase-upgrade").fitting(**fit))
    assert found == {f"family-{place.replace('_', '-')}": "conflict" for place in fit}


def test_what_the_factory_built_stands_right(demo: Library, checked: dict[str, Any]) -> None:
    for name in [*demo.shop.variants, *(name for name in demo.shop.builds if name != "long-stroke-20")]:
        assert not [o for o in checked[name].outcomes if isinstance(o.seen, Standing)], name


# strangers

FELL_TANK: dict[str, Any] = {"variant": "fell-30-base", "positions": ["header_tank"]}


def test_a_stranger_is_a_conflict_until_the_build_says_why_it_fits(shop: OpenShop) -> None:
    bare = shop.build("phase-upgrade").fitting(header_tank="fell-30-header-tank")
    assert stands(shop, bare) == {"family-header-tank": "conflict"}
    finding = next(f for f in shop.check(bare).report.findings if f.rule == "family-header-tank")
    assert "Marrick Fell" in finding.because
    assert "Marrick Tarn" in finding.because
    assert any("fits_because: {header_tank: " in remedy for remedy in finding.remedies)
    why = "Same hoses. Cap the same."
    said = bare.changed(fits_because={"header_tank": why})
    assert stands(shop, said) == {"family-header-tank": "caution"}
    assert shop.check(said).clean
    finding = next(f for f in shop.check(said).report.findings if f.rule == "family-header-tank")
    assert (finding.reason, finding.remedies) == (why, ())
    assert "Same hoses. Cap the same" in finding.because
    told = json.loads(report_json(shop.check(said).report))
    assert [f["reason"] for f in told["findings"] if f["reason"]] == [why]
    assert stands(shop, bare.changed(fits_because={"header_tank": "  "})) == {"family-header-tank": "conflict"}


def test_a_reason_given_for_one_part_serves_no_other(shop: OpenShop) -> None:
    said = shop.build("phase-upgrade").changed(
        take_from=[FELL_TANK], fits_because={"header_tank": "same hoses", "spark_plug": "same reach"}
    )
    said = said.fitting(spark_plug="fell-30-spark-plug")
    assert stands(shop, said) == {"family-header-tank": "caution", "family-spark-plug": "conflict"}
    assert stands(shop, said.fitting(header_tank="fell-30-header-tank"))["family-header-tank"] == "caution"
    other = said.fitting(header_tank="tarn-header-tank")
    assert not other.build.take_from
    back = other.fitting(header_tank="fell-30-header-tank")
    assert stands(shop, back)["family-header-tank"] == "conflict"


def test_a_stranger_is_found_however_it_came(tiny: Any) -> None:
    other = (
        "- family: nab\n  name: Orrin Nab\n  numbers: {cylinders: 4, banks: 1, main_journals: 5, cams: 1,"
        " inlet_valves: 4, exhaust_valves: 4, valves: 8}\n"
        "- variant: nab-10\n  name: Orrin Nab 1.0\n  family: nab\n"
        "  rated: {power: 40 kW, at: 5600 rpm, rev_limit: 6000 rpm}\n"
        "  setup: {injection: bank, knock_control: no}\n  parts: {oil: nab-oil}\n"
        "- part: nab-oil\n  name: Oil of the Nab\n  fills: oil\n  families: [nab]\n"
        "- part: nab-fuel\n  name: Fuel of the Nab\n  fills: fuel\n  families: [nab]\n"
        "- part: both-fuel\n  name: Fuel of both\n  fills: fuel\n  families: [nab, hob]\n"
        "- part: nab-pump\n  name: Pump with a box\n  fills: fuel_pump\n  families: [hob]\n"
        "  includes: [nab-oil]\n"
    )
    tiny.write("catalog/nab.yaml", other)
    taken = tiny.found("family-oil", "take_from: [{variant: nab-10, positions: [oil]}]")
    assert taken.verdict == "conflict"
    assert tiny.found("family-oil", "fit: {fuel_pump: nab-pump}").verdict == "conflict"
    burnt = "power: 50 kW, at: 6000 rpm, fuel: "
    assert tiny.found("family-fuel", goal=burnt + "nab-fuel").verdict == "conflict"
    assert (
        tiny.found("family-fuel", "fits_because: {fuel: it burns}", goal=burnt + "nab-fuel").verdict
        == "caution"
    )
    assert tiny.found("family-fuel", goal=burnt + "both-fuel") is None


# parts kept apart


def test_gates_are_never_with_a_gated_pan(shop: OpenShop) -> None:
    found = stands(shop, shop.build("street-turbo").fitting(baffle="rd-gates-front", sump="rd-sump-turbo"))
    assert found == {"never-with-baffle": "conflict"}
    found = stands(shop, shop.build("street-turbo").fitting(baffle="rd-gates-front"))
    assert found == {}


@pytest.mark.parametrize("cards", [("hob-pump",), ("hob-rod",), ("hob-pump", "hob-rod")])
def test_either_card_keeps_two_parts_apart_and_it_is_told_once(cards: tuple[str, ...], tiny: Any) -> None:
    for card in cards:
        other = "hob-rod" if card == "hob-pump" else "hob-pump"
        tiny.edit(
            "catalog/parts/factory.yaml", f"- part: {card}\n", f"- part: {card}\n  never_with: [{other}]\n"
        )
    (finding,) = [f for f in tiny.report().findings if f.rule.startswith("never-with-")]
    assert finding.verdict == "conflict"
    assert set(finding.parts) == {"hob-pump", "hob-rod"}
    assert not [f for f in tiny.report("fit: {rod: sport-rod}").findings if f.rule.startswith("never-with-")]


# counts


def test_as_many_as_the_engine_takes(shop: OpenShop) -> None:
    build = shop.build("street-turbo")
    for position, takes in (("piston", 4), ("main_fastener", 10), ("valve_spring", 16), ("block", 1)):
        name = f"count-{position.replace('_', '-')}"
        for stated in (0, 1, takes - 1):
            expected = {name: "missing"} if stated < takes else {}
            assert stands(shop, build.changed(counts={position: stated})) == expected
        assert stands(shop, build.changed(counts={position: takes})) == {}
        assert stands(shop, build.changed(counts={position: takes + 1})) == {name: "conflict"}


def test_a_v6_takes_two_heads_and_what_a_part_counts(shop: OpenShop) -> None:
    build = shop.build("fell-30-top-end")
    assert stands(shop, build.changed(counts={"cylinder_head": 1})) == {"count-cylinder-head": "missing"}
    long = shop.build("long-stroke-20")
    named = {"family-header-tank": "caution", "left-out-crank-key": "caution"}
    assert stands(shop, long) == named
    # eight holes in the flange of the long crankshaft, six in that of the block's own
    assert stands(shop, long.changed(counts={"flywheel_bolt": 6})) == {
        **named,
        "count-flywheel-bolt": "missing",
    }
    assert stands(shop, long.changed(counts={"flywheel_bolt": 8})) == named


def test_a_divided_manifold_takes_two_gates_and_what_goes_with_them(shop: OpenShop) -> None:
    gated = shop.build("tarn-20-turbo").fitting(
        exhaust_manifold="vm-manifold-tube-30t", turbocharger="sk-60-ball", wastegate="vm-gate-44"
    )
    added = {part.position: part.count for part in shop.check(gated).report.extra_parts}
    assert (added["gate_gasket"], added["dump_pipe"]) == (2, 2)
    whole = gated.fitting(gate_gasket="lg-gasket-gate-44", dump_pipe="vm-dump-44")
    gates = {"wastegate": 2, "gate_gasket": 2, "dump_pipe": 2}
    for build in (whole, whole.changed(counts=gates)):
        found = shop.check(build).report.findings
        assert stands(shop, build) == {}
        assert not [f.rule for f in found if f.verdict != "ok" and ("gate" in f.rule or "dump" in f.rule)]
    for position in gates:
        found = stands(shop, whole.changed(counts={position: 1}))
        assert found == {f"count-{position.replace('_', '-')}": "missing"}
        found = stands(shop, whole.changed(counts={position: 3}))
        assert found == {f"count-{position.replace('_', '-')}": "conflict"}


def test_where_the_job_says_how_many_more_are_no_fault(shop: OpenShop) -> None:
    build = shop.build("street-turbo")
    for position in ("hose_clamp", "banjo_washer"):
        rule = f"count-{position.replace('_', '-')}"
        for fewer in (0, 1, 7):
            assert stands(shop, build.changed(counts={position: fewer})) == {rule: "missing"}
        for more in (8, 12):
            assert stands(shop, build.changed(counts={position: more})) == {}
    two_banks = shop.build("fell-30-top-end")
    assert stands(shop, two_banks.changed(counts={"lambda_sensor": 1})) == {"count-lambda-sensor": "missing"}
    assert stands(shop, two_banks.changed(counts={"lambda_sensor": 3})) == {}
    # a phaser is the wheel of its own camshaft, and a rule counts the wheels
    assert stands(shop, build.changed(counts={"cam_sprocket": 1})) == {"count-cam-sprocket": "caution"}


def test_a_wrong_number_is_told_with_the_side_it_is_on(shop: OpenShop) -> None:
    build = shop.build("street-turbo")
    for stated, said in ((5, "5.00, at most 4.00"), (3, "3.00, at least 4.00")):
        found = shop.check(build.changed(counts={"piston": stated})).report.findings
        assert in_short(next(f for f in found if f.rule == "count-piston")) == said


@pytest.mark.parametrize(
    ("count", "says", "expected"),
    [
        ("1", "", "ok"),
        ("4", "", "ok"),
        ("5", "", "missing"),
        ("4", "counts: {rod: 3}", "missing"),
        ("count(rod)", "counts: {rod: 3}", "ok"),
    ],
)
def test_a_rule_that_asks_for_a_part_counts_its_pieces(count: str, says: str, expected: str, tiny: Any) -> None:
    assert tiny.finds(f"need: {{position: rod, count: {count}}}", says).verdict == expected


def test_a_wheel_on_every_camshaft(shop: OpenShop) -> None:
    phaser = shop.build("tarn-20-phase")
    found = {f.rule: f for f in shop.check(phaser.changed(counts={"cam_sprocket": 2})).report.findings}
    assert found["wheel-on-every-cam"].verdict == "conflict"
    turbo = shop.build("street-turbo")
    found = {f.rule: f for f in shop.check(turbo.changed(counts={"cam_sprocket": 1})).report.findings}
    assert (found["wheel-on-every-cam"].verdict, found["wheel-on-every-cam"].value) == ("conflict", 1)


# left out


def test_what_is_left_out_wants_a_reason(shop: OpenShop) -> None:
    build = shop.build("street-turbo")
    assert stands(shop, build.fitting(pcv_valve=None)) == {"left-out-pcv-valve": "missing"}
    assert stands(shop, build.changed(leave_out=["pcv_valve"])) == {"left-out-pcv-valve": "missing"}
    said = build.changed(leave_out={"pcv_valve": "the catch tank breathes freely"})
    assert stands(shop, said) == {"left-out-pcv-valve": "caution"}
    finding = next(f for f in shop.check(said).report.findings if f.rule == "left-out-pcv-valve")
    assert finding.because.endswith("the build says why: the catch tank breathes freely")
    # the reason stays when something else is left out beside it, and goes when the place is filled
    both = said.fitting(belt_cover=None)
    assert stands(shop, both) == {"left-out-pcv-valve": "caution", "left-out-belt-cover": "missing"}
    own = shop.things.variants[build.build.variant].parts["pcv_valve"]
    assert stands(shop, both.fitting(pcv_valve=own)) == {"left-out-belt-cover": "missing"}


@pytest.mark.parametrize(
    "position",
    [
        "relief_spring",
        "idler",
        "tensioner_bolt",
        "head_dowel",
        "block_dowel",
        "pickup_seal",
        "exhaust_gasket",
        "water_pump_gasket",
        "downpipe_gasket",
        "plug_tube_seal",
        "cam_seal",
        "inlet_gasket",
        "thermostat_seal",
    ],
)
def test_no_reason_spares_what_an_engine_made_with_it_needs(position: str, shop: OpenShop) -> None:
    build = shop.build("street-turbo")
    rule = f"left-out-{position.replace('_', '-')}"
    for said in ([position], {position: "the last owner ran without"}):
        spoilt = build.fitting(**{position: None}).changed(leave_out=said)
        assert stands(shop, spoilt)[rule] == "missing"
    finding = next(f for f in shop.check(spoilt).report.findings if f.rule == rule)
    assert finding.reason == "the last owner ran without"
    assert finding.because.endswith("cannot do without, and the build says why: the last owner ran without")
    assert [text.split()[0] for text in finding.remedies] == ["Fit"]


def test_sealant_may_stand_for_the_gasket_of_the_sump(shop: OpenShop) -> None:
    said = shop.build("street-turbo").changed(leave_out={"sump_gasket": "the rail is sealed with paste"})
    assert stands(shop, said) == {"left-out-sump-gasket": "caution"}


def test_no_reason_spares_what_no_engine_can_do_without(shop: OpenShop) -> None:
    said = shop.build("street-turbo").changed(leave_out={"sump": "dry weather"})
    assert stands(shop, said)["required-sump"] == "missing"


def test_what_is_taken_from_a_sister_can_be_left_out_and_replaced(shop: OpenShop) -> None:
    long = shop.build("long-stroke-20")
    assert "friction_washer" not in shop.check(long.fitting(friction_washer=None)).world.settled.fitted
    other = long.fitting(crankshaft="tarn-20-base-crankshaft")
    assert all("crankshaft" not in taken.positions for taken in other.build.take_from)
    assert other.changed(name="As a file would say it").build.fit["crankshaft"] == "tarn-20-base-crankshaft"


def test_reasons_are_written_as_they_are_read(shop: OpenShop, tmp_path: Any) -> None:
    long = shop.build("long-stroke-20").fitting(core_plug=None)
    write_build(long.build, tmp_path / "mine.yaml")
    assert shop.read(tmp_path / "mine.yaml").build == long.build


# words without effect


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"counts": {"wastegate": 2}}, "no-effect-counts-wastegate"),
        ({"fits_because": {"rod": "same journals"}}, "no-effect-fits-because-rod"),
        ({"fits_because": {"wastegate": "same flange"}}, "no-effect-fits-because-wastegate"),
        ({"leave_out": {"wastegate": "the turbine has its own"}}, "no-effect-leave-out-wastegate"),
        ({"measured": {"wastegate.spring_pressure": "50 kPa"}}, "no-effect-measured-wastegate-spring-pressure"),
        ({"renew": ["block"]}, "no-effect-renew-block"),
        (
            {"take_from": [{"variant": "tarn-20-phase", "positions": ["main_bearing"]}]},
            "no-effect-take-from-main-bearing",
        ),
        ({"work": ["lock-phaser"]}, "no-effect-work-lock-phaser"),
    ],
)
def test_a_word_of_which_nothing_comes_is_a_conflict(
    said: dict[str, Any], expected: str, shop: OpenShop
) -> None:
    build = shop.build("tarn-20-turbo").changed(build="mine", **said)
    assert stands(shop, build) == {expected: "conflict"}
    finding = next(f for f in shop.check(build).report.findings if f.rule == expected)
    assert f"`{next(iter(said))}`" in finding.because
    assert finding.remedies


def test_what_keeps_a_box_shut_is_no_idle_word(shop: OpenShop) -> None:
    """Piston kits bring pins and clips; a base engine has no clips of its own to leave out."""
    kit = shop.build("tarn-20-base").changed(
        build="mine", fit={"piston": "hg-piston-860-308-d106"}, leave_out={"pin_clip": "pressed pins"}
    )
    assert "no-effect-leave-out-pin-clip" not in stands(shop, kit)
    assert stands(shop, kit.fitting(piston=None))["no-effect-leave-out-pin-clip"] == "conflict"


def test_renewing_what_an_opened_joint_consumes_counts(shop: OpenShop) -> None:
    build = shop.build("tarn-20-turbo").changed(build="mine", renew=["sump_gasket"])
    assert stands(shop, build) == {"no-effect-renew-sump-gasket": "conflict"}
    assert stands(shop, build.fitting(pickup="tarn-20-turbo-pickup")) == {}


@pytest.mark.parametrize(
    ("name", "setup", "rule"),
    [
        ("tarn-20-turbo", {"phaser_control": "yes"}, "phaser-to-control"),
        ("tarn-20-base", {"boost_control": "spring"}, "turbo-for-boost-control"),
        ("tarn-20-turbo", {"boost_control": "none"}, "boost-is-controlled"),
    ],
)
def test_a_setup_that_nothing_answers_to_is_a_conflict(
    name: str, setup: dict[str, str], rule: str, shop: OpenShop
) -> None:
    found = {
        o.rule: o.verdict for o in shop.check(shop.build(name).changed(build="mine", setup=setup)).outcomes
    }
    assert found[rule] == "conflict"


# many builds


def test_a_sweep_knows_what_stands_where(demo: Library, shop: OpenShop) -> None:
    """Strangers in the candidates, a reason for one of them, boxes, exclusions, and counts that a part says."""
    base = shop.build("long-stroke-20").changed(
        counts={"flywheel_bolt": 8},
        fits_because={"header_tank": "it stays in the car", "spark_plug": "same reach"},
    )
    base = base.changed(fit={**base.build.fit, "spark_plug": "fell-30-spark-plug"})
    candidates = {
        "header_tank": ["tarn-header-tank", "fell-30-header-tank"],
        "spark_plug": ["fell-30-spark-plug", "tarn-20-base-spark-plug"],
        "crankshaft": ["tarn-22-long-crankshaft", "tarn-20-base-crankshaft"],
        "piston": ["hg-piston-860-268-d75-phase", "tarn-20-base-piston"],
        "sump": ["rd-sump-turbo", "tarn-20-base-sump"],
    }
    base = base.fitting(baffle="rd-gates-front")
    sweep = shop.sweep(base, candidates)
    kinds = set()
    for index in product(*(range(len(names)) for names in sweep.candidates)):
        fit = {p: names[n] for p, names, n in zip(sweep.positions, sweep.candidates, index, strict=True)}
        found = standing(check(demo.shop, demo.book, base.fitting(**fit)).world, ())
        kinds |= {type(outcome.seen) for outcome in found}
        worst = min((RANK[outcome.verdict] for outcome in found), default=RANK["ok"])
        said = RANK[sweep.verdict(**fit)]
        assert said <= worst or max(said, worst) <= OUT, fit
    assert kinds == {Apart, LeftOut, Miscounted, Stranger}


def test_a_sweep_of_what_may_stand_together_leaves_that_in(shop: OpenShop) -> None:
    base = shop.build("street-turbo").changed(
        take_from=[FELL_TANK], fits_because={"header_tank": "it stays in the car"}, counts={"hose_clamp": 10}
    )
    own = shop.check(base).world.settled.fitted["sump"].part.part
    sweep = shop.sweep(base, {"header_tank": ["tarn-header-tank", "fell-30-header-tank"], "sump": [own]})
    assert sweep.clean.all()
    assert [checked.clean for checked in sweep.checks()] == [True, True]
    gated = shop.sweep(base, {"baffle": ["rd-gates-front"], "sump": [own, "rd-sump-turbo"]})
    assert not gated.clean[0, 1]
