"""Settling a build: work on specs, parts in the same box, sisters, opened joints, needs in a circle."""

from __future__ import annotations

from typing import Any

import pytest

from compat.rulebook.values import Missing, Number
from compat.shop.source import Faults
from compat.units import Band, read_band
from tests.look import check, settle

GOAL = "goal: {power: 50 kW, at: 6000 rpm, duty: street}"


def world_of(tiny: Any, body: str, variant: str = "hob-13") -> Any:
    """Settle a build of the small shop that says what the body says."""
    tiny.write("catalog/builds/own.yaml", f"- build: own\n  name: Own\n  variant: {variant}\n{body}  {GOAL}\n")
    library = tiny.load()
    return settle(library.shop, library.book, library.shop.builds["own"])


def report_of(tiny: Any, body: str, variant: str = "hob-13") -> Any:
    world_of(tiny, body, variant)
    library = tiny.load()
    return check(library.shop, library.book, "own").report


def holds(band: Any, text: str) -> None:
    wanted = read_band(text)
    assert isinstance(band, Band)
    assert (band.nominal, band.low, band.high) == pytest.approx(
        (wanted.nominal, wanted.low, wanted.high), abs=1e-12
    )


def test_decking_takes_its_depth_off_and_brings_its_own_tolerance(tiny: Any) -> None:
    world = world_of(tiny, "  work: [{work: deck-block, depth: 0.20 mm}]\n")
    holds(world.settled.specs["block", "deck_height"].value, "199.80 mm ±0.02")
    assert world.settled.specs["block", "deck_height"].basis == "shop"


