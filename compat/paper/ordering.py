"""An order as documents: the shop's own list over all suppliers, and the letter to one of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from typing import Literal

from compat.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Row,
    Signatures,
    Table,
    Text,
    Together,
)
from compat.paper.formats.values import shown
from compat.shop.money import Money
from compat.trade.ordered import Order, OrderLine, SupplierOrder, ToBring
from compat.words.wording import listed, plain

__all__ = ["letter_document", "order_document", "to_supplier"]

DRAFT = "DRAFT"
AIMS = {"cost": "least total cost", "soonest": "everything in as soon as can be, for the least cost"}


def order_document(order: Order) -> Document:
    """The shop's own list: every supplier, with the reasons for each line, and what is not bought.

    Parameters
    ----------
    order : Order
        The order.

    Returns
    -------
    Document
        What any format writes.
    """
    return Document(
        title="Order list",
        blocks=tuple(_own_blocks(order)),
        number=order.number,
        subject="; ".join(f"{one.name} ({one.build})" for one in order.builds),
        sender=order.address or (order.shop,),
        dated=order.date,
        foot=order.shop,
        across="" if order.number else DRAFT,
        paper=_paper(order),
        language=order.language,
        data=_data(order),
    )


def to_supplier(order: Order, supplier: str) -> Order:
    """What a supplier is told of an order: its own lines, and nothing of builds, reasons or others.

    Parameters
    ----------
    order : Order
        The order.
    supplier : str
        One of its suppliers.

    Returns
    -------
    Order
        The order to that supplier alone.
    """
    own = next(one for one in order.suppliers if one.supplier == supplier)
    bare = tuple(replace(line, reasons=(), left_over=0, note="") for line in own.lines)
    return replace(
        order,
        builds=(),
        suppliers=(replace(own, lines=bare, note=""),),
        total=own.total_own,
        in_on=own.in_on,
        shelf=(),
        brought=(),
        held_back=(),
    )


def letter_document(order: Order, supplier: str) -> Document:
    """The letter to one supplier.

    Parameters
    ----------
    order : Order
        The order.
    supplier : str
        One of its suppliers.

    Returns
    -------
    Document
        What any format writes.
    """
    told = to_supplier(order, supplier)
    (own,) = told.suppliers
    return Document(
        title="Order",
        blocks=tuple(_letter_blocks(order, own)),
        number=order.number,
        sender=order.address or (order.shop,),
        receiver=(own.name, own.place) if own.place else (own.name,),
        dated=order.date,
        foot=order.shop,
        across="" if order.number else DRAFT,
        paper=_paper(order),
        language=order.language,
        data=_data(told),
    )


def _paper(order: Order) -> Literal["A4", "Letter"]:
    return "Letter" if order.paper == "Letter" else "A4"


def _data(order: Order) -> dict[str, object]:
    return {one.name: getattr(order, one.name) for one in fields(order)}


# the shop's own list


def _own_blocks(order: Order) -> Iterator[Block]:
    if order.against:
        yield Heading("Ordered despite these findings")
        items = [f"{one.verdict}: {one.title} ({build}): {one.because}" for build, one in order.against]
        yield Listed(items, tone="against")
    yield Entries(tuple(_summary(order)))
    if not order.suppliers:
        yield Text("Nothing is to be bought.", "strong")
    for number, own in enumerate(order.suppliers):
        yield from _supplier(order, own, f"s{number}")
    if len(order.suppliers) > 1:
        yield from _totals(order)
    yield from _not_bought(order)
    judged: dict[tuple[str, ...], list[str]] = {}
    for one in order.builds:
        judged.setdefault(one.judged_by, []).append(one.build)
    for told, builds in judged.items():
        if told:
            yield Heading(f"How far {listed(builds)} {'was' if len(builds) == 1 else 'were'} checked")
            yield Listed(told)


def _summary(order: Order) -> Iterator[tuple[str, str | Cell]]:
    how = "proved" if order.proved else "not proved: the time ran out before every choice was ruled out"
    yield "Chosen for", f"{AIMS[order.aim]} ({how})"
    if order.suppliers:
        yield "Everything in on", Cell(order.in_on if order.in_on is not None else "not known")


def _supplier(order: Order, own: SupplierOrder, key: str) -> Iterator[Block]:
    yield Heading(own.name)
    facts: list[tuple[str, str | Cell]] = [("In on", Cell(own.in_on if own.in_on is not None else "not known"))]
    if own.list_date is not None:
        facts.append(("Prices of", Cell(own.list_date)))
    yield Entries(tuple(facts))
    if own.expired is not None:
        expired = shown(own.expired, language=order.language)
        yield Text(f"Its price list expired on {expired}: ask before the order goes out.", "caution")
    yield _lines(own, key, reasons=True)
    if own.note:
        yield Text(own.note)
    if own.rate is not None:
        amount = shown(Money(own.total_own, order.currency), language=order.language)
        day = shown(own.rate_on, language=order.language)
        yield Text(f"That is {amount}, at {own.rate} {order.currency} for 1 {own.currency} on {day}.")


def _lines(own: SupplierOrder, key: str, *, reasons: bool) -> Table:
    columns = (
        Column("Code", "code", 1.0),
        Column("What", "text", 2.6),
        Column("Packs", "number", 0.6),
        Column("Pack of", "number", 0.6),
        Column("Price", "money", 0.9),
        Column("Amount", "money", 1.0),
        Column("In on", "date", 0.9),
    )
    rows = []
    for number, line in enumerate(own.lines):
        packs, price = f"{key}p{number}", f"{key}u{number}"
        rows.append(
            Row(
                (
                    line.code or line.part,
                    f"{line.name} ({line.part})" if reasons else line.name,
                    Cell(line.packs, packs),
                    line.pack,
                    Cell(Money(line.price, own.currency), price),
                    Cell(Money(line.amount, own.currency), f"{key}a{number}", f"{{{packs}}}*{{{price}}}"),
                    line.in_on,
                ),
                note=_note(line) if reasons else "",
            )
        )
    last = len(own.lines) - 1
    goods = f"SUM({{{key}a0}}:{{{key}a{last}}})"
    for title, amount, cell, formula in (
        ("Goods", own.goods, f"{key}g", goods),
        ("Carriage", own.carriage, f"{key}c", ""),
        ("Total", own.total, f"{key}t", f"{{{key}g}}+{{{key}c}}"),
    ):
        money = Cell(Money(amount, own.currency), cell, formula)
        rows.append(Row((None, title, None, None, None, money, None), "total"))
    return Table(columns, tuple(rows), name=own.supplier)


def _note(line: OrderLine) -> str:
    """What a line is for, what is left of it, and why there is more of it than is needed."""
    said = list(line.reasons)
    if line.left_over:
        said.append(f"{line.left_over} of {line.pieces} left over")
    if line.note:
        said.append(line.note)
    return "; ".join(said)


def _totals(order: Order) -> Iterator[Block]:
    yield Heading("All suppliers")
    columns = (
        Column("Supplier", "text", 2.0),
        Column("Total", "money"),
        Column(f"In {order.currency}", "money"),
        Column("In on", "date"),
    )
    rows = [
        Row(
            (
                own.name,
                Money(own.total, own.currency),
                Cell(Money(own.total_own, order.currency), f"o{number}"),
                own.in_on,
            )
        )
        for number, own in enumerate(order.suppliers)
    ]
    formula = f"SUM({{o0}}:{{o{len(order.suppliers) - 1}}})"
    total = Cell(Money(order.total, order.currency), "all", formula)
    yield Table(columns, (*rows, Row(("Total", None, total, order.in_on), "total")), name="suppliers")


def _not_bought(order: Order) -> Iterator[Block]:
    if order.shelf:
        yield Heading("Taken from the shelf")
        shelf = [
            Row(
                (one.count, f"{one.name} ({one.part})", one.place, one.condition, one.stays),
                note="; ".join(one.reasons),
            )
            for one in order.shelf
        ]
        columns = (
            Column("Pieces", "number", 0.6),
            Column("What", "text", 2.6),
            Column("Where", "text", 1.6),
            Column("Condition", "text", 0.8),
            Column("Stay there", "number", 0.8),
        )
        yield Table(columns, tuple(shelf), name="shelf")
    if order.brought:
        yield Heading("Brought by the customer")
        yield Listed([_brought(one) for one in order.brought])
    if order.held_back:
        yield Heading("Held back, and not ordered, until this is settled")
        yield Listed(
            [
                f"{one.count} x {one.name} ({one.part}), {plain(one.position)} of {one.build}: {one.until}"
                for one in order.held_back
            ],
            tone="caution",
        )


def _brought(one: ToBring) -> str:
    boxed = f"; with {', '.join(one.boxed)} of its box" if one.boxed else ""
    place = f"{plain(one.position)} of {one.build}"
    return f"{one.count} x {one.name} ({one.part}), {place}: {one.state or 'state not said'}{boxed}"


# the letter


def _letter_blocks(order: Order, own: SupplierOrder) -> Iterator[Block]:
    yield Text("Please supply:")
    yield _lines(own, "s", reasons=False)
    asks = "Please confirm prices, carriage and the day on which all of it is here."
    if own.list_date is not None:
        asks = f"Prices are those of your list of {shown(own.list_date, language=order.language)}. {asks}"
    yield Together((Text(asks), Signatures((f"For {order.shop}",))))
