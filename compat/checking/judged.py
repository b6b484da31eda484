"""What comes of the rules that look at one thing at a time, all together; again where something moved."""

from __future__ import annotations

from collections.abc import Mapping, Set

from compat.checking.judging import applies, judge, unknown
from compat.checking.outcome import Outcome
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.influence import Moved
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Missing, missing

__all__ = ["Judged", "asks", "judge_again", "judge_all"]


@record
class Judged:
    """What came of the rules that look at one thing at a time, by rule; and which need rules ask at all."""

    outcomes: Mapping[str, Outcome]
    """In no settled order."""
    asking: Set[str]

    def verdict(self, rule: str) -> Verdict:
        """The verdict of a rule; what does not apply is no trouble."""
        outcome = self.outcomes.get(rule)
        return "ok" if outcome is None else outcome.verdict

    def with_those_of(self, other: Judged, rules: Set[str]) -> Judged:
        """The same, but with what came of some rules on another build."""
        outcomes = {name: outcome for name, outcome in self.outcomes.items() if name not in rules}
        outcomes |= {name: other.outcomes[name] for name in rules if name in other.outcomes}
        return Judged(outcomes, (self.asking - rules) | (other.asking & rules))


def judge_all(world: BuildWorld) -> Judged:
    """Judge every rule anew."""
    outcomes: dict[str, Outcome] = {}
    asking: set[str] = set()
    for name, rule in world.settled.book.rules.items():
        judge_one(world, name, rule, outcomes, asking)
    world.beside.clear()  # much to hold for a check that is done
    return Judged(outcomes, asking)


def judge_again(before: Judged, world: BuildWorld, moved: Moved) -> Judged:
    """Judge what may come out otherwise, and take over the rest."""
    outcomes, asking = dict(before.outcomes), set(before.asking)
    for name in moved.rules:
        outcomes.pop(name, None)
        asking.discard(name)
        judge_one(world, name, world.settled.book.rules[name], outcomes, asking)
    world.beside.clear()
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
    outside = world.settled.outside
    if outside is not None and outside.rule(rule):
        return False
    try:
        found = applies(world, rule)
        if found is True and rule.matching:
            gap = missing(*(expression.run(world) for expression in rule.matching.values()))
            found = True if gap is None else gap
    except Absent:
        return False
    if not isinstance(found, Missing):
        return found
    return False if outside is not None and outside.gap(found) else unknown(rule, found)
