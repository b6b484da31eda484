"""What is tried the quick way comes to what the whole build comes to."""

from __future__ import annotations

import random

import pytest

from compat.checking.check import Checked
from compat.checking.judging import judge
from compat.checking.trials import UNKNOWN, Trials
from compat.library.library import Library
from compat.shop.changing import Aim, Change, Fit, with_changes
from tests.look import check, settle

BUILDS = ("first-draft", "street-turbo", "fell-30-top-end")


def trials(demo: Library, name: str) -> Trials:
    checked: Checked = check(demo.shop, demo.book, name).checked
    return Trials(checked.world, checked.judged, checked.needs)


@pytest.mark.parametrize("name", BUILDS)
def test_a_rule_says_of_changes_what_it_says_of_the_whole_build(demo: Library, name: str) -> None:
    """Each rule is asked, also where another part cannot move it and nothing is judged."""
    found = trials(demo, name)
    chance = random.Random(f"trying {name}")
    places = [place for place in sorted(found.settled.fitted) if found.candidates(place)]
    skipped = whole = 0
    for number in range(18):
        picked = chance.sample(places, 1 + number % 2)
        changes: tuple[Change, ...] = tuple(
            Fit(place, chance.choice(found.candidates(place))) for place in picked
        )
        if number % 6 == 5:
            changes = (*changes[:1], Aim("power", f"{chance.randint(80, 220)} kW"))
        if found.of(changes) is None:
            continue
        touched = found._touched(changes)
        world = settle(demo.shop, demo.book, with_changes(found.settled.ready, changes))
        for rule, bound in demo.book.judged.items():
            try:
                said = found.ask(rule, changes)
            except LookupError:  # of a part that stands in, there is no such build
                continue
            assert said == judge(world, bound), (changes, rule)
            skipped += touched is not None and rule not in touched
        whole += touched is None
    assert skipped > 1000
    assert whole > 2


@pytest.mark.parametrize(
    "position", ["crankshaft", "rod", "piston", "head_gasket", "ignition_coil", "turbocharger"]
)
def test_what_is_given_up_early_would_clear_no_more(demo: Library, position: str) -> None:
    quick, whole = trials(demo, "first-draft"), trials(demo, "first-draft")
    against = {name for name, outcome in whole.judged.outcomes.items() if Trials.rank(outcome) <= UNKNOWN}
    about = {name for name in against if position in demo.book.positions_of(demo.book.rules[name])}

    def more(effect, asked) -> bool:
        return effect.betters and len(effect.raises) < len(asked & set(effect.clears))

    for asked in (frozenset(against), frozenset(about)):
        for part in whole.candidates(position):
            changes = (Fit(position, part),)
            if whole.of(changes) is None:
                assert quick.clearing_more(changes, asked) is None
                continue
            effect = whole.in_full(changes)
            clears = more(whole.effect(changes), asked) and more(effect, asked)
            assert quick.clearing_more(changes, asked) == (effect if clears else None), (part, len(asked))


def test_a_part_that_counts_the_pieces_of_another_place_moves_what_hangs_on_them(demo: Library) -> None:
    places = trials(demo, "first-draft").places
    counted = demo.shop.counted_by
    hanging = set()
    for place, (owner, _) in counted.items():
        moved = demo.book.influence.of([("count", place)])
        hanging |= moved.rules
        assert moved.rules & demo.book.judged.keys() <= places.touched((owner,))
        assert moved.figures <= places.moved((owner,))
    assert hanging & demo.book.judged.keys()
