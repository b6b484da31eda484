"""Quotes and orders of a shop under their numbers: where they lie, kept, and read again."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from compat.library.library import Library
from compat.trade.frozen import keep, kept, measured_folder, numbers, orders_folder, quotes_folder
from compat.trade.ordered import Order
from compat.trade.plain import as_plain
from compat.trade.quoted import Quote
from compat.trade.snapshot import rests_on

if TYPE_CHECKING:
    from compat.trade.quote import Quoted

__all__ = [
    "kept_measured",
    "kept_order",
    "kept_orders",
    "kept_quotes",
    "looks_like_quote",
    "numbered_order",
    "numbered_quote",
    "quote_record",
]


def _shop(library: Library) -> tuple[Path, str]:
    info = library.shop.info
    return library.folder, info.shop if info is not None else "shop"


def kept_quotes(library: Library) -> Path:
    """Where the quotes of a shop lie."""
    return quotes_folder(*_shop(library))


def kept_orders(library: Library) -> Path:
    """Where the orders of a shop lie."""
    return orders_folder(*_shop(library))


def kept_measured(library: Library) -> Path:
    """Where what was measured on the builds of a shop lies."""
    return measured_folder(*_shop(library))


def looks_like_quote(library: Library, name: str) -> bool:
    """Whether a word is the number of a quote, or one of the form of the shop's own.

    What looks like a number and is none is told so, and not that there is no build of that name.
    """
    if name in library.shop.builds or name in library.shop.variants:
        return False
    info, where = library.shop.info, kept_quotes(library)
    head = re.split(r"\{", info.numbers.quote if info is not None else "", maxsplit=1)[0]
    return (bool(head) and name.startswith(head)) or name in (numbers(where) if where.is_dir() else ())


def quote_record(quoted: Quoted) -> dict[str, Any]:
    """A quote with all that it rests on, as it is kept and compared."""
    return {"quote": as_plain(quoted.quote), "rests_on": rests_on(quoted.checked, quoted.plan)}


def numbered_quote(library: Library, quoted: Quoted) -> Quote:
    """Keep a quote under a number of its own.

    Parameters
    ----------
    library : Library
        The shop, which has the series of numbers.
    quoted : Quoted
        The quote and what it was made of.

    Returns
    -------
    Quote
        The quote with its number.

    Raises
    ------
    Faults
        When it cannot be kept.
    """
    info = library.shop.info
    assert info is not None  # no quote is made without one
    record = quote_record(quoted)

    def with_number(number: str) -> Mapping[str, Any]:
        return {**record, "quote": {**record["quote"], "number": number}}

    number = keep(kept_quotes(library), info.numbers.quote, quoted.quote.date, with_number)
    return replace(quoted.quote, number=number)


def numbered_order(library: Library, order: Order) -> Order:
    """Keep an order under a number of its own.

    Raises
    ------
    Faults
        When it cannot be kept.
    """
    info = library.shop.info
    assert info is not None  # no order is made without one

    def with_number(number: str) -> Mapping[str, Any]:
        return {"order": as_plain(replace(order, number=number))}

    number = keep(kept_orders(library), info.numbers.order, order.date, with_number, "order")
    return replace(order, number=number)


def kept_order(library: Library, number: str) -> Order:
    """Read a kept order.

    Raises
    ------
    Faults
        When there is none of that number, or it is not as it was written.
    """
    from pydantic import TypeAdapter

    return TypeAdapter(Order).validate_python(kept(kept_orders(library), number, "order")["order"])
