"""The order of assembly, replayed against the shop's files as this test reads them itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from compat.bench.sequence import assembled, assembly_order, course_of_work
from compat.library.library import Library
from compat.shop.builds import prepare
from compat.shop.models import Build
from compat.shop.source import Faults
from tests.conftest import Tiny
from tests.look import settle

CATALOG = Path(__file__).parents[2] / "catalog"


def entries(*files: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for pattern in files:
        for path in sorted(CATALOG.glob(pattern)):
            found += [
                entry for entry in yaml.load(path.read_text(), yaml.CBaseLoader) if isinstance(entry, dict)
            ]
    return found


POSITIONS = {e["position"]: e.get("fitting", {}) for e in entries("vocabulary/*.yaml") if "position" in e}
JOINTS = {e["joint"]: e for e in entries("joints.yaml")}
WORKS = {e["work"]: e for e in entries("work.yaml")}
BUILDS = [e["build"] for e in entries("builds/*.yaml")]
VARIANTS = [e["variant"] for e in entries("families/*.yaml") if "variant" in e]


@pytest.mark.parametrize("name", BUILDS + VARIANTS)
@pytest.mark.parametrize("whole", [False, True], ids=["opened", "whole"])
def test_each_step_is_possible_after_those_before_it(demo: Library, name: str, whole: bool) -> None:
    world = settle(demo.shop, demo.book, name)
    settled = world.settled
    again = assembled(settled, world.joints, whole=whole)
    steps = assembly_order(demo.shop, settled.fitted, course_of_work(settled).among)
    assert len(set(steps)) == len(steps)
    filled = set(settled.fitted)
    # the engine on the bench: what stays on it is in and closed, the rest lies beside it
    there = {("position", position) for position in filled - again}
    open_now = {joint for joint, said in JOINTS.items() if set(said["behind"]) & again}
    done: set[str] = set()
    for kind, step in steps:
        if kind == "position" and step in again:
            said = POSITIONS[step]
            for other in said.get("after", []):
                assert other not in filled or ("position", other) in there, f"{step} before {other}"
            for about in JOINTS.values():
                if step in about["behind"]:
                    for outer in about.get("opens", []):
                        # nobody reaches into a joint once one before it is shut, unless covers shut it in
                        covers = {c for p in JOINTS[outer]["behind"] if p in filled
                                  for c in POSITIONS[p].get("within", [])}  # fmt: skip
                        if step not in covers:
                            shut = set(JOINTS[outer]["behind"]) & again
                            assert not shut or outer in open_now, f"{step} after {outer} is closed"
            there.add(("position", step))
        elif kind == "joint" and step in open_now:
            behind = set(JOINTS[step]["behind"]) & filled
            assert {("position", position) for position in behind} <= there, f"{step} closed too soon"
            open_now.remove(step)
        elif kind == "work":
            for other in WORKS[step].get("fitted", []):
                assert other not in filled or ("position", other) in there
            for other in WORKS[step].get("before", []):
                assert other not in again or ("position", other) not in there, f"{step} after {other}"
            done.add(step)
    assert not open_now
    assert {("position", position) for position in again} <= there
    assert done == set(course_of_work(settled).among)


@pytest.mark.parametrize("name", BUILDS + VARIANTS)
def test_joints_are_closed_the_way_back(name: str, demo: Library) -> None:
    settled = settle(demo.shop, demo.book, name).settled
    steps = assembly_order(demo.shop, settled.fitted)
    place = {step: number for number, step in enumerate(steps)}
    for joint, said in JOINTS.items():
        for outer in said.get("opens", []):
            if ("joint", joint) not in place or ("joint", outer) not in place:
                continue
            covers = {c for p in JOINTS[outer]["behind"] if p in settled.fitted
                      for c in POSITIONS[p].get("within", [])}  # fmt: skip
            first, then = ("joint", outer), ("joint", joint)
            if not covers & set(said["behind"]):
                first, then = then, first
            assert place[first] < place[then], f"{joint} and {outer}"


def test_a_chain_runs_behind_its_cover_and_a_belt_before_it(demo: Library) -> None:
    chain = [
        name
        for _, name in assembly_order(demo.shop, settle(demo.shop, demo.book, "fell-30-base").settled.fitted)
    ]
    belt = [
        name
        for _, name in assembly_order(demo.shop, settle(demo.shop, demo.book, "tarn-20-base").settled.fitted)
    ]
    assert chain.index("crank_sprocket") < chain.index("timing_chain") < chain.index("front_cover")
    assert belt.index("front_cover") < belt.index("timing_belt")


def test_short_block_then_head_then_drive(demo: Library) -> None:
    """Common practice, no source: the order in which any shop puts an engine of this kind together."""
    steps = [
        name
        for _, name in assembly_order(demo.shop, settle(demo.shop, demo.book, "street-turbo").settled.fitted)
    ]
    order = [
        "main_bearing", "crankshaft", "main_cap", "main_fastener", "piston", "ring_set", "rod_bearing",
        "rod_fastener", "front_cover", "inlet_valve", "valve_spring", "collet", "head_gasket",
        "head_fastener", "camshaft_inlet", "cam_cap", "cam_sprocket_bolt", "timing_belt", "cam_cover",
        "inlet_manifold", "turbocharger", "oil", "gearbox",
    ]  # fmt: skip
    assert sorted(order, key=steps.index) == order


def test_work_is_before_in_or_after_the_assembly(demo: Library) -> None:
    course = course_of_work(settle(demo.shop, demo.book, "fell-30-top-end").settled)
    assert course.before == (
        "face-head",
        "cut-seats",
        "tip-grind",
        "skim-front-cover",
        "trial-build",
        "measure",
    )
    assert course.among == ("set-lash", "degree-cams")
    assert course.after == ("prime-oil", "leak-test", "first-start")


def test_what_stays_on_the_engine_is_not_assembled(demo: Library) -> None:
    world = settle(demo.shop, demo.book, "fell-30-top-end")
    again = assembled(world.settled, world.joints)
    assert {"cylinder_head", "inlet_valve", "valve_spring", "timing_chain", "cam_cover"} <= again
    assert not {"block", "crankshaft", "piston", "rod_fastener", "flywheel", "gearbox"} & again


def test_a_circle_is_told_with_its_place(tiny: Tiny) -> None:
    text = tiny.text("catalog/vocabulary.yaml")
    names = [line.removeprefix("- position: ") for line in text.splitlines() if line.startswith("- position: ")]
    variant = next(p for p in (tiny.folder / "catalog").rglob("*.yaml") if "- variant:" in p.read_text())
    fitted = next(e for e in yaml.load(variant.read_text(), yaml.CBaseLoader) if "variant" in e)["parts"]
    one, other = [name for name in names if name in fitted][:2]
    for name, after in ((one, other), (other, one)):
        tiny.edit("catalog/vocabulary.yaml", f"- position: {name}\n",
                  f"- position: {name}\n  fitting: {{after: [{after}]}}\n")  # fmt: skip
    with pytest.raises(Faults) as told:
        tiny.load()
    faults = [str(fault) for fault in told.value.faults]
    assert len(faults) == 1
    place, _, said = faults[0].partition(": the order of assembly goes in a circle: ")
    assert said in (
        f"position {one} -> position {other} -> position {one}",
        f"position {other} -> position {one} -> position {other}",
    )
    assert place.startswith("catalog/vocabulary.yaml:")
    assert place.count(":") == 2


def test_positions_named_must_be_there(tiny: Tiny) -> None:
    name = next(
        line.removeprefix("- position: ")
        for line in tiny.text("catalog/vocabulary.yaml").splitlines()
        if line.startswith("- position: ")
    )
    tiny.edit(
        "catalog/vocabulary.yaml",
        f"- position: {name}\n",
        f"- position: {name}\n  fitting: {{after: [blok]}}\n",
    )
    with pytest.raises(Faults, match="position 'blok' is not known"):
        tiny.load()


def test_a_change_that_opens_nothing_takes_nothing_apart(demo: Library) -> None:
    build = prepare(demo.shop, Build(build="own", name="Own", variant="tarn-20-turbo", fit={"ecu": "wx-ecu-6"},
                                     goal=demo.shop.variants["tarn-20-turbo"].rated))  # fmt: skip
    world = settle(demo.shop, demo.book, build)
    assert not world.joints
    assert assembled(world.settled, world.joints) == {"ecu"}
    assert len(assembled(world.settled, world.joints, whole=True)) > 100
