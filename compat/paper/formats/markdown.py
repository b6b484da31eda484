"""Markdown: CommonMark with the tables of its usual extension; what a person wrote is never markup."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from compat.paper.document import (
    Block,
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
)
from compat.paper.formats.keeping import standing_out
from compat.paper.formats.values import bare, shown, shown_day
from compat.paper.visible import visible

__all__ = ["markdown"]

_MARKUP = re.compile(r"[\\`*_\[\]<>|~&$]")
_OPENING = re.compile(r"^(\s*)([#+=-]|\d+(?=[.)]))")
"""What makes a list, a heading or a rule of a line that begins with it."""


def markdown(document: Document) -> str:
    """A document as Markdown.

    Parameters
    ----------
    document : Document
        What is to be written.

    Returns
    -------
    str
        The text, with a line end at its end.
    """
    parts = [f"# {_inline(document.title)}"]
    if document.across:
        parts.append(f"**{_inline(document.across)}**")
    head = [document.number, shown_day(document.dated, document.language)]
    parts.append(", ".join(_inline(part) for part in head if part))
    parts.append(_lines(document.subject))
    parts += [
        "\\\n".join(_lines(line) for line in lines if line.strip())
        for lines in (document.sender, document.receiver)
    ]
    parts += _blocks(document.blocks, document.language)
    if document.foot:
        parts += ["---", _lines(document.foot)]
    return "\n\n".join(part for part in parts if part.strip()) + "\n"


def _blocks(blocks: Sequence[Block], language: str) -> Iterator[str]:
    for block in blocks:
        match block:
            case Heading(text, level):
                yield f"{'#' * (level + 1)} {_inline(text)}"
            case Text(text, tone):
                yield _toned(_lines(text), tone)
            case Listed(items, numbered, tone):
                marks = [f"{number}." if numbered else "-" for number in range(1, len(items) + 1)]
                said = "\n".join(
                    f"{mark} {_begun(_inline(item))}" for mark, item in zip(marks, items, strict=True)
                )
                yield _quoted(said) if tone in ("caution", "against") else said
            case Entries(entries):
                rows = [
                    [f"**{_cell(label)}**", _cell(shown(bare(value), "text", language))]
                    for label, value in entries
                ]
                yield "\n".join([_row(["", ""]), _row(["---", "---"]), *map(_row, rows)]) if rows else ""
            case Table():
                yield _table(block, language)
            case Picture(_, shows):
                yield f"*Picture: {_inline(shows)}*"
            case Signatures(lines):
                yield "\n\n".join(f"{'&#95;' * 30}\\\n{_lines(line)}" for line in lines)
            case Together(within):
                yield from _blocks(within, language)


def _toned(said: str, tone: str) -> str:
    if tone == "strong":
        return f"**{said}**" if said else ""
    if tone == "against":
        return _quoted(f"**{said}**")
    return _quoted(said) if tone == "caution" else said


def _quoted(said: str) -> str:
    return "\n".join(f"> {line}" for line in said.split("\n"))


def _table(table: Table, language: str) -> str:
    if not table.columns:
        return ""
    lines = [
        _row([_cell(column.title) for column in table.columns]),
        _row(["---:" if column.right else "---" for column in table.columns]),
    ]
    strong = standing_out(table.rows)
    lines += [_row(_cells(row, table, language, bold)) for row, bold in zip(table.rows, strong, strict=True)]
    name = f"**{_inline(table.name)}**\n\n" if table.name.strip() else ""
    return name + "\n".join(lines)


def _cells(row: Row, table: Table, language: str, strong: bool) -> list[str]:
    cells = [
        _cell(shown(bare(cell), column.sort, language))
        for cell, column in zip(row.cells, table.columns, strict=True)
    ]
    if strong:
        cells = [f"**{cell}**" if cell else "" for cell in cells]
    if row.note:
        place = next((i for i, column in enumerate(table.columns) if column.sort == "text"), 0)
        cells[place] += ("<br>" if cells[place] else "") + f"*{_cell(row.note)}*"
    return cells


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _inline(text: str) -> str:
    return _MARKUP.sub(r"\\\g<0>", visible(" ".join(text.split())))


def _cell(text: str) -> str:
    return "<br>".join(_inline(line) for line in text.strip().splitlines())


def _begun(said: str) -> str:
    return _OPENING.sub(lambda found: f"{found[1]}{_guarded(found[2])}", said)


def _guarded(opening: str) -> str:
    return f"\\{opening}" if not opening.isdigit() else f"{opening}\u2060"


def _lines(text: str) -> str:
    return "\\\n".join(_begun(_inline(line)) for line in text.strip().splitlines())
