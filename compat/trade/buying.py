"""Where everything that builds want is bought: the shelf first, then the suppliers that serve the aim best."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import ceil, lcm

from compat.shop.models import Money, Price, Supplier
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults
from compat.trade.choosing import Offered, Problem, Seller, choose
from compat.trade.money import lacking_rates
from compat.trade.plans import Aim, Line, Ordered, Plan, Short, Taken
from compat.trade.wanting import Wanted, wanted

__all__ = ["plan", "unsold", "wanted"]

DAY = 86400.0


def plan(shop: Shop, wants: Iterable[Wanted], aim: Aim = "cost", *, on: date, old_prices: bool = False) -> Plan:
    """Plan what is bought where.

    Parameters
    ----------
    shop : Shop
        The shop: what is on its shelf, who sells what on which terms.
    wants : iterable of Wanted
        What is wanted, of one build or of several.
    aim : {"cost", "soonest"}
        Least cost, or the earliest day that everything is in and for that day the least cost.
    on : date
        The day of the order.
    old_prices : bool
        Whether prices of lists that have expired are reckoned with all the same.

    Returns
    -------
    Plan
        Orders by supplier; of a part that nobody sells, what is short.

    Raises
    ------
    Faults
        When a price list of a part that must be bought has expired, a currency has no rate, or a price is in
        another currency than its supplier sells in.
    """
    by_part: dict[str, list[Wanted]] = {}
    for want in wants:
        by_part.setdefault(want.part, []).append(want)
    taken: list[Taken] = []
    lacking: dict[str, int] = {}
    for part, own in by_part.items():
        lacking[part] = sum(want.count for want in own) - sum(
            entry.count for entry in _shelved(shop, part, own)
        )
    short = tuple(
        Short(part, shop.parts[part].name, count, tuple(by_part[part]))
        for part, count in lacking.items()
        if count and not shop.parts[part].sold_by
    )
    buying = {part: n for part, n in lacking.items() if n and shop.parts[part].sold_by}
    _hold(shop, buying, on, old_prices)
    offers = [(part, offer) for part in buying for offer in _offers(shop, part, aim)]
    chosen, cost, proved = _choose(shop, buying, offers)
    lines: dict[str, list[Line]] = {}
    for part, own in by_part.items():
        found = [(offer, n) for (of, offer), n in zip(offers, chosen, strict=True) if of == part and n]
        pieces = sum(offer.pack * packs for offer, packs in found)
        need = sum(want.count for want in own)
        if part not in {one.part for one in short}:
            taken += _shelved(shop, part, own, max(0, need - pieces))
        over = max(0, pieces - need)
        for offer, packs in found:
            left = min(over, packs * offer.pack)
            over -= left
            line = Line(
                part,
                shop.parts[part].name,
                offer,
                packs,
                offer.of(packs),
                tuple(own),
                left,
                left // offer.pack,
                _days(shop, offer),
            )
            lines.setdefault(offer.supplier, []).append(line)
    orders = tuple(_ordered(shop.suppliers[name], lines[name]) for name in shop.suppliers if lines.get(name))
    currency = shop.info.currency if shop.info is not None else ""
    return Plan(aim, on, currency, orders, tuple(taken), short, cost, proved)


def unsold(shop: Shop, found: Plan) -> list[Fault]:
    """A fault for each part that a plan is short of.

    Parameters
    ----------
    shop : Shop
        The shop.
    found : Plan
        The plan.

    Returns
    -------
    list of Fault
        Empty when everything can be had.
    """
    return [
        Fault(
            shop.spot("part", one.part, "part"),
            f"nobody sells '{one.part}', and {one.count} are wanted for {_places(one.wants)}: state a price in "
            "its `sold_by`, what is on the shelf in a `stock:` entry, or in the build that the customer brings "
            f"it: `brought: {{{one.wants[0].position}: state it is in}}`",
        )
        for one in found.short
    ]


def _places(wants: Sequence[Wanted]) -> str:
    return ", ".join(dict.fromkeys(f"{want.position} of {want.build}" for want in wants))


def _ordered(supplier: Supplier, lines: list[Line]) -> Ordered:
    order = Ordered(supplier, tuple(lines), Money(Decimal(0), supplier.currency))
    return Ordered(supplier, tuple(lines), supplier.carriage_of(order.goods))


def _shelved(shop: Shop, part: str, wants: Sequence[Wanted], most: int | None = None) -> list[Taken]:
    """What the shelf gives: used pieces only to those that take them, and to them first."""
    stock = shop.stock.get(part)
    if stock is None:
        return []
    used = sum(want.count for want in wants if want.used)
    new = sum(want.count for want in wants) - used
    left = used + new if most is None else most
    found = []
    for entry in sorted(stock.shelf, key=lambda entry: entry.condition == "new"):
        open_ = used if entry.condition == "used" else used + new
        count = min(entry.count, open_, left)
        if count <= 0:
            continue
        left -= count
        from_used = min(used, count)
        used, new = used - from_used, new - (count - from_used)
        found.append(
            Taken(
                part,
                shop.parts[part].name,
                count,
                entry.place,
                entry.condition,
                tuple(wants),
                entry.count - count,
            )
        )
    return found


def _lead(shop: Shop, offer: Price) -> Fraction | None:
    lead = offer.lead or shop.suppliers[offer.supplier].lead
    return None if lead is None else Fraction(lead.nominal / DAY).limit_denominator(1000)


def _days(shop: Shop, offer: Price) -> int | None:
    """Whole days until an offer is in; None where neither it nor its supplier says."""
    lead = _lead(shop, offer)
    return None if lead is None else ceil(lead)


def _offers(shop: Shop, part: str, aim: Aim) -> Sequence[Price]:
    return shop.parts[part].sold_by


def _hold(shop: Shop, buying: Iterable[str], on: date, old_prices: bool) -> None:
    """Hold that what must be bought has prices that can be reckoned with."""
    faults: list[Fault] = []
    expired: dict[str, list[str]] = {}
    for part in buying:
        for number, offer in enumerate(shop.parts[part].sold_by):
            supplier = shop.suppliers[offer.supplier]
            if offer.price.currency != supplier.currency:
                spot = shop.spot("part", part, "sold_by", number, "price")
                message = f"is in {offer.price.currency}, and {supplier.supplier} sells in {supplier.currency}"
                faults.append(Fault(spot, f"the price of '{part}' {message}"))
            if supplier.expired(on) and not old_prices:
                expired.setdefault(offer.supplier, []).append(part)
    for name, parts in expired.items():
        supplier = shop.suppliers[name]
        dated = f" of {supplier.list_date}" if supplier.list_date is not None else ""
        more = f" and {len(parts) - 1} more" if len(parts) > 1 else ""
        message = f"the price list{dated} of {name} expired on {supplier.list_expires}, and {parts[0]}{more}"
        faults.append(
            Fault(
                shop.spot("supplier", name, "list_expires"),
                f"{message} could be bought there on {on}: enter its new list and date",
            )
        )
    if faults:
        raise Faults(faults)


def _worth(shop: Shop, currencies: Iterable[str]) -> Mapping[str, Fraction]:
    """What one of each currency is worth in the shop's own."""
    if faults := lacking_rates(shop, currencies):
        raise Faults(faults)
    assert shop.info is not None
    rates = {code: Fraction(entry.rate) for code, entry in shop.info.rates.items()}
    return {shop.info.currency: Fraction(1), **rates}


