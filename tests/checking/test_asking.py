"""One question at a time, and tables of answers: the same as checking every build whole."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from compat import Faults, OpenShop
from compat.checking.asking import Asker
from compat.checking.judging import judge
from compat.checking.outcome import Outcome
from compat.checking.standing import standing
from compat.checking.sweeping import OUT, RANK
from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.rulebook.rulebook import BoundRule
from compat.shop.builds import ReadyBuild
from tests.look import check, settle

BUILDS = ("street-turbo", "first-draft", "fell-30-top-end", "tarn-20-base")


@pytest.mark.parametrize("name", BUILDS)
def test_a_question_gets_the_answer_of_the_whole_build(demo: Library, name: str) -> None:
    """Random rules of every kind, one or two of the parts they rest on replaced by any of the catalogue."""
    shop = OpenShop(demo.shop, demo.book)
    base = shop.check(name)
    asker = Asker(shop.session, base.checked)
    chance = random.Random(BUILDS.index(name))
    rules = list(demo.book.rules)
    quick = asked = 0
    while asked < 60:
        rule = chance.choice(rules)
        places = [
            place
            for place in demo.book.grounds(demo.book.rules[rule]).places
            if place in base.world.settled.fitted and place != "fuel"
        ]
        if not places:
            continue
        picked = chance.sample(places, min(len(places), chance.choice([1, 1, 2])))
        fit = {place: chance.choice(demo.shop.fillers[place]) for place in picked}
        found = asker.ask(rule, fit)
        assert found == answer_of_the_whole(demo, base.world.settled.ready.fitting(**fit), rule), (rule, fit)
        asked += 1
        quick += asker.places.by_itself(demo.book.rules[rule]) and asker.places.simple(fit)
    assert 15 < quick < 60, "both ways are taken"


def answer_of_the_whole(demo: Library, ready: ReadyBuild, rule: str) -> Outcome | None:
    """Of the build settled as it will stand; needs and renewals, which hang together, of its whole check."""
    bound = demo.book.rules[rule]
    if bound.rule.sort not in ("need", "renew"):
        return judge(settle(demo.shop, demo.book, ready), bound)
    outcomes = check(demo.shop, demo.book, ready).outcomes
    return next((outcome for outcome in outcomes if outcome.rule == rule), None)


def test_what_cannot_be_asked_is_said(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    with pytest.raises(Faults, match="rule 'deck-clearence' is not known; did you mean 'deck-clearance'"):
        shop.ask("deck-clearence", "street-turbo", piston="hg-piston-860-308-d106")
    with pytest.raises(Faults, match="part 'no-such-piston' is not known"):
        shop.ask("deck-clearance", "street-turbo", piston="no-such-piston")
    with pytest.raises(Faults, match="fills piston, not 'rod'"):
        shop.ask("deck-clearance", "street-turbo", rod="hg-piston-860-308-d106")


def test_what_a_part_can_move(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    assert "pin-running-clearance" in shop.moves("piston_pin", "diameter")
    assert shop.moves("piston_pin", "diameter") < shop.moves("piston_pin")
    assert "pin-running-clearance" not in shop.moves("spark_plug")
    with pytest.raises(Faults, match="position 'pistn' is not known; did you mean 'piston'"):
        shop.moves("pistn")
    with pytest.raises(Faults, match="spec 'diamter' is not declared for position 'piston_pin'; did you mean"):
        shop.moves("piston_pin", "diamter")


# sweeps


def swept(shop: OpenShop, build: str, positions: tuple[str, ...], most: int) -> dict[str, list[str]]:
    """Candidates of any family, the build's own among them, so that some combinations are in."""
    fitted = shop.check(build).world.settled.fitted
    found = {}
    for position in positions:
        own = fitted[position].part.part
        others = [name for name in shop.things.fillers[position] if name != own]
        found[position] = [own, *others[: most - 1]]
    return found


@pytest.mark.parametrize(
    ("build", "positions"),
    [
        ("street-turbo", ("piston", "rod", "head_gasket")),
        ("street-turbo", ("turbocharger", "injector", "downpipe")),
        ("long-stroke-20", ("crankshaft", "rod", "main_bearing")),
        ("fell-30-base", ("piston", "piston_pin", "valve_spring")),
        ("phase-upgrade", ("engine_control", "cam_sensor", "camshaft_inlet")),
    ],
)
def test_a_sweep_says_of_every_combination_what_its_check_says(
    demo: Library, build: str, positions: tuple[str, ...]
) -> None:
    shop = OpenShop(demo.shop, demo.book)
    positions = tuple(position for position in positions if position in shop.check(build).world.settled.fitted)
    assert len(positions) >= 2
    sweep = shop.sweep(build, swept(shop, build, positions, 5))
    rules = list(demo.book.judged.values())
    for index in product(*(range(len(names)) for names in sweep.candidates)):
        fit = {p: names[i] for p, names, i in zip(sweep.positions, sweep.candidates, index, strict=True)}
        world = settle(demo.shop, demo.book, shop.build(build).fitting(**fit))
        stands = min((RANK[outcome.verdict] for outcome in standing(world, ())), default=RANK["ok"])
        said = RANK[sweep.verdict(**fit)]
        assert sweep.clean[index] == (said > OUT)
        if said > OUT:
            assert min(stands, *(rank(world, rule) for rule in rules)) == said, fit
        elif stands > said:
            # one rule that is as bad is enough; the rule that was is the first to be asked of the next
            culprit = next((rule for rule in rules if rank(world, rule) <= said), None)
            assert culprit is not None, fit
            rules.insert(0, rules.pop(rules.index(culprit)))
    assert sweep.clean.any()


def rank(world: BuildWorld, rule: BoundRule) -> int:
    outcome = judge(world, rule)
    return RANK["ok" if outcome is None else outcome.verdict]


def test_survivors_are_what_is_clean_and_their_checks_are_whole(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    sweep = shop.sweep("street-turbo", swept(shop, "street-turbo", ("piston", "spark_plug"), 6))
    survivors = list(sweep.survivors())
    assert len(survivors) == np.count_nonzero(sweep.clean)
    for fit, checked in zip(survivors, sweep.checks(), strict=True):
        alone = check(demo.shop, demo.book, shop.build("street-turbo").fitting(**fit))
        assert list(checked.outcomes) == list(alone.outcomes)


def test_a_sweep_judges_far_less_than_a_loop(demo: Library) -> None:
    """Rules that look at one position are judged once a part, not once a combination."""
    shop = OpenShop(demo.shop, demo.book)
    places = ("piston", "rod", "spark_plug", "oil_filter")
    sweep = shop.sweep("street-turbo", swept(shop, "street-turbo", places, 4))
    assert sweep.worst.size >= 192
    assert sweep.judged < 0.05 * sweep.worst.size * len(demo.book.judged)


def test_faults_of_a_sweep_are_told_before_anything_is_judged(demo: Library) -> None:
    shop = OpenShop(demo.shop, demo.book)
    with pytest.raises(Faults) as caught:
        shop.sweep("street-turbo", {"piston": ["tarn-20-base-rod"], "rodd": ["tarn-20-base-rod"], "rod": ["x"]})
    assert len(caught.value.faults) == 3
