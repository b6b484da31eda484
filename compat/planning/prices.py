"""What options cost, as whole numbers that never exceed what the buying plan comes to.

The money of a build is what its buying plan costs (packs, price breaks, carriage, minimum orders), what lies on
the shelf and is used, at its own cost or else at what replacing it would cost, labour at the shop's rates, and
outwork at what it costs. The solver sees every way to cover what one place wants; what is bought beyond that to
lift an order to a mark is a number that may be anything, so what the solver reckons is never too much.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import ceil, gcd, lcm

from compat.checking.check import Checked
from compat.planning.terms import Terms
from compat.shop.models import Part, Work
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.trade.buying import plan, wanted
from compat.trade.money import in_own
from compat.trade.plans import Plan
from compat.trade.pricing import Pricer, final_works
from compat.trade.problem import Offered, Problem, Seller, covering
from compat.trade.shelf import shelved
from compat.trade.wares import days_of

__all__ = ["Bill", "Prices", "Way"]

COIN = 10_000
"""Prices are stated to a ten-thousandth at the finest."""
MOST_WAYS = 24


@dataclass(frozen=True, slots=True)
class Way:
    """One way to buy what a place wants: what goes to which supplier, in grains, and when it is all in."""

    goods: tuple[tuple[str, int], ...]
    beside: int = 0
    """What is paid to nobody in particular: pieces from the shelf, or the least that anybody asks."""
    days: int = 0

    @property
    def cost(self) -> int:
        """All of it, carriage apart."""
        return self.beside + sum(amount for _, amount in self.goods)


@dataclass(frozen=True, slots=True)
class Bill:
    """What a checked build costs."""

    plan: Plan
    shelf: Decimal
    labour: Decimal
    outwork: Decimal
    hours: Decimal

    @property
    def money(self) -> Decimal:
        """All of it, in the shop's currency."""
        return self.plan.cost + self.shelf + self.labour + self.outwork

    @property
    def parts(self) -> Decimal:
        """What the parts cost, with carriage."""
        return self.plan.cost + self.shelf

    @property
    def expired(self) -> dict[str, date]:
        """By supplier the last day of a price list that is reckoned with though it no longer holds."""
        found = {order.supplier.supplier: order.expired(self.plan.on) for order in self.plan.orders}
        return {name: last for name, last in found.items() if last is not None}


