"""Offers of what must be bought: held against their lists and currencies, and made whole numbers of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import lcm

from compat.shop.models import Money, Price, Supplier
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults
from compat.trade.choosing import choose
from compat.trade.money import lacking_rates
from compat.trade.plans import Aim
from compat.trade.problem import Offered, Problem, Seller
from compat.trade.wares import FAR, days_of

__all__ = ["chosen", "faults_of", "offers_for"]

COIN = 10_000
"""Prices are stated to a ten-thousandth at the finest."""


def faults_of(shop: Shop, parts: Iterable[str], on: date, *, old_prices: bool) -> list[Fault]:
    """What keeps prices of parts from being reckoned with.

    Parameters
    ----------
    shop : Shop
        The shop.
    parts : iterable of str
        What must be bought.
    on : date
        The day of the order.
    old_prices : bool
        Whether prices of lists that have expired will do.

    Returns
    -------
    list of Fault
        A price in another currency than its supplier's, a list that has expired, a currency without a rate.
    """
    faults: list[Fault] = []
    expired: dict[tuple[str, str | None], list[tuple[str, Price]]] = {}
    currencies = set()
    for part in parts:
        for number, offer in enumerate(shop.parts[part].sold_by):
            supplier = shop.suppliers[offer.supplier]
            currencies.add(supplier.currency)
            if not _in_its_currency(shop, offer):
                spot = shop.spot("part", part, "sold_by", number, "price")
                message = f"is in {offer.price.currency}, and {supplier.supplier} sells in {supplier.currency}"
                faults.append(Fault(spot, f"the price of '{part}' {message}"))
            if supplier.expired(offer, on) and not old_prices:
                expired.setdefault((offer.supplier, offer.list), []).append((part, offer))
    for (name, own), asked in expired.items():
        day, last = shop.suppliers[name].list_days(asked[0][1])
        called = f" '{own}'" if own is not None else ""
        dated = f" of {day}" if day is not None else ""
        named = list(dict.fromkeys(part for part, _ in asked))
        more = f" and {len(named) - 1} more" if len(named) > 1 else ""
        message = (
            f"the price list{called}{dated} of '{name}' expired on {last}, and on {on} it is asked "
            f"for {named[0]}{more}: enter its new list; an order may reckon with the old one by --old-prices"
        )
        path = ["list_expires"] if own is None else ["lists", own, "expires"]
        faults.append(Fault(shop.spot("supplier", name, *path), message))
    return faults + lacking_rates(shop, currencies)


def offers_for(
    shop: Shop, parts: Iterable[str], aim: Aim, beside: Iterable[str] = ()
) -> list[tuple[str, Price]]:
    """Give the offers that serve an aim.

    Parameters
    ----------
    shop : Shop
        The shop.
    parts : iterable of str
        What must be bought.
    aim : {"cost", "soonest"}
        For the earliest day, offers that are in by the day on which the slowest part can be in at the soonest.
        One of which nobody says when it is in serves it only where no other is to be had.
    beside : iterable of str
        Parts that the shelf gives: of the same suppliers they may fill an order up.

    Returns
    -------
    list of tuple of str and Price
        Part and offer.
    """
    found = [(part, offer, days_of(shop, offer)) for part in parts for offer in shop.parts[part].sold_by]
    asked = {offer.supplier for _, offer, _ in found}
    more = [(part, offer, days_of(shop, offer)) for part in beside for offer in shop.parts[part].sold_by]
    more = [one for one in more if one[1].supplier in asked and _in_its_currency(shop, one[1])]
    if aim == "cost":
        return [(part, offer) for part, offer, _ in found + more]
    first: dict[str, int] = {}
    for part, _, days in found:
        if days is not None:
            first[part] = min(days, first.get(part, days))
    last = max(first.values(), default=0)
    timely = [one for one in found if one[0] not in first or (one[2] is not None and one[2] <= last)]
    timely += [one for one in more if one[2] is not None and one[2] <= last]
    return [(part, offer) for part, offer, _ in timely]


def _in_its_currency(shop: Shop, offer: Price) -> bool:
    return offer.price.currency == shop.suppliers[offer.supplier].currency


def chosen(
    shop: Shop, buying: Mapping[str, int], offers: Sequence[tuple[str, Price]]
) -> tuple[Sequence[int], Decimal, bool]:
    """Choose packs of offers for the least total cost.

    Parameters
    ----------
    shop : Shop
        The shop.
    buying : mapping
        Pieces by part.
    offers : sequence of tuple of str and Price
        Offers, each with its part.

    Returns
    -------
    tuple
        Packs of each offer; what all costs in the shop's currency, exact; whether that is proved the least.

    Raises
    ------
    Faults
        When no supplier takes such an order.
    """
    assert shop.info is not None
    rates = {code: Fraction(entry.rate) for code, entry in shop.info.rates.items()}
    worth = {**rates, shop.info.currency: Fraction(1)}
    sellers = list(dict.fromkeys(offer.supplier for _, offer in offers))
    suppliers = [shop.suppliers[name] for name in sellers]
    unit = lcm(*(worth[supplier.currency].denominator for supplier in suppliers))
    parts = {part: number for number, part in enumerate(buying)}
    problem = Problem(
        tuple(buying.values()),
        tuple(
            _offered(parts[part], sellers.index(offer.supplier), offer, days_of(shop, offer))
            for part, offer in offers
        ),
        tuple(_seller(supplier, int(worth[supplier.currency] * unit)) for supplier in suppliers),
    )
    found = choose(problem)
    if found is None:
        names = ", ".join(sellers)
        message = f"no order of what is wanted reaches the `minimum_order` of its suppliers ({names})"
        raise Faults([Fault(shop.spot("supplier", sellers[0], "minimum_order"), message)])
    return found.packs, Decimal(found.cost) / unit / COIN, found.proved


def _coins(money: Money) -> int:
    return int(money.amount * COIN)


def _offered(part: int, seller: int, offer: Price, days: int | None) -> Offered:
    steps = ((1, _coins(offer.price)), *((one.packs, _coins(one.price)) for one in offer.breaks))
    return Offered(part, seller, offer.pack, steps, FAR if days is None else days)


def _seller(supplier: Supplier, weight: int) -> Seller:
    tiers = tuple(
        (None if one.below is None else _coins(one.below), _coins(one.price)) for one in supplier.carriage
    )
    least = supplier.minimum_order
    return Seller(weight, tiers, 0 if least is None else _coins(least))
