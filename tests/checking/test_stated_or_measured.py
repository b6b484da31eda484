"""Sizes that must be held against each other, and what a used or machined part must be measured for.

Limits are those of the demo's own cards; that a used fastener is scrapped by its length and a bore by its
piston's card is common practice, no source.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

import compat
from compat.checking.check import Checked
from compat.library.library import Library
from compat.shop.models import TakeFrom
from tests.look import check, demo_shop

DEMO = demo_shop()
SHOP = compat.OpenShop(DEMO.shop, DEMO.book)


def verdicts(build: Any) -> dict[str, str]:
    return {finding.rule: finding.verdict for finding in check(DEMO.shop, DEMO.book, build).report.findings}


def changed(name: str, **entries: Any) -> Any:
    return SHOP.build(name).changed(**entries)


# --- pistons and bores


@pytest.mark.parametrize(
    ("bore", "size", "skirt", "far"),
    [
        ("86.000 mm", "ok", "ok", "ok"),  # 0.045 mm by the piston's card of 0.040 to 0.070 mm
        ("86.040 mm", "ok", "caution", "ok"),  # 0.085: beyond the card, within one more band of it (0.100)
        ("86.060 mm", "ok", "caution", "conflict"),  # 0.105
        ("86.150 mm", "conflict", "caution", "conflict"),
        ("87.000 mm", "conflict", "caution", "conflict"),  # one millimetre loose, once a caution and no more
        ("85.500 mm", "conflict", "conflict", "ok"),
    ],
)
def test_piston_against_the_finished_bore(bore: str, size: str, skirt: str, far: str) -> None:
    build = SHOP.build("street-turbo")
    work = [
        {"work": done.work, **({"bore": bore} if done.work == "hone-torque-plate" else dict(done.values))}
        for done in build.build.work
    ]
    found = verdicts(changed("street-turbo", work=work))
    assert found["piston-of-this-bore"] == size
    assert found["piston-skirt-clearance"] == skirt
    assert found["piston-skirt-far-off"] == far


def test_an_oversize_piston_in_a_standard_bore_is_a_conflict() -> None:
    found = verdicts(SHOP.build("tarn-20-base").fitting(piston="hg-piston-860-308-na"))
    assert found["piston-of-this-bore"] == "conflict"


# --- used fasteners


def used(**more: Any) -> Any:
    """A phase engine on a base engine's rod bolts that its card does not call one-use, and nothing renewed."""
    return changed("tarn-20-base", renew=[], fit={"rod": "tarn-20-phase-rod"}, **more)


def reusable(build: Any, limit: str | None = "42.4 mm") -> dict[str, str]:
    from compat.shop.specs import state

    kinds = DEMO.shop.kinds["rod_fastener"]
    own = {**DEMO.shop.specs["tarn-rod-bolt-m8"], "one_use": state(kinds["one_use"], "no")}
    own.pop("greatest_length")
    if limit:
        own["greatest_length"] = state(kinds["greatest_length"], limit)
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, "tarn-rod-bolt-m8": own})
    return {finding.rule: finding.verdict for finding in check(shop, DEMO.book, build.build).report.findings}


@pytest.mark.parametrize(
    ("length", "limit", "verdict"),
    [
        ("42.1 mm", "42.4 mm", "ok"),
        ("42.6 mm", "42.4 mm", "conflict"),
        (None, "42.4 mm", "unknown"),  # used again, and nobody has measured them
        ("42.1 mm", None, "unknown"),
    ],
)
def test_rod_bolts_used_again(length: str | None, limit: str | None, verdict: str) -> None:
    measured = {"rod_fastener.free_length": length} if length else {}
    assert reusable(used(measured=measured), limit)["used-rod-bolt-length"] == verdict


def test_new_rod_bolts_need_no_measuring() -> None:
    assert "used-rod-bolt-length" not in reusable(used().changed(renew="all"))
    assert "used-rod-bolt-length" not in reusable(used().changed(renew=["rod_fastener"]))
    assert "used-rod-bolt-length" not in verdicts(used())  # one-use: the joint asks for new ones instead


def test_a_session_sees_what_is_renewed(demo: Library) -> None:
    """What is kept hangs on the list of what is renewed and on what is bought; neither changes a part."""
    shop = compat.OpenShop(demo.shop, demo.book)
    builds = [used(), used().changed(renew="all"), used(), used().changed(renew=["rod_fastener"])]
    for build in builds:
        assert shop.check(build).outcomes == check(demo.shop, demo.book, build).outcomes


# --- what work and other parts leave unmeasured


