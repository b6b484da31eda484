"""A document as blocks, the same for PDF, page, text and spreadsheet: what it says, not how it is set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date
from decimal import Decimal
from typing import Literal, TypeAlias

from compat.record import record
from compat.shop.money import Money

__all__ = [
    "Block",
    "Cell",
    "Column",
    "Document",
    "Entries",
    "Heading",
    "Listed",
    "Picture",
    "Row",
    "Signatures",
    "Table",
    "Text",
    "Together",
    "Value",
]

Value: TypeAlias = str | int | Decimal | Money | date | None
"""What a cell holds. A number stays a number until a format writes it, with all its digits and no more: whoever
makes the document rounds. None is left empty; among entries it is a line for a hand to fill."""

Tone = Literal["plain", "strong", "quiet", "caution", "against"]
"""How a paragraph speaks: a caution stands in a box, what speaks against the matter in a heavier one."""

Sort = Literal["text", "code", "number", "money", "percent", "date", "box"]
"""What a column holds. A code is never broken; a percent is the share itself, 0.2 for 20 %; a box is drawn
empty for a hand to fill, or with the value in it."""


@record(slots=True)
class Heading:
    """A heading; level 1 is a part of the document, 2 a group in it."""

    text: str
    level: int = 1


@record(slots=True)
class Text:
    """A paragraph."""

    text: str
    tone: Tone = "plain"


@record(slots=True)
class Listed:
    """Items one below the other; numbered where their order matters."""

    items: Sequence[str]
    numbered: bool = False
    tone: Tone = "plain"


@record(slots=True)
class Entries:
    """Labels with what belongs to them: vehicle, valid until, deposit."""

    entries: Sequence[tuple[str, Value | Cell]]


@record(slots=True)
class Column:
    """A column of a table. `share` is its part of the width, beside the shares of the others."""

    title: str
    sort: Sort = "text"
    share: float = 1.0

    @property
    def right(self) -> bool:
        """Whether what stands in it is set to the right, so that its digits stand below each other."""
        return self.sort in ("number", "money", "percent")


@record(slots=True)
class Cell:
    """A value that formulas of a spreadsheet can name, or that is made by one.

    `formula` is what stands in a spreadsheet behind ``=``; ``{key}`` is the cell of that key. Every other
    format writes the value, and the two are equal.
    """

    value: Value
    key: str = ""
    formula: str = ""


@record(slots=True)
class Row:
    """A row of a table; a `group` row is a heading inside it, a `total` row a sum below it."""

    cells: Sequence[Value | Cell]
    kind: Literal["line", "group", "total"] = "line"
    note: str = ""
    """A line of small print below it."""
    strong: bool = False
    """Whether it stands out; of sums that follow one another the last does, where none says so."""


@record(slots=True)
class Table:
    """Rows under columns. The head is repeated on each page; total rows stay with the last lines."""

    columns: Sequence[Column]
    rows: Sequence[Row]
    name: str = ""
    """What a sheet of a workbook is called by."""


@record(slots=True)
class Picture:
    """A drawing, with what it shows for one who cannot see it."""

    svg: bytes
    shows: str
    share: float = 1.0
    """Part of the width that it takes."""


@record(slots=True)
class Signatures:
    """Lines on which somebody signs, each with what is signed."""

    lines: Sequence[str]


@record(slots=True)
class Together:
    """Blocks that stay on one page."""

    blocks: Sequence[Block]


Block: TypeAlias = Heading | Text | Listed | Entries | Table | Picture | Signatures | Together


@record(slots=True)
class Document:
    """Something that a shop hands out.

    Every format sets title, number, subject, sender, receiver and date at its head by itself; blocks do not
    repeat them.
    """

    title: str
    blocks: Sequence[Block]
    number: str = ""
    subject: str = ""
    """What it is about, in a line below the title."""
    sender: Sequence[str] = ()
    """Name and address of the shop, line by line."""
    receiver: Sequence[str] = ()
    dated: date | None = None
    foot: str = ""
    """What stands at the foot of each page beside its number."""
    across: str = ""
    """A word across each page, as on a draft."""
    paper: Literal["A4", "Letter"] = "A4"
    language: str = "en_GB"
    """Locale of dates and numbers, as the Unicode CLDR names it."""
    words: str = "en"
    """Language of its words (BCP 47), for whoever hears it read."""
    data: Mapping[str, object] = field(default_factory=dict)
    """The same as data, by its published schema, for JSON."""
