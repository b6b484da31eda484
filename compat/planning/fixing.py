"""Putting a build right: the cheapest changes after which the whole check passes it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal

from compat.checking.check import Checked
from compat.checking.session import Session
from compat.planning.fixed import Ended, Fixed, Mended, Remade, What
from compat.planning.options import space_of
from compat.planning.search import Search
from compat.planning.searched import Progress, Searched, Solution
from compat.planning.space import Decision, Option, Space
from compat.planning.terms import Terms, hold_terms
from compat.shop.builds import ReadyBuild

__all__ = ["changes_of", "fix", "remade", "sizes_of"]

STEP = 0.005
"""By so much the headroom asked for is raised from build to build."""


def fix(
    session: Session,
    ready: ReadyBuild,
    terms: Terms | None = None,
    tell: Callable[[Progress], None] | None = None,
) -> Fixed:
    """Put a build right, or complete it.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    ready : ReadyBuild
        The build as it stands; one that names a variant and a goal alone is completed.
    terms : Terms, optional
        What is kept, avoided and aimed at, and for how long may be searched.
    tell : callable, optional
        Told how far the search is; may raise KeyboardInterrupt to end it with what there is.

    Returns
    -------
    Fixed
        The best build found, checked whole, its changes with their reasons, its cost, the next-best, and
        whether it is proved the best or how far off it may be.

    Raises
    ------
    Faults
        When terms are not known or make no sense, or the shop states no prices.

    Notes
    -----
    Every line of the build is a wish: what giving it up counts is told in `compat.planning.costs.Costs`. The
    goal and what the car is stay as they are; what the calibration decides may change. A boost that the goal
    leaves open is found too.
    """
    terms = hold_terms(session.shop, ready, terms or Terms())
    before = session.check(ready)
    space = space_of(session, ready, terms)
    if terms.aim == "headroom":
        return _most_headroom(before, space, terms, tell)
    search = Search(space, terms, tell)
    return _fixed(before, search, search.run(), terms)


def _most_headroom(
    before: Checked, space: Space, terms: Terms, tell: Callable[[Progress], None] | None
) -> Fixed:
    """Raise what every capacity must exceed its load by, until no build within the budget has it."""
    began = time.monotonic()
    search = Search(space, terms, tell)
    best: tuple[Search, Searched] | None = None
    asked: float | None = None
    while True:
        left = terms.seconds - (time.monotonic() - began)
        search = Search(space, replace(terms, seconds=max(left, 0.1), others=0), tell, asked, enough=True)
        found = search.run()
        if not found.solutions:
            break
        best = search, found
        least = search.standard.least(found.solutions[0].checked)
        if least is None:
            break
        asked = least + STEP
    if best is None:
        return _fixed(before, search, found, terms)
    told = _fixed(before, *best, terms)
    ended: Ended = "proved" if found.ended == "impossible" else "time"
    bound = Decimal(str(round(asked, 6))) if asked is not None and ended == "proved" else Decimal("Infinity")
    return replace(told, ended=ended, bound=bound, seconds=time.monotonic() - began)


def _fixed(before: Checked, search: Search, found: Searched, terms: Terms) -> Fixed:
    told = [found.solutions[0], *_others(search, found.solutions, terms)] if found.solutions else []
    first = search.costs.first
    leading = terms.aim in ("changes", "time")
    return Fixed(
        before,
        terms.aim,
        terms.day,
        search.prices.info.currency,
        found.ended,
        tuple(remade(search, before, solution) for solution in told),
        Decimal(found.bound // first) if leading else search.prices.money(found.bound),
        found.gap_of(first) if leading else found.gap,
        found.first,
        found.seconds,
        found.rounds,
        found.checks,
        dict(sizes_of(search.space)),
        tuple(search.master.closed) if found.ended == "impossible" else (),
    )


def _others(search: Search, solutions: tuple[Solution, ...], terms: Terms) -> Iterator[Solution]:
    """Solutions that differ from those before them in something that matters."""
    told = [solutions[0]]
    for solution in solutions[1:]:
        if len(told) > terms.others:
            return
        if all(matters(search, solution, other) for other in told):
            told.append(solution)
            yield solution


def matters(search: Search, one: Solution, other: Solution) -> bool:
    """Whether two solutions differ in a wish, or in something that weighs: a fiftieth of the cost."""
    least = search.prices.grains(one.bill.money) // 50
    for number, (a, b) in enumerate(zip(one.choice, other.choice, strict=True)):
        decision = search.space.decisions[number]
        if a == b or (decision.kind == "position" and decision.options[a].part == decision.options[b].part):
            continue
        if decision.wish or search.costs.weight(number, a, b) >= least:
            return True
    return False


def remade(search: Search, before: Checked, solution: Solution) -> Remade:
    """A solution as a build put right, with what changed and what it costs."""
    money = search.prices.money
    bill = solution.bill
    settled = solution.checked.world.settled
    return Remade(
        settled.ready,
        solution.checked,
        tuple(changes_of(search, before, solution)),
        bill.money,
        bill.parts,
        bill.labour,
        bill.outwork,
        bill.hours,
        bill.plan.days,
        money(solution.given_up),
        search.standard.least(solution.checked),
        bill.expired,
    )


def changes_of(search: Search, before: Checked, solution: Solution) -> Iterator[Mended]:
    """What a solution changes, each with the rules that it clears and those that would fail without it."""
    space = search.space
    failed = {o.rule for o in before.outcomes if search.standard.fails(o)}
    holds = {o.rule for o in solution.checked.outcomes if not search.standard.fails(o)}
    cleared = failed - {o.rule for o in solution.checked.outcomes} | (failed & holds)
    for number, (decision, option) in enumerate(space.taken(solution.choice)):
        if option.said:
            continue
        yield Mended(
            _what(decision, option),
            decision.name,
            _told(next((o for o in decision.options if o.said), None)),
            _told(option),
            dict(option.works[0].values) if option.works else {},
            decision.wish,
            search.prices.money(search.costs.wishes[number][solution.choice[number]]),
            tuple(sorted(name for name in cleared if _rests(search, name, number))),
            tuple(_without(search, solution, number)),
        )
    renewed = solution.checked.world.settled.build.renew
    own = space.base.build.renew
    if renewed != own and renewed != "all":
        more = [position for position in renewed if own == "all" or position not in own]
        yield from (Mended("renew", position) for position in more)


def _what(decision: Decision, option: Option) -> What:
    said = next((o for o in decision.options if o.said), None)
    if decision.kind in ("setup", "goal"):
        return "set"
    if decision.kind == "work":
        if not option.works:
            return "undo"
        return "size" if said is not None and said.works else "do"
    if option.how == "nothing" or (option.how == "own" and not option.part):
        return "leave out"
    if option.how == "own":
        return "keep"
    return "swap" if said is not None and said.part else "add"


def _told(option: Option | None) -> str:
    if option is None:
        return ""
    if option.works:
        return ", ".join(str(value) for done in option.works for value in done.values.values())
    return option.part or ("" if option.word is None else str(option.word))


def _rests(search: Search, name: str, number: int) -> bool:
    book = search.space.book
    rule = book.rules.get(name) or book.of_work.get(name)
    return rule is not None and number in search.grounds.of_rule(rule).decisions


def _without(search: Search, solution: Solution, number: int) -> Iterator[str]:
    """Rules that fail when one change is taken back and all others stay."""
    said = search.space.decisions[number].said
    if said is None:
        return
    choice = list(solution.choice)
    choice[number] = said
    failing = search.oracle.look(tuple(choice))
    yield from (outcome.rule for outcome in failing.outcomes)
    yield from (demand.rule or f"need-{demand.features[0]}".replace("_", "-") for demand in failing.open)


def sizes_of(space: Space) -> Iterator[tuple[str, tuple[str, ...]]]:
    """By work that takes a size, and by what the goal leaves open, all that were tried."""
    for decision in space.decisions:
        if decision.kind == "goal":
            yield decision.name, tuple(_told(option) for option in decision.options if option.how == "word")
        if decision.kind == "work" and space.shop.works[decision.name].takes:
            yield decision.name, tuple(_told(option) for option in decision.options if option.works)
