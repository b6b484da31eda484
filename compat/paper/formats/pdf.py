"""PDF: a letter of the house, set by typst from `letter.typ`.

What a person wrote reaches typst as data and never as source. Fonts are those that typst carries, embedded in
the file; where a text has a letter that they lack, the fonts of the machine are asked too. The file is tagged
and keeps to PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1). The same document always gives the same bytes.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from compat.paper.document import (
    Block,
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
)
from compat.paper.formats.alike import longest_held
from compat.paper.formats.keeping import kept_together, standing_out
from compat.paper.formats.values import bare, shown, shown_day
from compat.paper.visible import visible
from compat.shop.source import Fault, Spot

__all__ = ["NotShown", "pdf"]

STANDARDS: Final = ["a-2a", "ua-1"]
NO_DAY: Final = date(2000, 1, 1)
"""Stands in the file's own stamp where the document has no date: a clock would make each file another."""
_FORBIDDEN = re.compile("[\ufeff\ufffe\uffff\u00ad]")
"""Marks that show nothing and that PDF/A does not allow."""
_LACKING = re.compile(r"the text `\"(?P<text>.*)\"` could not be displayed", re.DOTALL)
_PRIVATE = re.compile(r"codepoint `\"(?P<text>.*)\"`", re.DOTALL)
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}|\\(.)", re.DOTALL)


class NotShown(Exception):
    """A text has letters that no font at hand shows, or a drawing cannot be read."""

    def __init__(self, messages: Sequence[str]) -> None:
        self.messages = list(messages)
        super().__init__("; ".join(messages))

    def faults(self, path: Path) -> list[Fault]:
        """One fault each, about the file that was to be written."""
        return [Fault(Spot(str(path), 0), message) for message in self.messages]


def pdf(document: Document) -> bytes:
    """A document as PDF.

    Parameters
    ----------
    document : Document
        What is to be set.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    NotShown
        Where no font has a letter that the document holds, or a picture is no SVG.
    """
    import typst

    said, pictures = _Setting(document).all()
    lacking: dict[str, None] = {}
    own_fonts = True
    while True:
        try:
            made = _compiled(said, pictures, document.dated or NO_DAY, own_fonts)
        except typst.TypstError as error:
            found = _lacking(error.message)
            if not found and not lacking:
                raise NotShown([_told(error)]) from None
            if own_fonts:
                own_fonts = False
                continue
            # told all at once: go on without this letter and see whether there are more
            lacking |= dict.fromkeys(found)
            said = said.translate({ord(letter): "?" for letter in found})
            if found and len(lacking) < 20:
                continue
            made = b""
        if lacking:
            raise NotShown([
                f"no font here shows the letter '{letter}' (U+{ord(letter):04X}); write it otherwise, or "
                "install a font that has it"
                for letter in lacking
            ])  # fmt: skip
        return made


def _compiled(said: str, pictures: Mapping[str, bytes], day: date, own_fonts: bool) -> bytes:
    from datetime import UTC, datetime

    import typst

    folder = Path(__file__).parent
    sources = {name: (folder / name).read_bytes() for name in ("common.typ", "table.typ")}
    letter = (folder / "letter.typ").read_bytes()
    files = {"main": letter, **sources, "document.json": said.encode(), **pictures}
    return typst.compile(  # type: ignore[call-overload, no-any-return]  # files by name: not in its stubs
        files,
        format="pdf",
        ignore_system_fonts=own_fonts,
        pdf_standards=STANDARDS,
        timestamp=datetime(day.year, day.month, day.day, tzinfo=UTC),
    )


def _lacking(message: str) -> str:
    """The letters that a message says no font has."""
    found = _LACKING.search(message) or _PRIVATE.search(message)
    if not found:
        return ""
    text = _ESCAPED.sub(lambda part: chr(int(part[1], 16)) if part[1] else part[2], found["text"])
    return "".join(letter for letter in dict.fromkeys(text) if ord(letter) > 0x7F)


def _told(error: Any) -> str:
    return f"this document cannot be set: {' '.join(str(error.message).split())}"


