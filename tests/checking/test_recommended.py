"""What a report recommends: tried before it is named, told where it lacks, held back where it does not fit."""

from __future__ import annotations

from typing import Any

import pytest

from compat import Check, OpenShop
from compat.checking.check import check
from compat.checking.world import BuildWorld
from compat.library.library import Library, build_of_id
from compat.rulebook.models import Rule
from tests.checking.carrying import bad, carried_out, changes

CHANGES = 150


@pytest.fixture(scope="module")
def shop(demo: Library) -> OpenShop:
    return OpenShop(demo.shop, demo.book, checks=64)  # its builds among many changes of them


def parts(check: Check) -> dict[str, str]:
    """Extra parts to order, by position."""
    return {part.position: part.part for part in check.report.extra_parts if not part.held_back}


def held(check: Check) -> dict[str, str]:
    return {part.position: part.held_back for part in check.report.extra_parts if part.held_back}


def works(check: Check) -> set[str]:
    return {work.work for work in check.report.extra_work if not work.held_back}


def verdicts(check: Check) -> set[tuple[str, str]]:
    return {(finding.rule, finding.verdict) for finding in check.report.findings}


def remedies(check: Check, rule: str) -> str:
    return " ".join(remedy for f in check.report.findings if f.rule == rule for remedy in f.remedies)


# carried out


def new_faults(shop: OpenShop, before: Check) -> set[tuple[str, str]]:
    """What stands against a build once all is done that its report says, and did not before."""
    known = bad(before)
    after = shop.check(carried_out(before))
    return {key for key, rank in bad(after).items() if rank < known.get(key, 9)}


def test_doing_what_a_report_of_the_demo_says_brings_nothing_new(shop: OpenShop, demo: Library) -> None:
    for name in [*demo.shop.variants, *demo.shop.builds]:
        assert not new_faults(shop, shop.check(name)), name


def test_doing_what_a_report_of_a_changed_build_says_brings_nothing_new(shop: OpenShop) -> None:
    forced = told = 0
    sample = changes(shop, seed=8)
    while forced < CHANGES:
        label, ready = next(sample)
        check = shop.check(ready)
        if check.checked.ahead is None:
            continue
        forced += 1
        told += bool(check.checked.ahead.foreseen or check.checked.ahead.lacking)
        assert not new_faults(shop, check), label
    assert told > CHANGES // 10


# tried before it is named


def test_a_sensor_left_out_is_replaced_by_the_engines_own(shop: OpenShop) -> None:
    boosted = shop.check(shop.build("street-turbo").fitting(map_sensor=None))
    assert parts(boosted)["map_sensor"] == "tarn-20-turbo-map-sensor"
    phase = shop.check(shop.build("tarn-20-phase").fitting(cam_sensor=None))
    assert parts(phase)["cam_sensor"] == "tarn-phase-cam-sensor"
    assert "weld-cam-boss" not in works(phase)
    assert "weld-cam-boss" not in remedies(phase, "sequential-injection-phase")


def test_a_target_is_one_that_the_control_unit_decodes(shop: OpenShop) -> None:
    """The cheapest has four teeth and one; the draft's control unit decodes its wheel with one tooth."""
    draft = shop.check("first-draft")
    assert parts(draft)["cam_target"] == "wx-cam-target-1"
    assert not any(rule == "decoded-pattern" for rule, _ in verdicts(draft))


GATES = """
- {position: wastegate, name: Wastegate, system: induction, specs: {ports: number}}
- {position: dump_pipe, name: Dump pipe, system: exhaust}
- {position: gate_stay, name: Gate stay, system: exhaust}
- {feature: outlet, name: Outlet, source: common practice}
- {supplier: cornmill, name: Cornmill, currency: GBP}
- {part: gate, name: Gate, fills: wastegate, specs: {ports: 2}, needs: [outlet],
   sold_by: [{supplier: cornmill, price: 40 GBP}]}
- {part: pipe, name: Pipe, fills: dump_pipe, offers: [outlet]}
- {part: stay, name: Stay, fills: gate_stay}
"""
GATE_RULES = """
- {rule: gate-there, title: A gate, why: Test., source: common practice, need: {position: wastegate}}
- {rule: gate-ports, title: One port, why: Test., source: common practice, never: wastegate.ports > 1,
   remedies: [{swap: wastegate}]}
- {rule: gate-held, title: A stay, why: Test., source: common practice, where: fitted(wastegate),
   need: {position: gate_stay}}
"""


