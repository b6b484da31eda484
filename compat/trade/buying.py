"""Where everything that builds want is bought: the shelf first, then the suppliers that serve the aim best."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal

from compat.shop.models import Money, Price, Supplier
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults
from compat.trade.offers import chosen, faults_of, offers_for
from compat.trade.plans import Aim, Line, Ordered, Plan, Short, Taken
from compat.trade.shelf import shelved
from compat.trade.wanting import Wanted, wanted
from compat.trade.wares import days_of

__all__ = ["plan", "unsold", "wanted"]


def plan(shop: Shop, wants: Iterable[Wanted], aim: Aim = "cost", *, on: date, old_prices: bool = False) -> Plan:
    """Plan what is bought where.

    Parameters
    ----------
    shop : Shop
        The shop: what is on its shelf, who sells what on which terms.
    wants : iterable of Wanted
        What is wanted, of one build or of several.
    aim : {"cost", "soonest"}
        Least total cost in the shop's currency, or the earliest day that everything is in and for that day the
        least cost.
    on : date
        The day of the order.
    old_prices : bool
        Whether prices of lists that have expired are reckoned with all the same.

    Returns
    -------
    Plan
        Orders by supplier; of a part that nobody sells, what is short. From the shelf comes what need not be
        bought: where whole packs give enough, pieces stay there.

    Raises
    ------
    Faults
        When a price list of a part that must be bought has expired, a currency has no rate, or a price is in
        another currency than its supplier sells in.
    """
    by_part: dict[str, list[Wanted]] = {}
    for want in wants:
        by_part.setdefault(want.part, []).append(want)
    needs = {part: sum(want.count for want in own) for part, own in by_part.items()}
    lacking = {
        part: need - sum(entry.count for entry in shelved(shop, part, by_part[part], need))
        for part, need in needs.items()
    }
    buying = {part: count for part, count in lacking.items() if count and shop.parts[part].sold_by}
    if faults := faults_of(shop, buying, on, old_prices=old_prices):
        raise Faults(faults)
    beside = [part for part, count in lacking.items() if not count]
    offers = offers_for(shop, buying, aim, beside)
    pieces = {part: buying.get(part, 0) for part, _ in offers}
    packs, cost, proved = chosen(shop, pieces, offers) if offers else ((), Decimal(0), True)
    bought: dict[str, list[tuple[Price, int]]] = {}
    for (part, offer), number in zip(offers, packs, strict=True):
        if number:
            bought.setdefault(part, []).append((offer, number))
    lines = [line for part, found in bought.items() for line in _lines(shop, by_part[part], found, needs[part])]
    taken: list[Taken] = []
    for part, own in by_part.items():
        come = sum(offer.pack * number for offer, number in bought.get(part, ()))
        taken += shelved(shop, part, own, max(0, needs[part] - come))
    return Plan(
        aim,
        on,
        shop.info.currency if shop.info is not None else "",
        tuple(_orders(shop.suppliers, lines)),
        tuple(taken),
        tuple(
            Short(part, shop.parts[part].name, count, tuple(by_part[part]))
            for part, count in lacking.items()
            if count and part not in buying
        ),
        cost,
        proved,
    )


def _lines(shop: Shop, wants: Sequence[Wanted], found: Sequence[tuple[Price, int]], need: int) -> list[Line]:
    """A line for each offer of a part; what is left over is said of the first that holds it."""
    part = shop.parts[wants[0].part]
    over = max(0, sum(offer.pack * packs for offer, packs in found) - need)
    lines = []
    for offer, packs in found:
        left = min(over, packs * offer.pack)
        over -= left
        price, days = offer.of(packs), days_of(shop, offer)
        lines.append(Line(part.part, part.name, offer, packs, price, tuple(wants), left, days))
    return lines


def _orders(suppliers: Mapping[str, Supplier], lines: Sequence[Line]) -> Iterable[Ordered]:
    """Lines by supplier, in the order of the suppliers' file, each with its carriage."""
    for name, supplier in suppliers.items():
        own = tuple(line for line in lines if line.offer.supplier == name)
        if own:
            bare = Ordered(supplier, own, Money(Decimal(0), supplier.currency))
            yield Ordered(supplier, own, supplier.carriage_of(bare.goods))


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
            f"nobody sells '{one.part}'{_before(shop, one.part)}, and {one.count} "
            f"{'is' if one.count == 1 else 'are'} wanted for {_places(one.wants)}: state a price in "
            "its `sold_by`, what is on the shelf in a `stock:` entry, or in the build that the customer brings "
            f"it: `brought: {{{one.wants[0].position}: state it is in}}`",
        )
        for one in found.short
    ]


def _before(shop: Shop, part: str) -> str:
    """Who sold it before."""
    names = [offer.supplier for offer in shop.parts[part].no_longer_sold_by]
    return f" (no longer listed by {', '.join(dict.fromkeys(names))})" if names else ""


def _places(wants: Sequence[Wanted]) -> str:
    return ", ".join(dict.fromkeys(f"{want.position} of {want.build}" for want in wants))