class _Setting:
    """A document as the data that `letter.typ` reads: every value is written, every drawing a file."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.language = document.language
        self.pictures: dict[str, bytes] = {}
        self.alike: dict[str, list[dict[str, Any]]] = {}
        """Tables that have the same columns, wherever they stand."""
        self.level = 1

    def all(self) -> tuple[str, dict[str, bytes]]:
        one = self.document
        words = one.words.replace("_", "-").split("-")
        day = one.dated or NO_DAY
        blocks = [self.block(block) for block in _led_in(one.blocks)]
        said = {
            "title": _clean(one.title) or "Document",
            "number": _clean(one.number),
            "subject": _clean(one.subject),
            "sender": [_clean(line) for line in one.sender if line.strip()],
            "receiver": [_clean(line) for line in one.receiver],
            "dated": shown_day(one.dated, self.language),
            "stamp": [day.year, day.month, day.day],
            "foot": _clean(one.foot),
            "across": _clean(one.across),
            "paper": {"A4": "a4", "Letter": "us-letter"}[one.paper],
            "lang": words[0] if 2 <= len(words[0]) <= 3 else "en",
            "blocks": _leading(blocks),
            "alike": {like: longest_held(tables) for like, tables in self.alike.items()},
        }
        return json.dumps(said, ensure_ascii=False), self.pictures

    def block(self, block: Block) -> dict[str, Any]:
        match block:
            case Heading(text, level):
                # levels of a tagged file may not be skipped
                self.level = min(level + 1, self.level + 1)
                return {
                    "kind": "heading" if text.strip() else "none",
                    "text": _clean(text),
                    "level": self.level,
                }
            case Text(text, tone):
                return {"kind": "text", "text": _clean(text), "tone": tone}
            case Listed(items, numbered, tone):
                said = [_clean(item) for item in items]
                return {"kind": "listed" if said else "none", "items": said, "numbered": numbered, "tone": tone}
            case Entries(entries):
                pairs = [
                    [_clean(label), _clean(shown(bare(value), "text", self.language)), bare(value) is None]
                    for label, value in entries
                ]
                return {"kind": "entries" if pairs else "none", "entries": pairs}
            case Table():
                return self.table(block)
            case Picture(svg, shows, share):
                name = f"picture-{len(self.pictures)}.svg"
                self.pictures[name] = svg
                return {"kind": "picture", "file": name, "shows": _clean(shows) or "Drawing", "share": share}
            case Signatures(lines):
                return {"kind": "signatures" if lines else "none", "lines": [_clean(line) for line in lines]}
            case Together(blocks):
                return {"kind": "together", "blocks": _leading([self.block(one) for one in blocks])}

    def table(self, table: Table) -> dict[str, Any]:
        sorts: list[Sort] = [column.sort for column in table.columns]
        if not sorts:
            return {"kind": "none"}
        like = " ".join(f"{column.sort} {column.share:g}" for column in table.columns)
        said = {
            "kind": "table",
            "columns": [
                {
                    "title": _clean(column.title),
                    "sort": column.sort,
                    "share": max(column.share, 0.05),
                    "align": "right" if column.right else "center" if column.sort == "box" else "left",
                }
                for column in table.columns
            ],
            "rows": [
                self.row(row, sorts, strong)
                for row, strong in zip(table.rows, standing_out(table.rows), strict=True)
            ],
            "like": like,
            "kept": kept_together(table.rows),
        }
        self.alike.setdefault(like, []).append(said)
        return said

    def row(self, row: Row, sorts: Sequence[Sort], strong: bool) -> dict[str, Any]:
        cells = [
            _clean(shown(bare(cell), sort, self.language)) for cell, sort in zip(row.cells, sorts, strict=True)
        ]
        return {"kind": row.kind, "cells": cells, "note": _clean(row.note), "strong": strong}


def _led_in(blocks: Sequence[Block]) -> list[Block]:
    """The blocks, signatures on one page with the words above them."""
    said: list[Block] = []
    for block in blocks:
        if isinstance(block, Signatures):
            above: list[Block] = []
            while said and isinstance(said[-1], Heading | Text | Listed | Entries) and len(above) < 2:
                above.insert(0, said.pop())
            if not above and said and isinstance(last := said[-1], Together):
                above = [*last.blocks]
                said.pop()
            block = Together([*above, block]) if above else block
        said.append(block)
    return said


def _leading(blocks: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The blocks; a caution, and the few words below a heading, stay with the table that follows them."""
    for index, (block, below) in enumerate(pairwise(blocks)):
        if below["kind"] not in ("table", "together"):
            continue
        few = len(block.get("entries", ())) <= 4 and len(block.get("text", "")) < 400
        headed = index > 0 and blocks[index - 1]["kind"] == "heading"
        warns = block.get("tone") == "caution" and sum(map(len, block.get("items", ()))) < 1200
        if few and (warns or (headed and block["kind"] in ("entries", "text"))):
            block["leads"] = True
    return blocks


def _clean(text: str) -> str:
    return visible(_FORBIDDEN.sub("", text.replace("\r\n", "\n").replace("\t", " "))).strip()