def gates(tiny: Any, **changes: tuple[str, str]) -> Any:
    """A small shop that wants a gate, with some words of its catalogue changed."""
    text = GATES
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    tiny.write("catalog/gates.yaml", text)
    tiny.write("rules/gates.yaml", GATE_RULES)
    return tiny.report()


def test_what_an_added_part_needs_and_nothing_gives_is_missing(tiny: Any) -> None:
    report = gates(tiny, pipe=("offers: [outlet]", "offers: []"))
    lacking = next(f for f in report.findings if f.rule == "need-outlet")
    assert (lacking.verdict, lacking.parts) == ("missing", ("gate",))
    assert "the added wastegate (gate) needs an outlet, and nothing in the build offers it" in lacking.because


def test_what_lives_on_a_part_that_is_held_back_is_held_back_with_it(tiny: Any) -> None:
    """The only gate has a port too many: its pipe, and the stay that a rule asks with a gate, wait with it."""
    report = gates(tiny)
    assert [f.verdict for f in report.findings if f.rule == "gate-ports"] == ["conflict"]
    waiting = {part.part: part.held_back for part in report.extra_parts if part.held_back}
    assert waiting == dict.fromkeys(["gate", "pipe", "stay"], "one port")
    fits = gates(tiny, ports=("ports: 2", "ports: 1"))
    assert {"gate", "pipe", "stay"} <= {part.part for part in fits.extra_parts if not part.held_back}


@pytest.mark.parametrize(
    ("second", "taken"),
    [
        ("specs: {ports: 1}, needs: [outlet]", "other"),  # dearer, but nothing speaks against it
        ("specs: {ports: 1}, needs: [cam_signal]", "gate"),  # what it needs nobody gives: the first, then
        ("specs: {ports: 2}, needs: [outlet]", "gate"),
    ],
)
def test_the_first_is_taken_that_nothing_speaks_against(second: str, taken: str, tiny: Any) -> None:
    other = f"- {{part: other, name: Other, fills: wastegate, {second}}}\n"
    report = gates(tiny, more=("- {part: pipe", f"{other}- {{part: pipe"))
    assert [part.part for part in report.extra_parts if part.position == "wastegate"] == [taken]


def test_pipe_and_gasket_of_a_gate_are_each_tried_alone(shop: OpenShop) -> None:
    """Those of 38 mm stand first in the shop; those of 44 fit the gate, and neither waits for the other."""
    check = shop.check(shop.build("first-draft").fitting(wastegate="vm-gate-44"))
    added = {part.position: part.part for part in check.report.extra_parts}
    assert (added["dump_pipe"], added["gate_gasket"]) == ("vm-dump-44", "lg-gasket-gate-44")
    assert not {"gate-gasket-flange", "dump-pipe-flange"} & dict(verdicts(check)).keys()


@pytest.mark.parametrize(
    ("wrong", "rule"),
    [
        ({"gate_gasket": "lg-gasket-gate-38"}, "gate-gasket-flange"),
        ({"dump_pipe": "vm-dump-38"}, "dump-pipe-flange"),
    ],
)
def test_a_wrong_pipe_or_gasket_is_told_while_the_other_is_missing(
    wrong: dict[str, str], rule: str, shop: OpenShop
) -> None:
    check = shop.check(shop.build("first-draft").fitting(wastegate="vm-gate-44", **wrong))
    assert (rule, "conflict") in verdicts(check)


def test_what_is_consumed_and_does_not_fit_is_held_back(shop: OpenShop) -> None:
    """Seals and damper bolt of the base engine on the crankshaft of its sister."""
    draft = shop.check("first-draft")
    assert {"crank_seal_front", "crank_seal_rear", "damper_bolt", "head_gasket"} <= held(draft).keys()
    assert not held(draft).keys() & parts(draft).keys()
    renewing = [text for f in draft.report.findings if f.rule.startswith("renew-") for text in f.remedies]
    assert any(text.startswith("Hold tarn-20-crank-seal-front (crank_seal_front) back") for text in renewing)
    assert not any("Order" in text and "crank-seal-front" in text for text in renewing)


# advice that can help


def test_a_deck_too_smooth_is_not_to_be_decked(shop: OpenShop) -> None:
    base = shop.build("tarn-20-base")
    smooth = shop.check(base.changed(measured={"block.deck_roughness_rz": "5 um"}))
    assert ("deck-finish-suits-gasket", "conflict") in verdicts(smooth)
    assert "deck-block" not in remedies(smooth, "deck-finish-suits-gasket")
    rough = shop.check(base.fitting(head_gasket="lg-gasket-mls-870-080-j1"))
    assert ("deck-finish-suits-gasket", "conflict") in verdicts(rough)
    assert "deck-block" in remedies(rough, "deck-finish-suits-gasket")


