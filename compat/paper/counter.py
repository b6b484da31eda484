"""What is told at the counter: parts found, parts of a position, builds, kept quotes, where a part stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from compat.paper.document import Block, Column, Document, Heading, Row, Table, Text, Value
from compat.planning.finding import Hit
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.shop.source import Fault
from compat.trade.plain import as_plain
from compat.trade.wares import Ware

if TYPE_CHECKING:
    from compat.planning.finding import Found
    from compat.planning.history import History, Listed
    from compat.trade.filed import Filed

__all__ = [
    "builds_document",
    "found_document",
    "here_text",
    "history_document",
    "parts_document",
    "price_text",
    "quotes_document",
]

NOT_KNOWN = "not known"


def found_document(found: Found, shop: Shop, words: Sequence[str], build: str = "") -> Document:
    """Parts that were found.

    Parameters
    ----------
    found : Found
        What `compat.planning.finding.find` gives.
    shop : Shop
        The shop.
    words : sequence of str
        As they were typed.
    build : str
        Name of the build that they are to go into; empty where there is none.

    Returns
    -------
    Document
        What any format writes.
    """
    meant = found.meant
    blocks: list[Block] = [
        *(Text(f"'{typed}' is read as '{taken}'.", "caution") for typed, taken in meant.slips),
        *(
            Text(f"Nothing in this shop is called '{word}'{hint or '.'}", "caution")
            for word, hint in meant.unknown
        ),
    ]
    if found.hits:
        blocks.append(_table(found.hits, _currency(shop)))
    blocks += [Text(sentence) for sentence in _counted(found, build)]
    blocks += _remarks([hit.ware for hit in found.hits])
    return Document(
        title="Parts found",
        blocks=blocks,
        subject="; ".join(meant.told) or " ".join(words) or "all parts",
        data={
            "read_as": list(meant.told),
            "slips": [{"typed": typed, "taken_for": taken} for typed, taken in meant.slips],
            "unknown": [word for word, _ in meant.unknown],
            "count": found.count,
            "more": found.more,
            "tried": found.tried,
            "currency": _currency(shop),
            "parts": [as_plain(hit) for hit in found.hits],
        },
    )


def _counted(found: Found, build: str) -> Iterator[str]:
    shown = len(found.hits)
    if not found.count:
        yield "No part of this shop is that."
        return
    if build:
        left = found.tried - found.fitting
        why = f": `compat fits {found.meant.position or 'POSITION'} {build}` says why"
        yield (
            f"{found.fitting} of the {found.tried} that were tried go{'es' * (found.fitting == 1)} into {build}"
            + (f", {left} do{'es' * (left == 1)} not{why}." if left else ".")
        )
        if found.count > found.tried:
            many = f"At least {found.count}" if found.more else found.count
            yield f"{many} are made for this family or for any; say more words to try fewer of them."
    elif found.count > shown:
        yield f"The first {shown} of {'at least ' * found.more}{found.count}; --most N tells more."


def parts_document(wares: Sequence[Ware], shop: Shop, position: str) -> Document:
    """All parts of a position, with price, lead time and what is here.

    Parameters
    ----------
    wares : sequence of Ware
        The parts, in order.
    shop : Shop
        The shop.
    position : str
        The position.

    Returns
    -------
    Document
        What any format writes.
    """
    blocks: list[Block] = [Text("The shop has no part that is made for this position.", "strong")]
    if wares:
        blocks = [_table([Hit(one) for one in wares], _currency(shop)), *_remarks(wares)]
    return Document(
        title=f"{shop.positions[position].name}: parts ({len(wares)})",
        blocks=blocks,
        subject=position,
        data={"position": position, "currency": _currency(shop), "parts": as_plain(wares)},
    )


def _currency(shop: Shop) -> str:
    return shop.info.currency if shop.info is not None else ""


def _table(hits: Sequence[Hit], currency: str) -> Table:
    """Parts in lines; on a build with how they go in, in place of who sells them."""
    on_build = any(hit.fit is not None for hit in hits)
    columns = [
        Column("Part", "code", 2.2),
        Column("Name", "text", 2.6),
        Column("Price of one", "text", 1.2),
        *([] if on_build else [Column("From", "text", 1.1)]),
        Column("Days", "number", 0.5),
        *([Column("Goes in", "text", 2), Column("Headroom", "text", 0.7)] if on_build else []),
        *([] if on_build else [Column("Here", "text", 0.7)]),
    ]
    return Table(columns, [Row(tuple(_cells(hit, currency))) for hit in hits], "Parts")


def _cells(hit: Hit, currency: str) -> Iterator[Value]:
    ware, fit = hit.ware, hit.fit
    yield from (ware.part, ware.name, price_text(ware, currency))
    if fit is None:
        yield from (ware.supplier, ware.days, here_text(ware))
        return
    from compat.paper.fitting import says  # with all that checks a build

    told = "; ".join(says(fit))
    yield from (ware.days, f"{fit.way}{f': {told}' if told else ''}")
    yield "" if fit.headroom is None else f"{fit.headroom:.0%}"


def price_text(ware: Ware, currency: str) -> str:
    """The price of one piece; with a star where its list holds no longer."""
    if ware.price is not None:
        price = str(Money(ware.price, currency))
    else:  # what is sold in money that the shop states no rate for is sold
        price = "no rate" if ware.supplier else "not sold"
    return price + " *" * (ware.expired is not None)


def here_text(ware: Ware) -> str:
    """What of it is on the shelf, new and used."""
    here = ((ware.new, ""), (ware.used, " used"))
    return " + ".join(f"{count}{word}" for count, word in here if count)


def _remarks(wares: Sequence[Ware]) -> Iterator[Block]:
    gone = {ware.supplier: ware.expired for ware in wares if ware.expired is not None}
    for supplier, day in gone.items():
        yield Text(f"* Prices of {supplier} held until {day.isoformat()}; ask before you quote.", "caution")
    if any(ware.pack > 1 for ware in wares):
        yield Text("Packs are sold whole; the price of one is its share.", "quiet")


def builds_document(builds: Sequence[Listed], currency: str) -> Document:
    """The shop's builds.

    Parameters
    ----------
    builds : sequence of Listed
        The builds; with verdict and price where they were checked.
    currency : str
        The shop's.

    Returns
    -------
    Document
        What any format writes.
    """
    priced = any(one.side is not None for one in builds)
    columns = [
        Column("Build", "code", 1.6),
        Column("Name", "text", 2),
        Column("Engine", "code", 1.4),
        Column("Goal", "text", 1.4),
        Column("Last quote", "text", 1.8),
    ]
    if priced:
        columns += [
            Column("Verdict", "text", 0.9),
            Column("Today, with tax", "text", 1.2),
            Column("Days", "number", 0.5),
        ]
    rows = []
    for one in builds:
        called = f"{one.name} ({one.customer})" if one.customer else one.name
        quoted = f"{one.quoted.number}, {Money(one.quoted.total, one.quoted.currency)}" if one.quoted else ""
        cells: list[Any] = [one.build, called, one.variant, one.goal, quoted]
        if one.side is not None:
            total = one.side.total
            cells += [
                one.side.verdict,
                NOT_KNOWN if total is None else str(Money(total, currency)),
                one.side.days,
            ]
        rows.append(Row(tuple(cells)))
    blocks: list[Block] = (
        [Table(columns, rows, "Builds")] if rows else [Text("The shop has no build.", "strong")]
    )
    blocks += [
        Text(f"{one.build} has no price: {'; '.join(one.side.unpriced)}.", "caution")
        for one in builds
        if one.side is not None and one.side.unpriced
    ]
    return Document(
        title=f"Builds ({len(builds)})", blocks=blocks, data={"currency": currency, "builds": as_plain(builds)}
    )


def quotes_document(quotes: Sequence[Filed], faults: Sequence[Fault], on: date) -> Document:
    """Kept quotes.

    Parameters
    ----------
    quotes : sequence of Filed
        The quotes, in order.
    faults : sequence of Fault
        What could not be read.
    on : date
        The day, by which some are no longer valid.

    Returns
    -------
    Document
        What any format writes.
    """
    columns = (
        Column("Quote", "code", 1.5),
        Column("Of", "date", 1.1),
        Column("Build", "code", 1.6),
        Column("Name", "text", 2.4),
        Column("Total", "text", 1.3),
        Column("Days", "number", 0.5),
        Column("Valid until", "text", 1.3),
    )
    rows = [
        Row(
            (
                *(one.number, one.on, one.build),
                f"{one.name} ({one.customer})" if one.customer else one.name,
                str(Money(one.total, one.currency)),
                one.days,
                f"{one.valid_until.isoformat()}{', over' if one.valid_until < on else ''}",
            )
        )
        for one in quotes
    ]
    blocks: list[Block] = (
        [Table(columns, rows, "Quotes")] if rows else [Text("No such quote is kept.", "strong")]
    )
    blocks += [Text(str(fault), "caution") for fault in faults]
    data = {"quotes": as_plain(quotes), "faults": [str(fault) for fault in faults]}
    return Document(title=f"Kept quotes ({len(quotes)})", blocks=blocks, data=data)


def history_document(found: History, currency: str) -> Document:
    """Where a part stands.

    Parameters
    ----------
    found : History
        What `compat.planning.history.history` gives.
    currency : str
        The shop's.

    Returns
    -------
    Document
        What any format writes.
    """
    blocks: list[Block] = [_table([Hit(found.ware)], currency), *_remarks([found.ware])]
    if found.builds:
        columns = (
            Column("Build", "code", 1.5),
            Column("Name", "text", 2),
            Column("As", "text", 1.4),
            Column("How", "text", 2),
        )
        rows = [Row((one.build, one.name, one.position, one.how)) for one in found.builds]
        blocks += [
            Heading(f"Builds ({len({one.build for one in found.builds})})"),
            Table(columns, rows, "Builds"),
        ]
    if found.quotes:
        heads = (
            Column("Quote", "code", 1.4), Column("Of", "date", 1), Column("Build", "code", 1.6),
            Column("As", "text", 1.4), Column("Charged", "number", 0.8), Column("Each then", "text", 1.2),
        )  # fmt: skip
        rows = [
            Row(
                (
                    *(one.quote.number, one.quote.on, one.quote.build, ", ".join(one.positions) or "beside"),
                    "stays" if one.quantity is None else one.quantity,
                    "" if one.unit_price is None else str(Money(one.unit_price, one.quote.currency)),
                )
            )
            for one in found.quotes
        ]
        blocks += [Heading(f"Kept quotes ({len(found.quotes)})"), Table(heads, rows, "Quotes")]
    if found.factory:
        blocks += [Heading("Factory part of"), Text(", ".join(found.factory))]
    if not (found.builds or found.quotes or found.factory):
        blocks.append(Text("It stands in no build, no kept quote and no factory variant.", "strong"))
    return Document(
        title=f"{found.ware.name}: where it stands",
        blocks=blocks,
        subject=found.ware.part,
        data=as_plain(found),
    )
