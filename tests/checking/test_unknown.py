"""What is not stated is never a silent pass: take any one spec away and see.

For every rule of the book and every spec it really reads: with the spec gone, the rule may not come out
ok, and may not fall silent, unless its own condition, a default it names (`prefer`, `stated`, an argument
that a formula can do without) or another side that already decides makes it so.
"""

from __future__ import annotations

import ast
import dataclasses
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compat.checking.judging import judge
from compat.checking.outcome import Gap, Held, Outcome
from compat.checking.settle import Specs
from compat.checking.world import BuildWorld
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Value
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


def named(node: ast.AST) -> set[Spec]:
    """Specs that a piece of an expression names, through figures too."""
    found: set[Spec] = set()
    for inner in ast.walk(node):
        if isinstance(inner, ast.Attribute) and isinstance(inner.value, ast.Name):
            found.add((inner.value.id, inner.attr))
        if isinstance(inner, ast.Name) and inner.id in DEMO.book.figures:
            found |= set(DEMO.book.reach(inner.id).specs)
    return found


def defaulted(node: ast.AST) -> set[Spec]:
    """Specs inside `prefer` and `stated`."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("prefer", "stated"):
        return named(node.args[0])
    return set()


def one_of_several(node: ast.AST) -> set[Spec]:
    """Specs of an `and` or `or`, of which another side may decide."""
    return named(node) if isinstance(node, ast.BoolOp) else set()


def gathered(pick: Callable[[ast.AST], set[Spec]]) -> dict[str, set[Spec]]:
    """By rule, what `pick` finds in its expressions and in those of the figures it rests on."""
    book = DEMO.book

    def of(text: str) -> set[Spec]:
        return {spec for node in ast.walk(ast.parse(text, mode="eval")) for spec in pick(node)}

    figures = {
        name: {spec for expression in figure.expressions() for spec in of(expression.text)}
        for name, figure in book.figures.items()
    }
    return {
        name: {spec for expression in rule.expressions() for spec in of(expression.text)}.union(
            *(figures[figure] for figure in book.gather(rule.expressions()).figures)
        )
        for name, rule in book.rules.items()
    }


@cache
def alternatives() -> dict[str, set[Spec]]:
    return gathered(one_of_several)


@cache
def with_defaults() -> dict[str, set[Spec]]:
    """By rule, the specs for which it names a default, a formula's spare arguments among them."""
    found = gathered(defaulted)
    for name, rule in DEMO.book.rules.items():
        for figure in DEMO.book.gather(rule.expressions()).figures:
            bound = DEMO.book.figures[figure]
            if bound.formula is not None:
                spare = [bound.arguments[key] for key in bound.formula.optional if key in bound.arguments]
                found[name] |= set(DEMO.book.gather(spare).specs)
    return found


def decided_by(rule: BoundRule, world: Watching) -> set[Spec]:
    """Specs that the condition reads."""
    if rule.where is not None:
        try:
            rule.where.run(world)
        except Absent:
            return world.read
    return set(world.read)


@pytest.mark.parametrize("name", BUILDS)
def test_no_rule_passes_without_a_spec_it_reads(name: str) -> None:
    world = settled(name)
    known = set(world.settled.specs)
    lacking = cache(lambda spec: without(world, spec))
    tried = passed = 0
    for rule in DEMO.book.rules.values():
        if rule.rule.sort in ("need", "renew", "note"):
            continue
        watching = without(world)
        before = judge(watching, rule)
        if before is None:
            continue
        conditions = decided_by(rule, without(world))
        for spec in sorted(watching.read & known):
            if spec in with_defaults()[rule.rule.rule]:
                continue
            after = judge(lacking(spec), rule)
            tried += 1
            if after is None:
                # Kleene: the rest of the condition already says no, or says yes of something empty
                assert spec in conditions, (rule.rule.rule, spec)
            elif after.verdict == "ok":
                # only where another side of an `and` or `or` decides, as it did before
                assert before.verdict == "ok", (rule.rule.rule, spec)
                assert spec in alternatives()[rule.rule.rule], (rule.rule.rule, spec)
                passed += 1
            elif after.verdict == "unknown":
                stated = f"{spec[0]}.{spec[1]}"
                assert stated in unstated(after) or unstated(before), (rule.rule.rule, spec, after)
            else:
                # decided by what is known: still as bad as it was
                assert after.verdict == before.verdict, (rule.rule.rule, spec)
    assert tried > 400
    assert passed < 0.02 * tried


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
        if rule not in DEMO.book.rules or spec in with_defaults()[rule]:
            continue
        names = DEMO.book.rules[rule]
        conditions = set(DEMO.book.gather([names.where]).specs) if names.where else set()
        if rule not in after:
            assert spec in conditions, rule
        elif verdict != "ok":
            assert after[rule] != "ok", rule
