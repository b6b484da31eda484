"""HTML: one file that stands by itself, for window and printer, without a script and with nothing fetched."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

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
from compat.paper.visible import visible

__all__ = ["body", "page"]

POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a browser may load for the page: nothing but its own style and drawings, whatever stands in it."""


def page(document: Document) -> str:
    """A document as an HTML page.

    Parameters
    ----------
    document : Document
        What is to be written.

    Returns
    -------
    str
        The page, with a line end at its end.
    """
    style = Path(__file__).with_name("page.css").read_text(encoding="utf-8")
    title = " ".join(part for part in (document.title, document.number) if part)
    language = document.words.replace("_", "-")
    parts = [
        "<!doctype html>",
        f'<html lang="{_text(language)}">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_text(POLICY)}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_text(title)}</title>",
        f"<style>\n{style}@page {{ size: {document.paper} }}\n</style>",
        "</head>",
        "<body>",
        "<header>",
        *_head(document),
        "</header>",
        "<main>",
        *_blocks(document.blocks, document.language),
        "</main>",
    ]
    if document.foot:
        parts.append(f"<footer>{_text(document.foot)}</footer>")
    return "\n".join([*parts, "</body>", "</html>", ""])


def body(document: Document, level: int = 2) -> str:
    """A document as it is set into another page: without a style of its own, in one element `article`.

    Parameters
    ----------
    document : Document
        What is to be shown.
    level : int
        Level of the heading that its title is.

    Returns
    -------
    str
        HTML, in which nothing of the document is markup. Its classes are those of `page`.
    """
    language = _text(document.words.replace("_", "-"))
    parts = [
        f'<article class="sheet" lang="{language}">',
        '<div class="stationery">',
        *_head(document, level),
        "</div>",
        *_blocks(document.blocks, document.language, level),
    ]
    if document.foot:
        parts.append(f'<p class="foot">{_text(document.foot)}</p>')
    return "\n".join([*parts, "</article>", ""])


def _head(document: Document, level: int = 1) -> Iterator[str]:
    if document.across:
        yield f'<p class="across">{_text(document.across)}</p>'
    for name, lines in (("sender", document.sender), ("receiver", document.receiver)):
        if said := "<br>".join(_text(line) for line in lines if line.strip()):
            yield f'<address class="{name}">{said}</address>'
    yield f"<h{level}>{_text(document.title)}</h{level}>"
    if document.subject:
        yield f'<p class="subject">{_text(document.subject)}</p>'
    day = shown_day(document.dated, document.language)
    stamped = f'<time datetime="{document.dated}">{_text(day)}</time>' if document.dated else ""
    number = f"<strong>{_text(document.number)}</strong>" if document.number else ""
    if number or stamped:
        yield f'<p class="stamp">{" · ".join(part for part in (number, stamped) if part)}</p>'


class _Regions:
    """Names of the regions that tables stand in, each said once: one without a name has that of its heading."""

    def __init__(self) -> None:
        self.heading = "Table"
        self._said: Counter[str] = Counter()

    def name(self, own: str) -> str:
        base = own.strip() or self.heading
        self._said[base] += 1
        return f"{base} {self._said[base]}" if self._said[base] > 1 else base


def _blocks(
    blocks: Sequence[Block], language: str, above: int = 1, regions: _Regions | None = None
) -> Iterator[str]:
    """Blocks below a heading of the level `above`."""
    regions = regions or _Regions()
    for block in blocks:
        match block:
            case Heading(text, level):
                regions.heading = text.strip() or regions.heading
                yield f"<h{level + above}>{_text(text)}</h{level + above}>"
            case Text(text, tone):
                yield f'<p class="{tone}">{_text(text)}</p>'
            case Listed(items, numbered, tone):
                name = "ol" if numbered else "ul"
                inner = "".join(f"<li>{_text(item)}</li>" for item in items)
                yield f'<{name} class="{tone}">{inner}</{name}>'
            case Entries(entries):
                inner = "".join(
                    f"<div><dt>{_text(label)}</dt><dd>{_entry(value, language)}</dd></div>"
                    for label, value in entries
                )
                yield f"<dl>{inner}</dl>" if inner else ""
            case Table():
                yield from _table(block, language, regions.name(block.name))
            case Picture(svg, shows, share):
                data = base64.b64encode(svg).decode()
                yield (
                    f'<img alt="{_text(shows)}" class="tenths-{round(10 * min(max(share, 0.1), 1))}" '
                    f'src="data:image/svg+xml;base64,{data}">'
                )
            case Signatures(lines):
                inner = "".join(f"<p>{_text(line)}</p>" for line in lines)
                yield f'<div class="signatures">{inner}</div>'
            case Together(within):
                yield '<section class="together">'
                yield from _blocks(within, language, above, regions)
                yield "</section>"


def _entry(value: Value | Cell, language: str) -> str:
    said = bare(value)
    return '<span class="blank"></span>' if said is None else _text(shown(said, "text", language))


def _table(table: Table, language: str, region: str) -> Iterator[str]:
    if not table.columns:
        return
    yield f'<div class="wide" role="region" aria-label="{_text(region)}" tabindex="0">'
    yield "<table>"
    if table.name.strip():
        yield f"<caption>{_text(table.name)}</caption>"
    heads = "".join(_head_cell(column) for column in table.columns)
    yield f"<thead><tr>{heads}</tr></thead>"
    yield "<tbody>"
    for number, (row, strong) in enumerate(zip(table.rows, standing_out(table.rows), strict=True)):
        if row.kind == "group" and number:
            yield "</tbody><tbody>"
        yield _row(row, strong, table.columns, language)
    yield "</tbody></table></div>"


def _head_cell(column: Column) -> str:
    title = _text(column.title)
    return (
        f'<th scope="col" class="{column.sort}">{title}</th>' if title else f'<td class="{column.sort}"></td>'
    )


def _row(row: Row, strong: bool, columns: Sequence[Column], language: str) -> str:
    cells = [
        _text(shown(bare(cell), column.sort, language)) for cell, column in zip(row.cells, columns, strict=True)
    ]
    filled = [cell for cell in cells if cell]
    note = f"<small>{_text(row.note)}</small>" if row.note else ""
    if row.kind == "group" and len(filled) <= 1:
        inner = f'<th scope="rowgroup" colspan="{len(columns)}">{"".join(filled)}{note}</th>'
        return f'<tr class="group">{inner}</tr>'
    label = next((place for place, cell in enumerate(cells) if cell), 0) if row.kind != "line" else -1
    noted = next((place for place, column in enumerate(columns) if column.sort == "text"), 0)
    inner = ""
    for place, (cell, column) in enumerate(zip(cells, columns, strict=True)):
        said = f"<span>{cell}</span>" if column.sort == "box" and row.kind == "line" else cell
        said += note if place == noted else ""
        tag = 'th scope="row"' if place == label else "td"
        inner += f'<{tag} class="{column.sort}">{said}</{tag[:2]}>'
    return f'<tr class="{row.kind}{" strong" * strong}">{inner}</tr>'


def _text(text: str) -> str:
    return escape(visible(text.replace("\r\n", "\n")).strip()).replace("\n", "<br>")
