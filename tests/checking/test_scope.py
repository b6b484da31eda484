"""A build that is less than a whole vehicle: nothing outside is asked for, and nothing inside is let off."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from compat.checking.session import Session
from compat.library.library import Library, build_of_id, load
from compat.library.starting import start
from compat.shop.builds import prepare
from compat.shop.source import Faults
from compat.shop.words import INSIDE
from tests.conftest import Tiny
from tests.look import check, checked_once

NARROW = ("engine", "long_block", "short_block")


@pytest.mark.parametrize("scope", NARROW)
@pytest.mark.parametrize("name", ["first-draft", "endurance-ethanol", "fell-30-top-end"])
def test_what_lies_inside_is_judged_as_ever(demo: Library, name: str, scope: str) -> None:
    whole = checked_once(name)
    part = check(demo.shop, demo.book, replace(demo.shop.builds[name], scope=scope))
    inside = {place for place, said in demo.shop.positions.items() if said.system in INSIDE[scope]}
    before = {f.rule: f.verdict for f in whole.report.findings}
    after = {f.rule: f.verdict for f in part.report.findings}
    for rule, bound in demo.book.judged.items():
        if bound.rule.sort != "need" and demo.book.speaks_of(bound) & inside and rule in before:
            # what is added for the sake of what lies outside is not added now, so nothing comes out worse
            assert rule in after or before[rule] == "unknown", rule
            if before[rule] not in ("conflict", "shortfall", "measure", "caution"):
                assert after.get(rule, before[rule]) == before[rule], rule
    for rule in after:
        bound = demo.book.rules.get(rule)
        assert bound is None or not demo.book.speaks_of(bound) or demo.book.speaks_of(bound) & inside, rule
    assert {extra.position for extra in part.report.extra_parts} <= inside
    assert part.report.scoped is not None
    assert part.report.scoped.not_asked > 0
    assert whole.report.scoped is None


def test_narrower_scopes_ask_less(demo: Library) -> None:
    asked = []
    for scope in ("vehicle", *NARROW):
        found = check(demo.shop, demo.book, replace(demo.shop.builds["first-draft"], scope=scope))
        asked.append(found.report.summary.missing)
    assert asked == sorted(asked, reverse=True)
    assert asked[0] > asked[-1] > 0


def test_a_session_finds_what_a_check_by_itself_finds(demo: Library) -> None:
    session = Session(demo.shop, demo.book)
    for scope in ("short_block", "vehicle", "long_block", "short_block"):
        build = replace(demo.shop.builds["street-turbo"], scope=scope)
        alone = check(demo.shop, demo.book, build)
        together = session.check(prepare(demo.shop, build))
        assert together.counts == alone.report.summary.counts


def test_what_is_not_known_outside_leaves_the_rule_undecided_and_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    start(folder, "whole")
    cards = folder / "catalog/parts/valve_train.yaml"
    lines = cards.read_text(encoding="utf-8").splitlines(keepends=True)
    less = [line for line in lines if not line.startswith("    chamber_volume:")]
    assert len(less) == len(lines) - 1
    cards.write_text("".join(less), encoding="utf-8")
    build = folder / "catalog/builds/as-it-stands.yaml"
    text = build.read_text(encoding="utf-8")
    whole = load(folder)
    found = check(whole.shop, whole.book, "as-it-stands").report
    hanging = {finding.rule for finding in found.findings if finding.verdict == "unknown"}
    assert "rod-buckling" in hanging
    build.write_text(text + "  scope: short_block\n", encoding="utf-8")
    short = load(folder)
    less_asked = check(short.shop, short.book, "as-it-stands").report
    assert less_asked.scoped is not None
    assert not less_asked.summary.unknown
    assert "rod-buckling" in less_asked.scoped.undecided
    assert set(less_asked.scoped.undecided) <= hanging
    assert set(less_asked.scoped.undecided).isdisjoint(finding.rule for finding in less_asked.findings)


def test_a_short_block_needs_no_head(tiny: Tiny) -> None:
    tiny.edit("catalog/engine.yaml", "    head_gasket: hob-gasket\n", "")
    tiny.edit("catalog/vocabulary.yaml", "  name: Head gasket\n", "  name: Head gasket\n  required: true\n")
    assert any(f.rule == "required-head-gasket" for f in tiny.report().findings)
    assert not any(f.rule == "required-head-gasket" for f in tiny.report("scope: short_block").findings)


def test_a_scope_that_is_none_is_told(tiny: Tiny) -> None:
    tiny.write("catalog/builds/own.yaml", "- {build: own, name: Own, variant: hob-13, scope: shortblock, "
               "goal: {power: 50 kW, at: 6000 rpm}}\n")  # fmt: skip
    with pytest.raises(Faults, match="short_block"):
        tiny.load()


def test_a_sweep_judges_within_the_scope(demo: Library) -> None:
    from compat.checking.sweeping import sweep

    session = Session(demo.shop, demo.book)
    rods = [name for name in demo.shop.fillers["rod"] if name.startswith(("sf-", "tarn-"))][:4]
    build = replace(demo.shop.builds["street-turbo"], scope="short_block")
    base = session.check(prepare(demo.shop, build))
    grid = sweep(session, base, {"rod": rods})
    for rod in rods:
        one = session.check(build_of_id(demo.shop, "street-turbo").fitting(rod=rod), base)
        scoped = session.check(base.world.settled.ready.fitting(rod=rod))
        alone = {o.rule: o.verdict for o in scoped.judged.outcomes.values()}
        assert set(alone) <= {*one.judged.outcomes}
        worst = min(("conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok").index(v)
                    for v in (*alone.values(), *(o.verdict for o in scoped.standing)))  # fmt: skip
        assert int(grid.worst[rods.index(rod)]) == worst


def test_the_first_line_says_how_much_it_speaks_of(demo: Library) -> None:
    from compat.paper.terminal import answer

    short = replace(demo.shop.builds["street-turbo"], scope="short_block")
    said = answer(check(demo.shop, demo.book, short).report)
    assert said.startswith("street-turbo (short block only) goes together")
    assert answer(checked_once("street-turbo").report).startswith("street-turbo goes together")
