"""What comes once all that a build must add is in it: carried out and judged until nothing more is added."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.built import settle
from compat.checking.closing import Needs, close_needs, renew
from compat.checking.judged import Judged, judge_again
from compat.checking.moving import carry_beside, carry_over
from compat.checking.needs import Demand, Provider
from compat.checking.outcome import OUT, RANK, Foreseen, Met, Misplaced, Outcome, Renewed, RenewedAt, Standing
from compat.checking.supply import Cards
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.influence import Moved
from compat.shop.build_work import with_more
from compat.shop.builds import ReadyBuild

__all__ = ["Ahead", "Stage", "look_ahead"]


@record
class Stage:
    """A build, what came of its rules, and its needs."""

    world: BuildWorld
    judged: Judged
    needs: Needs
    moved: Moved | None = None
    """What may come out otherwise than on the build that it was found from; None where it was found anew."""
    apart: Moved | None = None
    """What may come out otherwise than in the stage before it."""


@record
class Ahead:
    """A build with everything added that it must have."""

    stages: tuple[Stage, ...]
    """The build with what its own needs add, then with what that needs, and so on; the last needs no more."""
    added: tuple[tuple[Provider, Demand], ...]
    """All that was added, with what asked for it."""
    renewed: tuple[Renewed, ...]
    foreseen: tuple[Outcome, ...]
    """Rules that come to a bad end then, or to a worse one."""
    lacking: tuple[Outcome, ...]
    """Needs that are open then and were not asked, or not open, before."""

    @property
    def world(self) -> BuildWorld:
        """The build as it is then."""
        return self.stages[-1].world

    @property
    def judged(self) -> Judged:
        """What comes of its rules then."""
        return self.stages[-1].judged


def look_ahead(base: Stage, cards: Cards | None = None, before: Ahead | None = None) -> Ahead | None:
    """Carry out what the needs of a build add, and what that needs, until nothing is added.

    Parameters
    ----------
    base : Stage
        The build as it stands.
    cards : Cards, optional
        What parts and works offer and ask.
    before : Ahead, optional
        The same of a build that differs little, to start from.

    Returns
    -------
    Ahead or None
        None when nothing is added. Every stage adds something that was not in the build, so it ends.
    """
    if not base.needs.closure.added:
        return None
    settled = base.world.settled
    added: list[tuple[Provider, Demand]] = []
    stages = [base]
    while more := stages[-1].needs.closure.added:
        added += more
        ready = carried_out(settled.ready, added)
        last = stages[-1]
        known = before is not None and len(stages) <= len(before.stages)
        near = before.stages[len(stages) - 1] if before is not None and known else last
        world = settle(settled.shop, settled.book, ready, base.world.answers, near.world.settled.fitted)
        moved = again = apart = carry_over(near.world, world)
        judged = near.judged
        if known:
            assert near.apart is not None
            assert last.moved is not None
            # what the change moves is found already, where nothing that is added moves it
            apart = carry_beside(last.world, world, near.apart, moved.facts | last.moved.facts, moved)
            again = Moved(moved.rules & apart.rules, moved.figures & apart.figures, moved.facts)
            judged = judged.with_those_of(last.judged, moved.rules - again.rules)
        judged = judge_again(judged, world, again)
        needs = close_needs(world, judged, cards, near.needs, moved)
        stages.append(Stage(world, judged, needs, moved, apart))
    last = stages[-1]
    return Ahead(
        tuple(stages[1:]),
        tuple(added),
        renew(last.world)[1],
        tuple(_foreseen(base, last, [provider for provider, _ in added])),
        tuple(_lacking(base.needs, last.needs)),
    )


def carried_out(ready: ReadyBuild, added: list[tuple[Provider, Demand]]) -> ReadyBuild:
    """The build with added parts fitted and added work done."""
    fit = {provider.fills[0]: provider.name for provider, _ in added if provider.fills}
    return with_more(ready, fit, [provider.name for provider, _ in added if not provider.fills])


def _foreseen(base: Stage, last: Stage, added: list[Provider]) -> Iterator[Outcome]:
    """Rules that are in a bad way only then, or in a worse way than before."""
    book = base.world.settled.book
    before, worse = base.judged, []
    for name, outcome in last.judged.outcomes.items():
        rank = RANK[outcome.verdict]
        if rank <= OUT and rank < RANK[before.verdict(name)]:
            worse.append((name, outcome))
    for name, outcome in sorted(worse, key=lambda entry: book.influence.number[entry[0]]):
        seen = outcome.seen
        assert not isinstance(seen, Met | RenewedAt | Standing | Misplaced | Foreseen)
        grounds = book.grounds(book.rules[name])
        by = (p.name for p in added if {*p.fills} & {*grounds.places} or p.name in grounds.works)
        yield Outcome(name, outcome.verdict, Foreseen(seen, tuple(by)))


def _lacking(base: Needs, last: Needs) -> Iterator[Outcome]:
    """Needs that are open only then."""
    before = {(entry.demand.owner, entry.demand.features) for entry in base.closure.opened}
    for outcome in last.outcomes:
        seen = outcome.seen
        if not isinstance(seen, Met) or seen.shortage is None or RANK[outcome.verdict] > OUT:
            continue
        if (seen.demand.owner, seen.demand.features) not in before:
            yield outcome
