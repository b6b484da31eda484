"""Files of measured values: YAML, CSV, or a workbook that was saved from the bench sheet.

All three give the same rows (`compat.shop.readings`). A table has a head row with the columns named there;
rows above it and rows without a value are passed over. Sizes are held before anything is read.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from compat.shop.builds import ReadyBuild
from compat.shop.measuring import typed
from compat.shop.pieces import with_spreads
from compat.shop.readings import COLUMNS, Row, split_rows
from compat.shop.source import Fault, Faults, Spot, nearest, read_bytes, tree_of

__all__ = ["column_letters", "read_measured", "sane_workbook", "with_measured"]

MOST_UNPACKED = 20_000_000
MOST_MEMBERS = 300
MOST_ROWS = 5_000
MOST_COLUMNS = 60
HEAD_WITHIN = 60
"""The head row stands in one of the first so many rows."""
SHEET = "measured"
ENDINGS = (".yaml", ".yml", ".csv", ".xlsx")
_NEEDED = ("what", "value")

Cells = Sequence[tuple[str, Spot]]


def with_measured(ready: ReadyBuild, sources: Sequence[str | Path | Mapping[str, Any]]) -> ReadyBuild:
    """A build with what was measured on it, from files or as a build's own `measured` would hold it.

    Parameters
    ----------
    ready : ReadyBuild
        The build; what it states as measured itself stays.
    sources : sequence
        Files, or mappings of what was measured.

    Returns
    -------
    ReadyBuild
        The same build, measured.

    Raises
    ------
    Faults
        With everything wrong in any of the sources, and what is given twice.
    """
    faults: list[Fault] = []
    rows: list[Row] = []
    plain: dict[str, tuple[Any, Spot]] = {}
    for source in sources:
        if isinstance(source, Mapping):
            there = Spot(f"build {ready.build.build}: measured", 0)
            found, single = split_rows(source, partial(_spot_in, there), [], faults)
        else:
            try:
                found, single = read_measured(Path(source), faults)
            except Faults as unread:
                faults += unread.faults
                continue
        rows += found
        for name, (raw, spot) in single.items():
            if name in plain:
                faults.append(Fault(spot, f"'{name}' is given twice; first at {plain[name][1]}"))
            plain[name] = raw, spot
    measured = typed(ready.shop, ready.build, rows, plain, faults)
    for key, spec in measured.items():
        if key in ready.measured:
            told = f"'{'.'.join(key)}' is given twice; the build states it at {ready.measured[key].spot}"
            faults.append(Fault(spec.spot, told))
    if faults:
        raise Faults(faults)
    every = with_spreads(ready.shop.kinds, {**ready.measured, **measured})
    return replace(ready, measured=MappingProxyType(every))


def _spot_in(whole: Spot, path: Sequence[str | int]) -> Spot:
    return Spot(".".join([whole.file, *map(str, path)]), 0)


def read_measured(path: Path, faults: list[Fault]) -> tuple[list[Row], dict[str, tuple[Any, Spot]]]:
    """Read a file of measured values.

    Parameters
    ----------
    path : Path
        A file whose ending says what it is: ``.yaml``, ``.csv`` or ``.xlsx``.
    faults : list of Fault
        Takes everything wrong, by line and column, or by sheet and cell.

    Returns
    -------
    rows, plain
        Readings with the uncertainty of their gauge; and of a YAML file what it states as a build does, one
        value for all, with its place.

    Raises
    ------
    Faults
        When the file cannot be read at all.
    """
    shown, ending = str(path), path.suffix.lower()
    if ending not in ENDINGS:
        hint = nearest(ending, ENDINGS) or f"; it ends in {', '.join(ENDINGS)}"
        faults.append(Fault(Spot(shown), f"what was measured is read of YAML, CSV and XLSX{hint}"))
        return [], {}
    raw, before = read_bytes(path, shown), len(faults)
    if ending == ".xlsx":
        return list(_of_table(_workbook(raw, shown, faults), shown, faults, before)), {}
    if ending == ".csv":
        return list(_of_table(_csv(raw, shown, faults), shown, faults, before)), {}
    return _yaml(raw, shown, faults)


# YAML


def _yaml(raw: bytes, shown: str, faults: list[Fault]) -> tuple[list[Row], dict[str, tuple[Any, Spot]]]:
    node = tree_of(raw, shown)
    data = node.data
    if not isinstance(data, dict) or not isinstance(data.get("measured"), dict):
        told = "begins with `measured:` and holds what a build's own `measured` does"
        faults.append(Fault(Spot(shown), told))
        return [], {}
    for key in data:
        if key != "measured":
            faults.append(Fault(node.spot_of([key]), f"'{key}' is not known here; write `measured`"))
    return split_rows(data["measured"], node.spot_of, ["measured"], faults)


# tables


def _of_table(lines: Iterable[Cells], shown: str, faults: list[Fault], before: int) -> Iterator[Row]:
    """Rows below the head, each with the entries under the columns that are known.

    That there is no head is told where nothing else was wrong with the file before.
    """
    head: dict[int, str] | None = None
    wide = 0
    for number, cells in enumerate(lines, 1):
        words = [" ".join(text.lower().split()) for text, _ in cells]
        if head is None:
            if all(word in words for word in _NEEDED):
                head, wide = _head(words, cells, faults), len(cells)
            elif number >= HEAD_WITHIN:
                break
            continue
        if number > MOST_ROWS:
            spot = cells[0][1] if cells else Spot(shown)
            faults.append(Fault(spot, f"holds more than {MOST_ROWS} rows"))
            return
        says = {name: cells[at][0].strip() for at, name in head.items() if at < len(cells)}
        spots = {name: cells[at][1] for at, name in head.items() if at < len(cells)}
        beyond = [cell for cell in cells[wide:] if cell[0].strip()]
        if beyond and says.get("value"):
            told = "stands beyond the last column; a decimal comma? Write a decimal point"
            faults.append(Fault(beyond[0][1], f"'{beyond[0][0][:40]}' {told}"))
            continue
        if says.get("value"):
            yield Row(says, spots, spots["value"])
    if head is None and len(faults) == before:
        told = f"has no head row with the columns {', '.join(COLUMNS)}"
        faults.append(Fault(Spot(shown), told))


def _head(words: Sequence[str], cells: Cells, faults: list[Fault]) -> dict[int, str]:
    head: dict[int, str] = {}
    for at, word in enumerate(words):
        if word in head.values():
            faults.append(Fault(cells[at][1], f"column '{word}' is given twice"))
        elif word in COLUMNS:
            head[at] = word
        elif word:
            hint = nearest(word, COLUMNS) or f"; known are {', '.join(COLUMNS)}"
            faults.append(Fault(cells[at][1], f"column '{word[:40]}' is not known{hint}"))
    return head


_FIELDS: Mapping[str, re.Pattern[str]] = {
    mark: re.compile(rf'\s*("(?:[^"]|"")*"|[^{re.escape(mark)}"]*)\s*({re.escape(mark)}|$)') for mark in ",;\t"
}


def _csv(raw: bytes, shown: str, faults: list[Fault]) -> Iterator[Cells]:
    """Lines of a CSV file, separated as its head row is: by comma, semicolon or tab (RFC 4180)."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        at = raw[: error.start].count(b"\n") + 1
        faults.append(Fault(Spot(shown, at), "is not UTF-8; save the file as UTF-8"))
        return
    if "\x00" in text:
        faults.append(Fault(Spot(shown), "holds a control character; this is not a text file"))
        return
    lines = text.splitlines()
    heads = (line for line in lines[:HEAD_WITHIN] if all(word in line.lower() for word in _NEEDED))
    mark = max(",;\t", key=next(heads, "").count)
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        cells: list[tuple[str, Spot]] = []
        start, ended = 0, False
        while not ended:
            match = _FIELDS[mark].match(line, start)
            if match is None:
                told = "has a quotation mark that does not close on this line"
                faults.append(Fault(Spot(shown, number, start + 1), told))
                break
            word = match[1].strip()
            if word.startswith('"'):
                word = word[1:-1].replace('""', '"')
            cells.append((word, Spot(shown, number, match.start(1) + 1)))
            start, ended = match.end(), not match[2]
        if ended and len(cells) <= MOST_COLUMNS:
            yield cells
        elif ended:
            faults.append(Fault(Spot(shown, number), f"has {len(cells)} columns"))


