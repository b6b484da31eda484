"""The demo shop is large and varied enough to show everything, and no rule of its book is idle."""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from compat import Check
from compat.checking.lint import lint
from compat.library.library import Library
from compat.rulebook.models import KEYS, VERDICTS
from compat.shop.models import Build, Part, WorkDone
from compat.shop.shop import Shop
from compat.units import read_band
from tests.look import check


def part_of(demo: Library, variant: str, position: str) -> Part | None:
    name = demo.shop.variants[variant].parts.get(position)
    return demo.shop.parts[name] if name else None


def test_size_of_the_shop(demo: Library) -> None:
    shop = demo.shop
    assert len(shop.families) >= 2
    assert len(shop.variants) >= 5
    assert len(shop.positions) >= 45
    assert len(shop.parts) >= 150
    assert len(shop.suppliers) >= 6
    assert len(shop.works) >= 20
    assert len(shop.builds) >= 6
    assert len(demo.book.rules) >= 150
    assert shop.info is not None


def test_families_differ_in_layout(demo: Library) -> None:
    layouts = {
        (numbers["cylinders"], numbers.get("banks", 1))
        for numbers in (dict(family.numbers) for family in demo.shop.families.values())
    }
    assert len(layouts) >= 2


def test_variants_cover_the_usual_sisters(demo: Library) -> None:
    """Natural without phaser and cam sensor; with phaser; factory turbo; long stroke; and another family."""
    base, phase, turbo, long = (f"tarn-{name}" for name in ("20-base", "20-phase", "20-turbo", "22-long"))
    shop = demo.shop
    assert part_of(demo, base, "turbocharger") is None
    assert part_of(demo, base, "cam_phaser") is None
    assert part_of(demo, base, "cam_sensor") is None
    offers = {o.feature for name in shop.variants[base].parts.values() for o in shop.parts[name].offers}
    assert "cam_sensor_boss" not in offers
    assert part_of(demo, phase, "cam_phaser") is not None
    assert part_of(demo, turbo, "turbocharger") is not None
    stroke = {}
    for variant in (base, long):
        crank = shop.variants[variant].parts["crankshaft"]
        stroke[variant] = shop.specs[crank]["stroke"].value.nominal
    assert stroke[long] > stroke[base]
    assert shop.variants[long].parts["crankshaft"] != shop.variants[base].parts["crankshaft"]
    assert {variant.family for variant in shop.variants.values()} == set(shop.families)


def test_every_required_position_is_filled_in_every_variant(demo: Library) -> None:
    for variant in demo.shop.variants.values():
        lacking = {p.position for p in demo.shop.positions.values() if p.required} - set(variant.parts)
        assert not lacking - {"fuel"}, variant.variant


def test_joints_reach_from_sump_to_cam_cover(demo: Library) -> None:
    joints = demo.shop.joints
    assert {"sump_joint", "cam_cover_joint", "head_joint", "rod_joint", "main_joint", "timing_joint"} <= set(
        joints
    )
    behind = Counter(position for joint in joints.values() for position in joint.behind)
    assert not {position: count for position, count in behind.items() if count > 1}
    ruled = {rule.rule.renew for rule in demo.book.rules.values() if rule.rule.renew}
    assert ruled == set(joints)


def test_every_rule_says_why_and_on_whose_word(demo: Library) -> None:
    for rule in demo.book.rules.values():
        assert len(rule.rule.why) > 15, rule.rule.rule
        assert rule.rule.why.rstrip()[-1] in ".)!", rule.rule.rule
        assert len(rule.rule.source) > 5, rule.rule.rule
        assert len(rule.rule.title) > 5, rule.rule.rule


def test_what_can_fail_says_what_to_do(demo: Library) -> None:
    """A limit, match, load, exclusion or renewal that fails names a way out."""
    mute = [
        rule.rule.rule
        for rule in demo.book.rules.values()
        if rule.rule.sort in ("limits", "match", "load", "never", "renew") and not rule.rule.remedies
    ]
    assert not mute


