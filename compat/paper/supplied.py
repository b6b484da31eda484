"""What parts cost and where they are, written out for a person: offers, suppliers, the shelf."""

from __future__ import annotations

from collections.abc import Iterator

from compat.shop.models import Part, Price, Stock, Supplier
from compat.shop.shop import Shop
from compat.units import DAY, Band

__all__ = ["days", "offered", "stock_entry", "supplier_entry"]

Lines = Iterator[tuple[int, str]]


def days(lead: Band) -> str:
    """A lead time in whole days.

    >>> from compat.units import read_band
    >>> days(read_band("1 days")), days(read_band("2 weeks"))
    ('1 day', '14 days')
    """
    number = round(lead.nominal / DAY)
    return f"{number} day{'s' * (number != 1)}"


def offered(shop: Shop, part: Part) -> Lines:
    """Who sells a part and for how much, and what of it is on the shelf."""
    for price in part.sold_by:
        lead = f", {days(price.lead)}" if price.lead else ""
        yield 1, f"sold by {price.supplier} as {price.code}: {price.price}{_each(price)}{lead}"
        for one in price.breaks:
            yield 2, f"{one.price}{_each(price)} from {one.packs} {'packs' if price.pack > 1 else 'pieces'} on"
    for price in part.no_longer_sold_by:
        yield 1, f"no longer sold by {price.supplier}, as {price.code} for {price.price}{_each(price)}"
    if (kept := shop.stock.get(part.part)) is not None:
        yield 1, f"on the shelf: {kept.name}"


def _each(price: Price) -> str:
    return f" for {price.pack}" if price.pack > 1 else " each"


def supplier_entry(shop: Shop, supplier: Supplier) -> Lines:
    """Where a supplier is, on what terms it sells, and what."""
    sold = shop.indexes.sold_by.get(supplier.supplier, ())
    yield 1, f"{supplier.place}; sells in {supplier.currency}"
    if supplier.minimum_order is not None:
        yield 1, f"takes no order below {supplier.minimum_order}"
    for one in supplier.carriage:
        yield 1, f"carriage {one.price}{f' on goods below {one.below}' if one.below is not None else ''}"
    if supplier.lead is not None:
        yield 1, f"goods are in after {days(supplier.lead)} where a part says nothing else"
    if supplier.rate is not None:
        yield 1, f"works for {supplier.rate} an hour"
    if supplier.work_lead is not None:
        yield 1, f"its work is away for {days(supplier.work_lead)}"
    if supplier.list_date is not None or supplier.list_expires is not None:
        dated = f" of {supplier.list_date}" if supplier.list_date is not None else ""
        until = f" holds until {supplier.list_expires}" if supplier.list_expires is not None else ""
        yield 1, f"price list{dated}{until}"
    for name, own in supplier.lists.items():
        until = f" holds until {own.expires}" if own.expires is not None else ""
        yield 1, f"price list {name} of {own.date}{until}"
    yield 1, f"sells {len(sold)} parts: {', '.join(sold)}"


def stock_entry(shop: Shop, stock: Stock) -> Lines:
    """What is on the shelf, place by place."""
    yield 1, shop.parts[stock.stock].name
    for one in stock.shelf:
        place = f" at {one.place}" if one.place else ""
        yield 1, f"{one.count} {one.condition}{place}{f'; {one.note}' if one.note else ''}"
