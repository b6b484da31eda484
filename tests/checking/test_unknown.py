"""What is not stated is never a silent pass: take any one spec away and see.

For every rule of the book and every spec it really reads: with the spec gone, the rule is unknown, or rests
on what the rulebook takes in its place and says so, or comes out to the digit as before, since another side
decides.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compat.checking.judging import judge
from compat.checking.outcome import Gap, Held, Outcome
from compat.checking.settle import Specs
from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Value
from compat.shop.builds import as_build
from compat.shop.models import Build
from compat.shop.shop import Shop
from tests.look import check, demo_shop, settle

DEMO = demo_shop()
BUILDS = ["tarn-20-base", "fell-30-base", "street-turbo", "endurance-ethanol", "first-draft"]
Spec = tuple[str, str]


def build_of(name: str) -> Build:
    return DEMO.shop.builds.get(name) or as_build(DEMO.shop.variants[name])


@cache
def settled(name: str) -> BuildWorld:
    return settle(DEMO.shop, DEMO.book, build_of(name))


class Watching(BuildWorld):
    """Notes every spec that is read."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.read: set[Spec] = set()

    def spec(self, position: str, name: str) -> Value:
        self.read.add((position, name))
        return super().spec(position, name)


def without(world: BuildWorld, spec: Spec | None = None) -> Watching:
    specs = Specs(dict(world.settled.specs.by_position))
    if spec is not None:
        specs.set(*spec, None)
    other = Watching(dataclasses.replace(world.settled, specs=specs), world.answers)
    other.joints = world.joints
    return other


def unstated(outcome: Outcome) -> frozenset[str]:
    """Specs that an outcome misses."""
    match outcome.seen:
        case Gap(gap):
            return gap.specs
        case Held() as held:
            return frozenset(held.unstated)
    return frozenset()


def stands_in(world: BuildWorld, rule: BoundRule) -> bool:
    """Whether a figure that the rule rests on is taken as the rulebook says; the report then says so."""
    figures = world.settled.book.gather(rule.expressions()).figures
    return any(world.taken(name) is not None for name in figures)


@pytest.mark.parametrize("name", BUILDS)
def test_no_rule_passes_without_a_spec_it_reads(name: str) -> None:
    world = settled(name)
    known = set(world.settled.specs)
    lacking = cache(lambda spec: without(world, spec))
    tried, decided = 0, set()
    for rule in DEMO.book.rules.values():
        if rule.rule.sort in ("need", "renew", "note"):
            continue
        watching = without(world)
        before = judge(watching, rule)
        if before is None:
            continue
        for spec in sorted(watching.read & known):
            after = judge(lacking(spec), rule)
            tried += 1
            # Kleene: what is not known never turns a condition that holds into one that does not
            assert after is not None, (rule.rule.rule, spec)
            if after.verdict == "unknown":
                assert ".".join(spec) in unstated(after) or unstated(before), (rule.rule.rule, spec, after)
            elif not stands_in(lacking(spec), rule):
                assert after.verdict == before.verdict, (rule.rule.rule, spec)
                if after.verdict == "ok":
                    # another side decides, to the digit as it did before: the spec was read and not needed
                    assert after.seen == before.seen, (rule.rule.rule, spec)
                    decided.add(spec)
    assert tried > 400
    assert len(decided) < 20


def test_what_is_taken_is_told_under_the_finding_and_of_the_build() -> None:
    """Factory pistons whose card says nothing of their skirt clearance: by the alloy, and said so."""
    own = {key: value for key, value in DEMO.shop.specs["tarn-20-base-piston"].items() if "skirt_cl" not in key}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, "tarn-20-base-piston": own})
    report = check(shop, DEMO.book, build_of("tarn-20-base")).report
    found = {finding.rule: finding for finding in report.findings}
    least, most = found["piston-skirt-clearance"].taken
    assert least.startswith("Least skirt clearance of the piston taken as 0.025 mm (handbook: common practice")
    assert "not stated: piston least skirt clearance (tarn-20-base-piston)" in least
    assert "0.045 mm" in most
    taken = {entry.figure: entry.rules for entry in report.taken}
    assert taken.keys() == {"skirt_clearance_least", "skirt_clearance_most"}
    assert "piston-skirt-clearance" in taken["skirt_clearance_most"]
    assert found["deck-clearance"].taken == ()
    assert report.summary.proven


def test_a_default_of_a_branch_not_taken_is_not_told() -> None:
    """The least ring gap under boost plays no part in an engine without."""
    own = {key: value for key, value in DEMO.shop.specs["tarn-20-base-ring-set"].items() if "least_" not in key}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, "tarn-20-base-ring-set": own})
    report = check(shop, DEMO.book, build_of("tarn-20-base")).report
    assert [entry.figure for entry in report.taken] == ["top_gap_least"]