def test_every_kind_of_rule_and_verdict_occurs(demo: Library, checked: dict[str, Check]) -> None:
    assert {rule.rule.sort for rule in demo.book.rules.values()} == set(KEYS.values())
    verdicts = Counter(finding.verdict for result in checked.values() for finding in result.report.findings)
    assert set(verdicts) == set(VERDICTS)


def test_parts_are_sold_with_prices(demo: Library) -> None:
    shop = demo.shop
    sold = [price for part in shop.parts.values() for price in part.sold_by]
    busy = {price.supplier for price in sold} | {work.done_by for work in shop.works.values()}
    assert set(shop.suppliers) <= busy
    assert all(price.price.amount > 0 for price in sold)
    # one code of a supplier is one thing: it has one price
    prices: dict[tuple[str, str], set[str]] = {}
    for price in sold:
        if price.code:
            prices.setdefault((price.supplier, price.code), set()).add(f"{price.price} for {price.pack}")
    assert not {code: asked for code, asked in prices.items() if len(asked) > 1}
    for part in shop.parts.values():
        if part.sold_by and not any(part.part in v.parts.values() for v in shop.variants.values()):
            assert all(price.lead is not None for price in part.sold_by), part.part


def test_lint_has_nothing_to_remark(demo: Library) -> None:
    assert [str(remark) for remark in lint(demo)] == []


# rules that the demo's own builds do not come across

