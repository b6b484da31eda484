"""What counts as failing: verdicts that a build may not have, and headroom below what is aimed at."""

from __future__ import annotations

from dataclasses import dataclass

from compat.checking.check import Checked
from compat.checking.outcome import Borne, Outcome
from compat.planning.failing import FAILING
from compat.rulebook.rulebook import Rulebook

__all__ = ["Standard", "least_headroom"]


@dataclass(frozen=True)
class Standard:
    """By what a build is held to fail.

    Parameters
    ----------
    book : Rulebook
        The rules.
    failing : frozenset of str
        Verdicts that count as failing.
    headroom : float, optional
        What every capacity must exceed its load by, where the rule asks for it at all and asks less.
    """

    book: Rulebook
    failing: frozenset[str] = FAILING
    headroom: float | None = None

    def fails(self, outcome: Outcome | None) -> bool:
        """Whether an outcome speaks against a build."""
        if outcome is None:
            return False
        if outcome.verdict in self.failing:
            return True
        found = self._headroom(outcome)
        return self.headroom is not None and found is not None and found < self.headroom

    def _headroom(self, outcome: Outcome) -> float | None:
        """The headroom of a load that the build must bear."""
        if not isinstance(outcome.seen, Borne) or outcome.seen.headroom is None:
            return None
        counts = self.book.asked(outcome.rule).rule.fails_as in self.failing
        return outcome.seen.headroom if counts else None

    def passes(self, checked: Checked) -> bool:
        """Whether nothing that a whole check found speaks against the build."""
        return not any(map(self.fails, checked.outcomes))

    def least(self, checked: Checked) -> float | None:
        """The least headroom of all loads that a build must bear."""
        found = (self._headroom(outcome) for outcome in checked.outcomes)
        return min((each for each in found if each is not None), default=None)


def least_headroom(book: Rulebook, checked: Checked) -> float | None:
    """The least by which any capacity exceeds its load, of rules that a build must hold."""
    return Standard(book).least(checked)
