"""Changes tried on a build that is then checked whole: needs, joints and what has to be added as well."""

from __future__ import annotations

from compat.checking.check import Checked, close
from compat.checking.judged import judge_again
from compat.checking.outcome import RANK
from compat.checking.trials import UNKNOWN, Trials
from compat.shop.changing import Change

__all__ = ["Whole"]


class Whole:
    """Checks a build whole with changes.

    Parameters
    ----------
    checked : Checked
        The build as it stands.
    trials : Trials
        Tries changes on it.
    """

    def __init__(self, checked: Checked, trials: Trials) -> None:
        self.checked = checked
        self.trials = trials

    def of(self, changes: tuple[Change, ...]) -> Checked | None:
        """What a check finds with changes; None where there is no such build."""
        found = self.trials.of(changes)
        if found is None:
            return None
        world, moved = found
        judged = judge_again(self.checked.judged, world, moved)
        return close(world, judged, self.trials.cards, self.checked, moved)

    def lasts(self, changes: tuple[Change, ...], rule: str) -> bool:
        """Whether changes that settle a finding on the build with all that it must have serve the build today.

        Parameters
        ----------
        changes : tuple of Change
            Tried on the build with what is added: a part among that is not there yet to be left out.
        rule : str
            Rule of the finding.

        Returns
        -------
        bool
            Whether less speaks against the build as it stands then; or as much, and a whole check finds no more
            of the finding.
        """
        effect = self.trials.in_full(changes)
        if effect.betters:
            return True
        if len(effect.raises) > len(effect.clears) - effect.met or len(effect.asks) > effect.met:
            return False
        after = self.of(changes)
        found = after.outcomes if after is not None else self.checked.outcomes
        return not any(one.rule == rule and RANK[one.verdict] <= UNKNOWN for one in found)
