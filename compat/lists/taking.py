"""Rows of a list into parts, as its mapping says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase

from compat.lists.far_off import far_off
from compat.lists.grid import Cell, Line, Page, SupplierFile, formula_like
from compat.lists.headings import Headings, find_headings, plain
from compat.lists.mapping import ListMap, Table
from compat.lists.row_reading import RowReader
from compat.lists.values import decimal_sign, plain_text
from compat.lists.wanted import Aside, Read, Unread, Wanted
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, nearest

__all__ = ["take"]

NAMED = 6
"""So many rows are named where something is told of several."""


def take(file: SupplierFile, own: ListMap, node: Node, shop: Shop) -> Read:
    """Read the rows of a file as a mapping says.

    Parameters
    ----------
    file : SupplierFile
        The file.
    own : ListMap
        How it is understood.
    node : Node
        The file of the mapping, for places of what is wrong in it.
    shop : Shop
        The shop.

    Returns
    -------
    Read
        Parts, what cannot be read, and what was left.

    Raises
    ------
    Faults
        When the mapping does not go with the file, two rows have one code, or a cell would be run by a
        spreadsheet.
    """
    taker = _Taker(file, own, node, shop)
    taker.pages()
    if not taker.faults:
        taker.hold_codes()
    if taker.faults:
        raise Faults(taker.faults)
    asides = [*(Aside(remark) for remark in file.remarks), *taker.asides, *far_off(taker.wanted, shop)]
    return Read(tuple(taker.wanted), tuple(taker.unread), tuple(asides), frozenset(taker.known))


@dataclass
class _Taker:
    file: SupplierFile
    own: ListMap
    node: Node
    shop: Shop
    faults: list[Fault] = field(default_factory=list)
    wanted: list[Wanted] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    known: set[str] = field(default_factory=set)

    def fault(self, path: Sequence[str | int], message: str) -> None:
        self.faults.append(Fault(self.node.spot_of(path), message))

    def pages(self) -> None:
        used: set[str] = set()
        names = {plain(page.name): page for page in self.file.pages}
        for number, table in enumerate(self.own.tables):
            here = ("tables", number)
            if table.sheet is not None:
                page = names.get(plain(table.sheet))
                if page is None:
                    listed = [page.name for page in self.file.pages if page.name]
                    has = f"; it has {', '.join(listed)}" if listed else "; it has no sheets"
                    hint = nearest(table.sheet, listed) or has
                    self.fault((*here, "sheet"), f"{self.file.shown} has no sheet '{table.sheet}'{hint}")
                    continue
                pages = [page]
            else:
                taken = {plain(one.sheet) for one in self.own.tables if one.sheet is not None}
                pages = [page for page in self.file.pages if plain(page.name) not in taken]
            self.table(table, here, pages, used)
        for page in self.file.pages:
            if page.name not in used and page.lines:
                hidden = "hidden sheet" if page.hidden else "sheet"
                self.asides.append(Aside(f"{hidden} '{page.name}' is not read", 0, str(page.spot)))

    def table(self, table: Table, here: tuple[str | int, ...], pages: Sequence[Page], used: set[str]) -> None:
        wanted = [column for column, _ in table.columns()]
        found: list[tuple[Page, Headings]] = []
        best: Headings | None = None
        for page in pages:
            if page.hidden and self.own.hidden == "leave":
                continue
            headings = find_headings(page, wanted, table.heading)
            if headings is None:
                continue
            if best is None or len(headings.lacking(wanted)) < len(best.lacking(wanted)):
                best = headings
            if not headings.lacking(wanted):
                found.append((page, headings))
        if not found:
            self.no_headings(table, here, best, pages)
            return
        for page, headings in found:
            used.add(page.name)
            self.page(table, here, page, headings)

    def no_headings(
        self, table: Table, here: tuple[str | int, ...], best: Headings | None, pages: Sequence[Page]
    ) -> None:
        where = f"sheet '{table.sheet}' of {self.file.shown}" if table.sheet else self.file.shown
        if pages and not any(page.lines for page in pages):
            self.fault(here, f"{where} is empty")
        elif pages and all(page.hidden for page in pages) and self.own.hidden == "leave":
            self.fault((*here, "sheet"), f"{where} is hidden; `hidden: take` reads it")
        elif best is None:
            self.fault(here, f"{where} has none of the columns that are named here at its head")
        else:
            lacking = best.lacking([column for column, _ in table.columns()])
            for column, path in table.columns():
                if column in lacking:
                    hint = nearest(column, best.names) or f"; it has {', '.join(best.names[:12])}"
                    self.fault((*here, *path), f"{where} has no column '{column}'{hint}")

    def page(self, table: Table, here: tuple[str | int, ...], page: Page, headings: Headings) -> None:
        places: dict[str, int] = {}
        for column, path in table.columns():
            at = headings.columns[plain(column)]
            if len(at) > 1:
                stands = ", ".join(str(headings.spots[one]) for one in at)
                told = f"column '{column}' stands {len(at)} times ({stands}); name it with the heading above it"
                self.fault((*here, *path), f"{told}: '… / {column}'")
            places[column] = at[0]
        if self.faults:
            return
        if hidden := sorted({name for name, at in places.items() if at in page.hidden_columns}):
            if self.own.hidden == "leave":
                listed = ", ".join(f"'{name}'" for name in hidden)
                self.fault(here, f"{page.spot}: column {listed} is hidden; `hidden: take` reads it")
                return
            self.asides.append(Aside(f"hidden column taken: {', '.join(hidden)}", len(hidden), str(page.spot)))
        lines = [line for line in page.lines if line.number > headings.row]
        if not lines:
            self.asides.append(Aside("no row stands below the headings", 0, str(page.spot)))
        decimal = self.decimal(table, here, page, lines, places)
        if decimal is None:
            return
        reader = RowReader(table, self.own, self.shop, places, decimal)
        self.rows(table, page, lines, places, reader)

    def decimal(self, table: Table, here: tuple[str | int, ...], page: Page, lines: Sequence[Line],
                places: dict[str, int]) -> str | None:  # fmt: skip
        """What stands before decimals, as the mapping says, else as the numbers show."""
        if self.own.decimal is not None:
            return self.own.decimal
        columns = list(_numeric(table, self.shop))
        texts = [
            cell.text
            for line in lines
            for column in columns
            if (cell := line.cells.get(places[column])) is not None and cell.sort == "text" and not cell.across
        ]
        sign, doubts = decimal_sign(texts)
        if sign is None:
            found = [f"{_where(doubt, lines, page)}: '{doubt}'" for doubt in doubts]
            how = "may be read with a decimal comma or a decimal point"
            if len(doubts) > 1:
                how = "are not written with the same sign before decimals"
            told = f"{' and '.join(found)} {how}"
            self.fault((), f"{told}; say which in the mapping, `decimal: ','` or `decimal: '.'`")
        return sign

    def rows(self, table: Table, page: Page, lines: Sequence[Line], places: dict[str, int],
             reader: RowReader) -> None:  # fmt: skip
        left: Counter[str] = Counter()
        hidden: list[int] = []
        bare: list[int] = []
        joined: dict[str, None] = {}
        formulas = 0
        for line in lines:
            cells = {
                name: line.cells[at]
                for name, at in places.items()
                if at in line.cells and not line.cells[at].across
            }
            formulas += sum(cell.sort == "formula" or formula_like(cell.text) for cell in line.cells.values())
            if not cells:
                continue
            if line.hidden:
                hidden.append(line.number)
                if self.own.hidden == "leave":
                    self.known |= reader.codes(cells)
                    continue
            if reason := _left_out(table, cells):
                left[reason] += 1
                continue
            if len(cells) == 1 and len(places) > 1:
                bare.append(line.number)
                continue
            if line.number in page.joined:
                joined[page.joined[line.number]] = None
            before = len(self.faults)
            self.faults += _run(cells)
            if len(self.faults) == before:
                found, unread = reader.read(line, cells)
                self.wanted += found
                self.unread += unread
                if unread:
                    self.known |= reader.codes(cells)
        where = str(page.spot)
        how = "not taken" if self.own.hidden == "leave" else "taken"
        if hidden:
            self.asides.append(Aside(f"hidden rows {how}{_rows(hidden)}", len(hidden), where))
        if bare:
            self.asides.append(
                Aside(f"rows that say one thing only, as a heading does{_rows(bare)}", len(bare), where)
            )
        if joined:
            named = ", ".join(list(joined)[:NAMED])
            self.asides.append(
                Aside(f"merged cells, taken as said for each of their rows ({named})", len(joined), where)
            )
        if formulas:
            told = "cells that hold a formula or look like one; none is run"
            self.asides.append(Aside(told, formulas, where))
        self.asides += [Aside(f"left out: {reason}", count, where) for reason, count in left.items()]

    def hold_codes(self) -> None:
        """Hold that no code and no id stands twice."""
        codes: dict[str, Wanted] = {}
        ids: dict[str, Wanted] = {}
        for one in self.wanted:
            first = codes.setdefault(one.code.casefold(), one)
            if first is not one:
                told = f"code '{one.code}' is that of two rows; first at {first.spot}"
                self.faults.append(Fault(one.spot, told))
                continue
            first = ids.setdefault(one.part, one)
            if first is not one:
                told = f"codes '{first.code}' ({first.spot}) and '{one.code}' would both be part '{one.part}'"
                self.faults.append(Fault(one.spot, f"{told}; give the table a `part:` pattern that parts them"))


def _where(number: str, lines: Sequence[Line], page: Page) -> str:
    """The place of the first cell that says a number."""
    cells = (cell for line in lines for cell in line.cells.values() if number in plain_text(cell.text))
    return str(next((cell.spot for cell in cells), page.spot))


def _rows(numbers: Sequence[int]) -> str:
    named = ", ".join(map(str, numbers[:NAMED]))
    return f" ({'row' if len(numbers) == 1 else 'rows'} {named}{', …' if len(numbers) > NAMED else ''})"


def _numeric(table: Table, shop: Shop) -> Iterator[str]:
    """Columns that numbers with decimals are read of."""
    places = (
        [table.fills.fixed] if table.fills.fixed is not None else table.fills.words.values() or shop.positions
    )
    for name, told in table.specs.items():
        if told.column is not None and any(
            name in shop.kinds.get(place, {}) and shop.kinds[place][name].sort == "quantity" for place in places
        ):
            yield told.column
    if table.price is not None:
        yield table.price.column
    yield from (one.column for one in table.breaks)


def _left_out(table: Table, cells: dict[str, Cell]) -> str:
    for one in table.leave_out:
        text = cells[one.column].text if one.column in cells else ""
        if not text:
            if one.empty:
                return f"'{one.column}' says nothing"
            continue
        words = {plain(word): word for word in one.words}
        if plain(text) in words:
            return f"'{one.column}' says '{words[plain(text)]}'"
        if one.like is not None and fnmatchcase(text.casefold(), one.like.casefold()):
            return f"'{one.column}' is like '{one.like}'"
    return ""


def _run(cells: dict[str, Cell]) -> Iterator[Fault]:
    """A fault for each text that a spreadsheet would run."""
    for name, cell in cells.items():
        if cell.sort == "formula" or (cell.sort == "text" and formula_like(cell.text)):
            told = (
                f"'{name}' says '{cell.text[:40]}', which a spreadsheet would run as a formula: it is not taken"
            )
            yield Fault(
                cell.spot, f"{told}, and nothing of it is run; have it as a value, or leave its row out"
            )
