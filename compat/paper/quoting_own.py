"""What the shop's own copy of a quote has more: cost, margin, supplier, alternatives, findings."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from compat.paper.document import Block, Cell, Column, Entries, Heading, Listed, Row, Table, Text
from compat.shop.money import Money
from compat.trade.quoted import Own, Quote

__all__ = ["own_blocks"]


def own_blocks(quote: Quote, own: Own) -> Iterator[Block]:
    """What follows the customer's copy on the shop's own.

    Parameters
    ----------
    quote : Quote
        The quote.
    own : Own
        What is the shop's alone.

    Yields
    ------
    Block
        Cost of each line, what is earned, rates, what the terms lack, every finding.
    """

    def money(amount: Decimal) -> Money:
        return Money(amount, quote.currency)

    yield Heading("For the shop alone")
    for lack in own.lacks:
        yield Text(f"{lack}.", "caution")
    entries: list[tuple[str, Money]] = [
        ("Cost of parts, carriage and outwork", money(own.cost)),
        ("Left of the net sum for labour and margin", money(own.earned)),
    ]
    if own.hidden_tax:
        entries.append((f"{quote.tax_name} inside prices of second-hand goods", money(own.hidden_tax)))
    yield Entries(entries)
    columns = (
        Column("Line", "text", 3),
        Column("Supplier", "text", 1.4),
        Column("Code", "code", 1.6),
        Column("Asked", "text", 1.5),
        Column("Cost", "money", 1.3),
        Column("Amount", "money", 1.3),
        Column("Margin", "text", 0.8),
    )
    rows = []
    for number, line in enumerate(quote.lines, 1):
        if line.own is None or line.kind == "labour":
            continue
        more = [f"instead: {', '.join(line.own.alternatives)}"] if line.own.alternatives else []
        more += [f"for {'; '.join(line.own.reasons)}"] if line.own.reasons else []
        rows.append(
            Row(
                (
                    line.what,
                    line.own.supplier,
                    line.own.code,
                    line.own.asked,
                    Cell(money(line.own.cost), f"c{number}"),
                    money(line.amount),
                    line.own.margin,
                ),
                note="; ".join(more),
            )
        )
    if rows:
        yield Table(columns, rows, "Cost")
    for title, lines in (("Orders", own.carriage), ("Rates of currencies", own.rates)):
        if lines:
            yield Heading(title, 2)
            yield Listed(lines)
    if own.findings:
        yield Heading("Findings", 2)
        yield Listed([f"{one.verdict}: {one.title} [{one.rule}]. {one.because}" for one in own.findings])