class Prices:
    """What things of a shop cost, on terms.

    Parameters
    ----------
    shop : Shop
        The shop.
    terms : Terms
        Which suppliers are avoided, whether only the shelf is used, the day.
    family : str
        The family of the build: work is priced by how many cylinders it has.
    """

    def __init__(self, shop: Shop, terms: Terms, family: str) -> None:
        self.shop = shop
        self.terms = terms
        self.pricer = Pricer(shop)
        self.info = self.pricer.info
        self.family = shop.families[family]
        worth = {code: Fraction(entry.rate) for code, entry in self.info.rates.items()}
        worth[self.info.currency] = Fraction(1)
        unit = lcm(*(value.denominator for value in worth.values()))
        self.per_own = COIN * unit
        """Grains in one of the shop's currency."""
        self.weight = {code: int(value * unit) for code, value in worth.items()}
        """Grains in a ten-thousandth of a currency."""
        self._ways: dict[tuple[str, int, bool], tuple[Way, ...] | None] = {}

    def grains(self, amount: Decimal) -> int:
        """An amount in the shop's currency as grains, rounded down."""
        return int(Fraction(amount) * self.per_own // 1)

    def money(self, grains: int) -> Decimal:
        """Grains as an amount in the shop's currency."""
        return Decimal(grains) / self.per_own

    # what is sold

    def offers(self, part: Part) -> list[int]:
        """Which of a part's offers the terms allow."""
        if self.terms.stock_only:
            return []
        return [
            number
            for number, offer in enumerate(part.sold_by)
            if offer.supplier not in self.terms.avoid_suppliers
            and self.shop.suppliers[offer.supplier].currency in self.weight
        ]

    @cached_property
    def allowed(self) -> Shop:
        """The shop with no offers but those that the terms allow."""
        if not self.terms.stock_only and not self.terms.avoid_suppliers:
            return self.shop
        parts: dict[str, Part] = {}
        for name, part in self.shop.parts.items():
            sold = tuple(part.sold_by[number] for number in self.offers(part))
            parts[name] = part if len(sold) == len(part.sold_by) else replace(part, sold_by=sold)
        return replace(self.shop, parts=parts)

    def shelf(self, part: str, pieces: int, used: bool) -> tuple[int, int]:
        """How many pieces the shelf gives, and what they cost in grains."""
        stock = self.shop.stock.get(part)
        found = cost = 0
        for entry in sorted(stock.shelf, key=lambda e: e.condition == "new") if stock is not None else ():
            count = min(entry.count, pieces - found) if entry.condition != "used" or used else 0
            if count > 0:
                found += count
                cost += count * self._piece(part, entry.cost)
        return found, cost

    def _piece(self, part: str, cost: object) -> int:
        """What a piece from the shelf costs: as stated, else the least that replacing it does."""
        if cost is not None:
            return self.grains(in_own(self.info, cost))  # type: ignore[arg-type]  # a price, as read
        offers = self.shop.parts[part].sold_by
        each = [
            self.grains(in_own(self.info, o.price)) // o.pack for o in offers if o.price.currency in self.weight
        ]
        return min(each, default=0)

    def ways(self, part: str, pieces: int, used: bool = False) -> tuple[Way, ...] | None:
        """Every way to buy so many pieces that is worth thinking of; None where they cannot be had."""
        key = (part, pieces, used)
        if key not in self._ways:
            self._ways[key] = self._find_ways(part, pieces, used)
        return self._ways[key]

    def _find_ways(self, part: str, pieces: int, used: bool) -> tuple[Way, ...] | None:
        there, beside = self.shelf(part, pieces, used)
        if there >= pieces:
            return (Way((), beside),)
        card = self.shop.parts[part]
        offers = [card.sold_by[number] for number in self.offers(card)]
        if not offers:
            return None
        sellers = list(dict.fromkeys(offer.supplier for offer in offers))
        offered = tuple(
            Offered(
                0,
                sellers.index(offer.supplier),
                offer.pack,
                (
                    (1, int(offer.price.amount * COIN)),
                    *((one.packs, int(one.price.amount * COIN)) for one in offer.breaks),
                ),
            )
            for offer in offers
        )
        days = [days_of(self.shop, offer) or 0 for offer in offers]
        problem = Problem((pieces - there,), offered, tuple(Seller(1) for _ in sellers))
        covers = covering(problem, 0, MOST_WAYS)
        weights = [self.weight[self.shop.suppliers[name].currency] for name in sellers]
        if covers is None:
            least = min(price * weights[o.seller] // o.pack for o in offered for _, price in o.steps)
            return (Way((), beside + least * (pieces - there), min(days)),)
        found: dict[tuple[tuple[str, int], ...], Way] = {}
        for cover in covers:
            goods: dict[str, int] = {}
            for number, packs in cover:
                offer = offered[number]
                amount = packs * offer.price(packs) * weights[offer.seller]
                goods[sellers[offer.seller]] = goods.get(sellers[offer.seller], 0) + amount
            key = tuple(sorted(goods.items()))
            way = Way(key, beside, max(days[number] for number, _ in cover))
            if key not in found or way.days < found[key].days:
                found[key] = way
        return _undominated(found.values())

    def least(self, part: str, pieces: int, used: bool = False) -> int:
        """The least that so many pieces cost, carriage apart; nothing where they cannot be had."""
        return min((way.cost for way in self.ways(part, pieces, used) or ()), default=0)

    def piece(self, part: str) -> int:
        """The least that one more piece can cost, in grains."""
        card = self.shop.parts[part]
        if part in self.shop.stock:
            return 0
        found = []
        for number in self.offers(card):
            offer = card.sold_by[number]
            weight = self.weight[offer.price.currency]
            prices = [offer.price, *(one.price for one in offer.breaks)]
            found.append(min(int(price.amount * COIN) for price in prices) * weight // offer.pack)
        return min(found, default=0)

    # work

    def work(self, work: Work) -> tuple[Decimal, Decimal, Decimal]:
        """What a piece of work costs as labour and as outwork, and the shop's own hours."""
        line = self.pricer.work(work, self.family)
        if work.done_by == "shop":
            return line.amount, Decimal(0), work.hours_on(self.family)
        return Decimal(0), line.own.cost if line.own else Decimal(0), Decimal(0)

    # a whole build

    def bill(self, checked: Checked) -> Bill:
        """What a checked build costs.

        Raises
        ------
        Faults
            When something has no price.
        """
        wants = wanted(checked)
        aim = "soonest" if self.terms.aim == "time" else "cost"
        found = plan(self.allowed, wants, aim, on=self.terms.day, old_prices=True)  # type: ignore[arg-type]
        if found.short:
            from compat.trade.buying import unsold

            raise Faults(unsold(self.shop, found))
        shelf = 0
        for part in dict.fromkeys(want.part for want in wants):
            own = [want for want in wants if want.part == part]
            need = sum(want.count for want in own)
            for taken in shelved(self.shop, part, own, need):
                entries = self.shop.stock[part].shelf
                cost = next(
                    (e.cost for e in entries if (e.place, e.condition) == (taken.place, taken.condition)), None
                )
                shelf += taken.count * self._piece(part, cost)
        sums = [self.work(work) for work in final_works(checked)]
        labour, outwork, hours = (
            (sum(each, Decimal(0)) for each in zip(*sums, strict=True)) if sums else (Decimal(0),) * 3
        )
        return Bill(found, self.money(shelf), labour, outwork, hours)


def _undominated(ways: Iterable[Way]) -> tuple[Way, ...]:
    """Ways that no other beats at every supplier: less to one supplier alone, and as soon."""
    best: dict[tuple[str, ...], list[Way]] = {}
    for way in sorted(ways, key=lambda way: (way.cost, way.days)):
        names = tuple(name for name, _ in way.goods)
        rivals = best.setdefault(names, [])
        beaten = any(
            all(a <= b for (_, a), (_, b) in zip(rival.goods, way.goods, strict=True))
            and rival.days <= way.days
            for rival in rivals
        )
        if not beaten:
            rivals.append(way)
    return tuple(way for rivals in best.values() for way in rivals)


def common(numbers: Iterable[int]) -> int:
    """The greatest number that divides all."""
    return gcd(*numbers) or 1


def carriage_of(shop: Shop, name: str) -> tuple[tuple[int | None, int], ...]:
    """What a supplier asks for bringing an order, by value of goods, in ten-thousandths of its currency."""
    return tuple(
        (None if one.below is None else int(one.below.amount * COIN), int(one.price.amount * COIN))
        for one in shop.suppliers[name].carriage
    )


def minimum_of(shop: Shop, name: str) -> int:
    """Value of goods below which a supplier takes no order, in ten-thousandths of its currency."""
    least = shop.suppliers[name].minimum_order
    return 0 if least is None else ceil(least.amount * COIN)


Sold = Mapping[str, int]
