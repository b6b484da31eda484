"""The least cost of a problem in which little is open: what decides itself is put in, the rest gone through."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from compat.trade.problem import Choice, Problem, covering

__all__ = ["choose_small"]

MOST_WAYS = 200
"""So many ways to cover one part are looked at."""
MOST_STEPS = 10_000
"""So many steps are gone through what is open."""
MOST_SUMS = 4_000
"""So many values that added packs come to."""

Way = tuple[tuple[int, int], ...]


class _TooLarge(Exception):
    """The problem is not one for this method."""


def choose_small(problem: Problem) -> Choice | None:
    """Choose offers for the least cost where little is open.

    Parameters
    ----------
    problem : Problem
        What is wanted; each part is offered by somebody.

    Returns
    -------
    Choice or None
        The packs, proved; None where too much is open.
    """
    try:
        return _Search(problem).run()
    except _TooLarge:
        return None


class _Search:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.ways: list[list[Way]] = []
        for part in range(len(problem.needs)):
            found = covering(problem, part, MOST_WAYS)
            if found is None:
                raise _TooLarge
            self.ways.append(found)
        self.fixed: dict[int, Way] = {}
        self.best: tuple[int, tuple[int, int]] | None = None
        self.packs: tuple[int, ...] = ()
        self.steps = 0
        self._added: dict[tuple[int, int, tuple[int, ...]], tuple[int, Way] | None] = {}

    def goods(self, ways: Iterator[Way] | Sequence[Way]) -> list[int]:
        """Value of goods at each seller."""
        found = [0] * len(self.problem.sellers)
        for way in ways:
            for number, packs in way:
                offer = self.problem.offers[number]
                found[offer.seller] += packs * offer.price(packs)
        return found

    def price(self, way: Way) -> int:
        """What a way costs without carriage."""
        sellers, offers = self.problem.sellers, self.problem.offers
        return sum(sellers[offers[n].seller].weight * packs * offers[n].price(packs) for n, packs in way)

    def rank(self, way: Way) -> tuple[int, int, int]:
        """Which of several ways is the best where sellers are beyond all marks."""
        offers = self.problem.offers
        days = max((offers[n].days for n, _ in way), default=0)
        return self.price(way), days, sum(packs * offers[n].pack for n, packs in way)

    def settle(self) -> None:
        """Put in what decides itself: one way alone, or the cheapest of sellers that are beyond all marks."""
        problem = self.problem
        while True:
            for part, ways in enumerate(self.ways):
                if len(ways) == 1:
                    self.fixed[part] = ways[0]
            value = self.goods(list(self.fixed.values()))
            beyond = {n for n, seller in enumerate(problem.sellers) if seller.settled(value[n])}
            beyond |= {
                n for n, seller in enumerate(problem.sellers) if not seller.carriage and not seller.minimum
            }
            fewer = False
            for part, ways in enumerate(self.ways):
                if part in self.fixed:
                    continue
                plain = [way for way in ways if all(problem.offers[n].seller in beyond for n, _ in way)]
                if len(plain) > 1:
                    best = min(plain, key=self.rank)
                    self.ways[part] = [way for way in ways if way is best or way not in plain]
                    fewer = True
            if not fewer:
                return

    def run(self) -> Choice | None:
        """Settle, then go through what is left."""
        self.settle()
        open_ = [part for part in range(len(self.ways)) if part not in self.fixed]
        for part in open_:
            self.ways[part].sort(key=self.rank)
        # the dear ones first: they tell soonest that a branch is of no use
        open_.sort(key=lambda part: -min(map(self.price, self.ways[part])))
        least = [min(map(self.price, self.ways[part])) for part in open_]
        self.rest = [sum(least[index:]) for index in range(len(open_) + 1)]
        fixed = list(self.fixed.values())
        self.walk(open_, 0, fixed, sum(map(self.price, fixed)) + self.sure(fixed))
        return Choice(self.packs, self.best[0], True) if self.best is not None else None

    def sure(self, fixed: list[Way]) -> int:
        """The least carriage of the sellers that something is bought from in any case."""
        found = 0
        for seller, value in zip(self.problem.sellers, self.goods(fixed), strict=True):
            if value:
                found += seller.weight * min(map(seller.carriage_of, (value, *seller.marks)))
        return found

    def walk(self, open_: Sequence[int], index: int, ways: list[Way], cost: int) -> None:
        """Try every way of the parts that are open."""
        self.steps += 1
        if self.steps > MOST_STEPS:
            raise _TooLarge
        if self.best is not None and cost + self.rest[index] > self.best[0]:
            return
        if index == len(open_):
            self.leaf(ways)
            return
        for way in self.ways[open_[index]]:
            self.walk(open_, index + 1, [*ways, way], cost + self.price(way))

    def leaf(self, ways: list[Way]) -> None:
        """Reckon with every part covered; a seller may be worth more packs than are wanted."""
        problem = self.problem
        packs = [0] * len(problem.offers)
        for way in ways:
            for number, count in way:
                packs[number] = count
        whole = tuple(packs)
        total = 0
        for number, value in enumerate(self.goods(ways)):
            if not any(whole[n] for n in problem.offers_at[number]):
                continue
            cost, added = self.at_seller(number, value, whole)
            if cost is None:
                return
            total += cost
            for n, count in added:
                packs[n] += count
        key = total, problem.after(packs)
        if self.best is None or key < self.best:
            self.best, self.packs = key, tuple(packs)

    def at_seller(self, number: int, value: int, packs: tuple[int, ...]) -> tuple[int | None, Way]:
        """The least that goods of a value cost at a seller, with the packs that are added to reach a mark."""
        seller = self.problem.sellers[number]
        best = seller.cost(value)
        added: Way = ()
        for mark in seller.marks:
            # adding can save no more than the carriage, but an order below the minimum must reach it
            if mark <= value or (best is not None and seller.weight * mark >= best):
                continue
            found = self.add(number, mark - value, packs)
            if found is None:
                continue
            cost = seller.cost(value + found[0])
            if cost is not None and (best is None or cost < best):
                best, added = cost, found[1]
        return best, added

    def add(self, number: int, lacking: int, packs: tuple[int, ...]) -> tuple[int, Way] | None:
        """The least value of more packs of a seller, at the prices that hold, that is not below what lacks."""
        offers = self.problem.offers
        own = self.problem.offers_at[number]
        key = number, lacking, tuple(packs[n] for n in own)
        if key in self._added:
            return self._added[key]
        sums: dict[int, Way] = {0: ()}
        for n in own:
            price, most = offers[n].price(packs[n]), offers[n].step(packs[n])[1]
            if not price:
                continue
            for value, way in list(sums.items()):
                short = -(-(lacking - value) // price)
                for count in range(1, min(short, short if most is None else most - packs[n]) + 1):
                    sums.setdefault(value + count * price, (*way, (n, count)))
            reached = [value for value in sums if value >= lacking]
            for value in sorted(reached)[1:]:
                del sums[value]
            self.steps += len(sums) // 10
            if len(sums) > MOST_SUMS or self.steps > MOST_STEPS:
                raise _TooLarge
        least = min((value for value in sums if value >= lacking), default=None)
        self._added[key] = None if least is None else (least, sums[least])
        return self._added[key]
