"""Which rule a picture is about, where nobody says."""

from __future__ import annotations

from collections.abc import Callable

from compat.checking.outcome import Foreseen, Outcome
from compat.checking.world import BuildWorld
from compat.paper.causes import Background, by_weight
from compat.paper.pictures.numbers import Nothing, Source
from compat.words.report import Finding

__all__ = ["finding_of", "outcome_of", "weightiest"]


def finding_of(source: Source, rule: str) -> Finding:
    """The finding of a rule.

    Raises
    ------
    Nothing
        When the rule does not apply to the build.
    """
    found = next((each for each in source.report.findings if each.rule == rule), None)
    if found is None:
        raise Nothing(f"rule '{rule}' does not apply to this build")
    return found


def weightiest(source: Source, fits: Callable[[Finding], bool], what: str) -> Finding:
    """The finding that weighs most among those that fit: worst verdict first, then furthest out.

    Raises
    ------
    Nothing
        When none fits; `what` says what was sought.
    """
    found = next(filter(fits, by_weight(source.report.findings, Background())), None)
    if found is None:
        raise Nothing(f"no rule of this build {what}")
    return found


def outcome_of(source: Source, rule: str) -> tuple[Outcome, BuildWorld]:
    """The outcome of a rule, and the build it was judged on: with all it must have, where that comes out worse.

    Raises
    ------
    Nothing
        When the rule does not apply to the build.
    """
    found = next((each for each in source.checked.outcomes if each.rule == rule), None)
    if found is None:
        raise Nothing(f"rule '{rule}' does not apply to this build")
    if isinstance(found.seen, Foreseen):
        assert source.checked.ahead is not None
        return Outcome(found.rule, found.verdict, found.seen.seen), source.checked.ahead.world
    return found, source.world
