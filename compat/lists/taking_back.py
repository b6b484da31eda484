"""A workbook of the shop's own parts, edited: only what a hand changed is taken."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from compat.lists.comparing import Remembered
from compat.lists.far_off import far_off
from compat.lists.giving import GIVEN, OWN, PRICED, PRICES
from compat.lists.grid import Cell, Line, Page, SupplierFile, formula_like
from compat.lists.headings import plain
from compat.lists.values import price, stated, whole_number
from compat.lists.wanted import Aside, Read, Unread, Wanted
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, nearest
from compat.shop.specs import state
from compat.units import UnitFault, read_band, unfit

__all__ = ["is_own", "take_back"]


def is_own(file: SupplierFile) -> bool:
    """Whether a workbook is one that the shop gave out."""
    return any(page.name == GIVEN and page.hidden for page in file.pages)


def take_back(file: SupplierFile, shop: Shop) -> tuple[Read, Mapping[str, Remembered]]:
    """Read an edited workbook of parts.

    Parameters
    ----------
    file : SupplierFile
        The workbook.
    shop : Shop
        The shop.

    Returns
    -------
    tuple
        What was edited in it, and what it was before, by the key of each row.

    Raises
    ------
    Faults
        When a sheet or column is not known, or a row stands twice.
    """
    taker = _Taker(shop)
    pages = {page.name: page for page in file.pages}
    taker.given(pages[GIVEN])
    for page in file.pages:
        if page.name == GIVEN or not page.lines:
            continue
        if page.hidden:
            taker.asides.append(Aside(f"hidden sheet '{page.name}' is not read"))
        elif page.name == PRICES or page.name in taker.places():
            taker.page(page)
        else:
            hint = nearest(page.name, [*shop.positions, PRICES])
            taker.faults.append(Fault(page.spot, f"sheet '{page.name}' is no position{hint}"))
    if taker.faults:
        raise Faults(taker.faults)
    return taker.read(), taker.before


@dataclass
class _Taker:
    shop: Shop
    texts: dict[tuple[str, str], dict[str, str]] = field(default_factory=dict)
    """What was given, by sheet and row."""
    wanted: list[Wanted] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    before: dict[str, Remembered] = field(default_factory=dict)
    seen: dict[tuple[str, str], Line] = field(default_factory=dict)
    emptied: int = 0

    def places(self) -> Mapping[str, str]:
        """Positions by what their sheets are called."""
        return {name[:31]: name for name in self.shop.positions}

    def given(self, page: Page) -> None:
        for line in page.lines[1:]:
            sheet, row, column, says = (line.cells[at].text if at in line.cells else "" for at in range(1, 5))
            texts = self.texts.setdefault((sheet, row), {})
            if column:
                texts[column] = says

    def page(self, page: Page) -> None:
        head, *lines = page.lines
        names = {at: cell.text for at, cell in head.cells.items()}
        keys = PRICED[:3] if page.name == PRICES else OWN[:1]
        known = PRICED if page.name == PRICES else (*OWN, *self.shop.kinds[self.places()[page.name]])
        for at, name in names.items():
            if _bare(name) not in known:
                hint = nearest(_bare(name), known) or f"; known are {', '.join(known[:12])}"
                self.faults.append(Fault(head.cells[at].spot, f"column '{name}' is not known here{hint}"))
        if lacking := [key for key in keys[:2] if key not in names.values()]:
            self.faults.append(Fault(page.spot, f"has no column '{lacking[0]}' in its first row"))
        if self.faults:
            return
        for line in lines:
            cells = {names[at]: cell for at, cell in line.cells.items() if at in names}
            if not cells:
                continue
            if line.hidden:
                self.asides.append(Aside(f"hidden row {line.number} not taken", 0, str(page.spot)))
                key = "|".join(cells[k].text if k in cells else "" for k in keys)
                self.seen.setdefault((page.name, key), line)
                continue
            self.row(page, line, cells, keys)

    def row(self, page: Page, line: Line, cells: Mapping[str, Cell], keys: tuple[str, ...]) -> None:
        spot = next(iter(cells.values())).spot
        for name, cell in cells.items():
            if cell.sort == "formula" or (cell.sort == "text" and formula_like(cell.text)):
                was = self.texts.get((page.name, self.key(cells, keys)), {}).get(name)
                if cell.sort == "formula" or was != cell.text:
                    told = f"'{name}' says '{cell.text[:40]}', which a spreadsheet would run as a formula"
                    self.faults.append(Fault(cell.spot, f"{told}: it is not taken, and nothing of it is run"))
        key = self.key(cells, keys)
        if lacking := [name for name in keys[:2] if name not in cells]:
            self.unread.append(Unread(spot, lacking[0], "", f"says no {lacking[0]}"))
            return
        if (page.name, key) in self.seen:
            told = (
                f"'{key.replace('|', ' ')}' stands in two rows; first in row {self.seen[page.name, key].number}"
            )
            self.faults.append(Fault(spot, told))
            return
        self.seen[page.name, key] = line
        given = self.texts.get((page.name, key))
        says: dict[str, Any] = {}
        base: dict[str, Any] = {}
        unread = len(self.unread)
        for name, cell in cells.items():
            if name in keys or (given is not None and given.get(name) == cell.text):
                continue
            if page.name == PRICES and name == "list":
                self.unread.append(Unread(cell.spot, name, cell.text, "a list is brought, not written in"))
                continue
            try:
                field_, value = self.value(page, name, cell.text, cell.sort == "number", cells)
            except ValueError as fault:  # of a unit or a value alike
                self.unread.append(Unread(cell.spot, name, cell.text, str(fault), key))
                continue
            says[field_] = value
            if given is not None and given.get(name):
                base |= self.was(page, name, given[name], cells)
        self.emptied += sum(bool(text) and name not in cells for name, text in (given or {}).items())
        if len(self.unread) > unread:
            return
        whole = f"{page.name}|{key}"
        if given is None and page.name != PRICES:
            says["fills"] = self.places()[page.name]
            says.setdefault("name", cells["part"].text)
        supplier = cells["supplier"].text if page.name == PRICES else ""
        code = cells["code"].text if page.name == PRICES and "code" in cells else ""
        if given is not None:
            self.before[whole] = Remembered(cells["part"].text, base)
        if self.sound(page, cells, supplier):
            self.wanted.append(Wanted(code, cells["part"].text, says, spot, {}, supplier, whole))

    def key(self, cells: Mapping[str, Cell], keys: tuple[str, ...]) -> str:
        return "|".join(cells[key].text if key in cells else "" for key in keys)

    def sound(self, page: Page, cells: Mapping[str, Cell], supplier: str) -> bool:
        """Whether what a row names is there."""
        part = cells["part"]
        if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", part.text) or len(part.text) > 80:
            why = "is no id: write lower-case words with hyphens"
            self.unread.append(Unread(part.spot, "part", part.text, why))
            return False
        if page.name == PRICES and supplier not in self.shop.suppliers:
            hint = nearest(supplier, self.shop.suppliers)
            why = f"supplier '{supplier}' is not known{hint}"
            self.unread.append(Unread(cells["supplier"].spot, "supplier", supplier, why))
            return False
        return True

    def value(
        self, page: Page, name: str, text: str, number: bool, cells: Mapping[str, Cell]
    ) -> tuple[str, Any]:
        """An edited cell as a file says it."""
        bare = _bare(name)
        if page.name == PRICES:
            return bare, self.priced(bare, text, number, cells)
        if bare == "families":
            families = [word.strip() for word in text.split(",") if word.strip()]
            if wrong := [word for word in families if word not in self.shop.families]:
                raise ValueError(f"family '{wrong[0]}' is not known{nearest(wrong[0], self.shop.families)}")
            return bare, families
        if bare in OWN:
            return bare, text
        kind = self.shop.kinds[self.places()[page.name]][bare]
        if kind.sort == "text":
            state(kind, text)
            return f"specs.{bare}", text
        return f"specs.{bare}", stated(text, kind.unit or None, {}, None, ".", kind, number)

    def priced(self, name: str, text: str, number: bool, cells: Mapping[str, Cell]) -> str:
        if name == "pack":
            return str(whole_number(text, "a pack", 1000))
        if name == "lead":
            plain_ = f"{text} days" if re.fullmatch(r"\d+", text) else text
            try:
                band = read_band(plain_)
            except UnitFault as fault:
                raise ValueError(str(fault)) from None
            if why := unfit(plain_, band, "days"):
                raise ValueError(why)
            return plain_
        supplier = self.shop.suppliers.get(cells["supplier"].text) if "supplier" in cells else None
        currency = supplier.currency if supplier is not None else "GBP"
        return f"{price(text, currency, '.', number):f} {currency}"

    def was(self, page: Page, name: str, text: str, cells: Mapping[str, Cell]) -> Mapping[str, Any]:
        """What was given in a cell, as a file says it; nothing where it can no longer be read."""
        try:
            return dict([self.value(page, name, text, False, cells)])
        except ValueError:
            return {}

    def read(self) -> Read:
        gone = [key for key in self.texts if key not in self.seen]
        if gone:
            told = "rows taken out of the workbook; the shop keeps them"
            self.asides.append(Aside(told, len(gone)))
        if self.emptied:
            self.asides.append(Aside("cells emptied; the shop keeps what it says there", self.emptied))
        whole = tuple(self._whole())
        return Read(whole, tuple(self.unread), (*self.asides, *far_off(whole, self.shop)))

    def _whole(self) -> Iterator[Wanted]:
        """What can stand: a price wants a part."""
        parts = {*self.shop.parts, *(one.part for one in self.wanted if not one.supplier)}
        for one in self.wanted:
            if one.part in parts:
                yield one
            else:
                why = f"part '{one.part}' is not known{nearest(one.part, parts)}"
                self.unread.append(Unread(one.spot, "part", one.part, why))


def _bare(name: str) -> str:
    """A column without its unit.

    >>> _bare("mass (g)")
    'mass'
    """
    return plain(name).partition(" (")[0]
