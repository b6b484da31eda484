"""What a quote rests on, as a customer reads it: what is measured first, what stays, what else may be had."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import groupby

from compat.paper.document import Block, Column, Heading, Listed, Row, Table, Text
from compat.paper.formats.values import shown
from compat.shop.money import Money
from compat.trade.quoted import Doubt, Quote
from compat.words.wording import listed

__all__ = ["WhatItRestsOn", "in_full", "inside"]


class WhatItRestsOn:
    """Blocks on the ground that a quote stands on."""

    def __init__(self, quote: Quote) -> None:
        self.quote = quote

    def money(self, amount: Decimal) -> Money:
        return Money(amount, self.quote.currency)

    def said(self, amount: Decimal) -> str:
        return shown(self.money(amount), "money", self.quote.paper.language)

    def with_tax(self) -> str:
        return f", {self.quote.tax_name} included" if self.quote.tax_name else ", no tax is asked"

    def doubts(self) -> Iterator[Block]:
        quote = self.quote
        if not quote.doubts:
            return
        yield Heading("Measured before it is confirmed")
        yield Text(self.if_it_fails())
        columns = (
            Column("What is measured", "text", 3.2),
            Column("If it fails", "text", 3.2),
            Column("At least", "money", 1.3),
            Column("At most", "money", 1.3),
        )
        yield Table(columns, [self.doubt(one) for one in quote.doubts], "Measured")

    def if_it_fails(self) -> str:
        fine, told = (
            "If all of it comes out well, nothing is added.",
            "is told with its price before any more is done",
        )
        if not self.quote.doubt_most:
            return f"{fine} What it takes if something fails {told}."
        most = f"up to {self.said(self.quote.doubt_most)} is added before tax"
        dear = f"{fine} If all of it fails, and each is mended the dearest way, {most}"
        return (
            f"{dear}; what has no price here {told}."
            if any(not one.most for one in self.quote.doubts)
            else f"{dear}."
        )

    def doubt(self, one: Doubt) -> Row:
        priced = [
            f"{way.says}: {self.said(way.price)}" if way.price else way.says
            for way in one.ways
            if way.price is not None
        ]
        ways = "; or ".join(priced) or "told with its price before any more is done"
        least, most = (
            self.money(price) if price is not None and one.most else None for price in (one.least, one.most)
        )
        return Row((f"{one.title}: {one.because}", ways, least, most))

    def options(self) -> Iterator[Block]:
        if not self.quote.options:
            return
        yield Heading("Instead")
        columns = (
            Column("Option", "text", 4),
            Column("Difference", "money", 1.4),
            Column("Total then", "money", 1.4),
        )
        rows = []
        for one in self.quote.options:
            if not one.goes_together or one.total is None or one.difference is None:
                rows.append(
                    Row(
                        (f"{one.name}: does not go together", None, None),
                        note=in_full("; ".join(one.why[:2])),
                    )
                )
                continue
            note = f"measured or known first: {listed(one.not_proven)}" if one.not_proven else ""
            rows.append(Row((one.name, self.money(one.difference), self.money(one.total)), note=note))
        yield Table(columns, rows, "Options")
        yield Text(f"Each option by itself, all else as quoted{self.with_tax()}.", "quiet")

    def stays(self) -> Iterator[Block]:
        quote = self.quote
        if quote.brought:
            yield Heading("Brought by the customer")
            yield Text("Neither bought nor warranted by the shop; priced as being in the state that is said.")
            yield Listed(quote.brought)
        if not quote.reused:
            return
        yield Heading("What stays")
        yield Text(
            "These parts of the engine stay. They are priced as sound and within their makers' limits: what is "
            "found otherwise is told, with its price, before any more is done."
        )
        columns = (
            Column("Part", "text", 3),
            Column("Pieces", "number", 0.7),
            Column("Looked at for", "text", 4),
        )
        rows: list[Row] = []
        for system, parts in groupby(quote.reused, key=lambda one: one.system):
            rows.append(Row((system.replace("-", " ").capitalize(), None, None), "group"))
            for one in parts:
                opened = f"behind the {listed(inside(name) for name in one.opened)}" if one.opened else ""
                more = len(one.carries) - 2
                carries = [inside(title) for title in one.carries[:2]]
                carries += [f"{more} load{'s' * (more > 1)} more"] if more > 0 else []
                rows.append(Row((one.what, one.count, "; ".join(part for part in (*carries, opened) if part))))
        yield Table(columns, rows, "What stays")
        if quote.inspected:
            yield Text("Looked at where a joint is opened:", "strong")
            looked = ((one.joint, "; ".join(map(inside, one.inspect))) for one in quote.inspected)
            yield Listed(tuple(f"{joint}: {what}" for joint, what in looked))


def in_full(text: str) -> str:
    """As a sentence of its own."""
    text = text.strip()
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '!')) else '.'}" if text else ""


def inside(text: str) -> str:
    """As inside a sentence, but for names and short forms."""
    return text if text[1:2].isupper() or not text[:1].isupper() else f"{text[:1].lower()}{text[1:]}"
