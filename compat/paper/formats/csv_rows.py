"""CSV by RFC 4180 in UTF-8, for a program to read: no byte order mark, bare digits with a point, ISO 8601 days.

Money loses its currency to the title of its column, where all of the column is in one currency. A group's
heading becomes the first column of its rows. A text that a spreadsheet would take for a formula (it begins with
one of ``= + - @``, a tab or a line end) gets an apostrophe before it, which to spreadsheets says "text";
numbers are written by us and stay bare. Several tables stand one after the other, each after its name, with an
empty line between them; a document without any gives its entries.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import TypeVar

from compat.paper.document import Block, Cell, Document, Entries, Table, Together, Value
from compat.paper.formats.values import bare, plain
from compat.paper.visible import visible
from compat.shop.money import Money

__all__ = ["csv_rows"]

Kind = TypeVar("Kind", Table, Entries)


def csv_rows(document: Document) -> str:
    """The tables of a document as CSV.

    Parameters
    ----------
    document : Document
        What is to be written.

    Returns
    -------
    str
        The text; lines end with CR LF.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    tables = [table for table in _found(document.blocks, Table) if table.columns]
    for number, table in enumerate(tables):
        if len(tables) > 1:
            if number:
                writer.writerow([])
            writer.writerow([_text(table.name or f"Table {number + 1}")])
        writer.writerows(_rows(table))
    if not tables:
        for one in _found(document.blocks, Entries):
            writer.writerows([_text(label), _written(value, "")] for label, value in one.entries)
    return out.getvalue()


def _found(blocks: Sequence[Block], kind: type[Kind]) -> Iterator[Kind]:
    for block in blocks:
        if isinstance(block, kind):
            yield block
        elif isinstance(block, Together):
            yield from _found(block.blocks, kind)


def _rows(table: Table) -> Iterator[list[str]]:
    currencies = [_currency(index, table) for index in range(len(table.columns))]
    grouped = any(row.kind == "group" for row in table.rows)
    noted = any(row.note for row in table.rows)
    titles = [
        _text(f"{column.title} ({currency})" if currency else column.title)
        for column, currency in zip(table.columns, currencies, strict=True)
    ]
    yield [*["Group"] * grouped, *titles, *["Note"] * noted]
    group = ""
    for row in table.rows:
        cells = [_written(cell, currency) for cell, currency in zip(row.cells, currencies, strict=True)]
        if row.kind == "group":
            group = ", ".join(cell for cell in cells if cell)
            if not row.note and sum(bool(cell) for cell in cells) <= 1:
                continue
        if row.kind == "total":
            group = ""
        yield [*[group] * grouped, *cells, *[_text(row.note)] * noted]


def _currency(index: int, table: Table) -> str:
    """The one currency of a column; empty where there is none, or more than one."""
    found = {value.currency for row in table.rows if isinstance(value := bare(row.cells[index]), Money)}
    return found.pop() if len(found) == 1 else ""


def _written(cell: Value | Cell, currency: str) -> str:
    value = bare(cell)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Money) and not currency:
        return f"{plain(value)} {value.currency}"
    return plain(value)


def _text(text: str) -> str:
    text = visible(text.replace("\r\n", "\n"))
    return f"'{text}" if text.lstrip(" ")[:1] in tuple("=+-@\t\n") and text.strip() else text
