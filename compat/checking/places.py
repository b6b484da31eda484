"""A build with other parts in place, as far as single questions go: nothing settled anew.

Most rules look at a few specs of two or three positions. For those it is enough to put the parts in; work that
changes the position, a box that brings other parts, joints and offers want the whole build.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from compat.checking.settle import Fitted, home
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Moved, facts_of
from compat.rulebook.rulebook import BoundRule

__all__ = ["Fit", "Places"]

Fit = Mapping[str, str]


class Places:
    """Puts other parts into the places of one build.

    Parameters
    ----------
    base : BuildWorld
        The build as it stands.
    """

    def __init__(self, base: BuildWorld) -> None:
        self.base = base
        self.shop = base.settled.shop
        self.book = base.settled.book
        self._worked = self._touched_by_work()
        self._moved: dict[tuple[str, ...], Moved] = {}

    def world(self, fit: Fit) -> BuildWorld:
        """The build with other parts in place, as far as single questions go."""
        settled = self.base.settled
        variant = settled.variant.variant
        entries = {
            position: Fitted(self.shop.parts[name], "chosen", home(self.shop, name, variant))
            for position, name in fit.items()
        }
        return self.base.trying(entries, self.moved(tuple(fit)))

    def moved(self, positions: tuple[str, ...]) -> Set[str]:
        """Figures that another part in one of the positions can move."""
        return self._at(positions).figures

    def touched(self, positions: tuple[str, ...]) -> Set[str]:
        """Rules that another part in one of the positions can move, and all that look at a whole build."""
        return self._at(positions).rules | self.book.influence.of_whole

    def _at(self, positions: tuple[str, ...]) -> Moved:
        found = self._moved.get(positions)
        if found is None:
            influence = self.book.influence
            facts = {fact for position in positions for fact in influence.at(position).facts}
            # how many pieces stand in another place may hang on the part in this one
            facts |= {("count", name) for name, (by, _) in self.shop.counted_by.items() if by in positions}
            found = self._moved[positions] = influence.of(facts)
        return found

    def by_itself(self, rule: BoundRule) -> bool:
        """Whether a rule's answer hangs on specs, places, work and goal alone."""
        return rule.rule.sort not in ("need", "renew") and rule.rule.rule not in self.book.influence.of_whole

    def simple(self, fit: Fit) -> bool:
        """Whether the parts change nothing but their own positions."""
        fitted = self.base.settled.fitted
        for position, name in fit.items():
            part = self.shop.parts.get(name)
            if part is None or position not in part.fills or part.includes or position in self._worked:
                return False
            before = fitted.get(position)
            if before is not None and before.part.includes:
                return False
        return True

    def _touched_by_work(self) -> Set[str]:
        """Positions whose specs work changes or looks at, that were measured, or that the goal fills."""
        settled = self.base.settled
        found = {"fuel", *(position for position, _ in settled.ready.measured)}  # the goal names the fuel
        for work, _ in settled.sequence:
            for change in settled.book.changes[work.work]:
                found.add(change.position)
                if change.expression is not None:
                    names = settled.book.gather([change.expression])
                    found |= {fact[1] for fact in facts_of(names) if fact[0] in ("filled", "part", "count")}
        return found
