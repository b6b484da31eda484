"""What a rule rests on: with nothing else put in place it says what it says of the whole build."""

from __future__ import annotations

from random import Random

import pytest

from compat.checking.built import settle
from compat.checking.judging import judge
from compat.checking.session import Session
from compat.library.library import Library, build_of_id
from compat.planning.cells import Cells
from compat.planning.grounds import Grounds
from compat.planning.nominal import needs_tolerance, settle_nominal
from compat.planning.options import space_of
from compat.planning.space import Choice, Space
from compat.planning.tables import heavy_figures
from compat.planning.terms import Terms
from compat.planning.values import with_values


@pytest.fixture(scope="module")
def space(demo: Library) -> Space:
    session = Session(demo.shop, demo.book)
    return with_values(space_of(session, build_of_id(demo.shop, "first-draft"), Terms()))


def anyhow(space: Space, random: Random) -> Choice:
    """A choice with some options taken at random, all work named that other work drags in."""
    choice = list(space.start)
    for number in random.sample(range(len(choice)), random.choice((3, 12, 40, 150))):
        choice[number] = random.randrange(len(space.decisions[number].options))
    waiting = [n for n, d in enumerate(space.decisions) if d.kind == "work" and d.options[choice[n]].works]
    for number in waiting:
        for name in space.shop.works[space.decisions[number].name].forces:
            other = space.number[f"work:{name}"]
            done = [n for n, option in enumerate(space.decisions[other].options) if option.works]
            if choice[other] not in done:
                choice[other] = done[0]
                waiting.append(other)
    return tuple(choice)


@pytest.mark.parametrize("seed", range(12))
def test_a_rule_says_of_its_ground_what_it_says_of_the_whole(space: Space, seed: int) -> None:
    grounds, cells = Grounds(space), Cells(space)
    heavy = heavy_figures(space)
    choice = anyhow(space, Random(seed))
    _, world = space.settled(choice)
    asked = 0
    for name, rule in space.book.judged.items():
        ground = grounds.of_rule(rule)
        if not heavy.isdisjoint(ground.figures):
            continue
        asked += 1
        whole, alone = judge(world, rule), cells.outcome(rule, ground, choice)
        assert (whole.verdict if whole else None) == (alone.verdict if alone else None), name
    assert asked > 500


@pytest.mark.parametrize("seed", range(12))
def test_options_of_one_class_are_the_same_to_a_rule(space: Space, seed: int) -> None:
    random = Random(seed)
    grounds = Grounds(space)
    choice = anyhow(space, random)
    heavy = heavy_figures(space)
    _, world = space.settled(choice)
    for number in random.sample(range(len(choice)), 20):
        for option in range(len(space.decisions[number].options)):
            other = (*choice[:number], option, *choice[number + 1 :])
            if option == choice[number] or space.build(other).forced:
                continue
            _, swapped = space.settled(other)
            for name, rule in space.book.judged.items():
                ground = grounds.of_rule(rule)
                if not heavy.isdisjoint(ground.figures) or ground.classes_of(other) != ground.classes_of(
                    choice
                ):
                    continue
                if number not in ground.decisions or ground.joints:
                    continue
                before, after = judge(world, rule), judge(swapped, rule)
                assert (before and before.verdict) == (after and after.verdict), (name, number, option)


@pytest.mark.parametrize("seed", range(6))
def test_the_middle_of_tolerances_decides_what_fails(space: Space, seed: int) -> None:
    cells = Cells(space)
    choice = anyhow(space, Random(100 + seed))
    ready, quick = space.settled(choice, settle_nominal)
    whole = settle(space.shop, space.book, ready, space.session.answers)
    for name, rule in space.book.judged.items():
        if not needs_tolerance(rule):
            one, other = judge(quick, rule), judge(whole, rule)
            fails = [cells.standard.fails(o) for o in (one, other)]
            assert fails[0] == fails[1], name
