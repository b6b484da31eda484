"""Plain text: a document on a terminal of any width, or into a file."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

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
    Table,
    Text,
    Together,
    Value,
)
from compat.paper.formats.keeping import standing_out
from compat.paper.formats.values import bare, shown, shown_day
from compat.paper.lines import print_heading, print_indented, wrapped
from compat.paper.screen import Plain, print_line
from compat.paper.visible import visible

if TYPE_CHECKING:
    from compat.paper.screen import Console

__all__ = ["print_document", "text"]

FILE_WIDTH = 100
LEAST = 14
"""Columns that words are folded to at the narrowest; where even that is too wide each row stands by itself."""
STYLES = {"plain": "", "strong": "bold", "quiet": "dim", "caution": "yellow", "against": "bold red"}
MARKS = {"caution": "! ", "against": "!! "}
"""What makes a box of a paragraph where there are no boxes."""


def text(document: Document, width: int = FILE_WIDTH) -> str:
    """A document as plain text of so many columns."""
    out = io.StringIO()
    print_document(Plain(out, width), document)
    return out.getvalue()


def print_document(console: Console, document: Document) -> None:
    """Print a document, folded to the window.

    Parameters
    ----------
    console : Console
        Where to.
    document : Document
        What.
    """
    if document.across:
        print_indented(console, f"*** {document.across} ***", 0, "bold")
    head = [document.title, document.number, shown_day(document.dated, document.language)]
    print_indented(console, ", ".join(part for part in head if part), 0, "bold")
    if document.subject:
        print_indented(console, document.subject, 0)
    for word, lines in (("From", document.sender), ("To", document.receiver)):
        if said := ", ".join(line for line in lines if line.strip()):
            print_indented(console, f"{word}: {said}", 0, "dim")
    _blocks(console, document.blocks, document.language)
    if document.foot:
        console.print()
        print_indented(console, document.foot, 0, "dim")


def _blocks(console: Console, blocks: Sequence[Block], language: str) -> None:
    before: Block | None = None
    for block in blocks:
        match block:
            case Heading(said, level):
                print_heading(console, said)
                if level == 1:
                    print_indented(console, "-" * min(_cells(_line(said)), console.width), 0)
            case Text(said, tone):
                if not isinstance(before, Heading):
                    console.print()
                for line in said.splitlines():
                    print_indented(console, MARKS.get(tone, "") + line, 0, STYLES[tone])
            case Listed(items, numbered, tone):
                for number, item in enumerate(items, 1):
                    mark = f"{number}." if numbered else MARKS.get(tone, "-").strip()
                    hang = " " * (len(mark) + 3)
                    _print(console, wrapped(f"{mark} {item}", console.width, "  ", hang), STYLES[tone])
            case Entries(entries):
                _entries(console, entries, language)
            case Table():
                console.print()
                _table(console, block, language)
            case Picture(_, shows):
                print_indented(console, f"[picture: {shows}]", 1, "dim")
            case Signatures(lines):
                for line in lines:
                    console.print()
                    print_indented(console, "_" * min(40, console.width - 4), 1)
                    print_indented(console, line, 1, "dim")
            case Together(within):
                _blocks(console, within, language)
        before = block


def _entries(console: Console, entries: Sequence[tuple[str, Value | Cell]], language: str) -> None:
    pairs = [
        (_line(label), "_" * 20 if bare(value) is None else _line(shown(bare(value), "text", language)))
        for label, value in entries
    ]
    left = max((_cells(label) for label, _ in pairs), default=0)
    if left > min(30, console.width // 2):
        for label, value in pairs:
            print_indented(console, f"{label}: {value}", 1)
        return
    for label, value in pairs:
        _print(
            console,
            wrapped(value, console.width, f"  {_padded(label, left)}  ", " " * (left + 4)) or [f"  {label}"],
        )


def _table(console: Console, table: Table, language: str) -> None:
    rows = [(row, [_line(cell) for cell in _written(row, table.columns, language)]) for row in table.rows]
    titles = [_line(column.title) for column in table.columns]
    widths = _widths(table.columns, titles, [cells for _, cells in rows], console.width - 2)
    if widths is None:
        _one_by_one(console, titles, rows)
        return
    _print(console, _folded(titles, widths, table.columns), "dim")
    for (row, cells), strong in zip(rows, standing_out(table.rows), strict=True):
        if row.kind == "group":
            print_indented(console, "  ".join(cell for cell in cells if cell), 1, "bold")
        else:
            _print(console, _folded(cells, widths, table.columns), "bold" if strong else "")
        if row.note:
            print_indented(console, _line(row.note), 2, "dim")


def _one_by_one(console: Console, titles: Sequence[str], rows: Sequence[tuple[Row, list[str]]]) -> None:
    """Each row by itself, in a window too narrow for columns."""
    for row, cells in rows:
        style = "" if row.kind == "line" else "bold"
        filled = [(title, cell) for title, cell in zip(titles, cells, strict=True) if cell]
        # a number alone is no heading
        head = 2 if filled and len(filled[0][1]) < 5 else 1
        print_indented(console, "  ".join(cell for _, cell in filled[:head]), 1, style)
        if rest := "; ".join(f"{title}: {cell}" if title else cell for title, cell in filled[head:]):
            print_indented(console, rest, 2, style)
        if row.note:
            print_indented(console, _line(row.note), 2, "dim")


def _written(row: Row, columns: Sequence[Column], language: str) -> Iterator[str]:
    for cell, column in zip(row.cells, columns, strict=True):
        said = shown(bare(cell), column.sort, language)
        yield f"[{said or '______'}]" if column.sort == "box" and row.kind == "line" else said


def _widths(
    columns: Sequence[Column], titles: Sequence[str], rows: Sequence[Sequence[str]], room: int
) -> list[int] | None:
    """The width of each column; None where the window is too narrow for them.

    Words and titles are folded, the widest first; figures are not.
    """
    widths = [max(map(_cells, texts)) for texts in zip(titles, *rows, strict=True)]
    least = [
        LEAST
        if column.sort == "text"
        else max([*map(_cells, title.split()), *(_cells(row[place]) for row in rows)], default=0)
        for place, (column, title) in enumerate(zip(columns, titles, strict=True))
    ]
    for _ in range(sum(widths) + 2 * (len(widths) - 1) - room):
        open_ = [place for place in range(len(widths)) if widths[place] > least[place]]
        if not open_:
            return None
        widths[max(open_, key=lambda place: widths[place])] -= 1
    return widths


def _folded(cells: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> list[str]:
    """The lines of a row, figures to the right."""
    from itertools import zip_longest

    folded = [_fold(cell, width) for cell, width in zip(cells, widths, strict=True)]
    lines = []
    for parts in zip_longest(*folded, fillvalue=""):
        said = [
            _padded(part, width, column.right)
            for part, width, column in zip(parts, widths, columns, strict=True)
        ]
        lines.append(("  " + "  ".join(said)).rstrip())
    return lines


def _fold(said: str, width: int) -> list[str]:
    from textwrap import TextWrapper

    if _cells(said) <= width:
        return [said]
    narrow = max(width // 2, 1) if _cells(said) > len(said) else width  # letters of two columns
    return TextWrapper(narrow, break_on_hyphens=False).wrap(said)


def _line(said: str) -> str:
    return visible(" ".join(said.split("\n")).strip()) if "\n" in said else visible(said.strip())


def _padded(said: str, width: int, right: bool = False) -> str:
    blanks = " " * (width - _cells(said))
    return blanks + said if right else said + blanks


def _cells(said: str) -> int:
    if said.isascii():
        return len(said)
    from rich.cells import cell_len

    return cell_len(said)


def _print(console: Console, lines: Sequence[str], style: str = "") -> None:
    for line in lines:
        print_line(console, (line, style))