def _choose(
    shop: Shop, buying: Mapping[str, int], offers: Sequence[tuple[str, Price]]
) -> tuple[Sequence[int], Decimal, bool]:
    """Packs of each offer, what all costs in the shop's currency, and whether that is proved the least."""
    sellers = list(dict.fromkeys(offer.supplier for _, offer in offers))
    suppliers = [shop.suppliers[name] for name in sellers]
    worth = _worth(shop, [supplier.currency for supplier in suppliers])
    unit = lcm(1, *(worth[supplier.currency].denominator for supplier in suppliers))
    parts = {part: number for number, part in enumerate(buying)}
    problem = Problem(
        tuple(buying.values()),
        tuple(_offered(parts[part], sellers.index(offer.supplier), offer) for part, offer in offers),
        tuple(_seller(supplier, int(worth[supplier.currency] * unit)) for supplier in suppliers),
    )
    choice = choose(problem)
    cost = Decimal(choice.cost) / unit / COIN
    return choice.packs, cost, choice.proved


COIN = 10_000
"""Prices are stated to a ten-thousandth at the finest."""


def _coins(money: Money) -> int:
    return int(money.amount * COIN)


def _offered(part: int, seller: int, offer: Price) -> Offered:
    steps = ((1, _coins(offer.price)), *((one.packs, _coins(one.price)) for one in offer.breaks))
    return Offered(part, seller, offer.pack, steps)


def _seller(supplier: Supplier, weight: int) -> Seller:
    return Seller(
        weight,
        tuple(
            (None if one.below is None else _coins(one.below), _coins(one.price)) for one in supplier.carriage
        ),
        _coins(supplier.minimum_order) if supplier.minimum_order is not None else 0,
    )
