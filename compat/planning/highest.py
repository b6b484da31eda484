"""The greatest value of one entry of a goal at which a build passes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from math import floor, log10

from compat.planning.asked import Asked, Setting
from compat.planning.searched import Progress, Solution
from compat.planning.together import Held
from compat.planning.trial import Trial
from compat.shop.builds import ReadyBuild
from compat.shop.source import Faults
from compat.units import Band, unit

__all__ = ["highest"]

STEPS = 12
"""So often a build that passes is tried on its own at higher values."""
FINE = 0.01
"""Of what is asked so large a share is not halved any more."""


def highest(
    asked: Asked,
    setting: Setting,
    held: Held,
    beside: Iterable[Held],
    solution: Solution,
    seconds: float,
    tell: Callable[[Progress], None] | None = None,
) -> tuple[str, str]:
    """The greatest value at which a build was found, and the least at which it is proved that there is none.

    Parameters
    ----------
    asked : Asked
        What is asked.
    setting : Setting
        The build with that entry of the goal given up.
    held : Held
        The entry: power, torque, rev limit or boost.
    beside : iterable of Held
        What else is held.
    solution : Solution
        A build that passes with the entry given up.
    seconds : float
        How long may be searched.

    Returns
    -------
    tuple of str
        Two values in the unit that was asked in; an empty text for what is no number, or was not found. What
        lies between was not settled; that all below the first passes is not said either, nor that nothing above
        the second does: more of one thing may help another.
    """
    wanted = getattr(asked.ready.goal, held.name)
    if not isinstance(wanted, Band):
        return "", ""
    low = getattr(setting.ready.goal, held.name)
    return _Halving(asked, setting, held, tuple(beside), tell).between(low, wanted, solution, seconds)


class _Halving:
    def __init__(
        self,
        asked: Asked,
        setting: Setting,
        held: Held,
        beside: tuple[Held, ...],
        tell: Callable[[Progress], None] | None,
    ) -> None:
        self.asked = asked
        self.setting = setting
        self.entry = held.name
        self.beside = beside
        self.tell = tell
        at = {"power": "at", "torque": "torque_at"}.get(held.name)
        self.speed = {} if at is None else {at: getattr(asked.ready.goal, at)}

    def between(self, low: Band | None, wanted: Band, solution: Solution, seconds: float) -> tuple[str, str]:
        until = time.monotonic() + seconds
        self.name = wanted.unit
        least = unit(self.name).from_si(low.middle) if low is not None else 0.0
        most = unit(self.name).from_si(wanted.middle)
        fine = FINE * most
        self.grid = 10.0 ** floor(log10(fine)) if fine > 0 else 1.0
        found = self.pushed(solution.checked.world.settled.ready, least, most)
        top = beyond = most
        while top - found > fine and time.monotonic() < until:
            middle = self.rounded((found + top) / 2)
            if not found < middle < top:
                break
            ready = self.aimed(self.setting.ready, middle)
            if ready is None:
                top = middle
                continue
            trial = Trial(self.asked, replace(self.setting, ready=ready), self.tell)
            answer = trial.ask(self.beside, max(0.1, (until - time.monotonic()) / 2))
            if answer.status == "possible" and answer.solution is not None:
                found = self.pushed(answer.solution.checked.world.settled.ready, middle, top)
            else:
                top = middle
                beyond = middle if answer.status == "impossible" and beyond >= middle else beyond
        return (self.said(found) if found > 0 else ""), self.said(beyond)

    def pushed(self, ready: ReadyBuild, low: float, high: float) -> float:
        """How far one build goes by itself."""
        for _ in range(STEPS):
            middle = self.rounded((low + high) / 2)
            if not low < middle < high:
                break
            aimed = self.aimed(ready, middle)
            if aimed is not None and self.passes(aimed):
                low = middle
            else:
                high = middle
        return low

    def passes(self, ready: ReadyBuild) -> bool:
        checked = self.asked.session.check(ready)
        failing = ("conflict", "shortfall", "missing", *(() if self.asked.terms.unknown_too else ("unknown",)))
        return not any(checked.counts[verdict] for verdict in failing)

    def aimed(self, ready: ReadyBuild, value: float) -> ReadyBuild | None:
        try:
            return self.asked.aiming({self.entry: self.said(value), **self.speed}, ready)
        except Faults:
            return None

    def rounded(self, value: float) -> float:
        return round(round(value / self.grid) * self.grid, 9)

    def said(self, value: float) -> str:
        return f"{value:.9g} {self.name}"
