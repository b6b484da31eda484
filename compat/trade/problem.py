"""A problem of whole numbers: pieces wanted, packs offered, and what sellers ask beside their goods."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

__all__ = ["Choice", "Offered", "Problem", "Seller", "covering"]


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

    def step(self, packs: int) -> tuple[int, int | None]:
        """How few and how many packs cost as much each as so many do; None: any number more."""
        levels = [least for least, _ in self.steps]
        least = max(level for level in levels if level <= max(packs, 1))
        most = next((level - 1 for level in levels if level > least), None)
        return (0 if least == 1 else least), most


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

    @property
    def marks(self) -> tuple[int, ...]:
        """Values of goods from which on something else holds, rising."""
        tiers = {below for below, _ in self.carriage if below is not None}
        return tuple(sorted(mark for mark in tiers | {self.minimum} if mark))

    def settled(self, goods: int) -> bool:
        """Whether goods of that value are beyond every mark, so that what is added costs what it costs."""
        return goods > 0 and goods >= max(self.marks, default=0)

    def cost(self, goods: int) -> int | None:
        """What goods of that value cost with carriage; None where the seller takes no such order."""
        if goods < self.minimum:
            return None
        return self.weight * (goods + self.carriage_of(goods))


@dataclass(frozen=True)
class Problem:
    """Pieces wanted of each part, and who offers them."""

    needs: tuple[int, ...]
    offers: tuple[Offered, ...]
    sellers: tuple[Seller, ...]

    @cached_property
    def offers_of(self) -> tuple[tuple[int, ...], ...]:
        """For each part the numbers of its offers."""
        found: list[list[int]] = [[] for _ in self.needs]
        for number, offer in enumerate(self.offers):
            found[offer.part].append(number)
        return tuple(tuple(numbers) for numbers in found)

    @cached_property
    def offers_at(self) -> tuple[tuple[int, ...], ...]:
        """For each seller the numbers of its offers."""
        found: list[list[int]] = [[] for _ in self.sellers]
        for number, offer in enumerate(self.offers):
            found[offer.seller].append(number)
        return tuple(tuple(numbers) for numbers in found)

    def cost(self, packs: Sequence[int]) -> int | None:
        """What so many packs of each offer cost with carriage; None where a seller takes no such order."""
        cost = 0
        for seller, numbers in zip(self.sellers, self.offers_at, strict=True):
            if not any(packs[number] for number in numbers):
                continue
            own = seller.cost(sum(packs[n] * self.offers[n].price(packs[n]) for n in numbers))
            if own is None:
                return None
            cost += own
        return cost

    def after(self, packs: Sequence[int]) -> tuple[int, int]:
        """What decides between plans of one cost: days until all is in, and pieces too many."""
        days = max((self.offers[n].days for n, number in enumerate(packs) if number), default=0)
        return days, sum(packs[n] * offer.pack for n, offer in enumerate(self.offers)) - sum(self.needs)


@dataclass(frozen=True, slots=True)
class Choice:
    """Packs of each offer, what they cost, and whether nothing can cost less."""

    packs: tuple[int, ...]
    cost: int
    proved: bool


def covering(problem: Problem, part: int, most: int) -> list[tuple[tuple[int, int], ...]] | None:
    """Give the ways to cover what is wanted of a part, each as packs by number of offer.

    Parameters
    ----------
    problem : Problem
        The problem.
    part : int
        The part.
    most : int
        So many ways are given at most.

    Returns
    -------
    list or None
        Ways in which no pack could be spared without another price of its fellows. Every other way is one of
        them and packs at the same price more. None where there are too many.
    """
    offers = [(number, problem.offers[number]) for number in problem.offers_of[part]]
    found: list[tuple[tuple[int, int], ...]] = []

    def ways(index: int, left: int, taken: list[tuple[int, int]]) -> Iterator[list[tuple[int, int]]]:
        if index == len(offers):
            if left <= 0:
                yield taken
            return
        number, offer = offers[index]
        levels = {least for least, _ in offer.steps[1:]}
        tight = range(1, max(0, -(-left // offer.pack)) + 1)
        for packs in sorted({0, *tight, *levels}):
            yield from ways(index + 1, left - packs * offer.pack, [*taken, (number, packs)])

    for number, taken in enumerate(ways(0, problem.needs[part], [])):
        if number > 10 * most:
            return None
        over = sum(problem.offers[n].pack * packs for n, packs in taken) - problem.needs[part]
        held = (
            packs == problem.offers[n].step(packs)[0] or problem.offers[n].pack > over for n, packs in taken
        )
        if all(held):
            found.append(tuple((n, packs) for n, packs in taken if packs))
            if len(found) > most:
                return None
    return found
