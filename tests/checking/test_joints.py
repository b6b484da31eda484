"""Which joints a build opens, what each consumes, and how the build says that it is renewed."""

from __future__ import annotations

import dataclasses

import networkx as nx
import pytest

from compat import Check
from compat.library.library import Library
from compat.shop.builds import as_build
from compat.shop.models import Build, TakeFrom, WorkDone
from compat.words.telling import Teller
from tests.look import check, demo_shop, settle

DEMO = demo_shop()
VARIANTS = ("tarn-20-turbo", "fell-30-base")
PLACES = [
    pytest.param(variant, position, id=f"{variant}-{position}")
    for variant in VARIANTS
    for position in DEMO.shop.variants[variant].parts
    if position != "fuel"
]


def build(variant: str, **says: object) -> Build:
    return Build(build="mine", name="Mine", variant=variant, goal=DEMO.shop.variants[variant].rated, **says)


def renewing(result: Check) -> dict[str, str]:
    """Verdict of each renewal, by joint."""
    ruled = {rule.rule.rule: rule.rule.renew for rule in DEMO.book.rules.values() if rule.rule.renew}
    return {str(ruled[f.rule]): f.verdict for f in result.report.findings if f.rule in ruled}


def reach() -> nx.DiGraph:
    graph = nx.DiGraph()
    for joint in DEMO.shop.joints.values():
        graph.add_node(joint.joint)
        graph.add_edges_from((joint.joint, other) for other in joint.opens)
    return graph


@pytest.mark.parametrize(("variant", "position"), PLACES)
def test_a_new_part_opens_what_it_lies_behind_and_what_lies_before(variant: str, position: str) -> None:
    """Against reachability by networkx, on the joints' own `opens`. What comes in the box counts too."""
    part = DEMO.shop.variants[variant].parts[position]
    world = settle(DEMO.shop, DEMO.book, build(variant, fit={position: part}))
    touched = {p for p, entry in world.settled.fitted.items() if entry.origin in ("chosen", "included")}
    first = {joint.joint for joint in DEMO.shop.joints.values() if touched & set(joint.behind)}
    graph = reach()
    assert set(world.joints) == first | {other for joint in first for other in nx.descendants(graph, joint)}
    for joint in first:
        assert world.joints[joint].how in ("bought new", "becomes")


def test_opening_goes_no_circle() -> None:
    assert nx.is_directed_acyclic_graph(reach())


def test_head_off_by_the_trade() -> None:
    """Cam cover, timing drive, both manifolds and the water come first. Common practice, no source."""
    gasket = DEMO.shop.variants["tarn-20-turbo"].parts["head_gasket"]
    world = settle(DEMO.shop, DEMO.book, build("tarn-20-turbo", fit={"head_gasket": gasket}))
    assert {
        "head_joint", "cam_cover_joint", "timing_joint", "damper_joint", "inlet_joint", "exhaust_joint",
        "turbo_joint", "water_joint",
    } == set(world.joints)  # fmt: skip
    assert Teller(world).touch(world.joints["head_joint"]) == "head gasket is bought new"
    assert Teller(world).touch(world.joints["cam_cover_joint"]) == "to reach the head joint"


def test_left_out_and_changed_parts_open_too() -> None:
    left = settle(
        DEMO.shop, DEMO.book, build("tarn-20-turbo", leave_out={"windage_tray": "", "sump_gasket": ""})
    )
    assert set(left.joints) == {"sump_joint"}
    other = build("tarn-20-base", take_from=[TakeFrom(variant="tarn-22-long", positions=("flywheel",))])
    world = settle(DEMO.shop, DEMO.book, other)
    assert set(world.joints) == {"rear_joint", "gearbox_joint"}
    assert Teller(world).touch(world.joints["rear_joint"]) == "flywheel becomes tarn-22-long-flywheel"


def test_work_opens_what_it_works_on_and_looking_opens_nothing() -> None:
    decked = settle(
        DEMO.shop,
        DEMO.book,
        build("tarn-20-base", work=[WorkDone(work="deck-block", values={"depth": "0.2 mm"})]),
    )
    assert "main_joint" in decked.joints
    assert Teller(decked).touch(decked.joints["main_joint"]) == "work deck-block"
    for name, work in DEMO.shop.works.items():
        # what it drags in opens what that works on
        if not (work.changes or work.offers or work.opens or work.forces) and not work.takes:
            world = settle(DEMO.shop, DEMO.book, build("tarn-20-base", work=[WorkDone(work=name)]))
            assert not world.joints, name


def test_work_says_itself_what_it_opens() -> None:
    for name, work in DEMO.shop.works.items():
        if work.opens and all(parameter.default for parameter in work.takes.values()):
            world = settle(DEMO.shop, DEMO.book, build("tarn-20-base", work=[WorkDone(work=name)]))
            assert set(work.opens) <= set(world.joints), name


def test_fuel_and_setup_open_nothing() -> None:
    goal = dataclasses.replace(DEMO.shop.variants["tarn-20-base"].rated, fuel="ethanol-85")
    mine = Build(build="mine", name="Mine", variant="tarn-20-base", goal=goal)
    assert not settle(DEMO.shop, DEMO.book, mine).joints


# what is consumed


def test_counts_of_what_the_head_joint_consumes() -> None:
    """Ten bolts and one gasket on the four; two of each gasket on the V6."""
    four = build("tarn-20-base", fit={"head_gasket": "tarn-20-base-head-gasket"})
    result = check(DEMO.shop, DEMO.book, four)
    head = next(joint for joint in result.report.opened_joints if joint.joint == "head_joint")
    bolts = DEMO.shop.variants["tarn-20-base"].parts["head_fastener"]
    assert f"10 x {bolts}" in head.renews
    assert "1 x tarn-20-base-head-gasket" in head.renews
    six = build("fell-30-base", fit={"head_gasket": "fell-30-head-gasket"})
    result = check(DEMO.shop, DEMO.book, six)
    head = next(joint for joint in result.report.opened_joints if joint.joint == "head_joint")
    assert "2 x fell-30-head-gasket" in head.renews
    cover = next(joint for joint in result.report.opened_joints if joint.joint == "cam_cover_joint")
    assert any(entry.startswith("2 x ") for entry in cover.renews)


