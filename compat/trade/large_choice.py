"""The least cost of a problem of any size, proved by constraint programming (OR-Tools CP-SAT)."""

from __future__ import annotations

from collections.abc import Sequence
from math import gcd
from typing import TYPE_CHECKING, Any

from compat.trade.problem import Choice, Offered, Problem, Seller

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar

__all__ = ["choose_large"]

TIDYING = 0.4
"""How long plans of equal cost are compared, in the solver's own count, which no other work delays."""


def choose_large(problem: Problem, seconds: float = 20.0) -> Choice | None:
    """Choose offers for the least cost.

    Parameters
    ----------
    problem : Problem
        What is wanted; each part is offered by somebody.
    seconds : float
        How long to search.

    Returns
    -------
    Choice or None
        The packs, proved the least unless the time ran out; None where no seller takes the order, or nothing
        was found in time.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    made = _Model(problem, model)
    model.minimize(made.cost)
    solver = _solver(seconds)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    packs = made.read(solver)
    if status == cp_model.OPTIMAL:
        # of all plans that cost as little, the one that is in soonest and leaves least over
        model.add(made.cost == round(solver.objective_value))
        for variable, number in zip(made.packs, packs, strict=True):
            model.add_hint(variable, number)
        model.minimize(made.after)
        tidy = _solver(seconds, TIDYING)
        if tidy.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            packs = made.read(tidy)
    cost = problem.cost(packs)
    return None if cost is None else Choice(packs, cost, status == cp_model.OPTIMAL)


def _solver(seconds: float, count: float | None = None) -> Any:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1  # one alone comes to the same plan every time
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = 2  # the linear bound is what proves it
    if count is not None:
        solver.parameters.max_deterministic_time = count
    return solver


def of_use(problem: Problem, offer: Offered) -> tuple[int, int]:
    """How many packs of an offer can be of use at all.

    Parameters
    ----------
    problem : Problem
        The problem.
    offer : Offered
        One of its offers.

    Returns
    -------
    tuple of int
        So many as cover the part alone, or reach the last price break; and so many more as lift an order to its
        minimum and then to a value at which as much is saved as carriage can cost.
    """
    alone = max(-(-problem.needs[offer.part] // offer.pack), offer.steps[-1][0] if len(offer.steps) > 1 else 0)
    seller, price = problem.sellers[offer.seller], min(price for _, price in offer.steps)
    lift = seller.minimum + max((price for _, price in seller.carriage), default=0)
    return alone, -(-lift // price) if price and seller.marks else 0


class _Model:
    """Variables and constraints of a problem."""

    def __init__(self, problem: Problem, model: CpModel) -> None:
        self.problem = problem
        self.model = model
        self.coin = gcd(*(price for offer in problem.offers for _, price in offer.steps),
                        *(price for seller in problem.sellers for _, price in seller.carriage),
                        *(mark for seller in problem.sellers for mark in seller.marks)) or 1  # fmt: skip
        self.weight = gcd(*(seller.weight for seller in problem.sellers)) or 1
        self.packs: list[IntVar] = []
        self.covering: list[IntVar] = []
        self.used = [model.new_bool_var("") for _ in problem.sellers]
        goods: list[list[Any]] = [[] for _ in problem.sellers]
        most = [0] * len(problem.sellers)
        for offer in problem.offers:
            packs, value, top = self.offer(offer)
            self.packs.append(packs)
            goods[offer.seller].append(value)
            most[offer.seller] += top
        for part, need in enumerate(problem.needs):
            own = problem.offers_of[part]
            model.add(sum(problem.offers[n].pack * self.covering[n] for n in own) >= need)
        self.cost = sum(
            seller.weight // self.weight * self.seller(seller, self.used[number], goods[number], most[number])
            for number, seller in enumerate(problem.sellers)
        )
        self.after = self.tidiness()

    def offer(self, offer: Offered) -> tuple[IntVar, Any, int]:
        """Packs of an offer, what they cost and at most cost, in coins.

        Where it has more than it takes to cover its part alone, those that cover and those that fill the order
        up are told apart: the bound of the first is what makes the proof short.
        """
        alone, more = of_use(self.problem, offer)
        top, used = alone + more, self.used[offer.seller]
        packs = self.model.new_int_var(0, top, "")
        covering = self.model.new_int_var(0, alone, "") if more else packs
        self.covering.append(covering)
        self.model.add(covering <= alone * used)
        if more:
            self.model.add(covering <= packs)
            self.model.add(packs - covering <= more * used)
        if len(offer.steps) == 1:
            price = offer.steps[0][1] // self.coin
            return packs, price * packs, price * top
        value: Any = 0
        parts, chosen = [], []
        for least, price in offer.steps:
            step = offer.step(least)
            own = self.model.new_int_var(0, top, "")
            is_it = self.model.new_bool_var("")
            self.model.add(own >= max(step[0], 1) * is_it)
            self.model.add(own <= (top if step[1] is None else min(step[1], top)) * is_it)
            parts.append(own)
            chosen.append(is_it)
            value += price // self.coin * own
        self.model.add_at_most_one(chosen)
        self.model.add(packs == sum(parts))
        return packs, value, max(price for _, price in offer.steps) // self.coin * top

    def seller(self, seller: Seller, used: IntVar, goods: Sequence[Any], most: int) -> Any:
        """What an order from a seller costs, in coins."""
        value = sum(goods)
        if not seller.carriage and not seller.minimum:
            return value
        if seller.minimum:
            self.model.add(value >= seller.minimum // self.coin).only_enforce_if(used)
        carriage: Any = 0
        tiers, low = [], 0
        for below, price in (*seller.carriage, (None, 0)):
            holds = self.model.new_bool_var("")
            self.model.add(value >= low * holds)
            if below is not None:
                high = below // self.coin - 1
                self.model.add(value <= high + (most - high) * (1 - holds) if most > high else value <= high)
                low = high + 1
            tiers.append(holds)
            carriage += price // self.coin * holds
            if below is None:
                break
        self.model.add(sum(tiers) == used)
        return value + carriage

    def tidiness(self) -> Any:
        """Days until all is in before pieces too many."""
        problem = self.problem
        late = max((offer.days for offer in problem.offers), default=0)
        days = self.model.new_int_var(0, late, "")
        for packs, offer in zip(self.packs, problem.offers, strict=True):
            if offer.days:
                used = self.model.new_bool_var("")
                self.model.add(packs == 0).only_enforce_if(~used)
                self.model.add(days >= offer.days * used)
        pieces = sum(offer.pack * packs for packs, offer in zip(self.packs, problem.offers, strict=True))
        most = sum(offer.pack * sum(of_use(problem, offer)) for offer in problem.offers)
        return days * (most + 1) + pieces

    def read(self, solver: Any) -> tuple[int, ...]:
        """The packs that a solver came to."""
        return tuple(int(solver.value(packs)) for packs in self.packs)
