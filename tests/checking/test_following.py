"""Who follows what a check offers comes to an end, and never back to where he was.

`FOLLOW_WALKS=200` walks from as many broken builds; without it a few are walked, and the rings that there were.
"""

from __future__ import annotations

import os
from collections.abc import Mapping

import pytest

import compat
from compat.checking.check import Checked
from compat.checking.outcome import OUT, RANK, Met
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Aim, Change, Fit, change_of, with_changes
from compat.words.remedying import Remedier
from compat.words.reporting import report
from tests.checking.following import PICKS, Step, Walk, broken, follow
from tests.checking.printed import opened

WALKS = int(os.environ.get("FOLLOW_WALKS", "4"))

RINGS: Mapping[str, tuple[str, tuple[Change, ...]]] = {
    "fingers in a head for buckets, and cams with and without a target": (
        "street-turbo",
        (Fit("pressure_cap", "cb-cap-130"), Fit("tappet", "tarn-finger")),
    ),
    "a gasket for the valves, and one for the clamp that only a long calculation sees": (
        "tarn-20-phase",
        (
            Fit("cylinder_head", "tarn-20-turbo-head"),
            Fit("head_gasket", "lg-gasket-copper-875-150-j1"),
            Aim("power", "119 kW"),
            Aim("torque", "199 N*m"),
        ),
    ),
    "a blank that is only to be added, and is told to be left out": (
        "endurance-ethanol",
        (Fit("silencer", "vm-silencer-76"), Aim("power", "211 kW"), Aim("torque", "361 N*m")),
    ),
}
"""Builds from which remedies led in a ring, by what went round."""


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return opened()


def against(checked: Checked) -> tuple[int, int]:
    """How much speaks against a build as it stands, and how much of its needs is only to be added."""
    rules = sum(RANK[one.verdict] <= RANK["unknown"] for one in checked.judged.outcomes.values())
    met: dict[str, bool] = {}
    for one in checked.needs.outcomes:
        if RANK[one.verdict] <= OUT and isinstance(one.seen, Met):
            met[one.rule] = met.get(one.rule, True) and one.seen.provider is not None
    return rules + sum(not added for added in met.values()), sum(met.values())


def ended(walk: Walk) -> bool:
    return walk.ended in ("clean", "unproven", "no remedy")


@pytest.mark.parametrize("ring", RINGS)
@pytest.mark.parametrize("pick", ["first", "random"])
def test_a_ring_that_was_is_none(ring: str, pick: str, shop: compat.OpenShop) -> None:
    build, changes = RINGS[ring]
    walk = follow(shop, with_changes(shop.build(build), changes), PICKS[pick](1))
    assert ended(walk), [f"{step.rule}: {step.says}" for step in walk.steps[walk.back_to :]]
    assert len(walk.steps) > 1


@pytest.mark.parametrize("pick", ["first", "random"])
def test_following_comes_to_an_end(pick: str, shop: compat.OpenShop) -> None:
    for number, (name, ready) in enumerate(broken(shop, WALKS, seed=7)):
        walk = follow(shop, ready, PICKS[pick](number))
        assert ended(walk), (name, walk.steps[walk.back_to :])


@pytest.mark.parametrize("build", ["endurance-ethanol", "long-stroke-20", "street-turbo"])
def test_following_cautions_comes_to_an_end(build: str, shop: compat.OpenShop) -> None:
    """Of sound builds nothing but cautions is left to follow; a caution for another is no remedy."""
    walk = follow(shop, shop.build(build), PICKS["first"](1), cautions=True)
    assert walk.ended == "clean", [f"{step.rule}: {step.says}" for step in walk.steps[walk.back_to :]]
    assert walk.steps


def test_a_ring_would_be_seen(shop: compat.OpenShop) -> None:
    """Two parts to and fro, whatever is offered."""
    ready = shop.build("street-turbo").fitting(head_gasket="lg-gasket-comp-870-120-j1", rod="tarn-22-long-rod")
    parts = ["lg-gasket-copper-875-150-j1", "lg-gasket-comp-870-120-j1"] * 2

    def to_and_fro(offered: list[list[Step]]) -> Step:
        return Step("", "", (Fit("head_gasket", parts.pop(0)),))

    walk = follow(shop, ready, to_and_fro)
    assert (walk.ended, walk.back_to) == ("ring", 0)


@pytest.mark.parametrize("ring", RINGS)
def test_what_is_offered_leaves_less_against_the_build(ring: str, shop: compat.OpenShop) -> None:
    """By whole checks of the build with each remedy: so no row of them can be endless."""
    build, changes = RINGS[ring]
    ready = with_changes(shop.build(build), changes)
    checked = shop.session.check(ready)
    before, tried = against(checked), 0
    for finding in map(Remedier(checked).finding, report(checked, fine=False).findings):
        if RANK[finding.verdict] > RANK["unknown"] or " added: " in finding.because:
            continue
        for way in finding.ways_out:
            if any({"leave_out", "without_work", "strike"} & entry.keys() for entry in way.changes):
                continue  # held by a whole check, in which nothing comes up
            after = shop.session.check(_done(ready, way.changes), checked)
            assert against(after) < before, (finding.rule, way.says)
            tried += 1
    assert tried > 2


def _done(ready: ReadyBuild, changes: tuple[Mapping[str, str], ...]) -> ReadyBuild:
    return with_changes(ready, map(change_of, changes))


def test_needs_that_come_up_are_told(shop: compat.OpenShop) -> None:
    """A turbocharger without a gate of its own wants one: the check adds it, and the remedy says so."""
    build, changes = RINGS["a blank that is only to be added, and is told to be left out"]
    checked = shop.session.check(with_changes(shop.build(build), changes))
    finding = next(one for one in report(checked).findings if one.rule == "manifold-pressure-for-power")
    way = next(way for way in Remedier(checked).finding(finding).ways_out if "sk-56-ball" in way.says)
    assert way.asks
    assert not {*way.asks} & {*way.raises}
    assert "; then to add: a wastegate" in way.says
