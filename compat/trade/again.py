"""A kept quote reckoned again: the same build, with what the shop has, asks and holds true on another day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from compat.checking.session import Session
from compat.shop.builds import ReadyBuild, make_build
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.trade.filed import filed
from compat.trade.quote import make_quote
from compat.trade.quoted import Quote
from compat.words.once import told_once

__all__ = ["Again", "LineChange", "reckon_again"]

State = Literal["same", "changed", "cannot"]


@dataclass(frozen=True, slots=True)
class LineChange:
    """A line, or the tax, that comes to something else; together they are the difference of the totals."""

    what: str
    id: str
    """The part or work; empty for carriage and tax."""
    was: Decimal | None
    """Amount before tax; None where there was no such line."""
    is_now: Decimal | None
    how: str
    """Quantity and price of one, then and now."""


@dataclass(frozen=True, slots=True)
class Again:
    """A kept quote, and what it comes to on another day."""

    number: str
    on: dt.date
    """Of the quote."""
    valid_until: dt.date
    build: str
    name: str
    customer: str
    state: State
    """``cannot``: it can no longer be quoted."""
    currency: str
    """Of the quote."""
    was: Decimal
    """Total, tax included."""
    is_now: Decimal | None = None
    """In the shop's currency of today; None where it cannot be quoted."""
    now_in: str = ""
    """That currency."""
    difference: Decimal | None = None
    """None where it cannot be quoted, or the currency is another."""
    lines: tuple[LineChange, ...] = ()
    why: tuple[str, ...] = ()
    """Why it can no longer be quoted."""


def reckon_again(session: Session, record: Mapping[str, Any], on: dt.date) -> Again:
    """Reckon a kept quote again.

    Parameters
    ----------
    session : Session
        The shop as it is now.
    record : mapping
        The quote as it was kept.
    on : date
        The day whose prices and rates are taken.

    Returns
    -------
    Again
        The total then and now, and the lines that differ. A quote that something stands against now, and
        nothing did when it was given, can no longer be quoted; nor can one whose parts have gone or have no
        price.
    """
    old = record["quote"]
    line = filed(record)
    found = Again(
        number=line.number, on=line.on, valid_until=line.valid_until, build=line.build, name=line.name,
        customer=line.customer, state="cannot", currency=line.currency, was=line.total,
    )  # fmt: skip
    if gone := tuple(_gone(session.shop, record)):
        return replace(found, why=gone)
    try:
        quote = make_quote(session, _build(session.shop, record["rests_on"]["build"]), on).quote
    except Faults as told:
        return replace(found, why=tuple(fault.message for fault in told.faults))
    if quote.against and not old["against"]:
        return replace(found, why=tuple(told_once((one.title, one.because) for one in quote.against)))
    same_money = quote.currency == line.currency
    lines = tuple(_differing(old, quote)) if same_money else ()
    return replace(
        found,
        state="same" if same_money and quote.total == line.total else "changed",
        is_now=quote.total,
        now_in=quote.currency,
        difference=quote.total - line.total if same_money else None,
        lines=lines,
    )


def _gone(shop: Shop, record: Mapping[str, Any]) -> Iterator[str]:
    """Parts that were chosen and that the shop has no longer, each with where it stood."""
    said, cards = record["rests_on"]["build"], record["rests_on"]["parts"]
    chosen = [
        ("", said.get("fit", {})),
        *((one["name"], one.get("fit", {})) for one in said.get("options", ())),
    ]
    for option, fit in chosen:
        for position, part in fit.items():
            if part in shop.parts:
                continue
            where = f"{position} of option '{option}'" if option else position
            if cards.get(part, {}).get("only_for"):
                yield f"{where}: part '{part}' was the build's own, and the shop's files do not have it"
            else:
                yield f"{where}: part '{part}' is no longer in the shop"


def _build(shop: Shop, said: Mapping[str, Any]) -> ReadyBuild:
    """The build as it was quoted, held against the shop as it is."""
    entries = dict(said)
    if entries["build"] in shop.variants:  # a variant was quoted as it left the factory
        del entries["build"]
    return make_build(shop, **entries)


Lines = Mapping[tuple[str, str], tuple[Decimal, str]]
"""Amount, and how it comes to it, by what a line is for and its id."""


def _differing(old: Mapping[str, Any], new: Quote) -> Iterator[LineChange]:
    was = _lines(
        (line["what"], line["id"], Decimal(line["amount"]), line["quantity"], line["unit"], line["unit_price"])
        for line in old["lines"]
    )
    now = _lines(
        (one.what, one.id, one.amount, f"{one.quantity:f}", one.unit, f"{one.unit_price:f}")
        for one in new.lines
    )
    for key in dict.fromkeys([*was, *now]):
        before, after = was.get(key), now.get(key)
        if (before and before[0]) != (after and after[0]):
            how = f"{before[1] if before else 'not there'}, now {after[1] if after else 'not there'}"
            yield LineChange(*key, before[0] if before else None, after[0] if after else None, how)
    tax = Decimal(old["tax"])
    if tax != new.tax:
        yield LineChange("tax", "", tax, new.tax, "on all lines")


def _lines(said: Iterator[tuple[str, str, Decimal, str, str, str]]) -> Lines:
    found: dict[tuple[str, str], tuple[Decimal, str]] = {}
    for what, name, amount, quantity, unit, price in said:
        how = f"{quantity}{f' {unit}' if unit else ''} at {price}"
        before = found.get((what, name))
        # the same part from the shelf and from a supplier is two lines
        found[what, name] = (before[0] + amount, f"{before[1]} and {how}") if before else (amount, how)
    return found
