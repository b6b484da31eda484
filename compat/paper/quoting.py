"""A quote as a document: the customer's copy, and the shop's own with cost, supplier and findings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import groupby

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
from compat.paper.formats.values import shown, shown_day
from compat.paper.quoting_own import own_blocks
from compat.paper.quoting_rests import WhatItRestsOn, in_full
from compat.paper.rounding import rounded_formula
from compat.trade.plain import as_plain
from compat.trade.quoted import Line, Quote
from compat.trade.snapshot import customers_copy
from compat.words.once import told_once
from compat.words.wording import listed, plain

__all__ = ["quote_document"]

DRAFT = "DRAFT"
SCHEME = "in the price"
ADVICE = (
    "This quote rests on stated figures. The makers' instructions and local law come first; a named, qualified "
    "person signs the measured sheet before the engine runs."
)


def quote_document(quote: Quote, *, own: bool = False) -> Document:
    """A quote as a document.

    Parameters
    ----------
    quote : Quote
        The quote; one without a number is marked as a draft on every page.
    own : bool
        Whether it is the shop's own copy.

    Returns
    -------
    Document
        What any format writes.
    """
    data = as_plain(quote)
    paper = quote.paper
    blocks = [*_Copy(quote).blocks()]
    if own and quote.own is not None:
        blocks += own_blocks(quote, quote.own)
    return Document(
        title="Quote, the shop's own copy" if own else "Quote",
        blocks=blocks,
        number=quote.number or "no number",
        subject=quote.name,
        sender=paper.address or (paper.name,),
        receiver=(quote.customer,) if quote.customer else (),
        dated=quote.date,
        foot=f"{paper.name} · {quote.number or 'draft'}",
        across="" if quote.number else DRAFT,
        paper=paper.paper,
        language=paper.language,
        data=data if own else customers_copy(data),
    )


class _Copy(WhatItRestsOn):
    """What the customer reads."""

    def blocks(self) -> Iterator[Block]:
        yield self.head()
        yield from self.face()
        yield Heading("Parts and work")
        yield self.table()
        yield from self.below_the_table()
        yield from self.doubts()
        yield from self.options()
        yield from self.stays()
        yield from self.lead()
        yield from self.not_in_it()
        yield from self.cautions()
        yield from self.judged_by()
        if self.quote.terms:
            yield Heading("Terms")
            yield Listed(self.quote.terms, numbered=True)
        yield Text(ADVICE, "quiet")
        if self.quote.paper.signature:
            yield Together((Heading("Agreed", 2), Signatures(self.quote.paper.signature)))

    def head(self) -> Entries:
        quote = self.quote
        entries: list[tuple[str, str | Cell]] = [
            ("Engine", quote.engine),
            ("Goal", _goal(quote.goal)),
            (
                "Duty and fuel",
                ", ".join(part for part in (quote.goal.get("duty", "street"), quote.fuel) if part),
            ),
            (f"Total{self.with_tax()}", Cell(self.money(quote.total), "", "{total}")),
        ]
        if quote.deposit:
            share = shown(quote.deposit_share, "percent", quote.paper.language)
            formula = rounded_formula(f"{{total}}*{quote.deposit_share}", None, quote.rounding)
            paid = Cell(self.money(quote.deposit), "deposit", formula)
            entries.append((f"Deposit with the order, {share}", paid))
        entries += [
            ("Valid until", shown_day(quote.valid_until, quote.paper.language)),
            ("Ready", _after(quote.lead.days)),
        ]
        if quote.tax_number:
            entries.append((f"{quote.tax_name} number", quote.tax_number))
        return Entries(entries)

    def face(self) -> Iterator[Block]:
        """What must stand on the face of it: what speaks against the build, and what is not known."""
        quote = self.quote
        if quote.against:
            count = len(quote.against)
            yield Together(
                (
                    Text(
                        f"This build does not go together as it stands: {count} finding{'s' * (count != 1)} "
                        "against it. Nothing of it is ordered or done before these are settled.",
                        "against",
                    ),
                    Listed(
                        tuple(
                            f"{one.verdict}: {one.title}. {in_full(one.because)}" for one in quote.against[:3]
                        )
                    ),
                )
            )
            if count > 3:
                rest = quote.against[3:]
                yield Listed(tuple(f"{one.verdict}: {one.title}. {in_full(one.because)}" for one in rest))
        if quote.held_back:
            yield Text("Not in this quote, as it must be settled first:", "strong")
            yield Listed(quote.held_back)
        if unknown := [one.title for one in quote.doubts if one.verdict == "unknown"]:
            yield Text(f"Not proven, as something is not known yet: {listed(unknown)}. See below.", "caution")
        if measured := [one.title for one in quote.doubts if one.verdict == "measure"]:
            yield Text(f"Confirmed only when this has been measured: {listed(measured)}. See below.", "caution")

    # the lines

    def table(self) -> Table:
        quote = self.quote
        columns = (
            Column("What", "text", 5.2),
            Column("Quantity", "number", 1.1),
            Column("Unit", "text", 1.3),
            Column("Unit price", "money", 1.6),
            Column(quote.tax_name or "Tax", "percent", 1.0),
            Column("Amount", "money", 1.8),
        )
        rows: list[Row] = []
        number = 0
        for system, lines in groupby(quote.lines, key=lambda line: line.system):
            title = system.replace("-", " ").capitalize() if system else "Carriage"
            rows.append(Row((title, None, None, None, None, None), "group"))
            for line in lines:
                number += 1
                rows.append(self.row(line, number))
        return Table(columns, (*rows, *self.totals(number)), "Lines")

    def row(self, line: Line, number: int) -> Row:
        q, u, t, a = (f"{key}{number}" for key in "quta")
        amount = rounded_formula(f"{{{q}}}*{{{u}}}", line.quantity, self.quote.rounding)
        taxed = SCHEME if line.margin_scheme else line.tax_rate
        note = line.note
        if line.margin_scheme:
            note = f"{note}{'; ' * bool(note)}second-hand goods, margin scheme"
        return Row(
            (
                line.what,
                Cell(line.quantity, q),
                line.unit,
                Cell(self.money(line.unit_price), u),
                Cell(taxed, t),
                Cell(self.money(line.amount), a, amount),
            ),
            note=note,
        )

    def totals(self, count: int) -> Iterator[Row]:
        quote = self.quote
        if not count:
            yield Row(("Sum", None, None, None, None, Cell(self.money(quote.net), "net")), "total")
        else:
            summed = Cell(self.money(quote.net), "net", f"SUM({{a1}}:{{a{count}}})")
            yield Row(("Sum", None, None, None, None, summed), "total")
        for number, one in enumerate(quote.taxes, 1):
            base = f"SUMIF({{t1}}:{{t{count}}},{{r{number}}},{{a1}}:{{a{count}}})"
            tax = rounded_formula(f"{{b{number}}}*{{r{number}}}", None, quote.rounding)
            yield Row(
                (
                    f"{quote.tax_name} on",
                    None,
                    None,
                    Cell(self.money(one.base), f"b{number}", base),
                    Cell(one.rate, f"r{number}"),
                    Cell(self.money(one.tax), f"v{number}", tax),
                ),
                "total",
            )
        added = "+".join(["{net}", *(f"{{v{number}}}" for number in range(1, len(quote.taxes) + 1))])
        total = Cell(self.money(quote.total), "total", added)
        yield Row(("Total", None, None, None, None, total), "total", strong=True)

    def below_the_table(self) -> Iterator[Block]:
        quote = self.quote
        said = []
        if not quote.lines:
            said.append("Nothing is bought and no work is done.")
        if any(line.unit.startswith("pack") for line in quote.lines):
            said.append("Packs are sold whole; what is left over goes with the engine.")
        if any(line.margin_scheme for line in quote.lines):
            name = quote.tax_name
            said.append(
                f"Second-hand goods are sold under the margin scheme: {name} stands inside their price, is not "
                "shown and cannot be reclaimed."
            )
        if not quote.tax_name:
            said.append("No tax is asked.")
        if said:
            yield Text(" ".join(said), "quiet")

    def lead(self) -> Iterator[Block]:
        lead = self.quote.lead
        yield Heading("How long it takes")
        yield Text(f"{in_full(_after(lead.days))}{' What decides, one after the other:' if lead.path else ''}")
        if lead.path:
            yield Listed(tuple(f"{step.what}: {_days(step.days)}" for step in lead.path), numbered=True)
        if lead.unknown:
            yield Text(f"Not in that, as nobody states how long it takes: {listed(lead.unknown)}.", "caution")

    def not_in_it(self) -> Iterator[Block]:
        if self.quote.not_included:
            yield Heading("Not included")
            yield Listed(self.quote.not_included)

    def cautions(self) -> Iterator[Block]:
        quote = self.quote
        if not quote.cautions and not quote.standing:
            return
        yield Heading("Cautions")
        if quote.cautions:
            yield Text("Of this build:", "strong")
            yield Listed(told_once((one.title, in_full(one.because)) for one in quote.cautions))
        if quote.standing:
            yield Text("Of every build of its kind:", "strong")
            yield Listed(tuple(map(in_full, quote.standing)))

    def judged_by(self) -> Iterator[Block]:
        if self.quote.judged_by:
            yield Heading("How far it was checked")
            yield Listed(self.quote.judged_by)


def _goal(goal: Mapping[str, str]) -> str:
    """What is aimed at: power and torque each at its speed, then the rest."""
    said = [f"{goal.get('power', '')} at {goal.get('at', '')}"]
    if "torque" in goal:
        said.append(f"{goal['torque']}{f' at {at}' if (at := goal.get('torque_at')) else ''}")
    apart = ("power", "at", "torque", "torque_at", "duty", "fuel")
    said += [f"{plain(key)} {value}" for key, value in goal.items() if key not in apart]
    return ", ".join(said).replace("N*m", "N·m").replace("degC", "°C")


def _days(days: Decimal | int) -> str:
    return f"{days} day{'s' * (days != 1)}"


def _after(days: int) -> str:
    return f"{_days(days)} after order and deposit"