@pytest.mark.parametrize(
    ("part", "spec", "rules"),
    [
        ("tarn-20-base-head-restrictor", "bore", ["oil-pressure-hot-idle", "oil-pressure-full-speed"]),
        ("tarn-head-bolt-m10", "tightening_torque", ["head-fastener-tightening"]),
        ("tarn-20-base-block", "main_line_error", ["main-line-straight"]),
        ("tarn-20-base-crankshaft", "runout", ["crank-runout"]),
        ("tarn-20-base-head", "tappet_bore", ["tappet-in-its-bore", "bucket-wants-a-bucket-head"]),
        ("tarn-20-base-head", "valve_to_valve", ["valve-to-valve"]),
        ("tarn-20-base-rod", "torque_limit", ["rod-within-torque-limit"]),
        ("tarn-20-base-ecu", "max_trigger_frequency", ["trigger-frequency"]),
        ("tarn-20-base-clutch-cover", "max_speed", ["clutch-cover-speed"]),
    ],
)
def test_a_card_without_it_is_a_question_and_no_pass(part: str, spec: str, rules: list[str]) -> None:
    """Each passed in silence once."""
    assert spec in DEMO.shop.specs[part]
    own = {key: value for key, value in DEMO.shop.specs[part].items() if key != spec}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, part: own})
    checked = check(shop, DEMO.book, build_of("tarn-20-base"))
    found = {finding.rule: finding.verdict for finding in checked.report.findings}
    assert {rule: found[rule] for rule in rules} == dict.fromkeys(rules, "unknown")
    assert (checked.clean, checked.proven) == (True, False)


def verdicts(shop: Shop, name: str) -> dict[str, Verdict]:
    """By rule, what a whole check finds; needs and renewals too."""
    return {outcome.rule: outcome.verdict for outcome in check(shop, DEMO.book, build_of(name)).outcomes}


@cache
def whole(name: str) -> dict[str, Verdict]:
    return verdicts(DEMO.shop, name)


SPECS = sorted({key for name in BUILDS for key in settled(name).settled.specs if key[0] != "setup"})


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    database=None,
    derandomize=True,
)
@given(name=st.sampled_from(BUILDS), spec=st.sampled_from(SPECS))
def test_a_whole_check_never_gets_better_by_knowing_less(name: str, spec: Spec) -> None:
    """Take a spec off a part's card: no finding that stood out may turn ok, none may vanish unsaid."""
    world = settled(name)
    entry = world.settled.fitted.get(spec[0])
    if entry is None or spec not in world.settled.specs:
        return
    own = {key: value for key, value in DEMO.shop.specs[entry.part.part].items() if key != spec[1]}
    shop = dataclasses.replace(DEMO.shop, specs={**DEMO.shop.specs, entry.part.part: own})
    after = verdicts(shop, name)
    for rule, verdict in whole(name).items():
        if rule in DEMO.book.rules:
            assert rule in after, rule
            assert verdict == "ok" or after[rule] != "ok", rule


def computed(tree: tuple[Any, ...]) -> set[str]:
    """Figures whose formula a condition asks to have a result."""
    if tree[0] == "computed":
        return {tree[1][1]}
    return {name for part in tree[1:] if isinstance(part, tuple) for name in computed(part)}


def calls(expressions: Iterable[Expression]) -> set[tuple[Any, ...]]:
    """Calls of formulas whose refusal reaches the expressions: none stands in for them on the way."""
    found: set[tuple[Any, ...]] = set()
    for name in {name for expression in expressions for name in expression.names.figures}:
        bound = DEMO.book.figures[name]
        if bound.unstated is not None:
            continue
        if bound.formula is not None:
            takes = sorted((key, text.text) for key, text in bound.arguments.items())
            found.add((bound.formula.name, *takes))
        found |= calls(bound.own)
    return found


def test_what_a_formula_refuses_is_said_by_a_rule_that_does_not_look_away() -> None:
    """A rule may leave a goal out of reach to another; that one must be there and rest on the same call."""
    rules = DEMO.book.rules
    away = {
        name: figures for name, rule in rules.items() if rule.where and (figures := computed(rule.where.tree))
    }
    facing = {
        call for name, rule in rules.items() if name not in away for call in calls(rule.expressions(False))
    }
    assert len(away) > 15
    for name in away:
        assert calls([part for part in [rules[name].where] if part]) <= facing, name