def test_what_is_not_said_to_be_renewed_is_missing_and_on_the_list() -> None:
    bare = check(DEMO.shop, DEMO.book, build("tarn-20-base", fit={"head_gasket": "tarn-20-base-head-gasket"}))
    verdicts = renewing(bare)
    assert verdicts["head_joint"] == verdicts["inlet_joint"] == "missing"
    listed = {entry.part: entry.count for entry in bare.report.extra_parts}
    consumed = {entry.part: entry.count for entry in bare.checked.renewed if not entry.covered}
    assert consumed.items() <= listed.items()
    # the gasket itself is bought: it is no extra part
    assert "tarn-20-base-head-gasket" not in listed
    finding = next(f for f in bare.report.findings if f.rule == "renew-head-joint")
    assert "10 x" in finding.because
    assert any("renew:" in remedy for remedy in finding.remedies)
    assert "head_fastener" in finding.positions
    assert not bare.report.clean


def test_renew_all_covers_every_joint_and_still_orders_the_parts() -> None:
    says = {"fit": {"head_gasket": "tarn-20-base-head-gasket"}}
    bare = check(DEMO.shop, DEMO.book, build("tarn-20-base", **says))
    full = check(DEMO.shop, DEMO.book, build("tarn-20-base", renew="all", **says))
    assert set(renewing(full).values()) == {"ok"}
    assert full.report.clean
    assert full.report.extra_parts == bare.report.extra_parts
    assert full.report.opened_joints == bare.report.opened_joints


def test_renew_by_name_covers_what_it_names() -> None:
    consumed = check(
        DEMO.shop,
        DEMO.book,
        build("tarn-20-base", fit={"oil": "oil-10w50", "sump_gasket": "tarn-20-sump-gasket"}),
    )
    assert [entry.joint for entry in consumed.checked.renewed] == ["sump_joint"] * len(consumed.checked.renewed)
    asked = {entry.position for entry in consumed.checked.renewed if not entry.covered}
    assert {entry.position for entry in consumed.checked.renewed if entry.covered} == {"oil", "sump_gasket"}
    assert "oil_filter" in asked
    verdict = {}
    for number in range(len(asked) + 1):
        named = sorted(asked)[:number]
        says = build(
            "tarn-20-base", fit={"oil": "oil-10w50", "sump_gasket": "tarn-20-sump-gasket"}, renew=named
        )
        verdict[number] = renewing(check(DEMO.shop, DEMO.book, says))["sump_joint"]
    assert verdict.pop(len(asked)) == "ok"
    assert set(verdict.values()) == {"missing"}


def test_one_piece_behind_two_joints_is_asked_for_once() -> None:
    """Head off and sump off drain the same oil."""
    result = check(
        DEMO.shop,
        DEMO.book,
        build(
            "tarn-20-base",
            fit={"head_gasket": "tarn-20-base-head-gasket", "sump_gasket": "tarn-20-sump-gasket"},
        ),
    )
    assert sum(entry.position == "oil" for entry in result.checked.renewed) == 2
    oil = DEMO.shop.variants["tarn-20-base"].parts["oil"]
    assert [entry.part for entry in result.report.extra_parts].count(oil) == 1
    asking = [f for f in result.report.findings if f.rule.startswith("renew-") and "engine oil" in f.because]
    assert len(asking) == 1


def test_conditions_of_a_renewal(demo: Library) -> None:
    """Pin clips are spent when a piston leaves its rod, not when the rod is only unbolted."""
    shells = demo.shop.variants["tarn-20-turbo"].parts["rod_bearing"]
    result = check(demo.shop, demo.book, build("tarn-20-turbo", fit={"rod_bearing": shells}))
    assert "pin_clip" not in {entry.position for entry in result.checked.renewed}
    pistons = build("tarn-20-turbo", fit={"piston": "hg-piston-855-308-d106"}, leave_out={"pin_clip": ""})
    assert "pin_clip" not in {entry.position for entry in check(demo.shop, demo.book, pistons).checked.renewed}
    rods = build("tarn-20-turbo", fit={"rod": "sf-rod-1480-h-22"})
    renewed = {entry.position: entry for entry in check(demo.shop, demo.book, rods).checked.renewed}
    clips = demo.shop.parts[demo.shop.variants["tarn-20-turbo"].parts["pin_clip"]]
    assert demo.shop.specs[clips.part]["one_use"].value is True
    assert renewed["pin_clip"].count == demo.shop.count(demo.shop.variants["tarn-20-turbo"], "pin_clip") == 8


@pytest.mark.parametrize("variant", list(DEMO.shop.variants))
def test_everything_apart_consumes_everything(variant: str) -> None:
    """A block out on the bench has been through nearly every joint."""
    block = DEMO.shop.variants[variant].parts["block"]
    world = settle(DEMO.shop, DEMO.book, build(variant, fit={"block": block}))
    assert {
        "main_joint", "rod_joint", "head_joint", "sump_joint", "front_cover_joint", "timing_joint",
        "damper_joint", "rear_joint", "gearbox_joint", "cam_cover_joint", "water_joint", "inlet_joint",
        "exhaust_joint",
    } <= set(world.joints)  # fmt: skip
    assert not settle(DEMO.shop, DEMO.book, as_build(DEMO.shop.variants[variant])).joints
