"""What has changed since a quote was given, as a document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from compat.paper.document import Block, Column, Document, Entries, Heading, Row, Table, Text
from compat.shop.money import Money
from compat.trade.against import Altered, Changes
from compat.trade.plain import as_plain

__all__ = ["changes_document"]


def changes_document(found: Changes, now: Mapping[str, Any], before: Mapping[str, Any]) -> Document:
    """What has changed since a quote was given.

    Parameters
    ----------
    found : Changes
        The changes.
    now, before : mapping
        Both quotes, as data.

    Returns
    -------
    Document
        What any format writes.
    """
    paper = now["paper"]
    blocks: list[Block] = [
        Entries(
            [
                ("Quote", f"{found.number} of {before['date']}, valid until {before['valid_until']}"),
                ("Total then", _money(found.total.was, before["currency"])),
                ("Total now", _money(found.total.is_now, found.currency)),
            ]
        )
    ]
    matters = (
        ("Prices", found.prices),
        ("Parts", found.parts),
        ("Terms, build and work", found.terms),
        ("Verdicts", found.verdicts),
        ("Rules", found.rules),
    )
    for title, changes in matters:
        if changes:
            blocks += [Heading(f"{title} ({len(changes)})"), _table(title, changes)]
    if not found.any:
        blocks.append(Text("Nothing has changed.", "strong"))
    return Document(
        title=f"What has changed since {found.number}",
        blocks=blocks,
        subject=now["name"],
        dated=date.fromisoformat(now["date"]),
        foot=f"{paper['name']} · against {found.number}",
        paper=paper["paper"],
        language=paper["language"],
        data=as_plain(found),
    )


def _money(amount: str | None, currency: str) -> str:
    """A total, which a quote as data has in plain digits."""
    return str(Money(Decimal(amount or 0), currency))


def _table(title: str, changes: Sequence[Altered]) -> Table:
    columns = (Column("What", "text", 2), Column("Then", "text", 2), Column("Now", "text", 2))
    rows = [Row((one.what, one.was or "not there", one.is_now or "not there")) for one in changes]
    return Table(columns, rows, title)
