"""The solver proposes, the checker judges, and what fails is ruled out, until nothing better is left.

Two kinds of things are ruled out. A *cut* is sound: nothing that the checker would pass lies in it, so what
the solver proves with cuts alone is proved of the checker's own rules. A *guess* is what would likely help (one
of the changes that, tried alone, makes the rule hold): it leads to builds that pass, and proves nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal

from compat.checking.outcome import Outcome
from compat.planning.asks import Asks
from compat.planning.cells import Cells
from compat.planning.costs import Costs
from compat.planning.cuts import Ask, Box, Guess, point
from compat.planning.failing import FAILING
from compat.planning.grounds import Grounds
from compat.planning.growing import Grower
from compat.planning.guessing import Failed, Guesser
from compat.planning.master import Found, Master
from compat.planning.oracle import Failing, Oracle
from compat.planning.prices import Prices
from compat.planning.scene import readings_of
from compat.planning.searched import Progress, Searched, Solution
from compat.planning.space import Choice, Space
from compat.planning.standard import Standard
from compat.planning.tables import as_sums, stands, sums, tables
from compat.planning.terms import Terms
from compat.planning.values import with_values
from compat.rulebook.rulebook import BoundRule
from compat.shop.source import Faults

__all__ = ["LONGER", "SLICE", "Search"]

MOST_AGAIN = 5
"""A rule that failed so often, or oftener, weighs most."""
STEPS = 40
"""So many decisions may leave what came nearest to passing for one rule that is likely helped by it."""
MORE_STEPS = 400
"""The same of what passes: what is better may be far from it."""
HEAVY = 3
"""So many rules that are soon put right count as one that rests on the cycle."""
FRESH = 8
"""So many rounds after a better build it is mostly looked for one better still."""
PATIENCE = 4
"""After so many rounds that come no nearer it is looked from elsewhere."""
SLICE = 3.0
"""So much the solver searches at a time, to begin with, by its own count of its work."""
SHARE = 0.2
"""What part of the time is kept for what else could be had."""
EARLY = 12
"""So many rounds nobody waits for bounds while there is no build yet that passes."""
TRIES = 5
"""So many choices are looked at for each thing that another build might do otherwise."""
LONGER = 1.5
"""So many times longer it searches after it came to no end."""


@dataclass
class Search:
    """A search in one space.

    Parameters
    ----------
    space : Space
        The space as the terms leave it.
    terms : Terms
        What is aimed at, for how long.
    tell : callable, optional
        Told how far it is; may raise KeyboardInterrupt to end the search with what there is.
    """

    space: Space
    terms: Terms
    tell: Callable[[Progress], None] | None = None
    headroom: float | None = None
    """What every capacity must exceed its load by, beside what its rule asks."""
    enough: bool = False
    """Whether any build that passes will do."""
    plain: bool = False
    """Whether failing choices are ruled out by themselves alone, with no box grown: to compare."""
    solutions: list[Solution] = field(default_factory=list)
    bound: int = 0
    rounds: int = 0
    found_in: int = 0
    """The round that found the best build."""
    first: float | None = None
    last: Failing | None = None
    nearest: tuple[int, Choice, int] | None = None
    """How much speaks against the choice that came nearest to passing, that choice, and its round."""
    unforeseen: list[str] = field(default_factory=list)
    """What failed and could be ruled out by nothing but the choice itself."""

    def __post_init__(self) -> None:
        self.began = time.monotonic()
        failing = FAILING - {"unknown"} if self.terms.unknown_too else FAILING
        self.standard = Standard(self.space.book, failing, self.headroom)
        self.prices = Prices(self.space.shop, self.terms, self.space.base.variant.family)
        self._ready = self._whole = False
        self.slice = SLICE

    # time

    @property
    def seconds(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - self.began

    @property
    def left(self) -> float:
        """Seconds left."""
        return self.terms.seconds - self.seconds

    def _tell(
        self,
        doing: Literal["looking at rules", "looking for a build", "looking for a better one"],
        against: int = 0,
    ) -> None:
        if self.tell is not None:
            best = self.solutions[0].worth if self.solutions else None
            self.tell(Progress(doing, self.seconds, self.rounds, against, best, self.bound))

    # beforehand

    def prepare(self) -> None:
        """Find sizes of work, judge the light rules over few decisions, and set up the solver."""
        if self._ready:
            return
        self._tell("looking at rules")
        self.space = with_values(self.space)
        space = self.space
        self.grounds = Grounds(space)
        self.cells = Cells(space, self.standard)
        self.oracle = Oracle(space, self.standard)
        self.asks = Asks(space, self.grounds, self.cells)
        self.costs = Costs(space, self.prices, self.grounds, self.cells)
        self.master = self._master()
        self.readings = readings_of(space, self.cells)
        self.grower = Grower(space, self.grounds, self.cells, self.readings, plain=self.plain)
        self.guesser = Guesser(self.grounds, self.cells, self.oracle)
        for cut in [
            *stands(space),
            *self.asks.eager(),
            *tables(space, self.grounds, self.cells, large=False),
        ]:
            self.master.add(cut)
        if self.terms.budget is not None:
            # wishes given up are no money
            self.master.within(self.prices.grains(self.terms.budget))
        self.guesses: dict[Guess, int] = {}
        self.summed: set[str] = set()
        self._ready = True

    def settle_in(self) -> None:
        """Enter what is not worth the wait for a first build: large tables, and sums."""
        if self._whole:
            return
        self._whole = True
        for cut in tables(self.space, self.grounds, self.cells, large=True):
            self.master.add(cut)
        if not self.plain and not self.terms.unknown_too:  # bounds take an unknown for a failure
            third = self.seconds + self.terms.seconds / 3
            for told in sums(self.space, self.grounds, self.readings, lambda: self.seconds < third):
                self.master.add_sum(told)

    def _master(self) -> Master:
        return Master(self.space, self.costs)

    # what else could be had

    def others(self, count: int, seconds: float) -> None:
        """Look for builds that differ from the best in what weighs most, or keep a wish that it gives up."""
        if not self.solutions:
            return
        best = self.solutions[0].choice
        if all(option.said for _, option in self.space.taken(best)):
            return  # nothing is changed, so nothing is traded
        ends = self.seconds + seconds
        weighty = sorted(
            (n for n, decision in enumerate(self.space.decisions) if len(decision.options) > 1),
            key=lambda n: (-self.costs.wishes[n][best[n]], -self.costs.weight(n, best[n])),
        )
        for number in weighty[: 4 * count]:
            found_before = len(self.solutions)
            for _ in range(TRIES):
                if self.seconds >= ends or len(self.solutions) > found_before:
                    break
                self.rounds += 1
                found = self.master.solve(ends - self.seconds, SLICE, self.guesses, (number, best[number]))
                if not found.choice:
                    break
                self._judge(found.choice, guessing=True)
            count -= len(self.solutions) > found_before
            if not count or self.seconds >= ends:
                return

    # the loop

    def run(self) -> Searched:
        """Search until the best is proved, none is left, or time is out."""
        try:
            ended = self._run()
            if self.terms.others and ended != "impossible":
                self.others(self.terms.others, max(self.left, SHARE * self.terms.seconds))
        except KeyboardInterrupt:
            ended = "time"
        return self._searched(ended)

    def _searched(self, ended: Literal["proved", "time", "impossible"]) -> Searched:
        if ended == "proved" and self.solutions:
            self.bound = self.solutions[0].worth
        return Searched(
            tuple(self.solutions),
            self.bound,
            ended,
            self.first,
            self.seconds,
            self.rounds,
            self.oracle.checked if self._ready else 0,
            self.master.cuts if self._ready else 0,
        )

    def _run(self) -> Literal["proved", "time", "impossible"]:
        self.prepare()
        share = 1 - SHARE if self.terms.others else 1.0
        while self.seconds < share * self.terms.seconds or (not self.solutions and self.left > 0):
            self.rounds += 1
            if self.solutions and self.enough:
                return "time"
            if self.solutions or self.rounds > EARLY:
                self.settle_in()
            # guesses lead to a first build and to better ones; in between the bound is raised without them
            fresh = self.rounds <= self.found_in + FRESH
            guessing = bool(self.guesses) and (not self.solutions or self.rounds % (4 if fresh else 2) != 0)
            ends = share * self.terms.seconds if self.solutions else self.terms.seconds
            found = self.master.solve(
                ends - self.seconds,
                self.slice,
                self.guesses if guessing else {},
                near=self._near() if guessing else None,
                much=guessing and bool(self.solutions),
            )
            if found.status == "nothing" or (found.status == "some" and not guessing):
                self.slice *= LONGER  # the same asked again for as long comes to the same
            if found.status == "none" and guessing and self.solutions:
                self.guesses = {}  # nothing is better by a good deal; by how little it may be is still to prove
                continue
            if found.status == "none":
                return "proved" if self.solutions else "impossible"
            if not guessing:
                self._raise_bound(found)
                worth = self.solutions[0].worth if self.solutions else 0
                if self.solutions and self.bound >= worth:
                    return "proved"
                if self.solutions and self.bound >= (1 - self.terms.gap) * worth:
                    return "time"
            if found.status == "nothing":
                continue
            self._judge(found.choice, guessing or not self.solutions)
            if self.solutions and self.found_in == self.rounds:
                self._strip()
        return "time"

    def _strip(self) -> None:
        """Take back, one by one, what the best changes and does not need: what helped on the way to it."""
        best = self.solutions[0].choice
        changed = [
            (number, said)
            for number, decision in enumerate(self.space.decisions)
            if (said := decision.said) is not None and said != best[number]
        ]
        for number, said in sorted(changed, key=lambda each: -self.costs.weight(each[0], best[each[0]])):
            if self.left <= 0:
                return
            best = self.solutions[0].choice
            choice = (*best[:number], said, *best[number + 1 :])
            if (failing := self.oracle.look(choice)).nothing:
                self._passed(choice, failing)

    def _near(self) -> tuple[Choice, int] | None:
        """The choice that came nearest, or passes, and what it counts to leave it, by decision."""
        if self.solutions:
            return self.solutions[0].choice, 2 * self.costs.dearest // MORE_STEPS
        if self.nearest is None:
            return None
        return self.nearest[1], 2 * self.costs.dearest // STEPS

    def _comes_near(self, choice: Choice, failing: Failing) -> None:
        """Note the choice against which least speaks; after a while another."""
        against = sum(
            1 if (rule := self._rule_of(o)) is None or self.grower.light(self.grounds.of_rule(rule)) else HEAVY
            for o in failing.outcomes
        ) + len(failing.open)
        if self.nearest is None or against <= self.nearest[0] or self.rounds >= self.nearest[2] + PATIENCE:
            self.nearest = against, choice, self.rounds

    def _raise_bound(self, found: Found) -> None:
        bound = found.bound * self.master.scale
        best = self.solutions[0].worth if self.solutions else None
        self.bound = max(self.bound, bound if best is None else min(bound, best))

    def _judge(self, choice: Choice, guessing: bool) -> None:
        """Look at a choice; what passes is checked whole, what fails is ruled out."""
        failing = self.oracle.look(choice)
        self._tell("looking for a better one" if self.solutions else "looking for a build", failing.count)
        self.last = failing
        self.master.hint = choice
        if failing.nothing:
            self._passed(choice, failing)
            return
        if not self.solutions:
            self._comes_near(choice, failing)
        new = False
        for cut in self._cuts(choice, failing, guessing):
            new |= self.master.add(cut)
        if not new:
            self.unforeseen += [outcome.rule for outcome in failing.outcomes]
            self._rule_out(choice)

    def _rule_out(self, choice: Choice) -> None:
        """Rule out one choice alone."""
        decisions = enumerate(self.space.decisions)
        self.master.add(point({n: [choice[n]] for n, decision in decisions if len(decision.options) > 1}))

    def _passed(self, choice: Choice, failing: Failing) -> None:
        checked = self.oracle.check(failing.ready)
        if not self.standard.passes(checked):
            self.unforeseen += [o.rule for o in checked.outcomes if self.standard.fails(o)]
            self._rule_out(choice)
            return
        self._rule_out(choice)
        try:
            bill = self.prices.bill(checked)
        except Faults:  # somebody would have to sell it: a part that is renewed, an order large enough
            return
        if self.terms.budget is not None and bill.money > self.terms.budget:
            return
        given_up = self.costs.given_up(choice)
        leading = self.costs.leading(choice, bill.plan.days)
        worth = self.prices.grains(bill.money) + given_up + self.costs.first * leading
        solution = Solution(choice, checked, bill, given_up, worth)
        if self.first is None:
            self.first = self.seconds
        better = not self.solutions or worth < self.solutions[0].worth
        self.solutions.append(solution)
        self.solutions.sort(key=lambda each: each.worth)
        if better:
            self.found_in = self.rounds
            self.master.below(worth)

    # what is ruled out

    def _cuts(self, choice: Choice, failing: Failing, guessing: bool) -> Iterator[Ask | Box]:
        lazy: list[Failed] = []
        book = self.space.book
        for outcome in failing.outcomes:
            rule = self._rule_of(outcome)
            if rule is None:
                continue
            ground = self.grounds.of_rule(rule)
            lazy.append((rule, ground))
            if rule.rule.rule not in self.summed and not self.plain and not self.terms.unknown_too:
                self.summed.add(rule.rule.rule)
                for told in as_sums(rule, ground, self.readings, self.grower.heavy):
                    self.master.add_sum(told)
            patient = not guessing if self.solutions else self.rounds > EARLY
            patient = patient and self.left > 0 and not self.terms.unknown_too
            yield from self.grower.cuts(rule, ground, choice, patient=patient)
        for demand in failing.open:
            yield from self.asks.of_shortage(demand, choice, self.grower)
        if guessing and not self.plain:
            judged = [each for each in lazy if each[0].rule.rule in book.judged]
            self.guesses = {}
            for guess in self.guesser.guesses(judged, self.oracle.outcomes, choice, lambda: self.left > 0):
                # what comes up again and again weighs more
                again = min(self.guesser.failed[guess.rule], MOST_AGAIN) - 1
                self.guesses[guess] = 2 * self.costs.dearest * 2**again

    def _rule_of(self, outcome: Outcome) -> BoundRule | None:
        book = self.space.book
        return book.rules.get(outcome.rule) or book.of_work.get(outcome.rule)