# a workbook


def _workbook(raw: bytes, shown: str, faults: list[Fault]) -> Sequence[Cells]:
    """Rows of the sheet of measured values; a cell with a formula counts by its last result."""
    if not sane_workbook(raw, shown, faults):
        return ()
    from openpyxl import load_workbook

    where = Spot(shown)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and the like, which nobody reads here
            values, written = (
                load_workbook(io.BytesIO(raw), read_only=True, data_only=only, keep_links=False)
                for only in (True, False)
            )
            sheets = [sheet for sheet in values.worksheets if sheet.title.strip().lower() == SHEET]
            if not sheets and len(values.worksheets) == 1:
                sheets = values.worksheets
            if not sheets:
                names = ", ".join(sheet.title for sheet in values.worksheets[:8])
                faults.append(Fault(where, f"has no sheet 'Measured'; it has {names or 'none'}"))
                return ()
            where = Spot(f"{shown}:{sheets[0].title}", 0)
            return list(_sheet(sheets[0], written[sheets[0].title], shown, faults))
    except Exception as error:
        # the library raises whatever the file trips it over
        why = " ".join(str(error).split())[:120] or type(error).__name__
        faults.append(Fault(where, f"is no workbook that can be read: {why}"))
        return ()


def _sheet(values: Any, written: Any, shown: str, faults: list[Fault]) -> Iterator[Cells]:
    title = values.title
    span = {"max_row": MOST_ROWS + 1, "max_col": MOST_COLUMNS}
    values.reset_dimensions()
    written.reset_dimensions()
    for number, (row, formulas) in enumerate(
        zip(values.iter_rows(**span), written.iter_rows(**span), strict=False), 1
    ):
        cells: list[tuple[str, Spot]] = []
        for at, (cell, formula) in enumerate(zip(row, formulas, strict=False), 1):
            spot = Spot(f"{shown}:{title}!{column_letters(at)}{number}", 0)
            cells.append((_cell(cell, formula, spot, faults), spot))
        if any(text for text, _ in cells) or number > MOST_ROWS:
            yield cells


