"""Parts and work whose reason is gone are left out: tried whole, nothing comes up, and never in a ring."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping

import pytest

import compat
from compat.checking.outcome import OUT, RANK
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, Strike, Undo, change_of, with_changes
from compat.words.remedying import Remedier
from compat.words.report import Finding, WayOut
from compat.words.reporting import report
from tests.checking.printed import opened

WASHER = "bm-friction-washer-34"
LESS = {"leave_out", "without_work", "strike"}


@pytest.fixture(scope="module")
def shop() -> compat.OpenShop:
    return opened()


def changed(shop: compat.OpenShop, build: str, *changes: Change) -> ReadyBuild:
    return with_changes(shop.build(build), changes)


def found(shop: compat.OpenShop, ready: ReadyBuild) -> Mapping[str, Finding]:
    """What stands against a build, with its remedies."""
    checked = shop.session.check(ready)
    trying = Remedier(checked)
    told = report(checked, fine=False).findings
    return {one.rule: trying.finding(one) for one in told if RANK[one.verdict] <= OUT}


def leaving(finding: Finding) -> list[WayOut]:
    """Remedies that do nothing but leave something out."""
    return [way for way in finding.ways_out if all(LESS & entry.keys() for entry in way.changes)]


def done(ready: ReadyBuild, way: WayOut) -> ReadyBuild:
    return with_changes(ready, map(change_of, way.changes))


def against(shop: compat.OpenShop, ready: ReadyBuild) -> Counter[tuple[str, str]]:
    """What speaks against a build or is not known."""
    bad = (one for one in shop.session.check(ready).outcomes if RANK[one.verdict] <= RANK["unknown"])
    return Counter((one.rule, one.verdict) for one in bad)


# parts


def test_a_washer_on_a_nose_with_a_key_is_left_out(shop: compat.OpenShop) -> None:
    """None of the shop's washers fits that nose, and with a key nothing asks for one."""
    ready = changed(shop, "street-turbo", Fit("friction_washer", WASHER))
    finding = found(shop, ready)["friction-washer-bore"]
    assert finding.remedies == ("Leave out the friction washer of the damper (friction_washer).",)
    (way,) = finding.ways_out
    assert [dict(entry) for entry in way.changes] == [{"leave_out": "friction_washer"}]
    assert not way.raises
    assert done(ready, way) == shop.build("street-turbo")


def test_a_washer_that_a_nose_without_a_key_needs_is_not(shop: compat.OpenShop) -> None:
    """There the bolt holds by friction alone: a washer of another bore wants another washer."""
    ready = changed(shop, "long-stroke-20")
    assert ready.part_in("crankshaft") == "tarn-22-long-crankshaft"
    wrong = ready.changed(measured={**ready.build.measured, "friction_washer.bore": "30.0 mm"})
    finding = found(shop, wrong)["friction-washer-bore"]
    assert not leaving(finding)


def test_the_key_of_a_nose_without_a_keyway_is_left_out_with_the_reason(shop: compat.OpenShop) -> None:
    """What the factory fitted is left out where the rule itself names that, and the build says why."""
    ready = shop.build("first-draft")
    finding = found(shop, ready)["key-fits-nose"]
    (way,) = leaving(finding)
    assert way.says == "Leave out the crankshaft key (leave_out crank_key)."
    after = done(ready, way)
    assert after.build.leave_out["crank_key"] == "what stood here does not go with the parts chosen"
    left = {one.rule: one.verdict for one in report(shop.session.check(after)).findings}
    assert left["left-out-crank-key"] == "caution"
    assert "key-fits-nose" not in left


def test_a_key_that_a_keyway_needs_is_not(shop: compat.OpenShop) -> None:
    """A key of another width is no reason to go without one: the rule names it, and the trial forbids it."""
    ready = shop.build("street-turbo")
    wide = ready.changed(measured={**ready.build.measured, "crank_key.width": "6 mm"})
    finding = found(shop, wide)["key-fits-nose"]
    assert not leaving(finding)


def test_what_the_factory_fitted_is_not_left_out_because_a_rule_falls_silent(shop: compat.OpenShop) -> None:
    """A ventilation valve that lets boost into the crankcase is another valve's matter, not nobody's."""
    ready = shop.build("first-draft")
    assert "pcv_valve" in ready.variant.parts
    finding = found(shop, ready)["crankcase-valve-under-boost"]
    assert not leaving(finding)


def test_a_part_of_another_family_that_nobody_needs_is_left_out(shop: compat.OpenShop) -> None:
    ready = changed(shop, "fell-30-top-end", Fit("main_girdle", "bm-girdle-20"))
    finding = found(shop, ready)["family-main-girdle"]
    (way,) = leaving(finding)
    assert way.says == "Leave out the main cap girdle (main_girdle): clears 3 more."
    assert done(ready, way) == shop.build("fell-30-top-end")


def test_a_part_that_never_stands_beside_another_is_left_out(shop: compat.OpenShop) -> None:
    """Gates in a sump that has walls of its own; the sump is no part that an engine goes without."""
    own = changed(shop, "street-turbo", Fit("sump", "rd-sump-turbo"))
    ready = own.fitting(baffle="rd-gates-front")
    finding = found(shop, ready)["never-with-baffle"]
    (way,) = leaving(finding)
    assert way.says == "Leave out the sump baffle or gate set (baffle)."
    assert done(ready, way) == own


# work


