"""Putting a build right: the cheapest changes after which the whole check passes it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from compat.checking.check import Checked
from compat.checking.outcome import Borne
from compat.checking.session import Session
from compat.planning.fixed import Change, Fixed, Remade, What
from compat.planning.options import space_of
from compat.planning.search import Progress, Search, Solution
from compat.planning.space import Decision, Option, Space
from compat.planning.terms import Terms, hold_terms
from compat.shop.builds import ReadyBuild

__all__ = ["changes_of", "fix", "remade", "sizes_of"]


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
    goal and what the car is stay as they are; what the calibration decides may change.
    """
    terms = terms or Terms()
    hold_terms(session.shop, ready, terms)
    before = session.check(ready)
    search = Search(space_of(session, ready, terms), terms, tell)
    found = search.run()
    told = [found.solutions[0], *_others(search, found.solutions, terms)] if found.solutions else []
    money = search.prices.money
    return Fixed(
        before,
        terms.aim,
        search.prices.info.currency,
        found.ended,
        tuple(remade(search, before, solution) for solution in told),
        money(found.bound),
        found.gap,
        found.first,
        found.seconds,
        found.rounds,
        found.checks,
        dict(sizes_of(search.space)),
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
    """Whether two solutions differ in a wish, or in a part that weighs: a twentieth of the cost."""
    weighs = search.prices.grains(one.bill.money) // 20
    for number, (a, b) in enumerate(zip(one.choice, other.choice, strict=True)):
        if a == b:
            continue
        if search.costs.wishes[number][a] != search.costs.wishes[number][b]:
            return True
        costs = (search.costs.bought[number][n] for n in (a, b))
        if any(min((way.cost for way in ways), default=0) >= weighs for ways in costs if ways):
            return True
    return False


def remade(search: Search, before: Checked, solution: Solution) -> Remade:
    """A solution as a build put right, with what changed and what it costs."""
    money = search.prices.money
    bill = solution.bill
    settled = solution.checked.world.settled
    borne = [o.seen for o in solution.checked.outcomes if isinstance(o.seen, Borne)]
    headrooms = [seen.headroom for seen in borne if seen.headroom is not None]
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
        min(headrooms, default=None),
    )


def changes_of(search: Search, before: Checked, solution: Solution) -> Iterator[Change]:
    """What a solution changes, each with the rules that it clears and those that would fail without it."""
    space = search.space
    failed = {o.rule for o in before.outcomes if o.verdict in search.failing}
    holds = {o.rule for o in solution.checked.outcomes if o.verdict not in search.failing}
    cleared = failed - {o.rule for o in solution.checked.outcomes} | (failed & holds)
    for number, (decision, option) in enumerate(space.taken(solution.choice)):
        if option.said:
            continue
        yield Change(
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
        yield from (Change("renew", position) for position in more)


def _what(decision: Decision, option: Option) -> What:
    said = next((o for o in decision.options if o.said), None)
    if decision.kind == "setup":
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
    """By work that takes a size all that were tried."""
    for decision in space.decisions:
        if decision.kind == "work" and space.shop.works[decision.name].takes:
            yield decision.name, tuple(_told(option) for option in decision.options if option.works)
