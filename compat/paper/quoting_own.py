"""What the shop's own copy of a quote has more: cost, margin, supplier, alternatives, findings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal

from compat.paper.document import Block, Column, Entries, Heading, Listed, Row, Table, Text
from compat.shop.money import Money
from compat.trade.quoted import Line, Own, OwnLine, Quote

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
        Column("Line", "text", 4.4),
        Column("Supplier and code", "text", 3.2),
        Column("Asked", "text", 1.9),
        Column("Cost", "money", 1.3),
        Column("Amount", "money", 1.3),
        Column("Margin", "text", 0.9),
    )
    rows = [
        _cost(line, line.own, money) for line in quote.lines if line.own is not None and line.kind != "labour"
    ]
    if rows:
        yield Table(columns, rows, "Cost")
    for title, lines in (("Orders", own.carriage), ("Rates of currencies", own.rates)):
        if lines:
            yield Heading(title, 2)
            yield Listed(lines)
    if own.findings:
        yield Heading("Findings", 2)
        yield Listed([f"{one.verdict}: {one.title} [{one.rule}]. {one.because}" for one in own.findings])


def _cost(line: Line, own: OwnLine, money: Callable[[Decimal], Money]) -> Row:
    """A line with what it costs, where it comes from, and what could be had instead."""
    several = len(own.sources) > 1
    sources = []
    for one in own.sources:
        named = " ".join(part for part in (one.supplier, one.code, one.shelf) if part)
        sources.append(f"{one.quantity} {named}" if several else named)
    more = [f"why: {'; '.join(own.reasons)}"] if own.reasons else []
    more += [f"instead: {', '.join(own.alternatives)}"] if own.alternatives else []
    asked = "; ".join(one.asked for one in own.sources)
    cells = (line.what, "; ".join(sources), asked, money(own.cost), money(line.amount), own.margin)
    return Row(cells, note=". ".join(more))
