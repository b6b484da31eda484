"""Findings kept from check to check: as if every check were the first.

Two ways: what a rule really asks of a build while it is judged must lie within its grounds, and checks
that follow one another must say what a check with nothing kept says.
"""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable
from typing import Any

from compat.checking.check import Checked, check
from compat.checking.judging import Judge
from compat.checking.kept import MOST, Keeper
from compat.checking.library import Library
from compat.checking.world import BuildWorld
from compat.paper.schemas import report_json
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.values import Value
from compat.shop.shop import Shop
from compat.shop.specs import state
from compat.units import read_band


def fresh(book: Rulebook) -> Rulebook:
    """The same rulebook with nothing kept."""
    other = dataclasses.replace(book)
    assert not other.kept
    return other


class Asked(BuildWorld):
    """Notes everything that is asked of the build."""

    def __init__(self, *arguments: Any) -> None:
        super().__init__(*arguments)
        self.asked: set[tuple[str, object]] = set()

    def spec(self, position: str, name: str) -> Value:
        self.asked.add(("specs", (position, name)))
        return super().spec(position, name)

    def goal(self, name: str) -> Value:
        self.asked.add(("goal", True))
        return super().goal(name)

    def fitted(self, position: str) -> bool:
        self.asked.add(("positions", position))
        return super().fitted(position)

    def count(self, position: str) -> int:
        self.asked.add(("positions", position))
        return super().count(position)

    def changed(self, position: str) -> bool:
        self.asked.add(("positions", position))
        return super().changed(position)

    def sister(self, position: str) -> str:
        self.asked.add(("positions", position))
        return super().sister(position)

    def done(self, work: str) -> bool:
        self.asked.add(("works", work))
        return super().done(work)

    def opened(self, joint: str) -> bool:
        self.asked.add(("joints", joint))
        return super().opened(joint)

    def offered(self, feature: str) -> int:
        self.asked.add(("features", feature))
        # what the conditions of the offers ask is theirs: a rule sees the number
        inside, self.asked = self.asked, set()
        try:
            return super().offered(feature)
        finally:
            self.asked = inside


def test_the_language_asks_nothing_that_is_not_watched_here() -> None:
    """Every question of the protocol; `engine` goes with the variant, `figure` and `parameter` ask the rest."""
    from compat.rulebook.values import World

    questions = {name for name in vars(World) if not name.startswith("_")}
    assert questions - {"engine", "figure", "parameter"} <= set(vars(Asked))


def test_what_a_rule_asks_lies_within_its_grounds(
    demo: Library, checked: dict[str, Checked], mixed: list[Checked]
) -> None:
    whole: set[tuple[str, object]] = set()
    for result in [*checked.values(), *mixed[::8]]:
        for rule in demo.book.rules.values():
            if rule.rule.sort in ("need", "renew"):
                continue
            world = Asked(result.world.settled)
            world.joints = result.world.joints
            Judge(world).judge(rule)
            grounds = demo.book.grounds(rule)
            declared = {
                (key, value)
                for key in ("specs", "positions", "works", "joints", "features")
                for value in getattr(grounds, key)
            }
            declared |= {("goal", grounds.goal)}
            assert world.asked <= declared, (result.report.build, rule.rule.rule)
            whole |= world.asked
    # features are asked by conditions of needs alone, so far, and those are not kept
    assert {kind for kind, _ in whole} - {"features"} == {"specs", "goal", "positions", "works", "joints"}


def test_checks_in_any_order_say_what_each_says_alone(
    demo: Library, checked: dict[str, Checked], mixed: list[Checked]
) -> None:
    book = fresh(demo.book)
    results = [*checked.values(), *mixed[::8]]
    random.Random(20).shuffle(results)
    for result in [*results, *results[::4]]:
        shop, build = result.world.settled.shop, result.world.settled.build
        alone = report_json(check(shop, fresh(demo.book), build).report)
        assert report_json(check(shop, book, build).report) == alone, build.build


