"""The value that a piece of work takes so that a rule comes out sound."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from re import findall

from compat.checking.outcome import Borne, Held, Outcome, Paired
from compat.checking.trials import Trials
from compat.shop.changing import Do
from compat.shop.models import Parameter
from compat.units import Band

__all__ = ["sized"]

STEPS = (0.5, 0.1, 0.05, 0.01, 0.005, 0.001)
"""What sizes are rounded to in the unit of the work, coarse ones first: nobody sets a machine to 0.4271 mm."""
NEAR = 0.25
"""A rounded value is taken where it lies no further from the one sought than this part of what is cut off."""
ROUNDS = 6


def sized(trials: Trials, outcome: Outcome, work: str) -> Do | None:
    """Give a piece of work with the value that settles a finding.

    Parameters
    ----------
    trials : Trials
        The build that the finding is of.
    outcome : Outcome
        What came of a rule that is judged by itself.
    work : str
        Id of work that the rule names as a remedy.

    Returns
    -------
    Do or None
        The work, as it is usually done where that settles the finding or nothing is to be chosen; else with the
        value that brings what the rule looks at to the middle of its limits, or inside the only one by what all
        tolerances together can take, in steps that a machine is set to. None where no value settles it within
        the bounds of the work.
    """
    takes = trials.shop.works[work].takes
    plain = Do(work)
    if all(one.default is not None for one in takes.values()) and trials.settles(outcome, (plain,)):
        return plain
    if not takes:
        return None
    for name, parameter in takes.items():
        if _turns(trials, outcome, work, name):
            found = _solve(trials, outcome, work, name, parameter)
            if found is not None:
                return found
    return None


def _turns(trials: Trials, outcome: Outcome, work: str, name: str) -> bool:
    """Whether the value moves a spec that the rule rests on."""
    grounds = {".".join(spec) for spec in trials.book.grounds(trials.book.judged[outcome.rule]).specs}
    changes = trials.shop.works[work].changes
    return any(
        change.spec in grounds and name in findall(r"\w+", change.by or change.to or "") for change in changes
    )


def _solve(trials: Trials, outcome: Outcome, work: str, name: str, parameter: Parameter) -> Do | None:
    own = parameter.measure()

    def done(value: float) -> Do:
        text = f"{value:.4f}".rstrip("0").rstrip(".")
        return Do(work, ((name, f"{text} {own.text}".strip()),))

    def off(value: float) -> float | None:
        """How far from what is sought the rule comes out."""
        try:
            return _off(trials.ask(outcome.rule, (done(value),)))
        except LookupError:
            return None

    starts = [own.from_si(one) for one in _starts(trials, work, name, own.text)]
    root = next((found for start in starts if (found := _root(off, start)) is not None), None)
    if root is None:
        return None
    least = min((abs(start - root) for start in starts), default=root) or abs(root)
    for step in STEPS:
        value = round(round(root / step) * step, 4)
        near = abs(value - root) <= NEAR * max(least, STEPS[-1]) or step == STEPS[-1]
        if value > 0 and near and trials.settles(outcome, (done(value),)):
            return done(value)
    return None


def _starts(trials: Trials, work: str, name: str, unit: str) -> Iterator[float]:
    """Values to begin with, SI: the size that a piece has now, or nothing taken off."""
    for change in trials.shop.works[work].changes:
        if change.to is not None and name in findall(r"\w+", change.to):
            position, _, spec = change.spec.partition(".")
            stated = trials.settled.specs.at(position, spec)
            if stated is not None and isinstance(stated.value, Band) and "prefer" not in change.to:
                yield stated.value.nominal
    yield 0.0


def _root(off: Callable[[float], float | None], start: float) -> float | None:
    """Where something that is nearly a straight line is nought, from two values near a start."""
    step = max(abs(start) * 1e-3, 0.05)
    for sign in (1, -1):
        a, b = start + sign * step, start + sign * 2 * step
        fa, fb = off(a), off(b)
        for _ in range(ROUNDS):
            if fa is None or fb is None or fa == fb:
                break
            if abs(fb) < 1e-9:
                return b
            a, b, fa = b, b - fb * (b - a) / (fb - fa), fb
            if b <= 0 or b > 1e4:
                break
            fb = off(b)
        else:
            return b
        if fb is not None and abs(fb) < 1e-6:
            return b
    return None


def _off(outcome: Outcome | None) -> float | None:
    if outcome is None:
        return None
    match outcome.seen:
        case Held() as held:
            if held.least is not None and held.most is not None:
                return held.value - (held.least + held.most) / 2
            if held.least is not None:
                return held.value - held.least - 1.02 * held.spread.worst - 1e-9
            if held.most is not None:
                return held.value - held.most + 1.02 * held.spread.worst + 1e-9
        case Borne() as borne:
            return borne.capacity - borne.load * (1 + borne.asked) * 1.001
        case Paired(pairs):
            unlike = [
                a - b for _, a, b, agree in pairs if not agree and isinstance(a, float) and isinstance(b, float)
            ]
            return unlike[0] if unlike else 0.0
    return None
