"""Work in its order and within what the part has to give; metal is never put back.

Bounds are of the demo's own walls, faces and masses; the sizes of the builds are worked by hand from its files.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from compat import Faults, OpenShop
from compat.library.library import Library
from compat.shop.builds import make_build
from compat.shop.specs import state
from compat.words.report import Finding
from tests.look import check

GOAL = {"power": "92 kW", "at": "5800 rpm"}


def findings(demo: Library, work: list[Any], variant: str = "tarn-20-base", **says: Any) -> dict[str, Finding]:
    build = make_build(demo.shop, variant=variant, goal=GOAL, renew="all", work=work, **says)
    return {finding.rule: finding for finding in check(demo.shop, demo.book, build).report.findings}


# what work takes


@pytest.mark.parametrize(
    ("work", "size", "verdict"),
    [
        # 6 mm of iron behind the foot of the bore, 3 mm are to be left
        ("notch-block", {"depth": "3 mm"}, "ok"),
        ("notch-block", {"depth": "3.1 mm"}, "conflict"),
        ("notch-block", {"depth": "30 mm"}, "conflict"),
        # weights of 76 mm that may be turned to 72 mm
        ("turn-counterweights", {"depth": "4 mm"}, "ok"),
        ("turn-counterweights", {"depth": "60 mm"}, "conflict"),
        # 222.50 mm of deck, 222.00 mm at the least
        ("deck-block", {"depth": "0.4 mm"}, "ok"),
        ("deck-block", {"depth": "0.7 mm"}, "conflict"),
        # valves 1.47 mm above the face
        ("face-head", {"depth": "0.9 mm"}, "ok"),
        ("face-head", {"depth": "1.0 mm"}, "conflict"),
        # a bore of 85.50 mm in walls of 5.5 mm
        ("hone-torque-plate", {"bore": "86.000 mm"}, "ok"),
        ("hone-torque-plate", {"bore": "85.000 mm"}, "conflict"),
        ("hone-torque-plate", {"bore": "93.000 mm"}, "conflict"),
        # 48 mm journals
        ("grind-crank", {"journal": "47.75 mm"}, "ok"),
        ("grind-crank", {"journal": "48.25 mm"}, "conflict"),
        ("grind-crank", {"journal": "30 mm"}, "conflict"),
        ("grind-nose-flats", {"across_flats": "35.8 mm"}, "ok"),
        ("grind-nose-flats", {"across_flats": "36.5 mm"}, "conflict"),
        ("grind-nose-flats", {"across_flats": "20 mm"}, "conflict"),
        ("align-hone", {"lift": "0.05 mm"}, "ok"),
        ("align-hone", {"lift": "1 mm"}, "conflict"),
        ("align-bore", {"lift": "1 mm"}, "conflict"),
        ("deepen-head-threads", {"depth": "5 mm"}, "ok"),
        ("deepen-head-threads", {"depth": "20 mm"}, "conflict"),
        # guides of 12 mm
        ("cut-guides", {"depth": "5 mm"}, "ok"),
        ("cut-guides", {"depth": "8 mm"}, "conflict"),
        ("relieve-head", {"depth": "2 mm"}, "ok"),
        ("relieve-head", {"depth": "6 mm"}, "conflict"),
        ("bush-small-end", {"bore": "22.012 mm"}, "ok"),
        ("bush-small-end", {"bore": "26 mm"}, "conflict"),
        ("hone-small-end", {"bore": "20.99 mm"}, "ok"),
        ("hone-small-end", {"bore": "20.5 mm"}, "conflict"),
        ("narrow-small-end", {"width": "21 mm"}, "ok"),
        ("narrow-small-end", {"width": "10 mm"}, "conflict"),
        ("cut-pockets", {"depth": "0.5 mm"}, "ok"),
        ("cut-pockets", {"depth": "8 mm"}, "conflict"),
        ("file-rings", {"gap": "0.52 mm"}, "ok"),
        ("file-rings", {"gap": "0.1 mm"}, "conflict"),
        ("file-rings", {"gap": "5 mm"}, "conflict"),
        ("weld-pickup", {"drop": "151 mm"}, "ok"),
        ("weld-pickup", {"drop": "400 mm"}, "conflict"),
    ],
)
def test_work_within_what_the_part_has_to_give(
    work: str, size: dict[str, str], verdict: str, demo: Library
) -> None:
    found = findings(demo, [{"work": work, **size}])
    held = {name: finding for name, finding in found.items() if name.startswith(f"work-{work}-")}
    assert held
    worst = "conflict" if any(finding.verdict == "conflict" for finding in held.values()) else "ok"
    assert worst == verdict
    for finding in held.values():
        assert finding.because
        assert finding.verdict == "ok" or finding.remedies


def test_a_second_cut_is_held_against_what_the_first_left(demo: Library) -> None:
    """Two cuts of 0.3 mm in a block that has 0.5 mm to give."""
    cut = {"work": "deck-block", "depth": "0.3 mm"}
    assert findings(demo, [cut])["work-deck-block-depth"].verdict == "ok"
    build = make_build(demo.shop, variant="tarn-20-base", goal=GOAL, work=[cut, cut])
    verdicts = [f.verdict for f in check(demo.shop, demo.book, build).report.findings if "deck-block" in f.rule]
    assert sorted(verdicts) == ["conflict", "ok"]


@pytest.mark.parametrize(
    ("work", "size"),
    [
        # 6 mm of metal each, of which 3 mm are to be left: twice 2 mm leave 2 mm
        ({"work": "notch-block", "depth": "2 mm"}, "work-notch-block-depth"),
        ({"work": "relieve-head", "depth": "2 mm"}, "work-relieve-head-depth"),
        # bosses of 42 mm, threads of 28 mm: 11 mm to give, and twice 6 mm come out in the water
        ({"work": "deepen-head-threads", "depth": "6 mm"}, "work-deepen-head-threads-depth"),
    ],
)
def test_work_done_again_does_not_come_through_the_wall(work: dict[str, str], size: str, demo: Library) -> None:
    assert findings(demo, [work])[size].verdict == "ok"
    build = make_build(demo.shop, variant="tarn-20-base", goal=GOAL, work=[work, work])
    verdicts = {
        outcome.verdict
        for outcome in check(demo.shop, demo.book, build).outcomes
        if outcome.rule.startswith(size)
    }
    assert "conflict" in verdicts


def test_the_deeper_pocket_bounds_the_cutter(demo: Library) -> None:
    cut = [{"work": "cut-pockets", "depth": "1 mm"}]
    assert findings(demo, cut)["work-cut-pockets-depth"].verdict == "ok"
    own = demo.shop.specs["tarn-20-base-piston"]
    deep = state(demo.shop.kinds["piston"]["pocket_depth_exhaust"], "5 mm")  # of a crown of 8.5 mm
    other = {**own, "pocket_depth_exhaust": deep}
    shop = dataclasses.replace(demo.shop, specs={**demo.shop.specs, "tarn-20-base-piston": other})
    build = make_build(shop, variant="tarn-20-base", goal=GOAL, work=cut)
    outcomes = check(shop, demo.book, build).outcomes
    assert "conflict" in {one.verdict for one in outcomes if one.rule == "work-cut-pockets-depth"}


def test_a_cut_deck_leaves_as_much_under_the_head_threads(demo: Library) -> None:
    """Boss and thread lose the same, so no more may be drilled after the cut than before it."""
    deep = {"work": "deepen-head-threads", "depth": "11 mm"}
    assert findings(demo, [deep])["work-deepen-head-threads-depth"].verdict == "ok"
    cut = {"work": "deck-block", "depth": "0.4 mm"}
    assert findings(demo, [cut, deep])["work-deepen-head-threads-depth"].verdict == "ok"
    deeper = {"work": "deepen-head-threads", "depth": "11.2 mm"}
    assert findings(demo, [cut, deeper])["work-deepen-head-threads-depth"].verdict == "conflict"


def test_a_bound_that_nobody_stated_is_not_known(demo: Library) -> None:
    """The long crankshaft turns its pump by chain; its card knows no flats to grind."""
    crank = {"fit": {"crankshaft": "tarn-22-long-crankshaft"}}
    found = findings(demo, [{"work": "grind-nose-flats", "across_flats": "36 mm"}], **crank)
    finding = found["work-grind-nose-flats-across-flats"]
    assert finding.verdict == "unknown"
    assert finding.unstated == ("crankshaft.pump_flats",)


@pytest.mark.parametrize("size", ["-0.2 mm", "-30 mm", "-0.2 mm ±0.5"])
def test_metal_is_not_put_back(size: str, demo: Library) -> None:
    with pytest.raises(Faults, match="is below zero"):
        findings(demo, [{"work": "deck-block", "depth": size}])


# the order


@pytest.mark.parametrize(
    ("work", "late"),
    [
        (["assemble", {"work": "hone-torque-plate", "bore": "86.000 mm"}], "assemble"),
        (["final-wash", "bore-block"], "final-wash"),
        (["renew-plugs", "final-wash"], "renew-plugs"),
        (["first-start", "prime-oil"], "first-start"),
        (["cut-seats", "fit-guides"], "cut-seats"),
        ([{"work": "hone-torque-plate", "bore": "86.000 mm"}, "deck-block"], "hone-torque-plate"),
        (["balance", {"work": "turn-counterweights", "depth": "1 mm"}], "balance"),
        # a machinist's order, common practice, no source
        (["balance", "redrill-flywheel"], "balance"),
        (["deck-block", "fit-deck-insert"], "deck-block"),
        ([{"work": "hone-torque-plate", "bore": "86.000 mm"}, "fit-liners"], "hone-torque-plate"),
        (
            [
                {"work": "hone-torque-plate", "bore": "86.000 mm"},
                {"work": "deepen-head-threads", "depth": "1 mm"},
            ],
            "hone-torque-plate",
        ),
        ([{"work": "deepen-head-threads", "depth": "1 mm"}, "retap-block"], "deepen-head-threads"),
        (["polish-journals", "straighten-crank"], "polish-journals"),
        (["cut-seats", "straighten-head"], "cut-seats"),
        (["weigh-match", {"work": "hone-small-end", "bore": "20.99 mm"}], "weigh-match"),
        (["trial-build", "deck-block"], "trial-build"),
        (["trial-build", {"work": "face-head", "depth": "0.1 mm"}], "trial-build"),
        (["measure", "polish-journals"], "measure"),
        (["assemble", "measure"], "assemble"),
        (["assemble", "strip-clean"], "assemble"),
        (["renew-plugs", "strip-clean"], "renew-plugs"),
        (["set-lash", "cut-seats"], "set-lash"),
        (["first-start", "weld-lambda-boss"], "first-start"),
        # through work that is dragged in, or an assembly that nobody lists
        (["balance", {"work": "narrow-small-end", "width": "21 mm"}], "balance"),
        (["calibrate", "adapt-loom-ecu"], "calibrate"),
        (["first-start", "deck-block"], "first-start"),
    ],
)
def test_work_done_before_what_it_must_follow(work: list[Any], late: str, demo: Library) -> None:
    finding = findings(demo, work)[f"order-{late}"]
    assert finding.verdict == "conflict"
    assert "must come first" in finding.because
    turned = findings(demo, work[::-1])
    assert not [name for name in turned if name.startswith("order-")]


def test_work_done_again_is_in_order_once_it_follows(demo: Library) -> None:
    """Tried, pockets cut, tried again: the second trial is what the pockets are tried by."""
    pockets = {"work": "cut-pockets", "depth": "0.3 mm"}
    found = findings(demo, ["trial-build", pockets, "trial-build"])
    assert not [name for name in found if name.startswith("order-")]
    assert "order-cut-pockets" in findings(demo, [pockets, "trial-build"])


@pytest.mark.parametrize(
    ("work", "late"),
    [
        (["deck-block", {"work": "hone-torque-plate", "bore": "86.000 mm"}, "deck-block"], "hone-torque-plate"),
        (["deck-block", "trial-build", "deck-block"], "trial-build"),
        (["trial-build", "assemble", "trial-build"], "assemble"),
        (["bore-block", "assemble", "bore-block"], "assemble"),
    ],
)
def test_metal_off_again_undoes_what_followed(work: list[Any], late: str, demo: Library) -> None:
    assert findings(demo, work)[f"order-{late}"].verdict == "conflict"
    assert not [name for name in findings(demo, work[:-1]) if name.startswith("order-")]


def test_dragged_in_work_is_done_where_it_belongs(demo: Library) -> None:
    """A ground crankshaft is soft until it is nitrided again, which grinding drags in."""
    grind = {"work": "grind-crank", "journal": "47.75 mm"}
    build = make_build(demo.shop, variant="tarn-20-turbo", goal=GOAL, renew="all", work=[grind])
    order = [work.work for work, _ in build.sequence]
    assert order.index("grind-crank") < order.index("re-nitride") < order.index("polish-journals")
    assert order.index("re-nitride") < order.index("balance")
    world = check(demo.shop, demo.book, build).world
    assert world.settled.specs["crankshaft", "hardening"].value == "nitride"


def test_dragged_in_work_of_no_stated_size_leaves_the_size_unknown(demo: Library) -> None:
    """Bored, and to be honed to a bore that nobody has stated."""
    found = findings(demo, ["bore-block"])
    assert found["piston-skirt-clearance"].verdict == "unknown"
    assert "block.bore_diameter" in found["piston-skirt-clearance"].unstated
    assert "work-hone-torque-plate-bore" not in found


# one change at a time


def test_a_session_finds_what_a_check_by_itself_finds(demo: Library) -> None:
    """Parts that have more or less to give, and parts that the work looks at, one after the other."""
    work = [
        {"work": "notch-block", "depth": "2.5 mm"},
        {"work": "hone-torque-plate", "bore": "86.000 mm"},
        {"work": "turn-counterweights", "depth": "3.5 mm"},
        {"work": "cut-pockets", "depth": "1 mm"},
        "final-wash",
        "bore-block",
    ]
    shop = OpenShop(demo.shop, demo.book)
    build = make_build(demo.shop, variant="tarn-20-phase", goal=GOAL, renew="all", work=work)
    for position, part in (
        ("block", "tarn-22-long-block"),
        ("crankshaft", "tarn-22-long-crankshaft"),
        ("piston", "hg-piston-860-308-na"),
        ("coolant_sensor", "fell-30-coolant-sensor"),
        ("piston", None),
        ("piston", "tarn-20-base-piston"),
        ("block", "fell-30-block"),
    ):
        build = build.fitting(**{position: part})
        assert shop.check(build).outcomes == check(demo.shop, demo.book, build).outcomes


# what a shop says of it


@pytest.mark.parametrize(
    ("takes", "message"),
    [
        ("{depth: {unit: mm, at_most: 1 mm}}", "a bound says 'why'"),
        ("{depth: {unit: mm, at_most: 1 kPa, why: Thin.}}", "'1 kPa' is a pressure; 'depth' is a length"),
        ("{depth: {unit: mm, at_most: block.bor, why: Thin.}}", "did you mean"),
        ("{depth: {unit: mm, at_most: '\"thin\"', why: Thin.}}", "not a number"),
        ("{depth: {unit: mm, default: -1 mm}}", "is below zero"),
    ],
)
def test_a_bound_that_cannot_be_held_is_a_fault_of_its_file(takes: str, message: str, tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", "takes: {depth: mm}", f"takes: {takes}")
    assert any(message in str(fault) for fault in tiny.faults())
