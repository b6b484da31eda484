"""Why no build passes, on random small shops: held against brute force over the checker, and against clingo.

`PLANNING_SHOPS=300` tries three hundred; without it a few are tried.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import pytest

from compat.checking.outcome import Foreseen
from compat.checking.session import Session
from compat.library.library import Library, load
from compat.planning.asked import Asked, Setting
from compat.planning.failing import FAILING
from compat.planning.terms import Terms
from compat.planning.together import Held, WhyNot
from compat.planning.told_why import WhyTeller
from compat.planning.trial import Trial
from compat.planning.why_not import why_not
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.source import Faults
from tests.planning.random_shops import small_shop, write_shop

SHOPS = int(os.environ.get("PLANNING_SHOPS", "4"))
GOAL_RULE = {
    "rule": "carries-the-power",
    "title": "The first place carries the power",
    "load": "goal.power",
    "capacity": "place_a.strength*2*m/s",
    "headroom": {"street": 0.5, "track": 1.0, "endurance": 1.5},
    "why": "So that a goal may be out of reach.",
    "source": "common practice",
}


@dataclass(frozen=True)
class Built:
    """One of all builds of a shop that the check passes, and what of all that is asked it does not keep to."""

    breaks: frozenset[Held]


def asked_of(seed: int, folder: Path) -> tuple[Library, ReadyBuild, Terms]:
    """A shop, a draft and terms, more often than not too hard."""
    random = Random(seed + 1000)
    catalog, rules = small_shop(seed)
    draft: dict[str, Any] = next(entry for entry in catalog if "build" in entry)
    draft["goal"] = {"power": f"{random.choice((30, 55, 75))} kW", "at": "5200 rpm"}
    if random.random() < 0.4:
        draft["goal"]["duty"] = random.choice(("track", "endurance"))
    library = load(write_shop(folder, catalog, [*rules, GOAL_RULE]))
    places = [name for name in library.shop.positions if name.startswith("place")]
    parts = [name for name in library.shop.parts if name.startswith("place")]
    ready = prepare(library.shop, library.shop.builds["draft"])
    keep = frozenset(random.sample(places, random.choice((0, 1, 2, 3))))
    avoid = random.sample(parts, random.choice((0, 1, 2)))
    terms = Terms(
        keep=keep,
        avoid=frozenset(avoid) - {ready.part_in(place) for place in keep},  # both at once are refused
        budget=random.choice((None, None, Decimal(40), Decimal(90))),
        stock_only=random.random() < 0.15,
        avoid_suppliers=frozenset(random.sample(("north", "south"), random.choice((0, 0, 1)))),
        seconds=240,
    )
    return library, ready, terms


def all_builds(asked: Asked, held_apart: Iterable[Held]) -> Iterator[Built]:
    """Every build that the whole check passes and that can be bought, whatever of what is asked is given up."""
    apart = tuple(held_apart)
    for kept in product((True, False), repeat=len(apart)):
        given_up = [held for held, keeps in zip(apart, kept, strict=True) if not keeps]
        for setting in asked.settings(given_up):
            yield from (Built(breaks | set(given_up)) for breaks in passing(asked, setting))


def passing(asked: Asked, setting: Setting) -> Iterator[frozenset[Held]]:
    """By each build that passes in one space what of what is asked by the side it breaks."""
    trial = Trial(asked, setting)
    trial.prepare()
    session = Session(asked.shop, asked.session.book)
    last = None
    for choice in product(*(range(len(decision.options)) for decision in trial.space.decisions)):
        ready = trial.space.build(choice)
        if ready.forced:
            continue  # what other work drags in is named, or it has no size
        last = checked = session.check(ready, last)
        if any(checked.counts[verdict] for verdict in FAILING):
            continue
        try:
            money = trial.prices.bill(checked).money
        except Faults:
            continue  # somebody would have to sell it
        taken = {decision.name: option for decision, option in trial.space.taken(choice)}
        breaks = set()
        for held in asked.beside:
            if held.kind == "keep" and not taken[held.name].said:
                breaks.add(held)
            elif held.kind == "avoid":
                if any(
                    option.how in ("fit", "sister")
                    and option.part == held.name
                    and not (option.said and name in asked.terms.keep)
                    for name, option in taken.items()
                ):
                    breaks.add(held)
            elif held.kind == "budget" and money > Decimal(held.said):
                breaks.add(held)
        yield frozenset(breaks)


def sets_of(asked: list[Held], builds: set[frozenset[Held]]) -> set[frozenset[Held]]:
    """All sets that cannot stand together and of which none can be left out, as clingo has them.

    Every build breaks one of the set, and for each of the set there is a build that breaks it alone of the set.
    """
    clingo = pytest.importorskip("clingo")
    number = {held: n for n, held in enumerate(asked)}
    facts = [f"held({n})." for n in number.values()]
    for index, breaks in enumerate(builds):
        facts.append(f"build({index}).")
        facts += [f"breaks({index},{number[held]})." for held in breaks]
    control = clingo.Control(["0", "--warn=none"])
    control.add(
        "base",
        [],
        "\n".join(facts)
        + """
        {in(H) : held(H)}.
        :- build(B), not breaks(B,H) : in(H).
        other(B,H) :- in(H), breaks(B,O), in(O), O != H.
        free(H) :- in(H), build(B), breaks(B,H), not other(B,H).
        :- in(H), not free(H).
        #show in/1.
        """,
    )
    control.ground([("base", [])])
    found: set[frozenset[Held]] = set()
    with control.solve(yield_=True) as models:
        for model in models:
            found.add(frozenset(asked[atom.arguments[0].number] for atom in model.symbols(shown=True)))
    return found


@pytest.mark.parametrize("seed", range(SHOPS))
def test_a_set_that_cannot_stand_together_is_minimal_and_impossible(seed: int, tmp_path: Path) -> None:
    library, ready, terms = asked_of(seed, tmp_path)
    session = Session(library.shop, library.book)
    told = why_not(session, ready, terms)
    asked = Asked(session, ready, terms)
    builds = {built.breaks for built in all_builds(asked, (*asked.goal, *asked.market))}

    assert told.ended == ("possible" if frozenset() in builds else "explained")
    if told.ended == "possible":
        assert told.possible is not None
        assert told.possible.checked.proven
        assert not told.members
        return
    members = frozenset(member.held for member in told.members) - {asked.variant}
    assert all(breaks & members for breaks in builds), "a build keeps to the whole set"
    assert members in sets_of(list(asked.all), builds)
    assert all(member.settled for member in told.members)
    for member in told.members:
        if member.held.kind != "variant":
            assert member.held.kind in {held.kind for held in asked.all}
        assert member.freed is not None
        assert freed_is_true(library, member.freed.remade.ready)
        if member.freed.alone and member.held.kind != "variant":
            assert any(breaks <= {member.held} for breaks in builds)
    assert reasons_are_minimal(library, told)


def freed_is_true(library: Library, ready: ReadyBuild) -> bool:
    """Whether a build that giving something up allows passes the whole check, asked anew."""
    checked = Session(library.shop, library.book).check(ready)
    return not any(checked.counts[verdict] for verdict in FAILING)


def reasons_are_minimal(library: Library, told: WhyNot) -> bool:
    """Whether each rule of the set fails, and no other of them, on the build that is shown for it.

    What the check foresees of parts that it would add where a need is not met is not of that build.
    """
    names = {reason.rule for reason in told.reasons}
    for reason in told.reasons:
        if not reason.settled:
            return False
        assert reason.at is not None
        failing = {
            outcome.rule
            for outcome in reason.at.outcomes
            if outcome.verdict in FAILING and not isinstance(outcome.seen, Foreseen)
        }
        if reason.rule in library.book.rules and reason.rule not in failing:
            return False
        if failing & (names - {reason.rule}):
            return False
    return True


@pytest.mark.skipif("PLANNING_SHOPS" not in os.environ, reason="a minute: with PLANNING_SHOPS set")
def test_a_long_crankshaft_on_the_factorys_rods_is_told_as_such(demo: Library) -> None:
    session = Session(demo.shop, demo.book)
    ready = prepare(demo.shop, demo.shop.builds["first-draft"])
    told = why_not(session, ready, Terms(keep=frozenset({"crankshaft", "rod"}), seconds=90))
    assert told.ended == "explained"
    assert {(member.held.kind, member.held.name) for member in told.members} == {
        ("keep", "crankshaft"),
        ("keep", "rod"),
    }
    assert [reason.rule for reason in told.reasons] == ["piston-speed"]
    for member in told.members:
        # what ends by time is not claimed
        assert member.settled == (member.freed is not None)
        if member.freed is not None:
            build = member.freed.remade.ready
            assert freed_is_true(demo, build)
            for other in told.members:
                assert other is member or build.part_in(other.held.name) == other.held.said
    lines = "\n".join(WhyTeller(told).sentences())
    assert "These 2 cannot stand together" in lines
    assert "95 mm stroke (tarn-22-long-crankshaft)" in lines
    assert "20.5 m/s" in lines


def test_what_can_stand_is_not_explained_away(demo: Library) -> None:
    session = Session(demo.shop, demo.book)
    ready = prepare(demo.shop, demo.shop.builds["street-turbo"])
    told = why_not(session, ready, Terms(keep=frozenset({"turbocharger"}), seconds=60))
    assert told.ended == "possible"
    assert told.possible is not None
    assert told.possible.checked.proven
    assert not told.members


def test_terms_that_make_no_sense_are_refused(demo: Library) -> None:
    session = Session(demo.shop, demo.book)
    ready = prepare(demo.shop, demo.shop.builds["street-turbo"])
    with pytest.raises(Faults) as caught:
        why_not(session, ready, Terms(keep=frozenset({"crankshft"}), avoid_suppliers=frozenset({"nobody"})))
    assert len(caught.value.faults) == 2
    assert any("crankshaft" in str(fault) for fault in caught.value.faults)
