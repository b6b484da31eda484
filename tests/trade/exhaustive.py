"""Every number of packs of every offer tried: what the choice of offers is held against."""

from __future__ import annotations

from itertools import product

from compat.trade.problem import Problem

__all__ = ["least"]


def least(problem: Problem) -> tuple[int, int, int] | None:
    """The least cost of all, then the earliest day, then the fewest pieces too many; None where none holds.

    Written anew, and by nothing but the terms: packs cover what is wanted, no order is below its minimum, a
    pack costs what the last price break reached says, carriage goes by the value of the goods.
    """
    found = None
    ranges = [range(_most(problem, number) + 1) for number in range(len(problem.offers))]
    for packs in product(*ranges):
        pieces = [0] * len(problem.needs)
        goods = [0] * len(problem.sellers)
        days = 0
        for offer, count in zip(problem.offers, packs, strict=True):
            price = 0
            for from_packs, asked in offer.steps:
                if count >= from_packs:
                    price = asked
            pieces[offer.part] += offer.pack * count
            goods[offer.seller] += price * count
            if count:
                days = max(days, offer.days)
        if any(have < need for have, need in zip(pieces, problem.needs, strict=True)):
            continue
        cost = 0
        for number, seller in enumerate(problem.sellers):
            if not any(n for n, offer in zip(packs, problem.offers, strict=True) if offer.seller == number):
                continue
            if goods[number] < seller.minimum:
                break
            carriage = 0
            for below, asked in reversed(seller.carriage):
                if below is None or goods[number] < below:
                    carriage = asked
            cost += seller.weight * (goods[number] + carriage)
        else:
            one = cost, days, sum(pieces) - sum(problem.needs)
            found = one if found is None else min(found, one)
    return found


def _most(problem: Problem, number: int) -> int:
    """So many packs that more can never serve: they cover the part, reach every break and every mark alone."""
    offer = problem.offers[number]
    seller = problem.sellers[offer.seller]
    marks = [seller.minimum, *(below for below, _ in seller.carriage if below is not None)]
    cheapest = min(price for _, price in offer.steps)
    alone = -(-problem.needs[offer.part] // offer.pack)
    return max(alone, offer.steps[-1][0], -(-max(marks, default=0) // cheapest))