def test_a_natural_engine_is_told_of_no_boost_and_no_turbocharger(shop: OpenShop) -> None:
    natural = remedies(
        shop.check(shop.build("tarn-20-base").aiming(power="150 kW")), "manifold-pressure-for-power"
    )
    assert natural == "Ask for less power."
    forced = remedies(
        shop.check(shop.build("street-turbo").aiming(power="230 kW")), "manifold-pressure-for-power"
    )
    assert "Ask for more boost." in forced
    assert "another turbocharger" in forced


@pytest.mark.parametrize("name", ["tarn-20-base", "street-turbo", "first-draft"])
def test_no_remedy_names_what_is_not_there(shop: OpenShop, demo: Library, name: str) -> None:
    check = shop.check(shop.build(name).aiming(power="240 kW"))
    fitted = check.world.settled.fitted
    for position in ("turbocharger", "cam_phaser", "intercooler"):
        place = demo.shop.positions[position].name.lower()
        for finding in check.report.findings:
            if position not in fitted and not finding.because.startswith("with "):
                assert f"Fit another {place}." not in finding.remedies
    if "cam_phaser" not in fitted:
        assert not any("lock-phaser" in r for f in check.report.findings for r in f.remedies)


def test_retightening_is_not_asked_where_it_is_forbidden(shop: OpenShop, demo: Library) -> None:
    """One gasket of each type with one fastener of each way of tightening."""
    specs, fillers = demo.shop.specs, demo.shop.fillers
    gaskets = {specs[part]["type"].value: part for part in fillers["head_gasket"]}
    bolts = {specs[part]["tightening_method"].value: part for part in fillers["head_fastener"]}
    seen = set()
    for gasket in gaskets.values():
        for bolt in bolts.values():
            bare = shop.build("tarn-20-base").fitting(head_gasket=gasket, head_fastener=bolt)
            asks = ("retorque-by-gasket", "caution") in verdicts(shop.check(bare))
            with_it = verdicts(shop.check(bare.changed(work=["retorque"])))
            forbids = ("no-retorque-by-angle", "caution") in with_it
            assert not (asks and forbids)
            seen.add((asks, forbids))
    assert {(True, False), (False, True)} <= seen


def test_a_notch_makes_room_for_the_rods_alone(shop: OpenShop) -> None:
    build = shop.build("long-stroke-20")
    hone = {"work": "hone-torque-plate", "bore": "86.000 mm"}
    bare = build.changed(work=["bore-block", hone])
    notched = build.changed(work=["bore-block", hone, {"work": "notch-block", "depth": "1.5 mm"}])

    def figures(ready: Any) -> list[float]:
        world = shop.check(ready).world
        return [world.figure(n).x for n in ("big_end_to_block", "rod_to_bore_gap", "counterweight_to_block")]  # type: ignore[union-attr]

    before, after = figures(bare), figures(notched)
    assert after[0] - before[0] == pytest.approx(0.0015)
    assert after[1] > before[1]
    assert after[2] == before[2]


def test_another_crankshaft_comes_with_shells_and_renewed_plugs_are_ordered(shop: OpenShop) -> None:
    base = shop.build("tarn-20-base")
    taken = base.changed(take_from=[{"variant": "tarn-22-long", "positions": ["crankshaft"]}])
    ordered = {part.position for part in shop.check(taken).report.extra_parts}
    assert {"main_bearing", "thrust_bearing", "rod_bearing"} <= ordered
    plugs = shop.check(base.changed(work=["strip-clean", "renew-plugs"])).report.extra_parts
    counts = {part.position: part.count for part in plugs}
    assert (counts["core_plug"], counts["gallery_plug"]) == (6, 4)


# what trying leaves out


@pytest.mark.parametrize("name", ["first-draft", "street-turbo", "phase-upgrade"])
def test_trying_leaves_out_only_what_cannot_matter(
    name: str, demo: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rules that are as bad as they get, and how far the answers of cycles may be off, move no trial."""
    build = build_of_id(demo.shop, name)
    quick = check(demo.shop, demo.book, build).needs
    as_told = BuildWorld.trying
    monkeypatch.setattr(BuildWorld, "trying", lambda *given, rough=False, **named: as_told(*given, **named))
    monkeypatch.setattr(Rule, "worst", property(lambda rule: "conflict"))
    whole = check(demo.shop, demo.book, build).needs
    assert quick.tried == whole.tried
    assert quick.outcomes == whole.outcomes
