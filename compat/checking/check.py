"""Checking a build: settle it, judge rules and what stands where, close the needs, renew what is consumed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass
from functools import cached_property

from compat.checking.answers import Answers
from compat.checking.closing import Extra, Needs, close_needs, extras, renew
from compat.checking.joints import opened_joints
from compat.checking.judging import applies, judge, unknown
from compat.checking.outcome import Outcome, Renewed
from compat.checking.settle import settle_parts
from compat.checking.standing import standing
from compat.checking.supply import Cards
from compat.checking.working import do_work, misplaced
from compat.checking.world import BuildWorld
from compat.rulebook.models import VERDICTS, Verdict
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.values import Absent, Missing, missing
from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop

__all__ = ["Checked", "Judged", "asks", "check", "close", "judge_all", "settle"]


@dataclass(frozen=True)
class Judged:
    """What came of the rules that look at one thing at a time, by rule; and which need rules ask at all."""

    outcomes: Mapping[str, Outcome]
    """In no settled order."""
    asking: Set[str]


@dataclass(frozen=True)
class Checked:
    """Everything found of one build, as data. It is never changed; threads may share it."""

    world: BuildWorld
    judged: Judged
    standing: tuple[Outcome, ...]
    needs: Needs
    renewing: tuple[Outcome, ...]
    renewed: tuple[Renewed, ...]

    @property
    def outcomes(self) -> Iterator[Outcome]:
        """Every outcome, rules in the order of their files."""
        yield from self.standing
        yield from self.world.working
        found = self.judged.outcomes
        yield from (found[rule] for rule in self.world.settled.book.rules if rule in found)
        yield from self.needs.outcomes
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
        return not any(self.counts[verdict] for verdict in ("conflict", "shortfall", "missing"))

    @cached_property
    def extras(self) -> tuple[Extra, ...]:
        """Parts and work that the build forces and does not have."""
        return extras(self.world, self.needs.closure, self.renewed)


def settle(shop: Shop, book: Rulebook, ready: ReadyBuild, answers: Answers | None = None) -> BuildWorld:
    """Settle a build and give its world, work applied.

    Parameters
    ----------
    shop, book
        What the shop knows.
    ready : ReadyBuild
        The build.
    answers : Answers, optional
        What formulas said before.

    Returns
    -------
    BuildWorld
        The world that expressions see.
    """
    world = BuildWorld(settle_parts(shop, book, ready), answers)
    world.working = (*misplaced(ready), *do_work(world))
    world.joints = opened_joints(world.settled)
    return world


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


def judge_all(world: BuildWorld) -> Judged:
    """Judge every rule anew."""
    outcomes: dict[str, Outcome] = {}
    asking: set[str] = set()
    for name, rule in world.settled.book.rules.items():
        judge_one(world, name, rule, outcomes, asking)
    return Judged(outcomes, asking)


def judge_one(
    world: BuildWorld, name: str, rule: BoundRule, outcomes: dict[str, Outcome], asking: set[str]
) -> None:
    """Enter what comes of a rule; for a need rule, whether it asks."""
    if rule.rule.sort == "renew":
        return
    if rule.rule.sort == "need":
        found = asks(world, rule)
        if found is True:
            asking.add(name)
            return
        outcome = found or None
    else:
        outcome = judge(world, rule)
    if outcome is not None:
        outcomes[name] = outcome


def asks(world: BuildWorld, rule: BoundRule) -> Outcome | bool:
    """Whether a need rule applies; an outcome when that, or what it must agree on, is not known."""
    try:
        found = applies(world, rule)
        if found is True and rule.matching:
            gap = missing(*(expression.run(world) for expression in rule.matching.values()))
            found = True if gap is None else gap
    except Absent:
        return False
    return unknown(rule, found) if isinstance(found, Missing) else found


def close(
    world: BuildWorld, judged: Judged, cards: Cards | None = None, before: Checked | None = None
) -> Checked:
    """Close the needs, and judge what opened joints consume."""
    rules = (rule for name, rule in world.settled.book.needs.items() if name in judged.asking)
    needs = close_needs(world, rules, cards, before.needs if before else None)
    renewing, renewed = renew(world)
    stands = standing(world, {entry.position for entry in renewed})
    return Checked(world, judged, stands, needs, renewing, renewed)
