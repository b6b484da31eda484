"""The parts of a shop as a workbook to be edited and brought back: a sheet for each position, one of prices.

A hidden sheet holds what was given, so that only what was edited is taken back, and never over an edit made in
the shop meanwhile.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from compat.lists.comparing import shown_value
from compat.shop.models import Part
from compat.shop.shop import Shop
from compat.shop.specs import SpecKind

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["GIVEN", "OWN", "PRICED", "PRICES", "cell_text", "parts_workbook"]

GIVEN = "as given"
PRICES = "prices"
OWN = ("part", "name", "families", "note")
"""Columns of a part beside its specs."""
PRICED = ("part", "supplier", "code", "price", "pack", "lead", "list")
NO_DAY = datetime(2000, 1, 1)
"""The same parts give the same file."""


def parts_workbook(shop: Shop, parts: Iterable[str]) -> bytes:
    """Make a workbook of parts.

    Parameters
    ----------
    shop : Shop
        The shop.
    parts : iterable of str
        Ids of the parts.

    Returns
    -------
    bytes
        An XLSX file; everything in it is text, and nothing a formula. Tables of specs stay in the shop's files.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    by_place: dict[str, list[Part]] = {}
    for name in parts:
        by_place.setdefault(shop.parts[name].fills[0], []).append(shop.parts[name])
    given: list[Sequence[str]] = [("sheet", "row", "column", "says")]
    for place in sorted(by_place):
        rows = list(_rows(shop, place, by_place[place]))
        _sheet(book, place, rows)
        given += _remembered(place, rows, 1)
    prices = [PRICED, *_prices(part for place in sorted(by_place) for part in by_place[place])]
    _sheet(book, PRICES, prices)
    given += _remembered(PRICES, prices, 3)
    _sheet(book, GIVEN, given)
    book[GIVEN].sheet_state = "hidden"
    book.properties.created = book.properties.modified = NO_DAY
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _rows(shop: Shop, place: str, parts: Sequence[Part]) -> Iterator[Sequence[str]]:
    kinds: Mapping[str, SpecKind] = shop.kinds.get(place, {})
    stated = [
        name
        for name, kind in kinds.items()
        if kind.sort != "table" and any(name in shop.specs[part.part] for part in parts)
    ]
    yield (*OWN, *(f"{name} ({kinds[name].unit})" if kinds[name].unit else name for name in stated))
    for part in parts:
        specs = shop.specs[part.part]
        yield (
            part.part,
            part.name,
            ", ".join(part.families),
            part.note,
            *(cell_text(shown_value(specs[name])) if name in specs else "" for name in stated),
        )


def _prices(parts: Iterable[Part]) -> Iterator[Sequence[str]]:
    for part in parts:
        for one in part.sold_by:
            yield (
                part.part,
                one.supplier,
                one.code,
                cell_text(shown_value(one.price)),
                str(one.pack),
                cell_text(shown_value(one.lead)),
                one.list or "",
            )


def cell_text(value: Any) -> str:
    """A value of a file in one cell.

    >>> cell_text(["a", "b"]), cell_text(None)
    ('a, b', '')
    """
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    return "" if value is None else str(value)


def _remembered(sheet: str, rows: Sequence[Sequence[str]], keys: int) -> Iterator[Sequence[str]]:
    head = rows[0]
    for row in rows[1:]:
        key = "|".join(row[:keys])
        yield from ((sheet, key, column, text) for column, text in zip(head[keys:], row[keys:], strict=True))
        yield sheet, key, "", ""


def _sheet(book: Workbook, title: str, rows: Sequence[Sequence[str]]) -> None:
    from openpyxl.styles import Font

    sheet = book.create_sheet(title[:31])
    for number, row in enumerate(rows, 1):
        for at, text in enumerate(row, 1):
            if not text:
                continue
            cell: Any = sheet.cell(number, at)
            cell.value = text
            cell.data_type = "s"  # text, whatever it begins with
            cell.number_format = "@"
            if text[0] in "=+-@":
                cell.quotePrefix = True
            if number == 1:
                cell.font = Font(bold=True)
    sheet.freeze_panes = "B2"
    for at, title_ in enumerate(rows[0], 1):
        width = max([len(title_), *(len(row[at - 1]) for row in rows[1:200])])
        sheet.column_dimensions[sheet.cell(1, at).column_letter].width = min(width + 2, 44)
