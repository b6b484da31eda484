"""One question at a time: what would a rule say with other parts in place?

Most rules look at a few specs of two or three positions. For those the answer needs neither the whole build
settled nor another rule judged. Where the answer can hang on more (work that changes the position, a box that
brings other parts, joints, offers), the build is checked, and the answer is the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from compat.checking.check import Checked
from compat.checking.judging import judge
from compat.checking.outcome import Outcome
from compat.checking.session import Session
from compat.checking.settle import Fitted, home
from compat.checking.world import BuildWorld
from compat.rulebook.influence import facts_of
from compat.rulebook.rulebook import BoundRule

__all__ = ["Asker"]

Fit = Mapping[str, str]


class Asker:
    """Asks rules about one checked build with other parts in place.

    Parameters
    ----------
    session : Session
        The session.
    base : Checked
        The build as it stands.
    """

    def __init__(self, session: Session, base: Checked) -> None:
        self.session = session
        self.base = base
        self.shop = session.shop
        self.book = session.book
        self._worked = self._touched_by_work()
        self._moved: dict[tuple[str, ...], Set[str]] = {}
        self._known: dict[str, bool] = {}

    def ask(self, rule: str, fit: Fit) -> Outcome | None:
        """Give what a rule says with other parts in place.

        Parameters
        ----------
        rule : str
            Id of a rule.
        fit : mapping
            Part by position, beside the build's own.

        Returns
        -------
        Outcome or None
            As a check of the whole build would give it; None when the rule does not apply.

        Raises
        ------
        KeyError
            When there is no such rule.
        Faults
            When a part or position is not known, or they do not belong together.
        """
        bound = self.book.rules[rule]
        if self.by_itself(bound) and self.simple(fit):
            return judge(self.world(fit), bound)
        checked = self.session.check(self.base.world.settled.ready.fitting(**fit), self.base)
        # what comes once more is added is no answer to a question about the build
        outcomes = (*checked.judged.outcomes.values(), *checked.needs.outcomes, *checked.renewing)
        return next((outcome for outcome in outcomes if outcome.rule == rule), None)

    def world(self, fit: Fit) -> BuildWorld:
        """The build with other parts in place, as far as single questions go."""
        settled = self.base.world.settled
        variant = settled.variant.variant
        entries = {
            position: Fitted(self.shop.parts[name], "chosen", home(self.shop, name, variant))
            for position, name in fit.items()
        }
        return self.base.world.trying(entries, self.moved(tuple(fit)))

    def moved(self, positions: tuple[str, ...]) -> Set[str]:
        """Figures that another part in one of the positions can move."""
        found = self._moved.get(positions)
        if found is None:
            found = self._moved[positions] = frozenset().union(
                *(self.session.influence.at(position).figures for position in positions)
            )
        return found

    def by_itself(self, rule: BoundRule) -> bool:
        """Whether a rule's answer hangs on specs, places, work and goal alone."""
        name = rule.rule.rule
        if name not in self._known:
            names = self.book.gather(rule.expressions())
            apart = rule.rule.sort in ("need", "renew")
            self._known[name] = not (apart or names.joints or names.features)
        return self._known[name]

    def simple(self, fit: Fit) -> bool:
        """Whether the parts change nothing but their own positions."""
        fitted = self.base.world.settled.fitted
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
        settled = self.base.world.settled
        found = {"fuel", *(position for position, _ in settled.ready.measured)}  # the goal names the fuel
        for work, _ in settled.sequence:
            for change in settled.book.changes[work.work]:
                found.add(change.position)
                if change.expression is not None:
                    names = settled.book.gather([change.expression])
                    found |= {fact[1] for fact in facts_of(names) if fact[0] in ("filled", "part", "count")}
        return found
