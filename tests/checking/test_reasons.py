"""The chain behind a finding: every figure and spec it rests on, each with its value and its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import pytest

from compat import Check
from compat.library.library import Library
from compat.rulebook.values import Absent, Number
from compat.units import Band
from compat.words.reasons import Reason, reasons
from tests.look import demo_shop

DEMO = demo_shop()
BUILDS = ["tarn-20-base", "fell-30-base", "street-turbo", "first-draft"]


def walk(found: Iterable[Reason]) -> Iterator[Reason]:
    for reason in found:
        yield reason
        yield from walk(reason.rests_on)


@pytest.mark.parametrize("build", BUILDS)
def test_the_chain_holds_everything_a_rule_rests_on(build: str, checked: dict[str, Check]) -> None:
    """Names in the chain against the rulebook's own graph (networkx descendants)."""
    import networkx as nx

    world = checked[build].world
    graph = DEMO.book.graph
    for finding in checked[build].report.findings:
        rule = DEMO.book.rules.get(finding.rule)
        if rule is None:
            continue
        names = {reason.name for reason in walk(reasons(world, rule))}
        expected = {
            f"goal.{name}" if kind == "goal" else name
            for kind, name in nx.descendants(graph, ("rule", finding.rule))
            if kind in ("spec", "figure", "goal")
        }
        assert names == expected, finding.rule


@pytest.mark.parametrize("build", BUILDS)
def test_every_step_has_a_value_or_says_why_not(build: str, checked: dict[str, Check]) -> None:
    world = checked[build].world
    for finding in checked[build].report.findings:
        rule = DEMO.book.rules.get(finding.rule)
        for reason in walk(reasons(world, rule)) if rule else ():
            assert (reason.value is None) == bool(reason.gap), (finding.rule, reason.name)
            assert reason.title
            if reason.name in DEMO.book.figures:
                assert reason.how
            if isinstance(reason.value, float) and "." in reason.name and not reason.name.startswith("goal."):
                position, _, spec = reason.name.partition(".")
                stated = world.settled.specs[position, spec]
                assert isinstance(stated.value, Band)
                assert (reason.value, reason.half) == (stated.value.middle, stated.value.half_width)
                if position != "setup":
                    assert world.settled.fitted[position].part.part in reason.source
            elif isinstance(reason.value, float) and reason.name in DEMO.book.figures:
                value = world.figure(reason.name)
                assert isinstance(value, Number)
                assert (reason.value, reason.half) == (value.x, world.worst(value))


def test_a_figure_is_opened_once(checked: dict[str, Check]) -> None:
    world = checked["tarn-20-base"].world
    for rule in DEMO.book.rules.values():
        opened: set[str] = set()
        for reason in walk(reasons(world, rule)):
            if reason.name in DEMO.book.figures:
                assert reason.seen == (reason.name in opened), (rule.rule.rule, reason.name)
                assert not (reason.seen and reason.rests_on)
                opened.add(reason.name)


def test_the_deck_stack_from_verdict_to_dimensions(checked: dict[str, Check], demo: Library) -> None:
    world = checked["tarn-20-base"].world
    top, gasket = reasons(world, demo.book.rules["deck-clearance"])
    assert gasket.name == "head_gasket.thickness"  # how far the piston may stand proud
    assert top.name == "deck_clearance"
    assert (top.value, top.half) == (pytest.approx(0.20e-3), pytest.approx(0.175e-3))
    assert {reason.name: reason.value for reason in top.rests_on} == {
        "block.deck_height": pytest.approx(0.2225),
        "crankshaft.stroke": pytest.approx(0.087),
        "rod.centre_length": pytest.approx(0.148),
        "piston.compression_height": pytest.approx(0.0308),
    }
    assert all(reason.unit == "mm" for reason in (top, *top.rests_on))


def test_work_and_estimates_are_said(checked: dict[str, Check], demo: Library) -> None:
    """A dimension the bench has changed rests on the shop's own word; an estimate says so all the way."""
    world = checked["phase-block-decked"].world
    chain = {reason.name: reason for reason in walk(reasons(world, demo.book.rules["deck-clearance"]))}
    assert "shop" in chain["block.deck_height"].source
    assert "maker" in chain["rod.centre_length"].source
    flagged = [
        f for f in checked["street-turbo"].report.findings if f.rests_on_estimate and f.rule in demo.book.rules
    ]
    assert flagged
    for finding in flagged:
        found = walk(reasons(checked["street-turbo"].world, demo.book.rules[finding.rule]))
        assert {reason.name for reason in found if reason.estimate} >= set(finding.rests_on_estimate), (
            finding.rule
        )


def test_an_empty_position_is_told_as_empty(checked: dict[str, Check], demo: Library) -> None:
    world = checked["tarn-20-base"].world
    told = 0
    for rule in demo.book.rules.values():
        for reason in walk(reasons(world, rule)):
            position, sign, _ = reason.name.partition(".")
            if sign and position == "turbocharger":
                assert "turbocharger" in reason.gap.lower()
                told += 1
            if reason.name in demo.book.figures:
                try:
                    world.figure(reason.name)
                except Absent:
                    assert "does not apply" in reason.gap
    assert told


def test_units_of_the_reader(checked: dict[str, Check], demo: Library) -> None:
    """What a sentence quotes is in the reader's units; the numbers of the chain stay SI."""
    world = checked["first-draft"].world
    rule = demo.book.rules["knock-limit-at-torque"]
    metric, imperial = (list(walk(reasons(world, rule, system))) for system in ("metric", "imperial"))
    assert [reason.name for reason in metric] == [reason.name for reason in imperial]
    assert [reason.value for reason in metric] == [reason.value for reason in imperial]
