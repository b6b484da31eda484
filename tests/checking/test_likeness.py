"""Parts that are taken as the same to a rule are so: asked of each by itself, it says the same."""

from __future__ import annotations

import random

import pytest

import compat
from compat.checking.judged import Judged
from compat.checking.remedying import WHOLE
from compat.checking.trials import Trials
from compat.shop.changing import Fit
from compat.words.remedying import Remedier
from compat.words.reporting import report
from tests.bench.big_shop import write_shop


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return compat.open_shop(write_shop(tmp_path_factory.mktemp("many") / "shop", 5000))


def anew(trials: Trials, rule: str, change: Fit) -> object:
    """What a rule says of a part itself, whatever was asked before."""
    try:
        return trials._ask(rule, (change,))
    except LookupError:
        return "no such build"


@pytest.mark.parametrize("name", ["first-draft", "endurance-ethanol", "long-stroke-20"])
def test_a_stand_in_gets_the_same_answer(shop, name):
    checked = shop.session.check(shop.build(name))
    judged: Judged = checked.judged
    trials = Trials(checked.world, judged)
    dice = random.Random(f"alike in {name}")
    book, compared, worked = shop.session.book, 0, 0
    rules = [rule for rule in sorted(book.judged) if not trials.heavy(rule)]
    for rule in dice.sample(rules, 60):
        places = {place for place, _ in book.gather(book.judged[rule].expressions()).specs}
        for place in sorted(places & trials.settled.fitted.keys()):
            first: dict[str, object] = {}
            for part in dice.sample(trials.candidates(place), min(12, len(trials.candidates(place)))):
                instead = trials.likeness.stand_in(rule, place, part)
                if instead not in first:
                    first[instead] = anew(trials, rule, Fit(place, instead))
                if instead != part:
                    compared += 1
                    worked += place in trials.places._worked
                    assert anew(trials, rule, Fit(place, part)) == first[instead], (rule, place, part, instead)
    assert compared > 100
    assert worked > 0 or not trials.settled.sequence


def test_parts_that_differ_where_a_rule_looks_are_told_apart(shop):
    checked = shop.session.check(shop.build("first-draft"))
    trials = Trials(checked.world, checked.judged)
    book, stated = shop.session.book, shop.session.shop.stated
    for rule in sorted(book.judged)[:200]:
        for place, spec in book.gather(book.judged[rule].expressions()).specs:
            if place not in trials.settled.fitted:
                continue
            for part in trials.candidates(place)[:40]:
                instead = trials.likeness.stand_in(rule, place, part)
                one, other = stated(place, part).get(spec), stated(place, instead).get(spec)
                assert (one and (one.value, one.basis)) == (other and (other.value, other.basis))


def test_what_was_not_tried_is_said(shop):
    checked = shop.session.check(shop.build("first-draft"))
    told = Remedier(checked).report(report(checked))
    said = [advice for finding in told.findings for advice in finding.advice if "were tried" in advice]
    assert any(f" {WHOLE} were tried for what else comes up: the cheapest" in advice for advice in said)


def test_the_demo_shop_is_tried_whole():
    demo = compat.open_shop()
    assert max(map(len, demo.session.shop.fillers.values())) <= WHOLE