def test_one_thing_changed_at_a_time(demo: Library, stating: Callable[..., Shop]) -> None:
    """A spec, its basis, the goal, the duty, a part, work, a measurement, the reader's units."""
    book = fresh(demo.book)
    base = check(demo.shop, book, "phase-upgrade").world.settled.build
    piston, block = "hg-piston-860-308-na", "tarn-20-phase-block"
    skirt = demo.shop.specs[piston]["skirt_diameter"]
    off = state(demo.shop.kinds["setup"]["knock_control"], "no")
    guessed = dataclasses.replace(skirt, basis="estimate")
    shops = {
        "tight": stating({piston: {"skirt_diameter": "85.999 mm"}}),
        "unstated": stating({block: {"deck_height": None}}),
        "estimate": dataclasses.replace(
            demo.shop, specs={**demo.shop.specs, piston: {**demo.shop.specs[piston], "skirt_diameter": guessed}}
        ),
        "measured": dataclasses.replace(
            demo.shop,
            measured={
                base.build: {("block", "deck_height"): dataclasses.replace(skirt, value=read_band("222 mm"))}
            },
        ),
        "setup": dataclasses.replace(
            demo.shop, setups={**demo.shop.setups, base.build: {"knock_control": off}}
        ),
        "as it is": demo.shop,
    }
    goals: list[dict[str, Any]] = [{}, {"duty": "endurance"}]
    says: list[dict[str, Any]] = [{}, {"renew": ()}, {"work": ()}, {"counts": {"head_fastener": 8}}]
    seen = set()
    for shop in shops.values():
        for goal in goals:
            for change in says:
                build = dataclasses.replace(base, **change, goal=dataclasses.replace(base.goal, **goal))
                text = report_json(check(shop, book, build).report)
                seen.add(text)
                if not change or not goal:
                    assert text == report_json(check(shop, fresh(demo.book), build).report)
        imperial = report_json(check(shop, book, base, "imperial").report)
        assert imperial == report_json(check(shop, fresh(demo.book), base, "imperial").report)
        assert imperial not in seen
    assert len(seen) == len(shops) * len(goals) * len(says)


def test_what_is_kept_is_given_again_and_not_for_ever(demo: Library) -> None:
    book = fresh(demo.book)
    check(demo.shop, book, "tarn-20-base")
    first = {id(finding) for finding in check(demo.shop, book, "tarn-20-base").report.findings}
    again = check(demo.shop, book, "tarn-20-base").report.findings
    judged = [
        f for f in again if f.rule in book.rules and book.rules[f.rule].rule.sort not in ("need", "renew")
    ]
    assert {id(finding) for finding in judged} <= first
    for _ in range(2):
        for name in [*demo.shop.variants, *demo.shop.builds]:
            check(demo.shop, book, name)
    assert max(map(len, book.kept.values())) == MOST


def test_keeping_is_no_part_of_judging(demo: Library, checked: dict[str, Checked]) -> None:
    """A judge asked directly judges anew."""
    world = checked["tarn-20-base"].world
    rule = demo.book.rules["deck-clearance"]
    judge = Judge(world)
    assert judge.judge(rule) == judge.judge(rule)
    assert judge.judge(rule) is not judge.judge(rule)
    keeper = Keeper(world, judge)
    keeper.finding(rule)
    assert keeper.finding(rule) is keeper.finding(rule)


def test_grounds_of_every_rule_are_known_from_reading(demo: Library) -> None:
    """Built once, from names alone; every spec's own place is among the places."""
    for rule in demo.book.rules.values():
        grounds = demo.book.grounds(rule)
        assert {position for position, _ in grounds.specs} <= set(grounds.places)
        assert set(grounds.positions) <= set(grounds.places)
        assert set(demo.book.positions_of(rule)) <= set(grounds.places)
        assert demo.book.grounds(rule) is grounds
