"""Checking a build: settle it, judge rules and what stands where, close the needs, renew what is consumed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cached_property

from compat.checking.ahead import Ahead, Stage, look_ahead
from compat.checking.answers import Answers
from compat.checking.built import settle
from compat.checking.closing import Needs, close_needs, renew
from compat.checking.extras import Extra, extras
from compat.checking.judged import Judged, judge_all
from compat.checking.outcome import Outcome, Renewed
from compat.checking.standing import standing
from compat.checking.supply import Cards
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.influence import Moved
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop

__all__ = ["Checked", "check", "close", "settle"]


@record
class Checked:
    """Everything found of one build, as data. It is never changed; threads may share it."""

    world: BuildWorld
    judged: Judged
    standing: tuple[Outcome, ...]
    needs: Needs
    renewing: tuple[Outcome, ...]
    renewed: tuple[Renewed, ...]
    ahead: Ahead | None
    """The build with everything added that it must have; None when that is nothing."""

    @property
    def outcomes(self) -> Iterator[Outcome]:
        """Every outcome, rules in the order of their files."""
        yield from self.standing
        yield from self.world.working
        found = dict(self.judged.outcomes)
        if self.ahead is not None:
            # a rule speaks once: of the build with what it must have, where that comes out worse
            found |= {outcome.rule: outcome for outcome in self.ahead.foreseen}
        yield from (found[rule] for rule in self.world.settled.book.rules if rule in found)
        yield from self.needs.outcomes
        if self.ahead is not None:
            yield from self.ahead.lacking
        yield from self.renewing

    @cached_property
    def counts(self) -> Mapping[Verdict, int]:
        """Number of outcomes by verdict, worst first."""
        counts = Counter(outcome.verdict for outcome in self.outcomes)
        return {verdict: counts[verdict] for verdict in VERDICTS}

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of all."""
        return next((verdict for verdict, count in self.counts.items() if count), "ok")

    @property
    def clean(self) -> bool:
        """Whether nothing conflicts, falls short or is missing."""
        return not any(self.counts[verdict] for verdict in AGAINST)

    @property
    def proven(self) -> bool:
        """Whether nothing stands against it and nothing is unknown; a fit to measure is no unknown."""
        return self.clean and not self.counts["unknown"]

    @cached_property
    def extras(self) -> tuple[Extra, ...]:
        """Parts and work that the build forces and does not have."""
        return extras(self.world, self.judged, self.renewed, self.ahead)


def check(shop: Shop, book: Rulebook, ready: ReadyBuild, answers: Answers | None = None) -> Checked:
    """Check a build by itself; `compat.checking.session` does it for many.

    Parameters
    ----------
    shop : Shop
        The shop's catalogue.
    book : Rulebook
        The rulebook, read against that shop.
    ready : ReadyBuild
        The build, held against that shop.
    answers : Answers, optional
        What formulas said before.

    Returns
    -------
    Checked
        What was found.
    """
    world = settle(shop, book, ready, answers)
    return close(world, judge_all(world))


def close(
    world: BuildWorld,
    judged: Judged,
    cards: Cards | None = None,
    before: Checked | None = None,
    moved: Moved | None = None,
) -> Checked:
    """Close the needs, look ahead at what that brings, and judge what opened joints consume."""
    cards = Cards(world.settled.shop, world.settled.book) if cards is None else cards
    needs = close_needs(world, judged, cards, before.needs if before else None, moved)
    ahead = look_ahead(Stage(world, judged, needs, moved), cards, before.ahead if before else None)
    renewing, renewed = renew(world)
    added = () if ahead is None else (*(p.fills for p, _ in ahead.added), [e.position for e in ahead.renewed])
    stands = standing(world, {entry.position for entry in renewed}, {place for each in added for place in each})
    return Checked(world, judged, stands, needs, renewing, renewed, ahead)
