"""Findings kept from check to check: a rule whose grounds are the same says what it said before.

Looking for a repair checks hundreds of builds that differ in a part or two, and most rules look at neither.
The grounds of a rule are everything its outcome can hang on, as the rulebook knows from reading it.
"""

from __future__ import annotations

from compat.checking.judging import Judge
from compat.checking.report import Finding
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.scope import GOAL

__all__ = ["Keeper"]

MOST = 4
"""Findings kept of one rule; the oldest goes first."""


class Keeper:
    """Gives the findings of one build, kept ones where the grounds agree."""

    def __init__(self, world: BuildWorld, judge: Judge, system: str = "metric") -> None:
        self.world = world
        self.judge = judge
        settled = world.settled
        self.kept = settled.book.kept
        self.places = {position: (entry.part.part, entry.sister) for position, entry in settled.fitted.items()}
        self.engine = (settled.variant.variant, system)
        entries = (getattr(settled.goal, field) for _, field in GOAL.values())
        self.goal = (*self.engine, settled.goal.duty, *entries)

    def finding(self, rule: BoundRule) -> Finding | None:
        """The finding of a rule, or None when it does not apply. It is shared: nobody may change it."""
        known = self.kept.get(rule.rule.rule)
        if known is None:
            self.kept[rule.rule.rule] = []  # a single check need not pay for what only later ones use
            return self.judge.judge(rule)
        grounds = self.grounds(rule)
        for before, found in known:
            if before == grounds:
                return found  # type: ignore[return-value]
        finding = self.judge.judge(rule)
        known.insert(0, (grounds, finding))
        del known[MOST:]
        return finding

    def grounds(self, rule: BoundRule) -> tuple[object, ...]:
        """Everything the outcome hangs on in this build."""
        world = self.world
        names = world.settled.book.grounds(rule)
        return (
            self.goal if names.goal else self.engine,
            *map(world.settled.specs.get, names.specs),
            *map(self.places.get, names.places),
            *map(world.count, names.positions),
            *map(world.done, names.works),
            *map(world.opened, names.joints),
            *map(world.offered, names.features),
        )
