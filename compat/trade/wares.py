"""Parts as they are told at the counter: price of a piece, who sells it, how soon it is in, what is here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil

from compat.shop.models import Price
from compat.shop.shop import Shop
from compat.trade.money import EXACT, NoRate, in_own, round_money
from compat.units import DAY

__all__ = ["FAR", "Ware", "days_of", "each_in_own", "least_price", "rates", "ware"]

FAR = 10_000
"""Days that stand for a lead time which nobody states."""


def days_of(shop: Shop, offer: Price) -> int | None:
    """Whole days until an offer is in; None where neither it nor its supplier says."""
    lead = offer.lead or shop.suppliers[offer.supplier].lead
    return None if lead is None else ceil(round(lead.nominal / DAY, 6))


@dataclass(frozen=True, slots=True)
class Ware:
    """A part of the shop with what it costs."""

    part: str
    name: str
    fills: tuple[str, ...]
    families: tuple[str, ...]
    """Engines that it is made for; none: any."""
    new: int
    """Pieces on the shelf."""
    used: int
    price: Decimal | None = None
    """Of one piece, where packs are sold whole its share, in the shop's currency; None where nobody sells it or
    no rate is stated."""
    supplier: str = ""
    code: str = ""
    pack: int = 1
    days: int | None = None
    """Until that offer is in; None where nobody says."""
    expired: date | None = None
    """The last day on which that price held, where it is gone by."""


def rates(shop: Shop) -> dict[str, Decimal]:
    """What one of each currency is in the shop's own, by the terms it states."""
    info = shop.info
    if info is None:
        return {}
    return {info.currency: Decimal(1), **{currency: rate.rate for currency, rate in info.rates.items()}}


def each_in_own(shop: Shop, offer: Price) -> Decimal | None:
    """What one piece of an offer costs in the shop's currency, not rounded; None without a rate for it."""
    if shop.info is None:
        return None
    try:
        return EXACT.divide(in_own(shop.info, offer.price), Decimal(offer.pack))
    except NoRate:
        return None


def least_price(shop: Shop, part: str) -> Decimal | None:
    """The least that one piece is sold for, in the shop's currency; None where nobody sells it."""
    found = (each_in_own(shop, offer) for offer in shop.parts[part].sold_by)
    return min((each for each in found if each is not None), default=None)


def ware(shop: Shop, name: str, on: date, *, soonest: bool = False, supplier: str = "") -> Ware:
    """A part as it is told at the counter.

    Parameters
    ----------
    shop : Shop
        The shop.
    name : str
        The part.
    on : date
        The day: prices of lists that have run out by then are marked.
    soonest : bool
        Whether the offer that is in first is told, instead of the cheapest.
    supplier : str
        Only what this one offers.

    Returns
    -------
    Ware
        With one offer: price and days are of the same one.
    """
    part = shop.parts[name]
    shelf = shop.stock[name].shelf if name in shop.stock else ()
    pieces = {state: sum(one.count for one in shelf if one.condition == state) for state in ("new", "used")}
    offers = [one for one in part.sold_by if supplier in ("", one.supplier)]
    here = Ware(name, part.name, part.fills, part.families, pieces["new"], pieces["used"])
    if not offers:
        return here

    def rank(offer: Price) -> tuple[Decimal, ...]:
        each, days = each_in_own(shop, offer), days_of(shop, offer)
        cost = (Decimal(each is None), each or Decimal(0))
        wait = Decimal(FAR if days is None else days)
        return (wait, *cost) if soonest else (*cost, wait)

    best = min(offers, key=rank)
    each, seller = each_in_own(shop, best), shop.suppliers[best.supplier]
    return Ware(
        *(name, part.name, part.fills, part.families, pieces["new"], pieces["used"]),
        price=None if each is None or shop.info is None else round_money(shop.info, each),
        supplier=best.supplier,
        code=best.code,
        pack=best.pack,
        days=days_of(shop, best),
        expired=seller.list_days(best)[1] if seller.expired(best, on) else None,
    )
