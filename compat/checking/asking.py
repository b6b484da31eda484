"""One question at a time: what would a rule say with other parts in place?

Most rules look at a few specs of two or three positions. For those the answer needs neither the whole build
settled nor another rule judged. Where the answer can hang on more (work that changes the position, a box that
brings other parts, joints, offers), the build is checked, and the answer is the same.
"""

from __future__ import annotations

from compat.checking.check import Checked
from compat.checking.judging import judge
from compat.checking.outcome import Outcome
from compat.checking.places import Fit, Places
from compat.checking.session import Session

__all__ = ["Asker"]


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
        self.places = Places(base.world)

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
        bound = self.session.book.rules[rule]
        if self.places.by_itself(bound) and self.places.simple(fit):
            return judge(self.places.world(fit), bound)
        checked = self.session.check(self.base.world.settled.ready.fitting(**fit), self.base)
        # what comes once more is added is no answer to a question about the build
        outcomes = (*checked.judged.outcomes.values(), *checked.needs.outcomes, *checked.renewing)
        return next((outcome for outcome in outcomes if outcome.rule == rule), None)
