"""What stands where and what must come apart: boxes, sisters, counts, fuel, work on bare places."""

from __future__ import annotations

from typing import Any

import pytest


def joints(report: Any) -> dict[str, str]:
    return {joint.joint: joint.because for joint in report.opened_joints}


# what stands where


def test_what_lies_in_a_sister_s_box_comes_along_and_is_as_used_as_she_is(tiny: Any) -> None:
    """A crankshaft taken off a sister engine with her sensor on it: hers, and nothing that was bought new."""
    tiny.edit(
        "catalog/parts/factory.yaml",
        "- part: hob-crank-long\n",
        "- part: hob-crank-long\n  includes: [ear, hob-gasket]\n",
    )
    taken = "take_from: [{variant: hob-15, positions: [crankshaft]}]"
    assert tiny.report(taken).changed == {"crankshaft": "hob-crank-long", "knock_sensor": "ear"}
    tiny.rule("where: sister(knock_sensor) == 'hob-15'\nnote: Taken from a sister.")
    assert tiny.found("mine", taken) is not None
    # her gasket has been crushed once: opening the head joint still asks for a new one
    opened = f"{taken}\nwork: [tap-knock-boss]"
    assert tiny.found("renew-head", opened).verdict == "missing"
    assert tiny.found("renew-head", f"{opened}\nfit: {{head_gasket: hob-gasket}}").verdict == "ok"


def test_a_part_in_the_box_stands_in_one_place_though_it_fits_two(tiny: Any) -> None:
    tiny.edit(
        "catalog/parts/extra.yaml", "  fills: pressure_sensor\n", "  fills: [pressure_sensor, knock_sensor]\n"
    )
    changed = tiny.report("fit: {piston: sport-piston}").changed
    assert changed == {"piston": "sport-piston", "pressure_sensor": "sport-sensor"}
    changed = tiny.report("fit: {piston: sport-piston, pressure_sensor: sport-sensor}").changed
    assert changed["knock_sensor"] == "sport-sensor"


@pytest.mark.parametrize(("variant", "rod", "sister"), [
    ("hob-15", "hob-rod", None), ("hob-13", "hob-rod", None), ("hob-15", "sport-rod", None),
])  # fmt: skip
def test_a_part_that_the_own_variant_left_with_is_no_sister_s(
    variant: str, rod: str, sister: str | None, tiny: Any
) -> None:
    tiny.rule("where: sister(rod) != ''\nnote: Taken from a sister.")
    assert tiny.found("mine", f"fit: {{rod: {rod}}}", variant=variant) is sister


def test_pieces_counted_by_a_part_follow_how_many_of_it_the_build_has(tiny: Any) -> None:
    """Two bolts to a rod: eight on the four, six when the build says three rods."""
    tiny.edit("catalog/vocabulary.yaml", "    small_ends: list\n", "    small_ends: list\n    bolts: number\n")
    tiny.edit("catalog/parts/factory.yaml", "    small_ends: [plain", "    bolts: 2\n    small_ends: [plain")
    tiny.write(
        "catalog/bolts.yaml",
        "- {position: rod_bolt, name: Rod bolt, system: rotating-assembly, counted_by: rod.bolts}\n"
        "- {part: hob-bolt, name: Rod bolt, fills: rod_bolt}\n",
    )
    count = "measure: count(rod_bolt)\nat_least: 1"
    assert tiny.finds(count, "fit: {rod_bolt: hob-bolt}").value == 8
    assert tiny.finds(count, "fit: {rod_bolt: hob-bolt}\ncounts: {rod: 3}").value == 6
    assert tiny.finds(count, "fit: {rod_bolt: hob-bolt}\ncounts: {rod: 3, rod_bolt: 7}").value == 7


# what opens


def test_another_fuel_opens_nothing_though_something_lies_before_the_tank(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", "behind: [crankshaft, rod]", "behind: [crankshaft, rod, fuel]")
    tiny.write(
        "catalog/parts/fuels.yaml",
        "- {part: pump-98, name: Pump fuel 98, fills: fuel, specs: {octane: 98, density: 0.75 kg/L}}\n",
    )
    report = tiny.report(goal="power: 50 kW, at: 6000 rpm, fuel: pump-98")
    assert report.goal["fuel"] == "pump-98"
    assert joints(report) == {}


def test_work_that_only_offers_something_takes_the_engine_apart_too(tiny: Any) -> None:
    """A boss is not tapped through the water jacket of an assembled engine."""
    assert joints(tiny.report("work: [tap-knock-boss]")) == {
        "head_joint": "work tap-knock-boss",
        "sump_joint": "to reach the head joint",
    }


def test_work_on_a_place_that_is_empty_opens_nothing(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", "behind: [crankshaft, rod]", "behind: [crankshaft, rod, knock_sensor]")
    tiny.write(
        "catalog/more.yaml", "- {work: grind-ear, name: Grind, on: knock_sensor, offers: [cam_signal]}\n"
    )
    assert joints(tiny.report("work: [grind-ear]")) == {}
    # the sensor wants a boss, and tapping that opens the head joint by itself
    opened = joints(tiny.report("work: [grind-ear, tap-knock-boss]\nfit: {knock_sensor: ear}"))
    assert set(opened) == {"sump_joint", "head_joint"}


def test_a_joint_opened_for_several_reasons_names_the_first(tiny: Any) -> None:
    """Reasons run from the bottom of the engine up, parts before work."""
    report = tiny.report("fit: {piston: hob-piston-short, head_gasket: hob-gasket}\nwork: [tap-knock-boss]")
    assert joints(report)["head_joint"] == "piston becomes hob-piston-short"
    tiny.write("catalog/more.yaml", "- {work: look, name: Look, on: block, opens: [sump_joint]}\n")
    report = tiny.report("fit: {rod: sport-rod}\nwork: [look]")
    assert joints(report) == {"sump_joint": "connecting rod becomes sport-rod"}
    assert joints(tiny.report("work: [look]")) == {"sump_joint": "work look"}


def test_a_joint_consumes_as_many_as_it_says(tiny: Any) -> None:
    tiny.edit(
        "catalog/work.yaml",
        "renews: [{position: head_gasket, where",
        "renews: [{position: head_gasket, count: 3, where",
    )
    report = tiny.report("work: [tap-knock-boss]")
    (head,) = [joint for joint in report.opened_joints if joint.joint == "head_joint"]
    assert head.renews == ("3 x hob-gasket",)
    assert {entry.part: entry.count for entry in report.extra_parts}["hob-gasket"] == 3
