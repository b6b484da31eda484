"""What would likely help where rules fail: how far each change, made alone, brings a rule to holding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from compat.checking.judging import judge
from compat.checking.outcome import Borne, Held, Outcome
from compat.planning.cells import Cells
from compat.planning.cuts import ENOUGH, Guess
from compat.planning.grounds import Ground, Grounds
from compat.planning.oracle import Oracle
from compat.planning.space import Choice
from compat.rulebook.rulebook import BoundRule

__all__ = ["Failed", "Guesser", "lacking"]

Failed = tuple[BoundRule, Ground, Outcome]
"""A rule that fails, what it rests on, and what came of it."""
Gains = dict[tuple[int, int], float]
"""By decision and option how much of what is lacking the change brings, made alone."""

WIDE = 160
"""So many changes of what lies behind the figures of failing rules are tried, from choice to choice."""
ANEW = 4
"""After so many failures what lies behind a rule's figures is tried anew."""


class Guesser:
    """Tries changes, one at a time.

    Parameters
    ----------
    grounds, cells, oracle
        What rules rest on, and what asks them.

    Notes
    -----
    What a rule looks at itself is tried first; what lies behind its figures where none of that helps, or where
    the rule comes up again: then what helps by itself failed for another reason, and several changes may have
    to go a part of the way each.
    """

    def __init__(self, grounds: Grounds, cells: Cells, oracle: Oracle) -> None:
        self.grounds = grounds
        self.cells = cells
        self.oracle = oracle
        self.failed: dict[str, int] = {}
        """How often each rule failed."""
        self._known: dict[str, Gains] = {}
        """What lies behind a rule's figures, as it was when that was tried, in what is lacking itself."""

    def guesses(self, failing: Sequence[Failed], choice: Choice, left: Callable[[], bool]) -> Iterator[Guess]:
        """For each failing rule what would help it, taken together."""
        for rule, *_ in failing:
            self.failed[rule.rule.rule] = self.failed.get(rule.rule.rule, 0) + 1
        lack = {rule.rule.rule: max(lacking(outcome), 1e-9) for rule, _, outcome in failing}
        gains: dict[str, Gains] = {name: {} for name in lack}
        self._try(failing, choice, gains, lack, left, near=True)
        wide = []
        for rule, ground, outcome in failing:
            name = rule.rule.rule
            enough = any(gain >= lack[name] for gain in gains[name].values())
            if enough and self.failed[name] == 1:
                continue
            if name not in self._known or self.failed[name] % ANEW == 0:
                wide.append((rule, ground, outcome))
            else:
                self._recall(name, choice, gains[name])
        before = {name: set(its) for name, its in gains.items()}
        self._try(wide, choice, gains, lack, left, near=False)
        for rule, *_ in wide:
            name = rule.rule.rule
            self._known[name] = {key: gain for key, gain in gains[name].items() if key not in before[name]}
        for name, its in gains.items():
            if any(gain > 0 for gain in its.values()):
                yield _guess(name, its, lack[name])

    def _recall(self, name: str, choice: Choice, gains: Gains) -> None:
        """Take what was tried of an earlier choice: the difference between two options stays much the same."""
        known = self._known[name]
        for (decision, option), gain in known.items():
            if option != choice[decision]:
                now = known.get((decision, choice[decision]), 0.0)
                gains.setdefault((decision, option), gain - now)
        for decision in {decision for decision, _ in known}:
            now = known.get((decision, choice[decision]), 0.0)
            if now:  # what stood there when it was tried counted nothing
                for option in range(len(self.oracle.space.decisions[decision].options)):
                    if option != choice[decision] and (decision, option) not in known:
                        gains.setdefault((decision, option), -now)

    def _try(
        self,
        failing: Iterable[Failed],
        choice: Choice,
        gains: Mapping[str, Gains],
        lack: Mapping[str, float],
        left: Callable[[], bool],
        *,
        near: bool,
    ) -> None:
        swaps: dict[tuple[int, int], list[tuple[BoundRule, tuple[int, ...]]]] = {}
        for rule, ground, _ in failing:
            if ground.joints:
                continue
            close, now = self.grounds.near(rule), ground.classes_of(choice)
            for axis, decision in enumerate(ground.decisions):
                if (decision in close) == near:
                    for number, group in enumerate(ground.classes[axis]):
                        if number != now[axis]:
                            swaps.setdefault((decision, group[0]), []).append((rule, group))
        # what bears on most rules first
        order = sorted(swaps, key=lambda swap: -len(swaps[swap]))
        for decision, option in order if near else order[:WIDE]:
            if not left():
                return
            world, moved = self.oracle.swapped(choice, decision, option)
            for rule, group in swaps[decision, option]:
                name = rule.rule.rule
                if name in moved.rules:
                    outcome = judge(world, rule)
                    fails = self.cells.standard.fails(outcome)
                    now_lacking = lacking(outcome) if fails and outcome is not None else 0.0
                    gains[name].update(dict.fromkeys(((decision, o) for o in group), lack[name] - now_lacking))


def _guess(rule: str, gains: Gains, lack: float) -> Guess:
    helps = []
    for (decision, option), gain in sorted(gains.items()):
        share = max(-ENOUGH, min(ENOUGH, round(gain / lack * ENOUGH)))
        if share:
            helps.append((decision, option, share))
    return Guess(rule, tuple(helps))


def lacking(outcome: Outcome) -> float:
    """By how much a rule fails, as a share of what it asks; 1 where that is no number."""
    seen = outcome.seen
    if isinstance(seen, Borne) and seen.headroom is not None:
        return max(0.0, seen.asked - seen.headroom)
    if isinstance(seen, Held):
        return abs(seen.value - seen.near) / max(abs(seen.near), 1e-12)
    return 1.0
