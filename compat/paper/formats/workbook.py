"""XLSX: a sheet with what the document says, and one for each table to work with.

Numbers, money, shares and days are numbers to the spreadsheet, money with the sign that the document's language
has; sums are live formulas, with the document's value behind each for whoever shows the file without reckoning.
What a person wrote is text, whatever it begins with. The same document always gives the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from compat.paper.document import (
    Block,
    Cell,
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Picture,
    Row,
    Signatures,
    Sort,
    Table,
    Text,
    Together,
    Value,
)
from compat.paper.formats.keeping import standing_out
from compat.paper.formats.values import bare, shown, shown_day
from compat.paper.formats.zipped import repacked
from compat.paper.visible import visible
from compat.shop.money import Money

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell.cell import Cell as SheetCell
    from openpyxl.worksheet.worksheet import Worksheet

__all__ = ["workbook"]

NO_DAY: Final = date(2000, 1, 1)
MOST: Final = 32_767
"""Letters that a cell of the format holds."""
WIDEST: Final = {"text": 60, "code": 30, "number": 16, "money": 22, "percent": 12, "date": 16, "box": 14}
_KEY = re.compile(r"\{([^{}]+)\}")
_SPAN = re.compile(r"\{([^{}]+)\}:\{([^{}]+)\}")


def workbook(document: Document) -> bytes:
    """A document as a workbook.

    Parameters
    ----------
    document : Document
        What is to be written.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    ValueError
        When a formula names a cell that the document does not have.
    """
    return _Book(document).bytes()


@dataclass
class _Live:
    """A cell that a formula makes, to be filled when every key has its place."""

    sheet: Worksheet
    cell: SheetCell
    formula: str
    value: Value


@dataclass
class _Book:
    document: Document
    places: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Sheet and address of each key."""
    live: list[_Live] = field(default_factory=list)

    def bytes(self) -> bytes:
        import io

        from openpyxl import Workbook

        book = Workbook()
        front = book.active
        assert front is not None
        front.title = self.sheet_name(book, self.document.title or "Document", front.title)
        self.front(book, front)
        for sheet in book.worksheets:
            self.page(sheet)
        values = {(live.sheet.title, live.cell.coordinate): live.value for live in self.live}
        for live in self.live:
            live.cell.value = f"={self.formula(live)}"
        day = self.document.dated or NO_DAY
        book.properties.title = visible(self.document.title)
        book.properties.creator = visible(next(iter(self.document.sender), ""))
        book.properties.created = book.properties.modified = datetime(day.year, day.month, day.day)
        out = io.BytesIO()
        book.save(out)
        return repacked(
            out.getvalue(), [sheet.title for sheet in book.worksheets], values, book.properties.created
        )

    def sheet_name(self, book: Workbook, wanted: str, own: str = "") -> str:
        """A name that a sheet may have: short, without some signs, and no other's."""
        plain = re.sub(r"[\\/*?:\[\]']", " ", visible(wanted)).strip()[:28].strip() or "Sheet"
        taken = {sheet.title.lower() for sheet in book.worksheets if sheet.title != own}
        names = [plain, *(f"{plain} {number}" for number in range(2, 999))]
        return next(name for name in names if name.lower() not in taken and name.lower() != "history")

    # ---- the first sheet

    def front(self, book: Workbook, sheet: Worksheet) -> None:
        from openpyxl.styles import Font

        one = self.document
        sheet.column_dimensions["A"].width = 34
        sheet.column_dimensions["B"].width = 60
        line = 1
        big, strong = Font(size=16), Font(bold=True)
        heads: list[tuple[str, Any]] = [
            (one.across, strong), *((text, None) for text in one.sender), (one.title, big), (one.subject, None),
            (" · ".join(part for part in (one.number, shown_day(one.dated, one.language)) if part), strong),
            *((text, None) for text in one.receiver),
        ]  # fmt: skip
        for text, font in heads:
            if text.strip():
                self.put(sheet, line, 1, text, font=font)
                line += 1
        for block in _flat(one.blocks):
            line = self.block(book, sheet, block, line + isinstance(block, Heading | Entries | Signatures))
        if one.foot:
            self.put(sheet, line + 1, 1, one.foot)

    def block(self, book: Workbook, sheet: Worksheet, block: Block, line: int) -> int:
        """Write a block from a line on; gives the line after it."""
        from openpyxl.styles import Alignment, Font

        match block:
            case Heading(text, level):
                self.put(sheet, line, 1, text, font=Font(bold=True, size=13 if level == 1 else 11))
            case Text(text, tone):
                strong = tone in ("strong", "caution", "against")
                self.wide(sheet, line, text, Font(bold=strong))
            case Listed(items, numbered, tone):
                for number, item in enumerate(items, 1):
                    self.wide(sheet, line + number - 1, f"{number}. {item}" if numbered else f"– {item}")
                return line + len(items)
            case Entries(entries):
                for number, (label, value) in enumerate(entries):
                    self.put(sheet, line + number, 1, label)
                    made = self.put(sheet, line + number, 2, value)
                    made.alignment = Alignment(horizontal="left", wrap_text=True, vertical="top")
                return line + len(entries)
            case Table():
                name = self.table(book, block) if block.columns else ""
                if name:
                    self.put(sheet, line, 1, f"See the sheet {name}.")
            case Picture(_, shows):
                self.put(sheet, line, 1, f"Picture: {shows}")
            case Signatures(lines):
                for number, text in enumerate(lines):
                    self.put(sheet, line + 2 * number, 1, text)
                    self.put(sheet, line + 2 * number, 2, "_" * 30)
                return line + 2 * len(lines)
            case _:
                return line
        return line + 1

    def wide(self, sheet: Worksheet, line: int, text: str, font: Any = None) -> None:
        """A paragraph over both columns, as many lines high as it takes."""
        from openpyxl.styles import Alignment

        made = self.put(sheet, line, 1, text, font=font)
        sheet.merge_cells(start_row=line, end_row=line, start_column=1, end_column=2)
        made.alignment = Alignment(wrap_text=True, vertical="top")
        lines = sum(1 + len(part) // 88 for part in text.split("\n"))
        sheet.row_dimensions[line].height = min(15.0 * lines, 400)

    # ---- a table to work with

    def table(self, book: Workbook, table: Table) -> str:
        from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
        from openpyxl.utils import get_column_letter

        name = self.sheet_name(book, table.name or "Table")
        sheet = book.create_sheet(name)
        thin, thick = Side(style="thin", color="CFD4D9"), Side(style="medium", color="1B2026")
        noted = any(row.note for row in table.rows)
        columns = [*table.columns, *[Column("Note", "text")] * noted]
        for place, column in enumerate(columns, 1):
            made = self.put(sheet, 1, place, column.title, font=Font(bold=True))
            made.fill = PatternFill("solid", fgColor="F3F4F1")
            made.border = Border(bottom=thick)
            side = "right" if column.right else "center" if column.sort == "box" else "left"
            made.alignment = Alignment(horizontal=side, vertical="bottom", wrap_text=True)
        strong = standing_out(table.rows)
        for line, row in enumerate(table.rows, 2):
            cells = [*row.cells, *[row.note or None] * noted]
            for place, (cell, column) in enumerate(zip(cells, columns, strict=True), 1):
                font = Font(bold=True) if strong[line - 2] else None
                made = self.put(sheet, line, place, cell, column.sort, font)
                top = (
                    thick if row.kind == "total" and table.rows[line - 3].kind != "total" and line > 2 else None
                )
                around = thin if column.sort == "box" and row.kind == "line" else None
                made.border = Border(top=top or around, bottom=thin, left=around, right=around)
                if made.data_type == "s" or bare(cell) is None:
                    made.alignment = Alignment(
                        vertical="top", wrap_text=column.sort == "text" and row.kind != "group"
                    )
                else:
                    made.alignment = Alignment(vertical="top", horizontal="right" if column.right else "left")
        for place in range(len(columns)):
            sheet.column_dimensions[get_column_letter(place + 1)].width = self.width(table.rows, columns, place)
        sheet.freeze_panes = "A2"
        sheet.print_title_rows = "1:1"
        return name

    def width(self, rows: Sequence[Row], columns: Sequence[Column], place: int) -> float:
        """Width of a column in letters, by what stands in it."""
        column = columns[place]
        texts = [column.title] + [
            shown(bare(row.cells[place]), column.sort, self.document.language)
            if place < len(row.cells)
            else row.note
            for row in rows
            if row.kind != "group"
        ]
        longest = max(len(part) for text in texts for part in (text.split("\n") or [""]))
        return float(min(max(longest * 1.1 + 3, 8), WIDEST[column.sort]))

    # ---- one cell

    def put(
        self, sheet: Worksheet, line: int, place: int, cell: Value | Cell, sort: Sort = "text", font: Any = None
    ) -> SheetCell:
        made: SheetCell = sheet.cell(line, place)
        value = bare(cell)
        if isinstance(cell, Cell) and cell.key:
            self.places[cell.key] = (sheet.title, made.coordinate)
        if isinstance(value, str):
            made.value = visible(value.replace("\r\n", "\n"))[:MOST]
            made.data_type = "s"  # a text that begins with = is no formula
            made.style = "Normal"
            if value[:1] in tuple("=+-@"):
                made.quotePrefix = True  # stays text when somebody edits it
        elif value is not None:
            made.value = value.amount if isinstance(value, Money) else value
            made.number_format = _number_format(value, sort, self.document.language)
        if font is not None:
            made.font = font
        if isinstance(cell, Cell) and cell.formula:
            self.live.append(_Live(sheet, made, cell.formula, value))
        return made

    def formula(self, live: _Live) -> str:
        def address(key: str) -> str:
            if key not in self.places:
                raise ValueError(f"the formula '{live.formula}' names a cell that is not there: {key}")
            sheet, place = self.places[key]
            return place if sheet == live.sheet.title else f"'{sheet}'!{place}"

        def span(found: re.Match[str]) -> str:
            first, last = self.places.get(found[1], ("", "")), self.places.get(found[2], (" ", ""))
            if first[0] == last[0]:
                return f"{address(found[1])}:{last[1]}"
            return f"{address(found[1])}:{address(found[2])}"

        return _KEY.sub(lambda found: address(found[1]), _SPAN.sub(span, live.formula))

    def page(self, sheet: Worksheet) -> None:
        """How a sheet is printed."""
        sheet.page_setup.paperSize = 9 if self.document.paper == "A4" else 1
        sheet.page_setup.orientation = "portrait" if sheet.max_column <= 6 else "landscape"
        sheet.page_setup.fitToWidth = 1
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        sheet.oddFooter.left.text = visible(self.document.number).replace("&", "&&")[:80]
        sheet.oddFooter.right.text = "&P / &N"


def _flat(blocks: Sequence[Block]) -> Iterator[Block]:
    for block in blocks:
        if isinstance(block, Together):
            yield from _flat(block.blocks)
        else:
            yield block


def _number_format(value: Value, sort: Sort, language: str) -> str:
    """How a spreadsheet shows a value: with all its digits, and of money the sign where the language has it."""
    if isinstance(value, date):
        return "yyyy-mm-dd"
    if sort == "code":
        return "General"
    if isinstance(value, Money):
        return _money_format(value, language)
    assert isinstance(value, int | Decimal)
    digits = _digits(Decimal(value))
    if sort == "percent":
        digits = _digits((Decimal(value) * 100).normalize())
        return f"0.{'0' * digits}%" if digits else "0%"
    return f"#,##0.{'0' * digits}" if digits else "#,##0"


def _digits(value: Decimal) -> int:
    return max(-int(value.as_tuple().exponent), 0)


def _money_format(value: Money, language: str) -> str:
    from babel import Locale
    from babel.numbers import get_currency_precision, get_currency_symbol

    pattern = Locale.parse(language).currency_formats["standard"].pattern.split(";")[0]
    digits = max(_digits(value.amount), get_currency_precision(value.currency))
    number = f"#,##0.{'0' * digits}" if digits else "#,##0"
    sign = f'"{get_currency_symbol(value.currency, language)}"'
    before, _, after = re.sub(r"[#0.,]+", "|", pattern).partition("|")
    blank = "\u00a0"
    before, after = (part.replace("¤", sign).replace(" ", blank) for part in (before, after))
    return f"{before}{number}{after};-{before}{number}{after}"
