"""What kept quotes come to on another day, as a document."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from compat.paper.document import Block, Column, Document, Heading, Listed, Row, Table, Text
from compat.planning.again import QuotesAgain
from compat.shop.money import Money
from compat.trade.again import Again, LineChange
from compat.trade.plain import as_plain

__all__ = ["again_document", "again_schema"]

FIRST = 6
"""So many lines of a quote are told; data hold them all."""


def again_document(found: QuotesAgain) -> Document:
    """What kept quotes come to on another day.

    Parameters
    ----------
    found : QuotesAgain
        The quotes.

    Returns
    -------
    Document
        What any format writes: those that change, the greatest difference first, and those that can no longer
        be quoted.
    """
    changed = sorted(found.of("changed"), key=lambda one: abs(one.difference or Decimal(0)), reverse=True)
    blocks: list[Block] = [Text(" ".join(_counted(found)))]
    if changed:
        columns = (
            Column("Quote", "code", 1.5),
            Column("Of", "date", 1.1),
            Column("Build", "code", 1.5),
            Column("Then", "text", 1.3),
            Column("Now", "text", 1.3),
            Column("Difference", "text", 1.2),
        )
        rows = [
            Row(
                (
                    *(one.number, one.on, one.build, str(Money(one.was, one.currency))),
                    "" if one.is_now is None else str(Money(one.is_now, one.now_in)),
                    _difference(one),
                ),
                note="; ".join(_lines(one.lines)),
            )
            for one in changed
        ]
        blocks.append(Table(columns, rows, "Changed"))
    if cannot := found.of("cannot"):
        blocks.append(Heading("Can no longer be quoted"))
        blocks.append(
            Listed([f"{one.number} of {one.on}, {one.build}: {'; '.join(one.why)}" for one in cannot])
        )
    blocks += [Text(fault, "caution") for fault in found.faults]
    title = f"Kept quotes at the prices of {found.on}"
    return Document(title=title, blocks=blocks, data=as_plain(found))


def _counted(found: QuotesAgain) -> Iterator[str]:
    span = f" since {found.since}" * (found.since is not None) + f" until {found.until}" * (
        found.until is not None
    )
    count, same = len(found.quotes), len(found.of("same"))
    if not count:
        yield f"No quote is kept{span}."
        return
    yield f"Of {count} quote{'s' * (count != 1)}{span}, {same} come{'s' * (same == 1)} to the same,"
    changed, cannot = len(found.of("changed")), len(found.of("cannot"))
    yield f"{changed} to something else, and {cannot} can no longer be quoted."


def _difference(one: Again) -> str:
    """By how much, and what part of the old total that is."""
    if one.difference is None:
        return "another currency"
    share = f" ({one.difference / one.was:+.2%})" if one.was else ""
    return f"{one.difference:+,}{share}"


def _lines(lines: tuple[LineChange, ...]) -> Iterator[str]:
    def weight(one: LineChange) -> Decimal:
        return -abs((one.is_now or Decimal(0)) - (one.was or Decimal(0)))

    told = sorted(lines, key=weight)
    for one in told[:FIRST]:
        called = f"{one.what} ({one.id})" if one.id else one.what
        was = "not there" if one.was is None else f"{one.was:,}"
        yield f"{called}: {was} to {'nothing' if one.is_now is None else f'{one.is_now:,}'}"
    if len(told) > FIRST:
        yield f"and {len(told) - FIRST} more"


def again_schema() -> dict[str, Any]:
    """The published schema of what `compat quotes --again --json` prints."""
    from pydantic import TypeAdapter

    schema = TypeAdapter(QuotesAgain).json_schema(mode="serialization")
    for inner in (schema, *schema.get("$defs", {}).values()):
        inner |= {"additionalProperties": False, "required": list(inner["properties"])}
    return {
        **schema,
        "title": "Quotes again",
        "description": "What `compat quotes --again --json` prints; money is decimal strings.",
    }
