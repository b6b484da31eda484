"""Why no build passes: the fewest things asked that cannot stand together, and what giving up each would allow.

First the solver proves that nothing passes, and names what of all that is asked it took. Then one thing after
another is given up: where a build passes then, the thing belongs to the set; where it is proved that none
does, it does not. What ends by time is kept and said to be not settled. In the end the rules are thinned the
same way.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from compat.checking.session import Session
from compat.planning.asked import Asked
from compat.planning.fixed import Remade
from compat.planning.fixing import remade, sizes_of
from compat.planning.highest import highest
from compat.planning.prices import Prices
from compat.planning.searched import Progress, Solution
from compat.planning.terms import Terms, hold_terms
from compat.planning.together import Freed, Held, Member, Reason, WhyEnded, WhyNot
from compat.planning.trial import BACKGROUND, Answer, Trial
from compat.shop.builds import ReadyBuild
from compat.shop.source import Faults

__all__ = ["why_not"]


def why_not(
    session: Session,
    ready: ReadyBuild,
    terms: Terms,
    tell: Callable[[Progress], None] | None = None,
) -> WhyNot:
    """Why no build passes as everything is asked.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    ready : ReadyBuild
        The build as it stands.
    terms : Terms
        What is kept and avoided, what may be spent, and for how long may be searched. Money is aimed at.
    tell : callable, optional
        Told how far a search is; may raise KeyboardInterrupt to end with what is known by then.

    Returns
    -------
    WhyNot
        A set of which no member can be left out: each is settled by a build found without it that the whole
        check passes, or said to be not settled. There may be other sets, where giving up a member lets the rest
        of the set stand but not all else that was asked: `Freed.alone` tells.

    Raises
    ------
    Faults
        When terms are not known or make no sense, or the shop states no prices.

    Notes
    -----
    Proofs are over the parts of the shop, and over the sizes of work that were tried (`WhyNot.sizes`).
    """
    return _Finder(session, ready, hold_terms(session.shop, ready, terms), tell).run()


class _Finder:
    def __init__(
        self, session: Session, ready: ReadyBuild, terms: Terms, tell: Callable[[Progress], None] | None
    ) -> None:
        self.began = time.monotonic()
        self.session = session
        self.terms = replace(terms, aim="money")
        self.asked = Asked(session, ready, self.terms)
        self.tell = tell
        self.before = session.check(ready)
        self.prices = Prices(session.shop, self.terms, ready.variant.family)
        self.trials: dict[tuple[frozenset[Held], int], Trial] = {}
        self.members: list[Held] = []
        self.out: frozenset[Held] = frozenset()
        """What is no member and makes another space when it is not asked."""
        self.found: dict[Held, tuple[Trial, Solution]] = {}
        """By what was given up a build that passes without it."""
        self.freed: dict[Held, Freed] = {}
        self.reasons: tuple[Reason, ...] = ()
        self.tried = False

    @property
    def left(self) -> float:
        return self.terms.seconds - (time.monotonic() - self.began)

    def share(self, of: float) -> float:
        """A share of the time that is left."""
        return max(0.5, of * self.left)

    # spaces

    def ways(self, given_up: Iterable[Held]) -> Iterator[Trial]:
        """The spaces that are left when entries of the goal or of the market are given up."""
        key = frozenset(given_up)
        for number, setting in enumerate(self.asked.settings(key)):
            if (key, number) not in self.trials:
                self.trials[key, number] = Trial(self.asked, setting, self.tell)
            yield self.trials[key, number]

    def ask(
        self, given_up: frozenset[Held], held: Iterable[Held], seconds: float, *, best: bool = False
    ) -> tuple[Trial | None, Answer]:
        """Whether a build passes when some is given up and some held; impossible only if so in every way."""
        beside = [one for one in held if one in self.asked.beside]
        apart = frozenset(one for one in given_up if one not in self.asked.beside)
        ended = True
        core: frozenset[Held] = frozenset()
        rules: frozenset[str] = frozenset()
        until = time.monotonic() + seconds
        last: Trial | None = None
        for trial in self.ways(apart):
            if last is not None and time.monotonic() > until:
                return last, Answer("time")
            last = trial
            answer = trial.ask(beside, max(0.1, until - time.monotonic()), best=best)
            if answer.status == "possible":
                return trial, answer
            ended = ended and answer.status == "impossible"
            core |= answer.core
            rules |= answer.rules
        return last, Answer("impossible", core=core, rules=rules) if ended else Answer("time")

    # the set

    def run(self) -> WhyNot:
        everything = frozenset(self.asked.all)
        try:
            trial, answer = self.ask(frozenset(), everything, self.share(0.5))
            assert trial is not None
            if answer.status == "possible":
                assert answer.solution is not None
                return self.told("possible", trial, remade(trial, self.before, answer.solution))
            if answer.status == "time":
                return self.told("time", trial)
        except KeyboardInterrupt:
            return self.told("time", None)
        try:
            trial, answer = self.thin(trial, answer)
            self.why(*self.one_way(trial, answer))
            self.elsewhere()
            self.give_up()
        except KeyboardInterrupt:
            pass
        return self.told("explained", trial)

    def thin(self, trial: Trial, answer: Answer) -> tuple[Trial, Answer]:
        """Give up one thing after another, as long as nothing passes; gives the space of what is left."""
        members = self.touched(trial, answer, self.asked.all)
        entries = [held for held in members if held.kind == "goal" and held.name != "fuel"]
        if len(entries) > 1:
            # often none of them has a part in it
            apart, other, without = self.probe(members, entries, self.share(0.25))
            if without.status == "impossible" and other is not None:
                self.out, trial, answer = apart, other, without
                members = self.touched(trial, answer, self.rest(members, entries))
        waiting = sorted(members, key=lambda held: held in self.asked.beside)
        while waiting:
            self.members = members
            held = waiting.pop(0)
            apart, other, without = self.probe(members, [held], self.share(0.4 / (len(waiting) + 1)))
            if without.status == "possible":
                assert other is not None
                assert without.solution is not None
                self.found[held] = other, without.solution
            elif without.status == "impossible":
                assert other is not None
                self.out, trial, answer = apart, other, without
                members = self.touched(trial, answer, self.rest(members, [held]))
                waiting = [one for one in waiting if one in members]
        self.members = members
        return trial, answer

    def probe(
        self, members: list[Held], gone: list[Held], seconds: float
    ) -> tuple[frozenset[Held], Trial | None, Answer]:
        """Whether a build passes while some members are held and some are given up.

        What is no member is asked all the same, as long as no proof takes it: so the space stays the same.
        """
        until = time.monotonic() + seconds
        held = self.rest(members, gone)
        apart = self.out | {one for one in gone if one not in self.asked.beside}
        while True:
            trial, answer = self.ask(apart, held, max(0.5, until - time.monotonic()))
            if answer.status != "impossible" or trial is None:
                return apart, trial, answer
            taken = trial.rests_on(answer.rules) - set(held) - apart
            if not taken:
                return apart, trial, answer
            apart |= taken

    @staticmethod
    def rest(members: Iterable[Held], without: Iterable[Held]) -> list[Held]:
        gone = set(without)
        return [held for held in members if held not in gone]

    def touched(self, trial: Trial, answer: Answer, among: Iterable[Held]) -> list[Held]:
        """Of some things those that the proof may have taken."""
        entries = trial.rests_on(answer.rules)
        kept = {*answer.core, *entries, *self.asked.market}
        return [held for held in among if held in kept]

    # the rules

    def one_way(self, trial: Trial, answer: Answer) -> tuple[Trial, Answer]:
        """A space and its proof to name rules in: what could be given up in several ways is as it was asked."""
        several = {
            held for held in self.out if held.kind == "goal" and len([*self.asked.milder(held.name)]) > 1
        }
        if not several:
            return trial, answer
        other, again = self.ask(self.out - several, self.members, self.share(0.2))
        return (other, again) if other is not None and again.status == "impossible" else (trial, answer)

    def why(self, trial: Trial, answer: Answer) -> None:
        """Thin the rules that it takes: each left is one without which the others could be met."""
        rules = answer.rules - BACKGROUND
        held = [one for one in self.members if one in self.asked.beside]
        until = time.monotonic() + self.share(0.4)
        reasons: dict[str, Reason] = {}
        waiting = sorted(rules)
        while waiting:
            name = waiting.pop(0)
            left = until - time.monotonic()
            failing, core = None, frozenset[str]()
            if left > 0:
                failing, core = trial.without(held, rules - {name}, left / (len(waiting) + 1))
            if failing is not None:
                outcome = next((o for o in failing.outcomes if o.rule == name), None)
                checked = self.session.check(failing.ready)
                outcome = next((o for o in checked.outcomes if o.rule == name), outcome)
                reasons[name] = Reason(name, True, outcome, checked)
            elif core:
                rules = core - BACKGROUND
                waiting = [one for one in waiting if one in rules]
                reasons = {one: reason for one, reason in reasons.items() if one in rules}
            else:
                reasons[name] = Reason(name, False)
        self.reasons = tuple(reasons[name] for name in sorted(reasons))

    # the variant

    def elsewhere(self) -> None:
        """Whether the same could stand together on another variant: then the variant is one of the set."""
        held = [one for one in self.members if one in self.asked.beside]
        ended = True
        until = time.monotonic() + self.share(0.4)
        for setting in self.asked.variants(self.out):
            if time.monotonic() > until:
                ended = False
                break
            trial = Trial(self.asked, setting, self.tell)
            answer = trial.ask(held, self.share(0.1))
            if answer.status == "possible":
                assert answer.solution is not None
                self.members.append(self.asked.variant)
                self.found[self.asked.variant] = trial, answer.solution
                break
            ended = ended and answer.status == "impossible"
        self.tried = ended

    # what it would allow

    def give_up(self) -> None:
        """The best build when each member alone is given up: all else asked held, or the others of the set."""
        waiting = list(self.members)
        while waiting:
            held = waiting.pop(0)
            seconds = self.share(0.8 / (len(waiting) + 1))
            self.freed_by(held, seconds)
            if held not in self.freed and held in self.found:
                trial, solution = self.found[held]
                self.freed[held] = self.told_of(trial, solution, held, proved=False)

    def freed_by(self, held: Held, seconds: float) -> None:
        until = time.monotonic() + seconds
        if held.kind == "variant" or self.left <= 0:
            return
        apart = frozenset([held] if held not in self.asked.beside else ())
        tries = [(apart, self.rest(self.asked.all, [held]))]
        if held in self.found or self.left > 0:
            tries.append((apart | self.out, self.rest(self.members, [held])))
        for given_up, others in tries:
            left = until - time.monotonic()
            if left <= 0:
                return
            trial, answer = self.ask(given_up, others, left / 2, best=True)
            if answer.status == "possible" and trial is not None and answer.solution is not None:
                self.found[held] = trial, answer.solution
                freed = self.told_of(trial, answer.solution, held, proved=answer.proved)
                if held.kind == "goal":
                    beside = [one for one in others if one in self.asked.beside]
                    most, beyond = highest(
                        self.asked,
                        trial.setting,
                        held,
                        beside,
                        answer.solution,
                        until - time.monotonic(),
                        self.tell,
                    )
                    freed = replace(freed, highest=most, beyond=beyond)
                self.freed[held] = freed
                return

    def told_of(self, trial: Trial, solution: Solution, held: Held, *, proved: bool) -> Freed:
        build = remade(trial, self.before, solution)
        money = self.money
        instead = trial.setting.instead.get(held, "")
        if held.kind == "keep":
            instead = build.ready.part_in(held.name) if held.name in self.session.shop.positions else ""
        dearer = None if money is None else build.money - money
        also = tuple(one for one in self.asked.all if one != held and trial.breaks(solution, one))
        return Freed(build, proved, also, instead, dearer)

    @property
    def money(self) -> Decimal | None:
        """What the build as it stands costs, with all that it must have added."""
        try:
            return self.prices.bill(self.before).money
        except Faults:
            return None

    # all told

    def told(self, ended: WhyEnded, trial: Trial | None, possible: Remade | None = None) -> WhyNot:
        trials = list(self.trials.values())
        return WhyNot(
            ended,
            self.before,
            self.prices.info.currency,
            self.money,
            tuple(Member(held, held in self.found, self.freed.get(held)) for held in self.members),
            self.reasons,
            possible,
            self.tried,
            time.monotonic() - self.began,
            sum(each.questions for each in trials),
            sum(each.checks for each in trials),
            dict(sizes_of(trial.space)) if trial is not None else {},
        )
