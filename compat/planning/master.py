"""The choice as a problem of whole numbers: what is ruled out, what it costs (OR-Tools CP-SAT).

A relaxation: whatever the checker would pass is in it, and costs no more in it than in truth. So what it proves
the least is a bound, and its best choice, once the checker passes it, is the best.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

from compat.planning.costs import Costs
from compat.planning.cuts import Ask, Box, Guess, Share
from compat.planning.linear import Sum, Term
from compat.planning.space import Choice, Space

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar

__all__ = ["NOTHING", "Found", "Master"]

COARSE = 20
"""By so many halvings the numbers of a sum are made smaller."""
GOOD_DEAL = 0.99
"""Better by a good deal is what costs no more than this share."""
MOST_CELLS = 600
"""So many ways of deciding two things one term of a sum may have here."""
Sides = Sequence[tuple[int, frozenset[int]]]
NOTHING: Mapping[Guess, int] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Found:
    """What the solver came to."""

    status: Literal["best", "some", "none", "nothing"]
    """Proved the least; found, not proved; proved that there is none; nothing in time."""
    choice: Choice = ()
    cost: int = 0
    bound: int = 0


class Master:
    """A growing model of one space.

    Parameters
    ----------
    space : Space
        The space.
    costs : Costs
        What its options cost.
    """

    def __init__(self, space: Space, costs: Costs) -> None:
        from ortools.sat.python import cp_model

        self.space = space
        self.costs = costs
        self.model: CpModel = cp_model.CpModel()
        self.x: list[list[IntVar]] = []
        self.cuts = 0
        self._known: dict[tuple[int, frozenset[int]], Any] = {}
        self._said: set[object] = set()
        self._guessed: dict[Guess, IntVar] = {}
        for decision in space.decisions:
            own = [self.model.new_bool_var("") for _ in decision.options]
            self.model.add_exactly_one(own)
            self.x.append(own)
        self.cost = costs.express(self)
        self.scale = costs.scale
        self.better = self.model.new_bool_var("")
        """Holds where only what is better than the best so far is looked for."""
        self.much_better = self.model.new_bool_var("")
        """Holds where only what is better by a good deal is looked for."""
        self.apart: dict[tuple[int, int], IntVar] = {}
        """Holds where an option is kept away from, by decision and option."""
        self.hint: Choice = space.start
        self.closed: dict[str, None] = {}
        """Rules that fail whatever is chosen."""
        self.reckoned = 0
        """What the choice that was found last costs here: no more than in truth."""

    # literals

    def takes(self, decision: int, options: frozenset[int]) -> Any:
        """A literal: one of some options is taken; None where that is always so, False where never."""
        own = self.x[decision]
        if len(options) == len(own):
            return None
        if not options:
            return False
        key = (decision, options)
        if key not in self._known:
            rest = frozenset(range(len(own))) - options
            if len(options) == 1:
                literal: Any = own[next(iter(options))]
            elif len(rest) == 1:
                literal = ~own[next(iter(rest))]
            elif (decision, rest) in self._known:
                literal = ~self._known[decision, rest]
            else:
                literal = self.model.new_bool_var("")
                self.model.add(sum(own[n] for n in options) == literal)
            self._known[key] = literal
        return self._known[key]

    def inside(self, sides: Sides) -> list[Any] | None:
        """Literals that all hold where a choice lies in a box; None where none does."""
        found = []
        for decision, options in sides:
            literal = self.takes(decision, options)
            if literal is False:
                return None
            if literal is not None:
                found.append(literal)
        return found

    # what is ruled out

    def add(self, cut: Ask | Box | Share) -> bool:
        """Rule out; gives whether it says anything new."""
        if cut in self._said:
            return False
        self._said.add(cut)
        self.cuts += 1
        match cut:
            case Box():
                inside = self.inside(cut.sides)
                if inside is not None:
                    self._under(self.model.add_bool_or([~literal for literal in inside]), cut.rule)
                if inside == []:
                    self.closed[cut.rule] = None
            case Ask():
                self._ask(cut)
            case Share():
                asked = sum(units * self.x[d][o] for d, o, units in cut.asked)
                offered = sum(units * self.x[d][o] for d, o, units in cut.offered)
                self._under(self.model.add(asked <= offered), cut.rule)
        return True

    def _under(self, constraint: Any, rule: str) -> None:
        """A constraint that a rule makes: here it always holds."""

    def _ask(self, cut: Ask) -> None:
        inside = self.inside(cut.when)
        if inside is None:
            return
        if all(units >= cut.count for _, _, units in cut.offered):
            offers = [self.x[d][o] for d, o, _ in cut.offered]
            offers += [] if cut.added is None else [self.costs.added[cut.added]]
            self._under(self.model.add_bool_or([~literal for literal in inside] + offers), cut.rule)
        else:
            offered = sum(min(units, cut.count) * self.x[d][o] for d, o, units in cut.offered)
            constraint = self.model.add(offered >= cut.count)
            constraint.only_enforce_if(inside)
            self._under(constraint, cut.rule)

    def add_sum(self, told: Sum) -> bool:
        """Enter what a choice that does not fail a rule keeps to; gives whether that can be.

        The numbers are made smaller, each rounded up and their least sum down: nothing more is ruled out.
        """
        terms = []
        for term in told.terms:
            its = self._term(term)
            if its is None:
                return False
            terms.append(its)
        self.cuts += 1
        self._under(self.model.add(sum(terms) >= told.least >> COARSE), told.rule)
        return True

    def _term(self, term: Term) -> Any:
        numbers = [self.space.number[decision] for decision in term.decisions]
        if len(numbers) == 1:
            own = self.x[numbers[0]]
            return sum(-(-value >> COARSE) * own[int(str(option))] for (option,), value in term.values.items())
        if len(numbers) != 2:
            return None
        one, other = numbers
        apart = _apart(term)
        if apart is not None:
            return sum(self._term(each) for each in apart)
        if len(term.values) > MOST_CELLS:
            return None
        found: Any = 0
        by_value: dict[int, list[tuple[int, int]]] = {}
        for (a, b), value in term.values.items():
            by_value.setdefault(-(-value >> COARSE), []).append((int(str(a)), int(str(b))))
        usual = max(by_value, key=lambda value: len(by_value[value]))
        for value, cells in by_value.items():
            if value == usual:
                continue
            for a, b in cells:
                both = self.model.new_bool_var("")
                self.model.add_bool_or([~self.x[one][a], ~self.x[other][b], both])
                self.model.add_implication(both, self.x[one][a])
                self.model.add_implication(both, self.x[other][b])
                found += (value - usual) * both
        return found + usual

    def within(self, grains: int) -> None:
        """Money, wishes apart, is at most so much."""
        self.model.add(self.costs.money <= grains // self.scale)

    def below(self, grains: int) -> None:
        """What is sought is worth less than so much; where that is asked, less than here by a good deal."""
        self.model.add(self.cost <= -(-grains // self.scale) - 1).only_enforce_if(self.better)
        self.model.add(self.cost <= int(GOOD_DEAL * self.reckoned)).only_enforce_if(self.much_better)

    # asking

    def solve(
        self,
        seconds: float,
        work: float,
        guesses: Mapping[Guess, int] = NOTHING,
        apart: tuple[int, int] | None = None,
        good_enough: float = 0.0,
        near: tuple[Choice, int] | None = None,
        much: bool = False,
    ) -> Found:
        """The choice that costs least.

        Parameters
        ----------
        seconds : float
            How long to search by the clock.
        work : float
            How much to search, in the solver's own count of what it does, about a second each: the same on
            every machine and whatever else that is at.
        guesses : mapping
            What would likely help, and what it counts in grains not to follow it: guesses, which prove nothing.
        apart : tuple of int, optional
            Decision and option that is to be kept away from, be the choice better than the best or not.
        good_enough : float
            A share of the cost that the bound may lie below it.
        near : tuple, optional
            A choice to stay close to in this search, and what each decision that leaves it counts in grains.
        much : bool
            Whether only what is better than the best by a good deal is looked for.

        Returns
        -------
        Found
            Deterministic where time does not run out: one worker, one seed.
        """
        from ortools.sat.python import cp_model

        model = self.model
        missed: Any = 0
        for guess, weight in guesses.items():
            if guess not in self._guessed:
                self._guessed[guess] = model.new_bool_var("")
                helped = sum(share * self.x[d][o] for d, o, share in guess.helps)
                model.add(helped >= guess.least).only_enforce_if(~self._guessed[guess])
            missed += weight // self.scale * self._guessed[guess]
        if near is not None:
            which, weight = near
            missed += (
                weight
                // self.scale
                * sum(1 - own[number] for own, number in zip(self.x, which, strict=True) if len(own) > 1)
            )
        if apart is not None and apart not in self.apart:
            self.apart[apart] = model.new_bool_var("")
            model.add_implication(self.apart[apart], ~self.x[apart[0]][apart[1]])
        self._hold(self.better, apart is None)
        self._hold(self.much_better, much)
        for which, literal in self.apart.items():
            self._hold(literal, which == apart)
        model.clear_hints()  # type: ignore[no-untyped-call]
        for own, number in zip(self.x, self.hint, strict=True):
            for index, literal in enumerate(own):
                model.add_hint(literal, index == number)
        model.minimize(self.cost + missed)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.linearization_level = 2  # the linear bound is what proves it
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        solver.parameters.max_deterministic_time = work
        solver.parameters.relative_gap_limit = good_enough
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return Found("none")
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Found("nothing", bound=self._bound(solver))
        choice = tuple(
            next(n for n, literal in enumerate(own) if solver.boolean_value(literal)) for own in self.x
        )
        cost = self.reckoned = round(solver.objective_value - solver.value(missed))
        return Found("best" if status == cp_model.OPTIMAL else "some", choice, cost, self._bound(solver))

    def _hold(self, literal: Any, value: bool) -> None:
        """Hold a literal to a value until it is held to another."""
        domain = self.model.proto.variables[literal.index].domain
        domain[0] = domain[1] = int(value)

    @staticmethod
    def _bound(solver: Any) -> int:
        from math import ceil, isfinite

        bound = solver.best_objective_bound
        return ceil(bound - 1e-6) if isfinite(bound) else 0


def _apart(term: Term) -> tuple[Term, Term] | None:
    """A term over two decisions as one over each, where it is their sum but for what rounding does.

    >>> table = {(a, b): 100 * a + b for a in (1, 2) for b in (3, 4)}
    >>> [dict(each.values) for each in _apart(Term(("rod", "pin"), table))]
    [{(1,): 103, (2,): 203}, {(3,): 0, (4,): 1}]
    """
    (first, second), *_ = term.values
    ones = {a for a, _ in term.values}
    others = {b for _, b in term.values}
    if len(ones) * len(others) != len(term.values):
        return None
    base = term.values[first, second]
    along = {a: term.values[a, second] for a in ones}
    across = {b: term.values[first, b] - base for b in others}
    off = [value - along[a] - across[b] for (a, b), value in term.values.items()]
    if max(off) - min(off) > 1 << (COARSE - 4):
        return None
    more = max(0, max(off))
    one, other = term.decisions
    return (
        Term((one,), {(a,): value + more for a, value in along.items()}),
        Term((other,), {(b,): value for b, value in across.items()}),
    )
