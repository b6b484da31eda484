"""What a build can do without: a part or work whose reason is gone, or that stands in the way of the rest.

In question is work of the build, and a part that the variant left the factory without, where a finding speaks
of it: no rule names these, since none knows what a build has taken on and could put off again. Of the factory's
own parts only those are in question that the rule names: an engine that was made with a part is not without it
because rules fall silent then.

What is in question is left out, with every word of the build of which nothing comes any more, and the build is
checked whole: needs, joints and what has to be added as well. Told is only what brings nothing up and takes
nothing that is wrong already further from right. So there is less against the build after each, and no row of
them comes back to where it began; and what something else in the build needs is never left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from compat.checking.check import Checked
from compat.checking.effect import Effect
from compat.checking.helping import Helping, nearer
from compat.checking.outcome import (
    OUT,
    RANK,
    Apart,
    Borne,
    Held,
    Idle,
    Met,
    Outcome,
    Paired,
    RenewedAt,
    Stranger,
)
from compat.checking.remedying import Remedy
from compat.checking.trials import UNKNOWN, Trials
from compat.checking.whole import Whole
from compat.shop.changing import Change, Fit, Strike, Undo

__all__ = ["Sparing"]


class Sparing:
    """Tries what can be left out of a checked build.

    Parameters
    ----------
    checked : Checked
        The build as it stands.
    trials : Trials
        Tries changes on it.
    helping : Helping
        Which remedies can be of use.
    """

    def __init__(self, checked: Checked, trials: Trials, helping: Helping) -> None:
        self.checked = checked
        self.trials = trials
        self.helping = helping
        self.whole = Whole(checked, trials)
        self.book = trials.book
        self.works = dict.fromkeys(one.work for one in trials.settled.build.work)
        """Work that the build names itself: what that drags in goes with it."""
        self.before = _against(checked.outcomes)
        self._tried: dict[Change, Remedy | None] = {}

    def remedies(self, outcome: Outcome) -> Iterator[Remedy]:
        """What settles a finding by being left out.

        Parameters
        ----------
        outcome : Outcome
            What came of a rule, a need, work, or what stands somewhere, on the build as it stands.

        Yields
        ------
        Remedy
            A part or work that is left out, and what is struck with it; nothing comes up then.
        """
        if RANK[outcome.verdict] > OUT:
            return
        judged = outcome.rule in self.book.judged
        for change in dict.fromkeys(self._in_question(outcome)):
            if self.trials.effect((change,), whole=False).raises:
                continue
            if judged and not self.trials.settles(outcome, (change,)):
                continue
            remedy = self._whole(change)
            if remedy is not None and outcome.rule in remedy.effect.clears:
                yield remedy

    def _in_question(self, outcome: Outcome) -> Iterator[Change]:
        """Parts and work that a finding speaks of and that could be left out."""
        if outcome.rule in self.book.rules:
            for entry in self.book.rules[outcome.rule].rule.remedies:
                name = entry.get("leave_out", "")
                if name and self.helping.can_be("leave_out", name, entry.get("with", "")):
                    yield Fit(name, "")
        match outcome.seen:
            case Idle(entry="work", word=work):
                yield Undo(work)
            case Stranger(position=position):
                yield from self._parts([position])
            case Apart(position=position, place=place):
                yield from self._parts([position, place])
            case Met(demand=demand, shortage=shortage, provider=None) if not demand.rule:
                owners = (demand.owner, *(shortage.competing if shortage is not None else ()))
                for owner in dict.fromkeys(owners):
                    if owner in self.works:
                        yield Undo(owner)
                    fitted = self.trials.settled.fitted.items()
                    yield from self._parts(place for place, entry in fitted if entry.part.part == owner)
            case _ if outcome.rule in self.book.judged:
                bound = self.book.judged[outcome.rule]
                yield from self._parts(sorted(self.book.speaks_of(bound)))
                grounds = self.book.grounds(bound)
                specs = set(grounds.specs)
                for work in self.works:
                    changes = ((change.position, change.spec) for change in self.book.changes[work])
                    if work in grounds.works or not specs.isdisjoint(changes):
                        yield Undo(work)
            case _:
                for work in self.works:
                    bounds = self.book.bounds.get(work, {}).values()
                    if any(bound.rule.rule == outcome.rule for bound in bounds):
                        yield Undo(work)

    def _parts(self, positions: Iterable[str]) -> Iterator[Change]:
        """Those that the variant left the factory without."""
        own = self.trials.settled.variant.parts
        for position in positions:
            if position not in own and self.helping.can_be("leave_out", position):
                yield Fit(position, "")

    def _whole(self, change: Change) -> Remedy | None:
        """What is left out, with what is struck then; None where anything comes up or gets worse."""
        if change not in self._tried:
            self._tried[change] = self._checked((change,))
        return self._tried[change]

    def _checked(self, changes: tuple[Change, ...]) -> Remedy | None:
        after = self.whole.of(changes)
        if after is None:
            return None
        if len(changes) == 1 and (follows := tuple(self._follows(after))):
            return self._checked((*changes, *follows))
        now = _against(after.outcomes)
        if any(_worse(self.before.get(rule, ()), outcomes) for rule, outcomes in now.items()):
            return None
        clears = tuple(sorted(rule for rule in self.before if rule not in now))
        return Remedy(changes, Effect(clears, ()))

    def _follows(self, after: Checked) -> Iterator[Change]:
        """What the build says and of which nothing comes any more: renewals of a joint that stays shut, say."""
        idle = {outcome.rule for outcome in self.checked.standing}
        for outcome in after.standing:
            if isinstance(outcome.seen, Idle) and outcome.rule not in idle:
                seen = outcome.seen
                yield Undo(seen.word) if seen.entry == "work" else Strike(seen.entry, seen.word)


def _against(outcomes: Iterable[Outcome]) -> Mapping[str, tuple[Outcome, ...]]:
    """What speaks against a build, or is not known, by rule."""
    found: dict[str, tuple[Outcome, ...]] = {}
    for outcome in outcomes:
        if RANK[outcome.verdict] <= UNKNOWN:
            found[outcome.rule] = (*found.get(outcome.rule, ()), outcome)
    return found


def _worse(before: tuple[Outcome, ...], after: tuple[Outcome, ...]) -> bool:
    """Whether a rule speaks more against a build than before, or speaks of something further from right."""
    if len(after) > len(before) or _worst(after) < _worst(before):
        return True
    if len(before) > 1 or len(after) > 1:
        return False
    match before[0].seen, after[0].seen:
        case (Held(), Held()) | (Borne(), Borne()) | (Paired(), Paired()):
            return nearer(after[0], before[0])
        case RenewedAt(lacking=was), RenewedAt(lacking=now):
            return len(now) > len(was)
    return False


def _worst(outcomes: Iterable[Outcome]) -> int:
    return min(RANK[outcome.verdict] for outcome in outcomes)
