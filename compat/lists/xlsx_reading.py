"""A workbook as suppliers send it: values, with what is hidden, merged or made by a formula marked as such."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from datetime import date, datetime, time
from types import MappingProxyType
from typing import Any

from compat.lists.grid import MOST_COLUMNS, MOST_LINES, Cell, Line, Page, Sort, SupplierFile, cleaned
from compat.shop.measured_files import column_letters, sane_workbook
from compat.shop.source import Fault, Faults, Spot

__all__ = ["read_workbook"]

MOST_JOINED = 20_000
"""Cells that merged cells of a sheet stand for, all together."""


def read_workbook(raw: bytes, shown: str) -> SupplierFile:
    """Read a workbook; no formula is worked out, and no link followed.

    Parameters
    ----------
    raw : bytes
        The file.
    shown : str
        How messages name it.

    Returns
    -------
    SupplierFile
        A page for each sheet of cells. A formula counts by the number that was saved as its last result.

    Raises
    ------
    Faults
        When it is no workbook of sane size.
    """
    faults: list[Fault] = []
    if not sane_workbook(raw, shown, faults):
        raise Faults(faults)
    from openpyxl import load_workbook

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and the like, which nobody reads here
            book = load_workbook(io.BytesIO(raw), keep_links=False)
            results = None
            pages = []
            for sheet in book.worksheets:
                if results is None and _has_formula(sheet):
                    results = load_workbook(io.BytesIO(raw), data_only=True, keep_links=False)
                pages.append(_page(sheet, None if results is None else results[sheet.title], shown))
    except Faults:
        raise
    except Exception as error:
        # the library raises whatever the file trips it over
        why = " ".join(str(error).split())[:120] or type(error).__name__
        raise Faults([Fault(Spot(shown), f"is no workbook that can be read: {why}")]) from None
    return SupplierFile(shown, tuple(pages))


def _cells(sheet: Any) -> Iterator[Any]:
    """Cells that say something: asked row by row, a sheet would make all that lie between them."""
    return (cell for cell in sheet._cells.values() if cell.value is not None)


def _has_formula(sheet: Any) -> bool:
    return any(cell.data_type == "f" for cell in _cells(sheet))


def _page(sheet: Any, results: Any, shown: str) -> Page:
    title = sheet.title
    rows: dict[int, dict[int, Cell]] = {}
    for cell in _cells(sheet):
        spot = _spot(shown, title, cell.column, cell.row)
        if cell.row > MOST_LINES or cell.column > MOST_COLUMNS:
            most = f"the most is {MOST_LINES} rows and {MOST_COLUMNS} columns"
            raise Faults([Fault(spot, f"stands far out; {most}")])
        result = results[cell.coordinate].value if results is not None and cell.data_type == "f" else None
        text, sort = _said(cell, result)
        if text:
            rows.setdefault(cell.row, {})[cell.column] = Cell(text, spot, sort)
    joined = _spread(sheet, rows, shown)
    hidden = {number for number, row in sheet.row_dimensions.items() if row.hidden or row.height == 0}
    lines = tuple(
        Line(number, MappingProxyType(dict(sorted(cells.items()))), number in hidden)
        for number, cells in sorted(rows.items())
    )
    return Page(
        title,
        Spot(f"{shown}:{title}", 0),
        lines,
        sheet.sheet_state != "visible",
        frozenset(_hidden_columns(sheet)),
        joined,
    )


def _spot(shown: str, title: str, column: int, row: int) -> Spot:
    return Spot(f"{shown}:{title}!{column_letters(column)}{row}", 0)


def _hidden_columns(sheet: Any) -> Iterator[int]:
    for found in sheet.column_dimensions.values():
        if found.hidden or found.width == 0:
            yield from range(found.min or 0, min(found.max or 0, MOST_COLUMNS) + 1)


def _spread(sheet: Any, rows: dict[int, dict[int, Cell]], shown: str) -> dict[int, str]:
    """Merged cells say the same in each; gives the rows that say so of others."""
    told: dict[int, str] = {}
    left = MOST_JOINED
    for area in sheet.merged_cells.ranges:
        first = rows.get(area.min_row, {}).get(area.min_col)
        if first is None:
            continue
        left -= (area.max_row - area.min_row + 1) * (area.max_col - area.min_col + 1)
        if left < 0:
            raise Faults([Fault(first.spot, f"merges more than {MOST_JOINED} cells on this sheet")])
        for row in range(area.min_row, area.max_row + 1):
            if row > area.min_row:
                told[row] = area.coord
            for column in range(area.min_col, area.max_col + 1):
                if (row, column) != (area.min_row, area.min_col):
                    spot = _spot(shown, sheet.title, column, row)
                    across = column > area.min_col
                    rows.setdefault(row, {})[column] = Cell(first.text, spot, first.sort, across)
    return told


def _said(cell: Any, result: Any) -> tuple[str, Sort]:
    value = cell.value
    if cell.data_type == "e":
        return str(value), "error"
    if cell.data_type == "f":
        # of another's formula only a number is taken, as it was last saved
        if isinstance(result, int | float) and not isinstance(result, bool):
            return _number(result, ""), "number"
        return cleaned(str(getattr(value, "text", value)))[:200], "formula"
    if isinstance(value, bool):
        return ("yes" if value else "no"), "flag"
    if isinstance(value, datetime | date | time):
        day = value.date() if isinstance(value, datetime) else value
        return day.isoformat(), "date"
    if isinstance(value, int | float):
        return _number(value, cell.number_format or ""), "number"
    return cleaned(str(value)), "text"


def _number(value: float, shown_as: str) -> str:
    """As a spreadsheet shows it: no more digits than somebody typed, with the noughts that a code begins with.

    >>> _number(0.1 + 0.2, "General"), _number(42, "00000"), _number(12.0, "0.00")
    ('0.3', '00042', '12')
    """
    text = f"{value:.12g}"
    if "e" in text:
        text = f"{value:.12f}".rstrip("0").rstrip(".") if abs(value) < 1 else f"{value:.0f}"
    if re.fullmatch(r"0{2,}", shown_as) and text.isdigit():
        text = text.zfill(len(shown_as))
    return text