def test_a_head_that_was_faced_is_measured_whatever_its_card_says() -> None:
    work = ["face-head"]
    assert "straighten-head" not in verdicts(changed("fell-30-base", work=work))
    assert verdicts(changed("fell-30-base", work=work))["faced-head-measured"] == "measure"
    straight = changed("fell-30-base", work=work, measured={"cylinder_head.cam_tunnel_line": "0.01 mm"})
    assert "faced-head-measured" not in verdicts(straight)
    bent = changed("fell-30-base", work=work, measured={"cylinder_head.cam_tunnel_line": "0.05 mm"})
    assert verdicts(bent)["straighten-before-facing"] == "conflict"
    mended = changed("fell-30-base", work=["straighten-head", "face-head"])
    assert verdicts(mended)["faced-head-measured"] == "ok"


CAMS = {"camshaft_inlet": "qn-cam-in-hyd-92", "camshaft_exhaust": "qn-cam-ex-hyd-92"}


@pytest.mark.parametrize(
    ("fit", "gap", "card", "trial"),
    [
        ({}, None, "ok", None),  # the head's card holds for the cams it came with
        ({}, "1.2 mm", "conflict", None),
        (CAMS, None, None, "measure"),  # on no card
        (CAMS, "1.2 mm", "conflict", None),
        (CAMS, "1.8 mm", "ok", None),
    ],
)
def test_valve_to_valve(fit: dict[str, str], gap: str | None, card: str | None, trial: str | None) -> None:
    measured = {"cylinder_head.valve_to_valve": gap} if gap else {}
    found = verdicts(changed("tarn-20-base", fit=fit, measured=measured))
    assert found.get("valve-to-valve") == card
    assert found.get("valve-to-valve-measured") == trial


def test_another_head_brings_its_own_unmeasured_gap() -> None:
    taken = [TakeFrom(variant="tarn-20-turbo", positions=("cylinder_head",))]
    found = verdicts(dataclasses.replace(SHOP.build("tarn-20-base").build, take_from=tuple(taken)))
    assert "valve-to-valve" not in found
    assert found["valve-to-valve-measured"] == "measure"


@pytest.mark.parametrize(
    ("variant", "work", "spec", "wrong", "rule"),
    [
        ("tarn-20-base", "straighten-crank", "crankshaft.runout", "0.06 mm", "crank-runout"),
        ("tarn-20-base", "align-hone", "block.main_line_error", "0.05 mm", "main-line-straight"),
        ("tarn-20-base", "resize-big-end", "rod.big_end_roundness", "0.02 mm", "big-end-roundness"),
    ],
)
def test_work_that_is_the_remedy_mends_it(variant: str, work: str, spec: str, wrong: str, rule: str) -> None:
    from compat.shop.specs import state

    position, _, name = spec.partition(".")
    part = DEMO.shop.variants[variant].parts[position]
    own = {**DEMO.shop.specs[part], name: state(DEMO.shop.kinds[position][name], wrong)}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, part: own})

    def found(build: Any) -> str:
        report = check(shop, DEMO.book, build.build).report
        return next(finding.verdict for finding in report.findings if finding.rule == rule)

    assert found(changed(variant)) == "conflict"
    assert found(changed(variant, work=[work])) == "ok"


def test_a_cam_made_for_no_phaser_meets_the_piston_on_an_engine_with_one() -> None:
    """Its lobe centre is that of a cam which stays where it is; turned fifty degrees early it hits."""
    build = SHOP.build("tarn-20-phase").fitting(camshaft_inlet="qn-cam-in-solid-94")
    report = check(DEMO.shop, DEMO.book, build).report
    found = next(finding for finding in report.findings if finding.rule == "piston-to-inlet-valve")
    assert found.verdict == "conflict"


# --- a goal out of reach is no unknown


def test_what_the_cycle_cannot_reach_is_said_once_by_the_rule_of_it() -> None:
    """A goal that knock forbids: the knock rules say so; what rests on the gas does not repeat it."""
    checked: Checked = SHOP.check(changed("tarn-20-turbo").aiming(power="330 kW", boost="250 kPa")).checked
    found = {outcome.rule: outcome.verdict for outcome in checked.outcomes}
    assert found["knock-limit-at-power"] in ("conflict", "shortfall")
    assert "manifold-heat" not in found


def test_a_spec_that_the_cycle_lacks_is_an_unknown_of_all_that_rests_on_it() -> None:
    own = {key: value for key, value in DEMO.shop.specs["pump-98"].items() if key != "density"}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, "pump-98": own})
    report = check(shop, DEMO.book, "street-turbo").report
    found = {finding.rule: finding for finding in report.findings}
    for rule in (
        "manifold-heat",
        "knock-limit-at-power",
        "manifold-pressure-for-power",
    ):
        assert found[rule].verdict == "unknown"
        assert found[rule].unstated == ("fuel.density",)