def test_work_without_a_tolerance_keeps_the_old_one_and_adds_its_own(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", "by: -depth, tolerance: ±0.02 mm", "by: -depth")
    world = world_of(tiny, "  work: [{work: deck-block, depth: 0.20 mm ±0.01}]\n")
    holds(world.settled.specs["block", "deck_height"].value, "199.80 mm ±0.06")


def test_boring_sets_a_size_given_or_usual(tiny: Any) -> None:
    world = world_of(tiny, "  work: [bore-block]\n")
    holds(world.settled.specs["block", "bore"].value, "74.500 mm +0.01/-0")
    world = world_of(tiny, "  work: [{work: bore-block, size: 75 mm}]\n")
    holds(world.settled.specs["block", "bore"].value, "75.000 mm +0.01/-0")


def test_work_done_twice_counts_twice_and_in_its_order(tiny: Any) -> None:
    work = "{work: deck-block, depth: 0.20 mm}"
    world = world_of(tiny, f"  work: [{work}, {work}]\n")
    holds(world.settled.specs["block", "deck_height"].value, "199.60 mm ±0.02")


def test_work_that_reads_the_spec_it_changes(tiny: Any) -> None:
    world = world_of(tiny, "  work: [lighten-rods]\n")
    band = world.settled.specs["rod", "mass"].value
    assert band.nominal == pytest.approx(0.95 * 0.480)


def test_figures_follow_the_work(tiny: Any) -> None:
    before = world_of(tiny, "").figure("deck_clearance")
    after = world_of(tiny, "  work: [{work: deck-block, depth: 0.20 mm}]\n").figure("deck_clearance")
    assert isinstance(before, Number)
    assert before.x - after.x == pytest.approx(0.2e-3, abs=1e-12)


def test_what_is_measured_comes_after_the_work(tiny: Any) -> None:
    world = world_of(
        tiny,
        "  work: [{work: deck-block, depth: 0.20 mm}]\n  measured: {block.deck_height: 199.81 mm ±0.005}\n",
    )
    holds(world.settled.specs["block", "deck_height"].value, "199.81 mm ±0.005")


def test_work_on_an_unstated_spec_leaves_it_unknown(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", "deck_height: 200.00 mm ±0.05, ", "")
    world = world_of(tiny, "  work: [{work: deck-block, depth: 0.20 mm}]\n")
    found = world.figure("deck_clearance")
    assert isinstance(found, Missing)
    assert found.specs == {"block.deck_height"}


def test_work_on_an_empty_position_changes_nothing(tiny: Any) -> None:
    world = world_of(tiny, "  leave_out: [rod]\n  work: [lighten-rods]\n")
    assert ("rod", "mass") not in world.settled.specs


def test_a_part_in_the_box_fills_its_own_position(tiny: Any) -> None:
    fitted = world_of(tiny, "  fit: {piston: sport-piston}\n").settled.fitted
    assert fitted["pressure_sensor"].part.part == "sport-sensor"
    assert fitted["pressure_sensor"].bought


@pytest.mark.parametrize("said", ["  leave_out: [pressure_sensor]\n"])
def test_the_build_has_the_last_word_over_the_box(said: str, tiny: Any) -> None:
    assert "pressure_sensor" not in world_of(tiny, f"  fit: {{piston: sport-piston}}\n{said}").settled.fitted


def test_boxes_in_boxes_are_all_unpacked(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "  fills: pressure_sensor\n",
        "  fills: pressure_sensor\n  includes: [ear]\n",
    )
    fitted = world_of(tiny, "  fit: {piston: sport-piston}\n").settled.fitted
    assert fitted["knock_sensor"].part.part == "ear"


def test_boxes_a_thousand_deep_are_unpacked(tiny: Any) -> None:
    chain = "".join(
        f"- {{part: box-{n}, name: Box, fills: oil, includes: [{f'box-{n + 1}' if n < 1500 else 'ear'}]}}\n"
        for n in range(1501)
    )
    tiny.write("catalog/parts/boxes.yaml", chain)
    fitted = world_of(tiny, "  fit: {oil: box-0}\n").settled.fitted
    assert fitted["knock_sensor"].part.part == "ear"


def test_a_sister_gives_her_part(tiny: Any) -> None:
    world = world_of(tiny, "  take_from: [{variant: hob-15, positions: [crankshaft]}]\n")
    assert world.settled.fitted["crankshaft"].part.part == "hob-crank-long"
    assert world.sister("crankshaft") == "hob-15"
    assert world.changed("crankshaft")
    assert not world.changed("rod")


def test_joints_opened_by_what_changes_and_by_what_lies_behind(tiny: Any) -> None:
    assert not report_of(tiny, "").opened_joints
    sump = report_of(tiny, "  fit: {rod: sport-rod}\n").opened_joints
    assert [joint.joint for joint in sump] == ["sump_joint"]
    both = report_of(tiny, "  fit: {head_gasket: hob-gasket}\n").opened_joints
    assert {joint.joint for joint in both} == {"head_joint", "sump_joint"}


def test_joints_that_open_each_other_can_never_be_closed_in_order(tiny: Any) -> None:
    tiny.edit(
        "catalog/work.yaml",
        "  behind: [crankshaft, rod]\n",
        "  behind: [crankshaft, rod]\n  opens: [head_joint]\n",
    )
    with pytest.raises(Faults, match="goes in a circle"):
        report_of(tiny, "  fit: {rod: sport-rod}\n")


def verdict(report: Any, rule: str) -> str | None:
    return next((finding.verdict for finding in report.findings if finding.rule == rule), None)


def test_what_an_opened_joint_consumes_is_asked_for_unless_renewed(tiny: Any) -> None:
    body = "  fit: {piston: hob-piston-short}\n"
    assert verdict(report_of(tiny, body), "renew-head") == "missing"
    assert verdict(report_of(tiny, body + "  renew: all\n"), "renew-head") == "ok"
    assert verdict(report_of(tiny, body + "  renew: [head_gasket, oil]\n"), "renew-head") == "ok"
    assert verdict(report_of(tiny, body + "  renew: [oil]\n"), "renew-head") == "missing"


def test_a_gasket_that_may_be_used_again_is_not_asked_for(tiny: Any) -> None:
    tiny.edit("catalog/parts/factory.yaml", "one_use: yes", "one_use: no")
    assert verdict(report_of(tiny, "  fit: {piston: hob-piston-short}\n"), "renew-head") is None


def test_needs_in_a_circle_close(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "needs: [{feature: analogue_input}, knock_boss]",
        "needs: [one]\n  offers: [two]",
    )
    tiny.edit(
        "catalog/parts/extra.yaml",
        "  needs: [{feature: analogue_input}]\n",
        "  needs: [two]\n  offers: [one]\n",
    )
    tiny.edit(
        "catalog/vocabulary.yaml",
        "- feature: cam_signal\n",
        "- {feature: one, name: One}\n- {feature: two, name: Two}\n- feature: cam_signal\n",
    )
    report = report_of(tiny, "  fit: {knock_sensor: ear}\n")
    assert [part.part for part in report.extra_parts] == ["sport-sensor"]
    both = report_of(tiny, "  fit: {knock_sensor: ear, pressure_sensor: sport-sensor}\n")
    assert both.clean


def test_a_part_that_needs_what_only_itself_offers_is_met(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "needs: [{feature: analogue_input}, knock_boss]",
        "needs: [one]\n  offers: [one]",
    )
    tiny.edit(
        "catalog/vocabulary.yaml",
        "- feature: cam_signal\n",
        "- {feature: one, name: One}\n- feature: cam_signal\n",
    )
    assert report_of(tiny, "  fit: {knock_sensor: ear}\n").clean


def test_too_few_inputs_name_all_who_compete(tiny: Any) -> None:
    report = report_of(
        tiny, "  fit: {knock_sensor: ear, pressure_sensor: sport-sensor}\n  work: [tap-knock-boss]\n"
    )
    found = [f for f in report.findings if f.rule == "need-analogue-input" and f.verdict == "missing"]
    assert len(found) == 1
    assert "ear" in found[0].because
    assert "sport-sensor" in found[0].because
    enough = report_of(
        tiny,
        "  fit: {knock_sensor: ear, pressure_sensor: sport-sensor, control_unit: sport-box}\n"
        "  work: [tap-knock-boss]\n",
    )
    assert verdict(enough, "need-analogue-input") == "ok"


def test_an_offer_under_a_condition_of_its_own_feature_comes_to_an_end(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml",
        "offers: [{feature: analogue_input, count: 2}, cam_signal]",
        "offers: [{feature: cam_signal, when: offered('cam_signal') < 1}]",
    )
    report = report_of(tiny, "  fit: {control_unit: sport-box}\n  setup: {injection: sequential}\n")
    assert verdict(report, "sequential-needs-cam") in ("ok", "missing")
