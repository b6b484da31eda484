"""What a search comes to, and how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from compat.checking.check import Checked
from compat.planning.prices import Bill
from compat.planning.space import Choice

__all__ = ["Progress", "Searched", "Solution"]


@dataclass(frozen=True)
class Solution:
    """A build that the whole check passes."""

    choice: Choice
    checked: Checked
    bill: Bill
    given_up: int
    """What the wishes given up count, in grains."""
    worth: int
    """What is sought to be least: money and wishes given up, in grains."""


@dataclass(frozen=True)
class Searched:
    """What a search came to."""

    solutions: tuple[Solution, ...]
    """Builds that pass, the best first."""
    bound: int
    """No build is worth less, in grains."""
    ended: Literal["proved", "time", "impossible"]
    first: float | None
    """Seconds until the first build that passes."""
    seconds: float
    rounds: int
    checks: int
    cuts: int

    @property
    def best(self) -> Solution | None:
        """The best build."""
        return self.solutions[0] if self.solutions else None

    def gap_of(self, first: int) -> float:
        """The same of what is aimed at before money, of which one weighs so much."""
        if self.best is None or self.best.worth < first:
            return self.gap
        return 1 - self.bound // first / (self.best.worth // first)

    @property
    def gap(self) -> float:
        """By what share of its worth the best may be beaten."""
        if self.best is None or not self.best.worth:
            return 0.0
        return max(0.0, 1 - self.bound / self.best.worth)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is."""

    doing: Literal["looking at rules", "looking for a build", "looking for a better one"]
    seconds: float
    round: int
    against: int = 0
    """How much speaks against the choice that was looked at last."""
    best: int | None = None
    bound: int = 0
