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
from compat.planning.tables import heavy_figures
from compat.rulebook.rulebook import BoundRule

__all__ = ["Failed", "Guesser", "margin"]

Failed = tuple[BoundRule, Ground]
"""A rule that fails, and what it rests on."""
Worth = dict[int, dict[int, float]]
"""By decision and option what is added to a rule's margin, from any level."""

WIDE = 80
"""So many changes of what lies behind the figures of failing rules are tried, from choice to choice."""
ANEW = 4
"""After so many failures what lies behind a rule's figures is tried anew."""
FINE = 0.01
"""A margin, as a share of what is asked, that counts no less than so much."""


class Guesser:
    """Tries changes, one at a time, and reckons with several as if each counted by itself.

    Parameters
    ----------
    grounds, cells, oracle
        What rules rest on, and what asks them.

    Notes
    -----
    What a rule looks at itself is tried first; what lies behind its figures where none of that helps, or where
    the rule comes up again: then what helps by itself failed for another reason, and several changes may have
    to go a part of the way each. A rule that failed once is watched from then on, so that what helps the next
    does not break it.
    """

    def __init__(self, grounds: Grounds, cells: Cells, oracle: Oracle) -> None:
        self.grounds = grounds
        self.cells = cells
        self.oracle = oracle
        self.space = oracle.space
        self.heavy = heavy_figures(self.space)
        self.failed: dict[str, int] = {}
        """How often each rule failed."""
        self._worth: dict[str, Worth] = {}
        self._wide: set[str] = set()

    def guesses(
        self,
        failing: Sequence[Failed],
        outcomes: Mapping[str, Outcome],
        choice: Choice,
        left: Callable[[], bool],
    ) -> Iterator[Guess]:
        """For each rule that fails, or did, what it takes to hold.

        Parameters
        ----------
        failing : sequence
            What fails.
        outcomes : mapping
            What came of all rules.
        choice : tuple of int
            The choice that was looked at.
        left : callable
            Whether there is time left.
        """
        for rule, _ in failing:
            name = rule.rule.rule
            self.failed[name] = self.failed.get(name, 0) + 1
            self._worth.setdefault(name, {})
        margins = {name: self._margin(outcomes.get(name)) for name in self._worth}
        self._try(failing, choice, margins, left, near=True)
        self._charge(failing, choice)
        wide = []
        for rule, ground in failing:
            name = rule.rule.rule
            again = self.failed[name] > 1 or not self._helped(name, choice, margins[name])
            if again and (name not in self._wide or self.failed[name] % ANEW == 0):
                self._wide.add(name)
                wide.append((rule, ground))
        self._try(wide, choice, margins, left, near=False)
        for name in self._worth:
            guess = self._guess(name, choice, margins[name])
            if guess is not None:
                yield guess

    def _margin(self, outcome: Outcome | None) -> float:
        if self.cells.standard.fails(outcome):
            assert outcome is not None
            return -max(abs(margin(outcome)), FINE)
        return 1.0 if outcome is None else max(margin(outcome), 0.0)

    def _gains(self, name: str, choice: Choice) -> Iterator[tuple[int, int, float]]:
        """What each change from a choice adds to a rule's margin."""
        for decision, worth in self._worth[name].items():
            now = worth.get(choice[decision], 0.0)
            for option in range(len(self.space.decisions[decision].options)):
                gain = worth.get(option, 0.0) - now
                if option != choice[decision] and gain:
                    yield decision, option, gain

    def _helped(self, name: str, choice: Choice, now: float) -> bool:
        """Whether one change alone is known to help."""
        return any(now + gain >= 0 for _, _, gain in self._gains(name, choice))

    def _guess(self, name: str, choice: Choice, now: float) -> Guess | None:
        size = max(abs(now), FINE)
        helps = []
        for decision, option, gain in self._gains(name, choice):
            share = max(-2 * ENOUGH, min(2 * ENOUGH, round(gain / size * ENOUGH)))
            if share:
                helps.append((decision, option, share))
        least = round(-now / size * ENOUGH)
        if not helps or (now < 0 and max(share for _, _, share in helps) <= 0):
            return None
        return Guess(name, least, tuple(helps))

    def _charge(self, failing: Iterable[Failed], choice: Choice) -> None:
        """Boost, where a rule says it helps: it takes a charger and a boost, and one alone says nothing."""
        number = self.space.number.get("goal:boost")
        if number is None or self.space.decisions[number].options[choice[number]].how != "own":
            return
        for rule, _ in failing:
            if any(remedy.get("raise") == "boost" for remedy in rule.rule.remedies):
                options = enumerate(self.space.decisions[number].options)
                self._worth[rule.rule.rule][number] = {n: 2.0 for n, option in options if option.how == "word"}

    def _try(
        self,
        failing: Iterable[Failed],
        choice: Choice,
        margins: Mapping[str, float],
        left: Callable[[], bool],
        *,
        near: bool,
    ) -> None:
        swaps: dict[tuple[int, int], list[tuple[BoundRule, tuple[int, ...]]]] = {}
        found: dict[tuple[str, int], dict[int, float]] = {}
        for rule, ground in failing:
            if ground.joints:
                continue
            close, now = self.grounds.near(rule), ground.classes_of(choice)
            light, trial = self.heavy.isdisjoint(ground.figures), list(choice)
            for axis, decision in enumerate(ground.decisions):
                if (decision in close) != near:
                    continue
                for number, group in enumerate(ground.classes[axis]):
                    if number == now[axis]:
                        continue
                    if light:
                        trial[decision] = group[0]
                        gain = self._margin(self.cells.outcome(rule, ground, trial)) - margins[rule.rule.rule]
                        found.setdefault((rule.rule.rule, decision), {}).update(dict.fromkeys(group, gain))
                    else:
                        swaps.setdefault((decision, group[0]), []).append((rule, group))
                trial[decision] = choice[decision]
        # what bears on most rules first
        order = sorted(swaps, key=lambda swap: -len(swaps[swap]))
        for decision, option in order if near else order[:WIDE]:
            if not left():
                break
            world, moved = self.oracle.swapped(choice, decision, option)
            for rule, group in swaps[decision, option]:
                name = rule.rule.rule
                gains = found.setdefault((name, decision), {})
                if name in moved.rules:
                    gain = self._margin(judge(world, rule)) - margins[name]
                    gains.update(dict.fromkeys(group, gain))
        for (name, decision), gains in found.items():
            self._worth[name][decision] = gains  # what stands there now adds nothing


def margin(outcome: Outcome) -> float:
    """By how much a rule holds, as a share of what it asks, less than nought where it fails; else 1."""
    seen = outcome.seen
    if isinstance(seen, Borne) and seen.headroom is not None:
        return seen.headroom - seen.asked
    if isinstance(seen, Held):
        room = [1.0]
        if seen.least is not None:
            room.append((seen.value - seen.least) / max(abs(seen.least), 1e-12))
        if seen.most is not None:
            room.append((seen.most - seen.value) / max(abs(seen.most), 1e-12))
        return max(-1.0, min(room))
    return 1.0