SPECIAL: list[tuple[str, dict[str, Any], dict[str, dict[str, str | None]], set[str]]] = [
    # variant; what the build says; what its parts are made to state; rules met
    (
        "tarn-20-base",
        {},
        {
            "tarn-20-base-block": {
                "bore_roundness": "0.004 mm",
                "bore_taper": "0.008 mm",
                "bore_rpk": "0.3 um",
                "bore_rk": "0.9 um",
                "bore_rvk": "1.6 um",
                "crosshatch_angle": "45 deg",
                "main_line_error": "0.01 mm",
                "deck_style": "open",
                "liner_style": "plated",
                "balance_shaft_feeds": "2",
            }
        },
        {
            "bore-roundness", "bore-taper", "bore-peaks", "bore-core-roughness", "bore-oil-holding-valleys",
            "plated-bore-has-its-plating",
            "bore-cross-hatch", "main-line-straight", "deck-carries-pressure", "balance-shaft-feeds-closed",
        },
    ),
    (
        "tarn-20-base",
        {},
        {"tarn-main-bearing": {"undersize": "0.25 mm"}, "tarn-20-base-rod-bearing": {"undersize": "0.25 mm"}},
        {"main-shell-for-ground-journal", "rod-shell-for-ground-journal"},
    ),
    (
        "tarn-20-base",
        {},
        {"tarn-main-bearing": {"least_clearance": None}, "tarn-20-base-rod-bearing": {"least_clearance": None}},
        {"main-clearance-usual", "big-end-clearance-usual"},
    ),
    ("tarn-20-base", {"work": {"cut-ring-grooves": {"depth": "0.5 mm"}}}, {}, {"grooves-want-rings"}),
    (
        "tarn-20-base",
        {"fit": {"cylinder_liner": "hl-dry-liner-855"}},
        {"hl-dry-liner-855": {"style": "wet", "protrusion": "0.05 mm", "greatest_step": "0.01 mm"}},
        {"liner-protrusion", "liner-step"},
    ),
    (
        "tarn-20-turbo",
        {
            "goal": {
                "torque": None, "torque_at": None, "duty": "sprint",
                "rev_limit": "7600 rpm", "at": "4500 rpm",
            }
        },
        {
            "tarn-20-turbo-knock-sensor": {"kind": "resonant", "resonance": "7.0 kHz"},
            "tarn-20-turbo-ecu": {"load_sensing": "air_mass"},
        },
        {
            "knock-resonance", "air-mass-meter-present", "blow-off-and-air-mass-meter", "peak-torque-stated",
            "low-speed-boost", "scatter-shield-by-duty",
        },
    ),
    (
        "tarn-20-turbo",
        {
            "setup": {"knock_control": "no"},
            "fit": {"charge_pipe": "cb-charge-pipe-63", "exhaust_manifold": "vm-manifold-log-25"},
            "leave_out": ["turbo_water_line"],
        },
        {
            "cb-charge-pipe-63": {"beaded": "no"},
            "vm-manifold-log-25": {"material": "mild_steel", "wrapped": "yes"},
            "tarn-20-turbo-exhaust-stud": {"used": "yes"},
        },
        {
            "boost-without-knock-control", "beaded-pipes", "wrapped-mild-steel", "old-exhaust-studs",
            "unused-turbo-water-port",
        },
    ),
    (
        "tarn-20-phase",
        {"setup": {"chassis_can": "no", "gauge_curve": "gs-70"}},
        {
            "tarn-phase-cam-sensor": {"type": "vr", "rated_signal": "4 V", "rated_speed": "300 rpm"},
            "tarn-20-phase-crankshaft": {"firing": "uneven"},
        },
        {"cam-signal-cranking", "cam-signal-at-the-limit", "uneven-firing"},
    ),
    (
        "tarn-20-turbo",
        {
            "fit": {"ecu": "wx-ecu-6", "can_gateway": "wx-can-gateway"},
            "setup": {"chassis_messages": ["dash", "gearbox", "immobiliser"]},
        },
        {"tarn-20-crank-sensor": {"place": "flywheel"}},
        {"gateway-answers-the-gearbox", "gateway-answers-the-immobiliser", "crank-sensor-mount-flywheel"},
    ),
    (
        "tarn-20-base",
        {
            "fit": {
                "pump_wiring": "wx-pump-wiring",
                "head_gasket": "fell-30-head-gasket",
                "sump": "rd-sump-turbo-deep",
                "rod_fastener": "tarn-20-turbo-rod-bolt",
                "water_pump": "tarn-22-long-water-pump",
                "thermostat_housing": "fell-30-thermostat-housing",
            },
        },
        {
            "wx-pump-wiring": {"relay": "no"},
            "fell-30-head-gasket": {"type": "composite"},
            "rd-sump-turbo-deep": {"material": "alloy"},
            "tarn-22-long-water-pump": {"drive": "electric"},
            "fell-30-thermostat-housing": {"outlet": "rear"},
        },
        {
            "pump-relay-and-cut-off", "gasket-thickness-compressed", "alloy-sump-rear-step",
            "other-bolts-in-split-rods", "water-pump-gone-electric", "outlet-at-the-bulkhead",
        },
    ),
    (
        "tarn-20-phase",
        {
            "fit": {"cylinder_head": "tarn-20-turbo-head", "rod_fastener": "tarn-20-turbo-rod-bolt"},
            "leave_out": ["head_restrictor"],
        },
        {
            "tarn-cam-phaser": {"moves": "exhaust"},
            "tarn-20-phase-rod": {"cap_style": "machined"},
            "tarn-20-phase-piston": {"crown_volume": "-3 cm^3"},
        },
        {
            "exhaust-phaser-on-its-cam", "big-end-after-other-bolts", "domed-piston-tried",
            "head-restrictor-left-out",
        },
    ),
    (
        "tarn-20-base",
        {
            "measured": {
                "rod_fastener.free_length": "42.1 mm", "main_fastener.free_length": "96.0 mm",
                "head_fastener.stretch_found": "0.1 mm",
            },
        },
        {},
        {"used-rod-bolt-length", "used-main-fastener-length", "used-head-fastener-length"},
    ),
    (
        "tarn-20-turbo",
        {
            "fit": {"exhaust_manifold": "vm-manifold-tube-25", "scavenge_pump": "rd-scavenge-3"},
            "leave_out": ["turbo_feed_line"],
        },
        {
            "rd-scavenge-3": {"pressure_stage": "yes"},
            "tarn-20-turbo-inlet-manifold": {"throttles": "4"},
        },
        {
            "gate-flange-closed", "outside-pressure-stage", "unused-turbo-oil-port", "servo-vacuum",
            "load-signal-of-many-throttles",
        },
    ),
    (
        "fell-30-base",
        {"fit": {"piston": "hg-piston-860-308-na"}},
        {"fell-30-block": {"deck_height": "210.40 mm", "liner_style": "wet"}},
        {"wet-liners-in-place", "v-crankshaft-balanced-for-its-pistons", "v-inlet-face"},
    ),
    (
        "tarn-20-base",
        {
            "measured": {
                "cylinder_head.inlet_piston_gap": "1.9 mm",
                "cylinder_head.exhaust_piston_gap": "2.4 mm",
            }
        },
        {},
        {"piston-tried-near-inlet-valve", "piston-tried-near-exhaust-valve"},
    ),
]  # fmt: skip


