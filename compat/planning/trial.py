"""Whether a build passes while some of what is asked is held: one space, asked again and again.

What is ruled out stays ruled out from question to question, each cut under the name of the rule that makes it.
So the solver can tell which of what is held, and which rules, it took to leave no build.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import Literal

from compat.checking.needs import Demand
from compat.planning.asked import GOAL_ENTRIES, Asked, Setting
from compat.planning.gated import NEEDS, Gated
from compat.planning.master import Master
from compat.planning.options import space_of
from compat.planning.oracle import Failing
from compat.planning.search import LONGER, SLICE, Search
from compat.planning.searched import Progress, Solution
from compat.planning.space import Choice
from compat.planning.together import Held
from compat.shop.source import Faults

__all__ = ["BACKGROUND", "Answer", "Trial"]

UNSOLD = "unsold"
BACKGROUND = frozenset({"", UNSOLD})
"""What rules a single choice out and is no rule: the whole check alone, and what can be bought."""
CORE_SECONDS = 10.0
"""So long is sought for few of what is held and of the rules that leave no build."""


@dataclass(frozen=True)
class Answer:
    """Whether a build passes while some of what is asked is held."""

    status: Literal["possible", "impossible", "time"]
    solution: Solution | None = None
    proved: bool = False
    """Whether no cheaper one is left."""
    core: frozenset[Held] = frozenset()
    """Of what was held, what it takes to leave none."""
    rules: frozenset[str] = frozenset()
    """The rules that it takes."""


class _EnoughError(Exception):
    """A build was found, and one is enough."""


class Trial(Search):
    """A space in which what is kept, avoided and spent is held by the question, not by the space.

    Parameters
    ----------
    asked : Asked
        What is asked.
    setting : Setting
        The build and the terms, as far as they make the space.
    tell : callable, optional
        Told how far it is.
    """

    def __init__(self, asked: Asked, setting: Setting, tell: Callable[[Progress], None] | None = None) -> None:
        super().__init__(space_of(asked.session, setting.ready, setting.terms), setting.terms, tell)
        self.what = asked
        self.setting = setting
        self.until = float("inf")
        self.passed: list[Solution] = []
        """Every build that passed, whatever was held."""
        self.held: frozenset[Held] = frozenset()
        self.questions = 0
        self.enough = True

    @property
    def left(self) -> float:
        """Seconds left for the question in hand."""
        return self.until - time.monotonic()

    # beforehand

    def _master(self) -> Master:
        self.gated = Gated(self.space, self.costs)
        return self.gated

    def prepare(self) -> None:
        """Judge the light rules and set up the solver, and what may be held in it."""
        if self._ready:
            return
        super().prepare()
        self.settle_in()
        self.budget = self.what.terms.budget
        model = self.gated.model
        for held in self.what.beside:
            gate = self.gated.gate(held)
            if held.kind == "budget" and self.budget is not None:
                limit = self.prices.grains(self.budget) // self.gated.scale
                model.add(self.costs.money <= limit).only_enforce_if(gate)
            for number, options in self._barred(held):
                for option in options:
                    model.add_implication(gate, ~self.gated.x[number][option])

    def _barred(self, held: Held) -> Iterable[tuple[int, list[int]]]:
        """What may not be taken where something is held."""
        for number, decision in enumerate(self.space.decisions):
            if held.kind == "keep" and decision.name == held.name:
                yield number, [n for n, option in enumerate(decision.options) if not option.said]
            elif held.kind == "avoid" and decision.kind == "position":
                kept = decision.name in self.what.terms.keep
                barred = [
                    n
                    for n, option in enumerate(decision.options)
                    if option.how in ("fit", "sister")
                    and option.part == held.name
                    and not (option.said and (kept or len(decision.options) == 1))
                ]
                yield number, barred

    @property
    def checks(self) -> int:
        """How many builds were checked whole."""
        return self.oracle.checked if self._ready else 0

    def suits(self, solution: Solution, held: Iterable[Held]) -> bool:
        """Whether a build that passed keeps to what is held."""
        for one in held:
            if one.kind == "budget":
                if self.budget is not None and solution.bill.money > self.budget:
                    return False
            elif any(solution.choice[number] in options for number, options in self._barred(one)):
                return False
        return True

    def breaks(self, solution: Solution, held: Held) -> bool:
        """Whether a build that passed here does without something that was asked."""
        if held.kind == "stock":
            return not self.terms.stock_only
        if held.kind == "supplier":
            return held.name not in self.terms.avoid_suppliers
        return held in self.setting.instead or not self.suits(solution, [held])

    # asking

    def ask(self, held: Iterable[Held], seconds: float, *, best: bool = False) -> Answer:
        """Whether a build passes while some of what is asked by the side is held.

        Parameters
        ----------
        held : iterable of Held
            What is held of `Asked.beside`; all else of it is free.
        seconds : float
            How long may be searched; looking at the rules, the first time, comes to its end.
        best : bool
            Whether the cheapest is wanted, not any.

        Returns
        -------
        Answer
            Possible only with a build that the whole check passed; impossible only where it is proved.
        """
        self.until = time.monotonic() + seconds
        self.prepare()
        # rules are looked at once; a question asked right away is still to be answered
        self.until = max(self.until, time.monotonic() + seconds / 4)
        self.held, self.enough = frozenset(held), not best
        self.solutions = sorted(
            (one for one in self.passed if self.suits(one, self.held)), key=lambda one: one.worth
        )
        if self.solutions and not best:
            return Answer("possible", self.solutions[0])
        self.questions += 1
        self.bound, self.slice = 0, SLICE
        self.gated.gate(self._question)
        for one in self.solutions:
            self._exclude(one.choice, self._question)
        if self.solutions:
            self._below(self.solutions[0].worth)
        try:
            ended = self._run()
        except _EnoughError:
            ended = "time"
        if self.solutions:
            return Answer("possible", self.solutions[0], proved=ended == "proved")
        if ended != "impossible":
            return Answer("time")
        everything: list[object] = [*self.held, *self.gated.rules()]
        core = self.gated.core(everything, CORE_SECONDS)
        return self._plain(frozenset(everything) if core is None else core)

    def _plain(self, core: frozenset[object]) -> Answer:
        """That none passes, with no more of the goal in it than it takes: rules that read it left out."""
        entries = self.rests_on(of for of in core if isinstance(of, str))
        out: set[Held] = set()
        for gone in [entries, *({entry} for entry in sorted(entries, key=lambda held: held.name))]:
            if gone & self.rests_on(of for of in core if isinstance(of, str)):
                rest = [of for of in self.gated.rules() if not self.rests_on([str(of)]) & (out | gone)]
                fewer = self.gated.core([*self.held, *rest], CORE_SECONDS / 4)
                if fewer is not None:
                    core, out = fewer, out | gone
        return Answer(
            "impossible",
            core=frozenset(one for one in core if isinstance(one, Held)),
            rules=frozenset(one for one in core if isinstance(one, str)),
        )

    @property
    def _question(self) -> tuple[str, int]:
        return ("question", self.questions)

    def _run(self) -> Literal["proved", "time", "impossible"]:
        self.gated.asked = None
        self.gated.always = [*self.held, self._question]
        turn = 0
        while self.left > 0:
            turn += 1
            # guesses lead to builds; in between it is proved without them
            guessing = bool(self.guesses) and (not self.solutions or turn % 2 == 0)
            found = self.gated.solve(self.left, self.slice, self.guesses if guessing else {})
            if found.status == "nothing" or (found.status == "some" and not guessing):
                self.slice *= LONGER
            if found.status == "none":
                return "proved" if self.solutions else "impossible"
            if not guessing and self.solutions:
                self._raise_bound(found)
                if self.bound >= self.solutions[0].worth:
                    return "proved"
            if found.choice:
                self._judge(found.choice, guessing or not self.solutions)
        return "time"

    def _rule_out(self, choice: Choice) -> None:
        """Rule out one choice alone, for the first that speaks against it."""
        self._exclude(choice, next(iter(names(self.last)), "") if self.last else "")

    def _exclude(self, choice: Choice, gate: object) -> None:
        literals = [
            ~self.gated.x[number][option]
            for number, option in enumerate(choice)
            if len(self.gated.x[number]) > 1
        ]
        self.gated.model.add_bool_or(literals).only_enforce_if(self.gated.gate(gate))

    def _below(self, worth: int) -> None:
        limit = -(-worth // self.gated.scale) - 1
        self.gated.model.add(self.gated.cost <= limit).only_enforce_if(self.gated.gate(self._question))

    def _passed(self, choice: Choice, failing: Failing) -> None:
        solution = self._solution(choice, failing)
        if solution is None:
            return
        self.passed.append(solution)
        if not self.suits(solution, self.held):
            self._exclude(choice, next(one for one in self.held if one.kind == "budget"))
            return
        self._exclude(choice, self._question)
        if self.first is None:
            self.first = self.seconds
        if not self.solutions or solution.worth < self.solutions[0].worth:
            self._below(solution.worth)
        self.solutions.append(solution)
        self.solutions.sort(key=lambda each: each.worth)
        if self.enough:
            raise _EnoughError

    def _solution(self, choice: Choice, failing: Failing) -> Solution | None:
        """The choice checked whole and with its price; None where it does not pass or cannot be bought."""
        checked = self.oracle.check(failing.ready)
        if not self.standard.passes(checked):
            self.unforeseen += [o.rule for o in checked.outcomes if self.standard.fails(o)]
            self._exclude(choice, "")
            return None
        try:
            bill = self.prices.bill(checked)
        except Faults:
            self._exclude(choice, UNSOLD)
            return None
        given_up = self.costs.given_up(choice)
        return Solution(choice, checked, bill, given_up, self.prices.grains(bill.money) + given_up)

    # which rules

    def without(
        self, held: Iterable[Held], rules: frozenset[str], seconds: float
    ) -> tuple[Failing | None, frozenset[str]]:
        """A choice that keeps to what is held and meets some rules, whatever all others say.

        Returns
        -------
        Failing or None
            What speaks against it, none of these rules among it; None where there is none, or time is out.
        frozenset of str
            Where it is proved that there is none: the rules of these that it takes. Else none.
        """
        until = time.monotonic() + seconds
        held = frozenset(held)
        self.until = until
        while (left := until - time.monotonic()) > 0:
            background = BACKGROUND & {str(of) for of in self.gated.rules()}
            self.gated.asked = [*held, *sorted(rules), *sorted(background)]
            found = self.gated.solve(left, inf)
            if found.status == "none":
                core = self.gated.core(self.gated.asked, CORE_SECONDS) or frozenset(self.gated.asked)
                return None, frozenset(of for of in core if isinstance(of, str))
            if found.status == "nothing":
                break
            failing = self.oracle.look(found.choice)
            against = replace(
                failing,
                outcomes=tuple(o for o in failing.outcomes if o.rule in rules),
                open=tuple(d for d in failing.open if label(d) in rules),
            )
            self.last = against
            if against.nothing:
                if self._within(found.choice, failing, held):
                    return failing, frozenset()
                continue
            new = [self.gated.add(cut) for cut in self._cuts(found.choice, against, False)]
            if not any(new):
                self._rule_out(found.choice)
        return None, frozenset()

    def _within(self, choice: Choice, failing: Failing, held: frozenset[Held]) -> bool:
        """Whether a choice keeps to the budget, where one is held; else it is ruled out under that."""
        budget = next((one for one in held if one.kind == "budget"), None)
        if budget is None or self.budget is None:
            return True
        try:
            if self.prices.bill(self.oracle.check(failing.ready)).money <= self.budget:
                return True
        except Faults:
            self._exclude(choice, UNSOLD)
            return False
        self._exclude(choice, budget)
        return False

    def rests_on(self, rules: Iterable[str]) -> set[Held]:
        """Entries of the goal that some rules may read, through all figures and needs between."""
        names = set(rules)
        if not BACKGROUND.isdisjoint(names):
            return set(self.what.goal)
        read = frozenset().union(*(self._reads(name) for name in names))
        return {held for held in self.what.goal if held.name in read}

    def _reads(self, name: str) -> frozenset[str]:
        book = self.space.book
        rule = book.rules.get(name) or book.of_work.get(name)
        if rule is None:
            return self._asking  # what a part, the fuel too, asks or shuns
        uses = self.grounds.uses.of(rule.expressions())
        read = _entries(uses)
        if rule.rule.sort == "need" or any(use[0] == "offered" for use in uses):
            read |= self._asking
        return read | {"duty"} if rule.rule.sort == "load" else read

    @cached_property
    def _asking(self) -> frozenset[str]:
        """Entries that conditions of what is asked and offered may read; the fuel may offer and ask itself."""
        return _entries(self.grounds.uses.of(self.space.book.conditions.values())) | {"fuel"}


def _entries(uses: Iterable[tuple[str, ...]]) -> frozenset[str]:
    """Entries of a goal that are among what is read."""
    uses = set(uses)
    words = {use[1] for use in uses if use[0] == "goal"}
    read = {entry for entry, its in GOAL_ENTRIES.items() if words & set(its)}
    return frozenset(read | {"fuel"} if any("fuel" in use for use in uses) else read)


def label(demand: Demand) -> str:
    """Under what name a need that nothing meets is ruled out."""
    return demand.rule or NEEDS


def names(failing: Failing) -> list[str]:
    """What speaks against a choice, by the names under which it is ruled out."""
    return [*(outcome.rule for outcome in failing.outcomes), *(label(demand) for demand in failing.open)]