def _cell(cell: Any, formula: Any, spot: Spot, faults: list[Fault]) -> str:
    """What a cell says, as text."""
    value = cell.value
    if getattr(cell, "data_type", "") == "e":
        faults.append(Fault(spot, f"holds the error {value}"))
        return ""
    if value is None:
        if isinstance(formula.value, str) and formula.value.startswith("="):
            told = f"holds the formula '{formula.value[:40]}' and no result: work it out and save the workbook"
            faults.append(Fault(spot, told))
        return ""
    if isinstance(value, bool):
        faults.append(Fault(spot, "holds yes or no where a value or text belongs"))
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.12g}"  # a spreadsheet shows no more than fifteen digits, and types a few
    return str(value).strip()


def column_letters(column: int) -> str:
    """A spreadsheet's name of a column.

    >>> column_letters(4), column_letters(28)
    ('D', 'AB')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


_ENTITY: Callable[[bytes], Any] = re.compile(rb"<!(DOCTYPE|ENTITY)", re.IGNORECASE).search


def sane_workbook(raw: bytes, shown: str, faults: list[Fault]) -> bool:
    """Whether a workbook unpacks to a sane size; held by its own list of members before any is unpacked."""
    told = ""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            members = packed.infolist()
            size = sum(member.file_size for member in members)
            if len(members) > MOST_MEMBERS:
                told = f"holds {len(members)} files packed in it"
            elif size > MOST_UNPACKED:
                told = f"unpacks to {size / 1e6:.0f} MB; the most is {MOST_UNPACKED / 1e6:.0f} MB"
            elif any(member.flag_bits & 1 for member in members):
                told = "is locked by a password"
            else:
                # reading stops at the size that the list says; a member that says less than it holds is refused
                for member in members:
                    if member.filename.endswith((".xml", ".rels")) and _ENTITY(packed.read(member)):
                        told = "declares a document type, which no workbook needs"
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, OSError, EOFError, RuntimeError):
        told = "is no workbook: save it as .xlsx"
    except Exception as error:
        told = f"is no workbook that can be read: {type(error).__name__}"
    if told:
        faults.append(Fault(Spot(shown), told))
    return not told
