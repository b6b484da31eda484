"""Which piece goes to which seat: the exact assignment of least cost, of one kind of piece or several at once.

One kind is the assignment problem (Kuhn 1955, Naval Research Logistics Quarterly 2, 83), solved by OR-Tools'
cost-scaling push-relabel; several kinds that meet in one clearance are solved by its CP-SAT, to proven optimum.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

__all__ = ["Assignment", "Bond", "Cost", "assign", "seat_pieces"]

MOST_BITS = 40
"""Costs are held as whole numbers of so many bits: exact to the millionth of a millionth of the greatest."""
MOST_SECONDS = 30.0


@dataclass(frozen=True, slots=True)
class Cost:
    """What it costs that a piece goes somewhere, and whether it must not."""

    cost: float
    barred: bool = False


@dataclass(frozen=True, slots=True)
class Assignment:
    """A piece for every seat."""

    order: tuple[int, ...]
    """By seat the piece, from 0."""
    cost: float
    barred: tuple[int, ...]
    """Seats whose piece is barred there: no assignment has fewer."""


def assign(costs: Sequence[Sequence[Cost]]) -> Assignment:
    """Give each seat one piece at the least sum of costs.

    Parameters
    ----------
    costs : sequence of sequence of Cost
        By seat and piece; as many pieces as seats. Costs are not below zero.

    Returns
    -------
    Assignment
        As few barred pairings as can be, none where that is possible; among those the least sum of costs.

    Raises
    ------
    ValueError
        When there are not as many pieces as seats, or a cost is below zero or no number.

    Examples
    --------
    >>> assign([[Cost(4), Cost(1)], [Cost(2), Cost(0, barred=True)]])
    Assignment(order=(1, 0), cost=3.0, barred=())
    """
    size = len(costs)
    if any(len(row) != size for row in costs):
        raise ValueError("as many pieces as seats are asked")
    if not size:
        return Assignment((), 0.0, ())
    from ortools.graph.python import linear_sum_assignment  # type: ignore[import-untyped]

    whole, barrier = _whole([cost for row in costs for cost in row], size)
    solver = linear_sum_assignment.SimpleLinearSumAssignment()
    for seat, row in enumerate(costs):
        for piece, cost in enumerate(row):
            solver.add_arc_with_cost(seat, piece, whole(cost.cost) + barrier * cost.barred)
    if solver.solve() != solver.OPTIMAL:
        raise ValueError("no assignment was found")
    order = tuple(solver.right_mate(seat) for seat in range(size))
    total = math.fsum(costs[seat][piece].cost for seat, piece in enumerate(order))
    return Assignment(order, total, tuple(s for s, piece in enumerate(order) if costs[s][piece].barred))


class _Whole:
    """Costs as whole numbers."""

    def __init__(self, most: float, size: float) -> None:
        self.most, self.size = most, size

    def __call__(self, cost: float) -> int:
        return round(cost / self.most * self.size)


def _whole(costs: Sequence[Cost], terms: int) -> tuple[_Whole, int]:
    """How costs become whole numbers, and what a barred one costs beside: more than all others together."""
    values = [cost.cost for cost in costs]
    if not all(math.isfinite(value) and value >= 0 for value in values):
        raise ValueError("a cost is a number and not below zero")
    # sums, and what the solver multiplies them by, stay within 62 bits
    bits = max(min(MOST_BITS, 60 - 3 * math.ceil(math.log2(terms + 2))), 16)
    most = max(values) or 1.0
    return _Whole(most, 2.0**bits), (terms + 1) << bits


@dataclass(frozen=True, slots=True)
class Bond:
    """A fit in which pieces meet: what it costs by the seat and the piece of each position, from 0."""

    positions: tuple[str, ...]
    costs: Mapping[tuple[int, ...], Cost] = field(default_factory=dict)
    """By seat, then a piece of each position; what is left out costs nothing."""


def seat_pieces(size: int, positions: Sequence[str], bonds: Sequence[Bond]) -> dict[str, tuple[int, ...]]:
    """Seat the pieces of several positions at the least sum over all bonds.

    Parameters
    ----------
    size : int
        Seats, and pieces of each position.
    positions : sequence of str
        The positions whose pieces are seated.
    bonds : sequence of Bond
        What their fits cost.

    Returns
    -------
    dict
        By position the piece for each seat: fewest barred, then the least sum of costs. What no bond ties to
        the others is solved by itself.

    Examples
    --------
    >>> costs = {(seat, piece): Cost((seat - piece - 1) % 3) for seat in range(3) for piece in range(3)}
    >>> seat_pieces(3, ["piston"], [Bond(("piston",), costs)])
    {'piston': (2, 0, 1)}
    """
    found: dict[str, tuple[int, ...]] = {}
    for tied in _tied(positions, bonds):
        own = [bond for bond in bonds if not tied.isdisjoint(bond.positions)]
        names = [name for name in positions if name in tied]
        if len(names) == 1:
            found[names[0]] = assign(_summed(size, own)).order
        else:
            found |= _together(size, names, own)
    return found


def _tied(positions: Sequence[str], bonds: Sequence[Bond]) -> list[set[str]]:
    """Positions that meet in bonds, group by group."""
    groups: list[set[str]] = [{name} for name in positions]
    for bond in bonds:
        meet = [group for group in groups if not group.isdisjoint(bond.positions)]
        merged = set().union(*meet)
        groups = [group for group in groups if group not in meet] + [merged] * bool(merged)
    return sorted(groups, key=lambda group: min(positions.index(name) for name in group))


def _summed(size: int, bonds: Sequence[Bond]) -> list[list[Cost]]:
    table = []
    for seat in range(size):
        row = []
        for piece in range(size):
            all_of = [bond.costs.get((seat, piece), Cost(0.0)) for bond in bonds]
            row.append(Cost(math.fsum(c.cost for c in all_of), any(c.barred for c in all_of)))
        table.append(row)
    return table


def _together(size: int, names: Sequence[str], bonds: Sequence[Bond]) -> dict[str, tuple[int, ...]]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    at = {
        (name, seat, piece): model.new_bool_var(f"{name} {seat} {piece}")
        for name in names
        for seat in range(size)
        for piece in range(size)
    }
    for name in names:
        for one in range(size):
            model.add_exactly_one(at[name, one, piece] for piece in range(size))
            model.add_exactly_one(at[name, seat, one] for seat in range(size))
    every = [cost for bond in bonds for cost in bond.costs.values()]
    whole, barrier = _whole(every or [Cost(0.0)], size * max(len(bonds), 1))
    terms = []
    for bond in bonds:
        for seat, *pieces in itertools.product(range(size), repeat=len(bond.positions) + 1):
            cost = bond.costs.get((seat, *pieces))
            amount = whole(cost.cost) + barrier * cost.barred if cost is not None else 0
            if not amount:
                continue
            those = [at[name, seat, piece] for name, piece in zip(bond.positions, pieces, strict=True)]
            if len(those) == 1:
                terms.append(amount * those[0])
                continue
            meet = model.new_bool_var("")
            model.add_bool_or([each.negated() for each in those] + [meet])
            terms.append(amount * meet)
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = MOST_SECONDS
    if solver.solve(model) != cp_model.OPTIMAL:
        raise ValueError(f"no assignment is proven best within {MOST_SECONDS:.0f} s")
    return {
        name: tuple(
            next(piece for piece in range(size) if solver.value(at[name, seat, piece])) for seat in range(size)
        )
        for name in names
    }