def test_a_boss_that_is_there_already_is_not_tapped(shop: compat.OpenShop) -> None:
    ready = changed(shop, "street-turbo", Do("tap-knock-boss"))
    finding = found(shop, ready)["need-knock-boss-blind"]
    says = "Leave out the work tap-knock-boss (face and tap the cast knock boss between cylinders 2 and 3)."
    assert finding.remedies == (says,)
    (way,) = finding.ways_out
    assert [dict(entry) for entry in way.changes] == [{"without_work": "tap-knock-boss"}]
    assert done(ready, way) == shop.build("street-turbo")


def test_a_boss_that_a_sensor_needs_is_tapped_all_the_same(shop: compat.OpenShop) -> None:
    """Without the work the sensor has no boss: leaving it out would bring that up, and doing it this again."""
    ready = changed(shop, "first-draft", Fit("knock_sensor", "wx-knock-wide"), Do("tap-knock-boss"))
    fine = found(shop, ready)
    assert "knock-bosses" not in fine
    assert "need-knock-boss-blind" not in fine
    one_more = ready.changed(counts={**ready.build.counts, "knock_sensor": 2})
    for finding in found(shop, one_more).values():
        assert not any({"without_work": "tap-knock-boss"} in way.changes for way in leaving(finding))


def test_work_on_what_is_not_there_is_left_out(shop: compat.OpenShop) -> None:
    ready = changed(shop, "street-turbo", Do("trim-tray"))
    assert "windage_tray" not in shop.session.check(ready).world.settled.fitted
    finding = found(shop, ready)["no-effect-work-trim-tray"]
    (way,) = leaving(finding)
    assert [dict(entry) for entry in way.changes] == [{"without_work": "trim-tray"}]


def test_work_beyond_what_the_piece_bears_is_left_out(shop: compat.OpenShop) -> None:
    ready = changed(shop, "street-turbo", Do("deck-block", (("depth", "9 mm"),)))
    finding = next(one for rule, one in found(shop, ready).items() if "deck-block" in rule)
    assert any({"without_work": "deck-block"} in way.changes for way in leaving(finding))


def test_renewals_of_a_joint_that_stays_shut_are_struck_with_the_work(shop: compat.OpenShop) -> None:
    """What the work alone would have opened is not renewed any more: else a word of the build were idle."""
    base = shop.build("fell-30-top-end").changed(renew=[])
    plain = shop.session.check(base)
    renewing = {one.position for one in plain.renewed}
    own = base.changed(renew=sorted(renewing))
    ready = with_changes(own, [Do("tap-knock-boss")])
    more = {one.position for one in shop.session.check(ready).renewed} - renewing
    assert more, "the work opens a joint that the build leaves shut"
    ready = ready.changed(renew=[*own.build.renew, *sorted(more)])
    finding = found(shop, ready)["need-knock-boss-blind"]
    (way,) = leaving(finding)
    changes = [change_of(entry) for entry in way.changes]
    assert changes[0] == Undo("tap-knock-boss")
    assert set(changes[1:]) == {Strike("renew", position) for position in more}
    assert f"and strike {sorted(more)[0]}" in way.says
    assert " from `renew`" in way.says
    after = done(ready, way)
    assert after == own
    assert not [one for one in shop.session.check(after).standing if one.rule.startswith("no-effect")]


# never worse, never round


def needless(shop: compat.OpenShop, seed: int) -> ReadyBuild:
    """A demo build with parts that the factory did not fit, and work, that nobody asked for."""
    chance = random.Random(seed)
    ready = shop.build(chance.choice(["street-turbo", "phase-upgrade", "endurance-ethanol", "long-stroke-20"]))
    fitted, things = shop.session.check(ready).world.settled.fitted, shop.things
    free = sorted(p for p in things.positions if p not in fitted and things.fillers[p] and p != "setup")
    for position in chance.sample(free, 4):
        ready = ready.fitting(**{position: chance.choice(things.fillers[position])})
    works = sorted(
        name
        for name, work in things.works.items()
        if all(one.default is not None for one in work.takes.values())
        and name not in {one.work for one in ready.build.work}
    )
    return with_changes(ready, [Do(name) for name in chance.sample(works, 3)])


def ranks(many: Counter[tuple[str, str]], rule: str) -> list[int]:
    """How badly a rule speaks against a build, as often as it does; the worst first."""
    return sorted(RANK[verdict] for name, verdict in many.elements() if name == rule)


def worse(before: Counter[tuple[str, str]], after: Counter[tuple[str, str]]) -> set[str]:
    """Rules that speak more against a build than before."""
    both = ((rule, ranks(before, rule), ranks(after, rule)) for rule in {rule for rule, _ in after})
    return {rule for rule, was, now in both if len(now) > len(was) or now[0] < was[0]}


@pytest.mark.parametrize("seed", range(8))
def test_what_is_left_out_makes_nothing_worse_and_comes_to_an_end(shop: compat.OpenShop, seed: int) -> None:
    ready = needless(shop, seed)
    steps = 0
    while True:
        before = against(shop, ready)
        ways = [(rule, way) for rule, finding in found(shop, ready).items() for way in leaving(finding)]
        if not ways:
            break
        for rule, way in ways:
            after = against(shop, done(ready, way))
            assert rule not in {name for name, _ in after}, way.says
            assert not worse(before, after), (rule, way.says)
            assert after.total() < before.total(), way.says
        ready = done(ready, ways[0][1])
        steps += 1
        assert steps < 20
    assert steps or seed
