"""How much less, or more, a goal may ask so that a rule has nothing against it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil, floor
from typing import Any

from compat.checking.outcome import Outcome
from compat.checking.trials import Trials
from compat.rulebook.scope import GOAL
from compat.shop.changing import Aim
from compat.shop.models import Goal
from compat.units import Band, read_band, unit

__all__ = ["LESS", "MORE", "eased"]

LESS, MORE = "relax", "raise"
"""How a rule's remedies say which way the goal is to move."""
STEPS = {"kW": 1.0, "N*m": 5.0, "rpm": 50.0, "kPa": 1.0}
"""Goals are said in such steps; a value lies on the safe side of the one sought."""
LEAST, MOST = 0.3, 2.0
"""Shares of what is asked beyond which it is another engine that is asked for."""
LOOKS = (0.0625, 0.125, 0.25, 0.5, 1.0)
"""Shares of the way there at which a rule is asked, before the value is closed in on."""
BELOW_LIMIT = 1.02
"""The rev limit lies so far above the speed of peak power at least (rule `speed-within-rev-limit`)."""


def eased(trials: Trials, outcome: Outcome, key: str, what: str, along: bool = False) -> tuple[Aim, ...] | None:
    """Give the goal nearest to the asked one that settles a finding.

    Parameters
    ----------
    trials : Trials
        The build that the finding is of.
    outcome : Outcome
        What came of a rule that is judged by itself.
    key : {"relax", "raise"}
        Whether less or more is asked.
    what : str
        Of which entry of the goal, by its name in expressions.
    along : bool
        Whether power and torque go down with the boost, as the pressure of the charge does.

    Returns
    -------
    tuple of Aim or None
        The entry, and those that must go with it so that the goal does not contradict itself: no torque is more
        than the power allows at its speed, no power more than the torque. None where no value settles it.
    """
    goal = trials.settled.goal
    if what == "torque" and goal.torque is None:
        what = "power"  # the torque that nobody states follows it
    now = _number(goal, what)
    moved = trials.book.influence.of(("goal", name) for name in GOAL)
    if now is None or outcome.rule not in moved.rules:
        return None
    text = GOAL[what][0]
    own, step = unit(text), STEPS[text]
    here, end = own.from_si(now) / step, own.from_si(_end(goal, key, what, now)) / step
    first, last = (ceil(here) - 1, ceil(end)) if key == LESS else (floor(here) + 1, floor(end))
    sign = -1 if key == LESS else 1
    reach = (last - first) * sign
    if reach < 0:
        return None

    def aims(steps: int) -> tuple[Aim, ...]:
        """The goal so many steps beyond the first."""
        value = (first + sign * steps) * step
        return tuple(_with_it(goal, what, value, along))

    def settles(steps: int) -> bool:
        return trials.gone(outcome, trials.aimed(outcome.rule, with_aims(goal, aims(steps)), moved.figures))

    bad, good = -1, None
    for share in LOOKS:
        looked = round(share * reach)
        if looked > bad:
            if settles(looked):
                good = looked
                break
            bad = looked
    if good is None:
        return None
    while good - bad > 1:
        middle = (good + bad) // 2
        bad, good = (bad, middle) if settles(middle) else (middle, good)
    found = aims(good)
    return found if trials.settles(outcome, found) else None


def with_aims(goal: Goal, aims: tuple[Aim, ...]) -> Goal:
    """A goal with other entries."""
    entries: dict[str, Any] = {one.entry: read_band(one.value) for one in aims}
    return replace(goal, **entries)


def _number(goal: Goal, what: str) -> float | None:
    band: Band | None = getattr(goal, GOAL[what][1])
    return None if band is None else band.nominal


def _end(goal: Goal, key: str, what: str, now: float) -> float:
    """How far an entry may go before the goal contradicts itself or asks for another engine, SI."""
    power, speed = goal.power.nominal, goal.at.nominal
    torque, torque_speed, limit = (_number(goal, name) for name in ("torque", "torque_speed", "rev_limit"))
    if key == LESS:
        bounds = [LEAST * now]
        if what == "rev_limit":
            bounds.append(BELOW_LIMIT * speed)
        if what == "speed":
            bounds.append(max(power / torque if torque else 0.0, torque_speed or 0.0))
        return max(bounds)
    bounds = [MOST * now]
    if what == "boost":
        bounds = [MOST * (now + _outside(goal)) - _outside(goal)]
    if what == "speed" and limit is not None:
        bounds.append(limit / BELOW_LIMIT)
    if what == "torque_speed":
        bounds.append(min(speed, power / torque if torque else speed))
    return min(bounds)


def _with_it(goal: Goal, what: str, value: float, along: bool) -> Iterator[Aim]:
    """An entry of the goal in its own unit, and what must go with it."""
    yield _aim(what, value)
    new = unit(GOAL[what][0]).to_si(value)
    power, torque, torque_speed = (_number(goal, name) for name in ("power", "torque", "torque_speed"))
    assert power is not None
    if what == "power" and torque is not None and torque_speed is not None and torque * torque_speed > new:
        yield _rounded("torque", new / torque_speed)
    elif what == "torque" and power > new * goal.at.nominal:
        yield _rounded("power", new * goal.at.nominal)
    elif what == "boost" and along and goal.boost is not None:
        share = (new + _outside(goal)) / (goal.boost.nominal + _outside(goal))
        if torque is None:
            yield _rounded("power", power * share)
            return
        held = _rounded("torque", min(torque * share, power * share / (torque_speed or goal.at.nominal)))
        yield _rounded("power", min(power * share, read_band(held.value).nominal * goal.at.nominal))
        yield held


def _outside(goal: Goal) -> float:
    """Pressure of the air at the goal's altitude, Pa."""
    from compat.engineering.air.atmosphere import standard_atmosphere

    return standard_atmosphere(goal.altitude.nominal).pressure


def _rounded(what: str, si: float) -> Aim:
    text = GOAL[what][0]
    return _aim(what, floor(unit(text).from_si(si) / STEPS[text]) * STEPS[text])


def _aim(what: str, value: float) -> Aim:
    text, field = GOAL[what]
    return Aim(field, f"{value:g} {text}")