def special(demo: Library, stating: Callable[..., Shop], number: int) -> Check:
    """One of the special builds, checked in a shop whose parts state what it takes."""
    variant, says, said, _ = SPECIAL[number]
    shop = stating(said)
    name = f"special-{number}"
    goal = shop.variants[variant].rated
    given = {k: v if v is None or k == "duty" else read_band(v) for k, v in says.get("goal", {}).items()}
    build = Build(
        build=name,
        name="Special",
        variant=variant,
        goal=dataclasses.replace(goal, **given),
        fit=says.get("fit", {}),
        leave_out=dict.fromkeys(says.get("leave_out", ()), ""),
        setup=says.get("setup", {}),
        measured=says.get("measured", {}),
        work=tuple(WorkDone(work=work, values=values) for work, values in says.get("work", {}).items()),
    )
    return check(shop, demo.book, build)


@pytest.mark.parametrize("number", range(len(SPECIAL)))
def test_special_builds_meet_their_rules(number: int, demo: Library, stating: Callable[..., Shop]) -> None:
    found = {finding.rule for finding in special(demo, stating, number).report.findings}
    assert not SPECIAL[number][3] - found


def test_every_rule_is_met(
    demo: Library, checked: dict[str, Check], mixed: list[Check], stating: Callable[..., Shop]
) -> None:
    """By a variant, a demo build, a worked case, a mixture of the whole catalogue, or a special build."""
    results = [*checked.values(), *mixed, *(special(demo, stating, number) for number in range(len(SPECIAL)))]
    met = {finding.rule for result in results for finding in result.report.findings}
    silent = {joint.joint for joint in demo.shop.joints.values() if not joint.renews}  # nothing to say of them
    assert (
        sorted(n for n, rule in demo.book.rules.items() if n not in met and rule.rule.renew not in silent) == []
    )


def test_the_demo_s_own_builds_meet_most_rules(demo: Library, checked: dict[str, Check]) -> None:
    met = {finding.rule for result in checked.values() for finding in result.report.findings}
    assert len(set(demo.book.rules) & met) > 0.85 * len(demo.book.rules)


def test_any_mixture_gives_a_report(mixed: list[Check], demo: Library) -> None:
    """Whatever is thrown together, each finding is one a person can act on."""
    fitted = {entry.part.part for result in mixed for entry in result.world.settled.fitted.values()}
    assert set(demo.shop.parts) - fitted <= {
        name for name, part in demo.shop.parts.items() if set(part.fills) <= {"fuel"}
    }
    for result in mixed:
        report = result.report
        assert sum(getattr(report.summary, verdict) for verdict in VERDICTS) == len(report.findings)
        for finding in report.findings:
            assert finding.because
            assert finding.title
            if finding.verdict in ("conflict", "shortfall", "missing", "unknown"):
                assert finding.remedies, (report.build, finding.rule)
            for number in (finding.value, finding.low, finding.high, finding.headroom):
                assert number is None or math.isfinite(number)
