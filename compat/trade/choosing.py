"""Which offers are taken so that all costs least: whole numbers alone, so that the least is exactly that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Choice", "Offered", "Problem", "Seller", "choose"]


@dataclass(frozen=True, slots=True)
class Offered:
    """What a seller asks for packs of one part, in the seller's smallest coin."""

    part: int
    """Which of the parts."""
    seller: int
    """Which of the sellers."""
    pack: int
    """Pieces in a pack."""
    steps: tuple[tuple[int, int], ...]
    """From how many packs on a pack costs how much: rising packs from 1, falling prices."""
    days: int = 0

    def price(self, packs: int) -> int:
        """What one pack costs when so many are taken."""
        return next(price for least, price in reversed(self.steps) if least <= max(packs, 1))


@dataclass(frozen=True, slots=True)
class Seller:
    """What a seller asks beside its goods."""

    weight: int
    """What its smallest coin is worth, in the unit of the cost."""
    carriage: tuple[tuple[int | None, int], ...] = ()
    """Below which value of goods carriage costs how much, rising; None: of any order. Beyond the last, none."""
    minimum: int = 0
    """Value of goods below which no order is taken."""

    def carriage_of(self, goods: int) -> int:
        """What bringing goods of a value costs."""
        return next((price for below, price in self.carriage if below is None or goods < below), 0)


@dataclass(frozen=True, slots=True)
class Problem:
    """Pieces wanted of each part, and who offers them."""

    needs: tuple[int, ...]
    offers: tuple[Offered, ...]
    sellers: tuple[Seller, ...]

    def cost(self, packs: Sequence[int]) -> int | None:
        """What so many packs of each offer cost with carriage; None where a seller takes no such order."""
        goods = [0] * len(self.sellers)
        bought = [False] * len(self.sellers)
        for offer, number in zip(self.offers, packs, strict=True):
            goods[offer.seller] += number * offer.price(number)
            bought[offer.seller] |= number > 0
        cost = 0
        for seller, value, any_of_it in zip(self.sellers, goods, bought, strict=True):
            if any_of_it and value < seller.minimum:
                return None
            if any_of_it:
                cost += seller.weight * (value + seller.carriage_of(value))
        return cost


@dataclass(frozen=True, slots=True)
class Choice:
    """Packs of each offer, what they cost, and whether nothing can cost less."""

    packs: tuple[int, ...]
    cost: int
    proved: bool


def choose(problem: Problem) -> Choice:
    """Choose offers for the least cost.

    Parameters
    ----------
    problem : Problem
        What is wanted; each part is offered by somebody.

    Returns
    -------
    Choice
        The packs.
    """
    packs = [0] * len(problem.offers)
    for part, need in enumerate(problem.needs):
        offers = [(number, offer) for number, offer in enumerate(problem.offers) if offer.part == part]
        whole = {number: -(-need // offer.pack) for number, offer in offers}
        costs = {n: o.price(whole[n]) * whole[n] * problem.sellers[o.seller].weight for n, o in offers}
        best = min(costs, key=lambda number: costs[number])
        packs[best] = whole[best]
    cost = problem.cost(packs)
    return Choice(tuple(packs), cost or 0, False)
