"""Over a box that is said to fail every build fails, as the checker has it; sums shut out only such builds."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from compat.checking.asking import Asker
from compat.checking.check import Checked
from compat.checking.session import Session
from compat.planning.boxes import Box, Boxes, Question
from compat.planning.failing import FAILING
from compat.planning.linear import linear
from compat.planning.readings import Readings
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.models import WorkDone
from tests.look import demo_shop, ready
from tests.planning.shops import Choice, FittingScene, readings_of

BUILDS = ("first-draft", "street-turbo", "fell-30-top-end", "long-stroke-20")
MOST = 5
"""So many builds of one box are checked; all of them where there are no more."""


@cache
def _session() -> Session:
    library = demo_shop()
    return Session(library.shop, library.book)


@cache
def _base(build: str) -> Checked:
    return _session().check(ready(_session().shop, build))


@cache
def _asker(build: str) -> Asker:
    return Asker(_session(), _base(build))


@cache
def _readings(build: str) -> Readings:
    return readings_of(_session(), _base(build))


@cache
def _boxes(build: str) -> Boxes:
    return Boxes(_readings(build))


def _start(build: str) -> Choice:
    return {position: str(options[0]) for position, options in _readings(build).domains.items()}  # type: ignore[index]


def _check(build: str, choice: Choice) -> Checked:
    """A choice checked whole; every position is spoken of, so that no box fills one by itself."""
    scene = _readings(build).scene
    assert isinstance(scene, FittingScene)
    return _session().check(scene.build(choice), _base(build))


def _fails(build: str, choice: Choice, rule: str) -> bool:
    """Whether a choice fails a rule: by one question where that settles it, else checked whole."""
    start = _start(build)
    fit = {position: part for position, part in choice.items() if part != start[position]}
    asker = _asker(build)
    if all(fit.values()) and asker.places.simple(fit) and asker.places.by_itself(_session().book.rules[rule]):
        outcome = asker.ask(rule, fit)
        return outcome is not None and outcome.verdict in FAILING
    return _failed(_check(build, choice), rule)


def _failed(checked: Checked, rule: str) -> bool:
    outcome = checked.judged.outcomes.get(rule)
    return outcome is not None and outcome.verdict in FAILING


def _inside(rng: random.Random, build: str, box: Box) -> Iterable[Choice]:
    """Builds that lie in a box, all where they are few; of what it leaves open something is changed too."""
    start = _start(build)
    sides = {decision: sorted(map(str, options)) for decision, options in box.options.items()}
    if math.prod(map(len, sides.values())) <= MOST:
        ways: Iterable[tuple[str, ...]] = product(*sides.values())
    else:
        ways = [tuple(rng.choice(options) for options in sides.values()) for _ in range(MOST)]
    free = [decision for decision in start if decision not in sides and start[decision]]
    for way in ways:
        others = {
            d: str(rng.choice(list(_readings(build).domains[d]))) or start[d] for d in rng.sample(free, 3)
        }
        yield {**start, **others, **dict(zip(sides, way, strict=True))}


def _told(choice: Choice) -> Choice:
    """What of a choice differs from the first draft."""
    start = _start("first-draft")
    return {position: part for position, part in choice.items() if part != start[position]}


def _share(box: Box) -> float:
    """How much of all choices a box of the first draft holds."""
    domains = _readings("first-draft").domains
    return math.prod(len(options) / len(domains[decision]) for decision, options in box.options.items())


def _failing(build: str, heavy: bool) -> list[str]:
    outcomes = _base(build).judged.outcomes.values()
    names = [outcome.rule for outcome in outcomes if outcome.verdict in FAILING]
    return [name for name in names if _boxes(build).question(name).heavy is heavy]


@pytest.mark.parametrize("build", BUILDS)
def test_one_choice_comes_out_as_the_checker_has_it(build: str) -> None:
    """Every rule of the shop, on the build and on builds with other parts in a dozen places."""
    rng = random.Random(build)
    start = _start(build)
    domains = _readings(build).domains
    failed = 0
    for number in range(3):
        places = rng.sample(list(start), 12 if number else 0)
        choice = {**start, **{place: str(rng.choice(list(domains[place]))) for place in places}}
        checked = _check(build, choice)
        for name, rule in _session().book.rules.items():
            question = _boxes(build).question(name)
            surely = question.fails(question.masks(choice))
            there = _failed(checked, name)
            assert there or not surely, f"{name} does not fail with {_told(choice)}"
            names = _session().book.gather(rule.expressions())
            hangs_on_all = names.joints or rule.rule.sort in ("need", "renew")
            if not (hangs_on_all or question.pieced):
                assert surely is there, f"{name} fails with {choice}, which is not seen"
            failed += there
    assert failed


def test_every_build_of_a_box_fails() -> None:
    """Every light rule that the first draft fails, with the widest boxes about it."""
    rng = random.Random(5)
    widened = 0
    names = _failing("first-draft", heavy=False)
    for name in names:
        found = _boxes("first-draft").grow(name, _start("first-draft"))
        question = _boxes("first-draft").question(name)
        assert found, f"{name} fails, which is not seen"
        for box in found[:2]:
            assert box.holds(_start("first-draft"))
            for choice in _inside(rng, "first-draft", box):
                assert _fails("first-draft", choice, name), f"{name} does not fail with {_told(choice)}"
        alone = question.box(question.masks(_start("first-draft")))
        widened += any(_share(box) > 1.5 * _share(alone) for box in found)
    assert len(names) > 40
    assert widened > len(names) / 3


@pytest.mark.parametrize("name", ["pin-boss-pressure", "small-end-pressure", "heat-and-radiator"])
def test_every_build_of_a_box_of_the_cycle_fails(name: str) -> None:
    rng = random.Random(name)
    boxes = _boxes("first-draft").grow(name, _start("first-draft"))
    assert boxes
    for box in boxes:
        assert len(box.options) < 12  # of some thirty on which the rule hangs
        for choice in _inside(rng, "first-draft", box):
            assert _fails("first-draft", choice, name), f"{name} does not fail with {_told(choice)}"


def test_boxes_are_the_same_every_time() -> None:
    for name in ("clutch-torque", "deck-clearance", "pin-running-clearance"):
        again = Boxes(readings_of(_session(), _base("first-draft")))
        assert again.grow(name, _start("first-draft")) == _boxes("first-draft").grow(
            name, _start("first-draft")
        )


def test_no_box_about_a_build_that_passes() -> None:
    start = _start("street-turbo")
    assert not _failed(_base("street-turbo"), "deck-clearance")
    assert _boxes("street-turbo").grow("deck-clearance", start) == ()


@pytest.mark.parametrize("build", ["first-draft", "long-stroke-20"])
def test_a_sum_shuts_out_only_what_fails(build: str) -> None:
    """Every rule that is a sum over more than two positions, on two hundred choices each."""
    rng = random.Random(build)
    domains = _readings(build).domains
    sums = shut_out = failing = 0
    doubtful: list[tuple[str, Choice]] = []
    for name in _session().book.rules:
        question = _boxes(build).question(name)
        if question.heavy or len(question.decisions) < 3:
            continue
        found = linear(name, _readings(build))
        sums += bool(found)
        for number in range(200 if found else 0):
            choice = {**_start(build), **{d: str(rng.choice(list(domains[d]))) for d in question.decisions}}
            excluded = any(one.excludes(choice) for one in found)
            surely = question.fails(question.masks(choice))
            assert surely or not excluded, f"{name} shuts out {choice}"
            failing += surely
            shut_out += excluded
            if excluded and number < 2:
                doubtful.append((name, choice))
    assert sums > 20
    assert shut_out > 0.6 * failing
    for name, choice in rng.sample(doubtful, 12):
        assert _fails(build, choice, name), f"{name} shuts out {choice}"


def test_a_question_that_hangs_on_nothing_has_no_sum() -> None:
    readings = Readings(_readings("first-draft").scene, {})
    assert linear("deck-clearance", readings) == ()
    question = Question(_session().book.rules["deck-clearance"], readings)
    assert question.fails(())
    assert question.grow({}) == question.grow({})


class DeckingScene(FittingScene):
    """Parts, and how deep the block is decked, if at all."""

    def part(self, decision: str, option: object) -> str | None:
        return None if decision.startswith("work:") else super().part(decision, option)  # type: ignore[arg-type]

    def build(self, chosen: Mapping[str, object]) -> ReadyBuild:
        parts = {key: part for key, part in chosen.items() if not key.startswith("work:")}
        fitted = super().build(parts)  # type: ignore[arg-type]
        works = [done for done in fitted.build.work if done.work not in ("deck-block", "face-head")]
        for key, depth in chosen.items():
            if key.startswith("work:") and depth:
                works.append(WorkDone(work=key.removeprefix("work:"), values={"depth": str(depth)}))
        return prepare(_session().shop, replace(fitted.build, work=tuple(works)))


def test_work_counts_with_the_part_that_it_changes() -> None:
    """Every rule that deck or head height moves, over every depth and some parts, against whole checks."""
    domains = {
        "work:deck-block": ("", "0.40 mm", "1.20 mm"),
        "work:face-head": ("", "0.60 mm"),
        **{place: _readings("street-turbo").domains[place][:3] for place in ("piston", "rod", "cylinder_head")},
    }
    scene = DeckingScene(_session(), _base("street-turbo").world.settled.ready)
    readings = Readings(scene, domains)
    boxes = Boxes(readings)
    rules = [
        name
        for name in (
            "deck-clearance",
            "quench-gap-least",
            "piston-to-exhaust-valve",
            "oil-ring-stays-in-bore",
        )
        if {"work:deck-block", "work:face-head"} & set(boxes.question(name).decisions)
    ]
    assert len(rules) == 4
    rng = random.Random(3)
    seen = {(name, answer): 0 for name in rules for answer in (True, False)}
    for number in range(24):
        choice = {decision: rng.choice(options) for decision, options in domains.items()}
        checked = _session().check(scene.build(choice), _base("street-turbo"))
        for name in rules:
            question = boxes.question(name)
            there = _failed(checked, name)
            assert question.fails(question.masks(choice)) is there, f"{name} with {choice}"
            assert there or not any(one.excludes(choice) for one in linear(name, readings))
            seen[name, there] += 1
            for box in question.grow(choice)[: number < 6]:
                inside = {d: rng.choice(sorted(box.options.get(d, domains[d]))) for d in domains}
                assert _failed(_session().check(scene.build(inside)), name), f"{name} with {inside}"
    assert sum(count > 0 for count in seen.values()) >= 6
