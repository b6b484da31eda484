"""A list as it was read: pages of lines of cells, each with its place, before anyone asks what they mean."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from compat.record import record
from compat.shop.entry import nothing
from compat.shop.source import Spot

__all__ = [
    "HEAD_WITHIN",
    "MOST_COLUMNS",
    "MOST_LINES",
    "Cell",
    "Line",
    "Page",
    "SupplierFile",
    "cleaned",
    "formula_like",
]

MOST_LINES = 100_000
MOST_COLUMNS = 400
HEAD_WITHIN = 60
"""Headings stand in one of the first so many rows."""

Sort = Literal["text", "number", "date", "flag", "error", "formula"]


@record(slots=True)
class Cell:
    """What a cell says, and where it stands."""

    text: str
    spot: Spot
    sort: Sort = "text"
    """A number is one to the workbook itself: no sign of decimals has to be made out."""
    across: bool = False
    """Says what a cell to its left says, merged over it: meant for headings, not for what stands below."""


@record(slots=True)
class Line:
    """A row; cells by column, counted from 1, those that say nothing left out."""

    number: int
    cells: Mapping[int, Cell]
    hidden: bool = False


@record
class Page:
    """A sheet, or all of a CSV file."""

    name: str
    spot: Spot
    lines: tuple[Line, ...]
    hidden: bool = False
    hidden_columns: frozenset[int] = frozenset()
    joined: Mapping[int, str] = field(default_factory=nothing)
    """Rows whose merged cells say the same for several rows, with how the sheet names the cells."""


@record
class SupplierFile:
    """A file of a supplier."""

    shown: str
    pages: tuple[Page, ...]
    remarks: tuple[str, ...] = ()
    """What had to be guessed to read it at all."""


_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]+")


def cleaned(text: str) -> str:
    """A text without signs that nobody sees, in one line with single spaces.

    >>> cleaned("  H-beam \\x07 rod \\n")
    'H-beam rod'
    """
    return " ".join(_CONTROL.sub(" ", text).split())


def formula_like(text: str) -> bool:
    """Whether a spreadsheet would take a text for a formula and run it.

    >>> formula_like("=cmd|'/c calc'!A1"), formula_like("+0.25"), formula_like("-"), formula_like("@SUM(1)")
    (True, False, False, True)
    """
    plain = text.lstrip()
    if plain[:1] in ("=", "@", "|"):
        return True
    return plain[:1] in ("+", "-") and any(mark in plain for mark in "(|!=")
