"""One row of a list into the parts that it says: one, or one for each of its sizes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from compat.lists.grid import Cell, Line
from compat.lists.mapping import FIELD, ListMap, Table, Told
from compat.lists.sizing import grown, size_steps
from compat.lists.values import price, slug, stated, whole_number, worded
from compat.lists.wanted import Unread, Wanted
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.shop.source import Spot, nearest
from compat.units import DAY, UnitFault, read_band, unfit

__all__ = ["RowReader"]

MOST_CODE = 60
MOST_NAME = 200
_HELD = {"error": "an error", "date": "a date", "flag": "yes or no"}


class _Cannot(Exception):
    """A cell that cannot be read; the others of its row are read all the same, so that all is told at once."""

    def __init__(self, column: str, cell: Cell | None, why: str) -> None:
        super().__init__(why)
        self.column, self.cell, self.why = column, cell, why


@dataclass
class RowReader:
    """Reads rows of one page."""

    table: Table
    own: ListMap
    shop: Shop
    places: Mapping[str, int]
    decimal: str

    def __post_init__(self) -> None:
        """The currency of the list."""
        named = self.table.price.currency if self.table.price is not None else None
        self.currency = named or self.shop.suppliers[self.own.supplier].currency

    def codes(self, cells: Mapping[str, Cell]) -> set[str]:
        """Codes of a row, as far as they can be read."""
        try:
            code = self.text(self.table.code, cells, "code")
            sizes = self.sizes(cells)
        except _Cannot:
            return set()
        return {self.code(code, size) for size, _ in sizes or [("", "")]} | {code}

    def read(self, line: Line, cells: Mapping[str, Cell]) -> tuple[list[Wanted], list[Unread]]:
        """Read a row: its parts, or what of it cannot be read."""
        spot = next(iter(cells.values())).spot
        said: dict[str, Any] = {}
        spots: dict[str, Spot] = {}
        unread: list[Unread] = []
        code = ""

        def attempt(name: str, make: Any) -> Any:
            try:
                return make()
            except _Cannot as fault:
                where, text = (fault.cell.spot, fault.cell.text) if fault.cell is not None else (spot, "")
                unread.append(Unread(where, fault.column, text, fault.why, code))
                return None

        code = attempt("code", lambda: self.code_of(cells)) or ""
        said["name"] = attempt("name", lambda: self.name(cells))
        position = attempt("fills", lambda: self.position(cells))
        said["fills"] = position
        for name, told in self.table.specs.items():
            if position is not None and self.has(told, cells):
                said[f"specs.{name}"] = attempt(name, lambda n=name, t=told: self.spec(n, t, position, cells))
                spots[f"specs.{name}"] = self.spot(told, cells, spot)
        sizes = attempt("sizes", lambda: self.sizes(cells)) or [("", "")]
        prices = attempt("price", lambda: self.prices(cells, len(sizes)))
        if self.table.price is not None and self.table.price.column in cells:
            spots["price"] = cells[self.table.price.column].spot
        said["pack"] = attempt("pack", lambda: self.pack(cells))
        said["lead"] = attempt("lead", lambda: self.lead(cells))
        if self.table.note is not None and self.has(self.table.note, cells):
            said["note"] = attempt("note", lambda: self.text(self.table.note, cells, "note"))
        breaks = attempt("breaks", lambda: self.breaks(cells, prices))
        if unread:
            return [], unread
        said["families"] = list(self.table.families) or None
        said["includes"] = list(self.table.includes) or None
        said["basis"] = self.table.basis
        made = []
        for number, (size, value) in enumerate(sizes):
            one = attempt("sizes", lambda s=size, v=value: self.sized(said, s, v, position, cells))
            if one is None:
                return [], unread
            if prices and prices[number] is not None:
                asked = attempt("price", lambda a=prices[number], s=one: self.asked(a, s, breaks, cells))
                if asked is None:
                    return [], unread
                one |= asked
            own = self.code(code, size if value else "")
            part = self.part(own, cells, size if value else "")
            if not part:
                unread.append(
                    Unread(spot, "code", code, "makes no id: it has neither letters nor digits", code)
                )
                return [], unread
            held = {key: text for key, text in one.items() if text is not None}
            made.append(
                Wanted(own, part, MappingProxyType(held), spot, MappingProxyType(spots), self.own.supplier)
            )
        return made, []

    # ---- texts

    def has(self, told: Told, cells: Mapping[str, Cell]) -> bool:
        """Whether a row says something there."""
        if told.column is None:
            return True
        cell = cells.get(told.column)
        return cell is not None and not any(
            _alike(cell.text, word) for word in (*told.none, "", "-", "—", "n/a")
        )

    def spot(self, told: Told, cells: Mapping[str, Cell], spot: Spot) -> Spot:
        return next((cells[name].spot for name in told.columns if name in cells), spot)

    def text(self, told: Told, cells: Mapping[str, Cell], what: str) -> str:
        """What a source says in a row, a word as it is here."""
        if told.fixed is not None:
            return told.fixed
        if told.column is not None:
            cell = cells.get(told.column)
            if cell is None:
                raise _Cannot(told.column, None, f"says nothing, and is the {what}")
            if cell.sort in ("error", "date"):
                holds = f"the error {cell.text}" if cell.sort == "error" else f"the date {cell.text}"
                raise _Cannot(told.column, cell, f"holds {holds}, and is the {what}")
            return worded(cell.text, told.words) or cell.text
        assert told.pattern is not None
        return _filled(told.pattern, cells)

    def code_of(self, cells: Mapping[str, Cell]) -> str:
        code = self.text(self.table.code, cells, "code")
        if len(code) > MOST_CODE or not code:
            column = next(iter(self.table.code.columns), "code")
            told = f"is a code of {len(code)} letters; the most is {MOST_CODE}" if code else "says no code"
            raise _Cannot(column, cells.get(column), told)
        return code

    def name(self, cells: Mapping[str, Cell]) -> str:
        name = " ".join(self.text(self.table.name, cells, "name").split())
        column = next(iter(self.table.name.columns), "name")
        if not name or len(name) > MOST_NAME:
            told = f"is a name of {len(name)} letters; the most is {MOST_NAME}" if name else "says no name"
            raise _Cannot(column, cells.get(column), told)
        return name

    def position(self, cells: Mapping[str, Cell]) -> str:
        place = self.text(self.table.fills, cells, "position")
        if place not in self.shop.positions:
            column = next(iter(self.table.fills.columns), "fills")
            hint = nearest(place, self.shop.positions)
            told = f"'{place}' is no position{hint}; say under `words` of `fills` what it is, or leave it out"
            raise _Cannot(column, cells.get(column), told)
        return place

    def part(self, code: str, cells: Mapping[str, Cell], size: str) -> str:
        if self.table.part is None:
            return slug(f"{self.own.supplier} {code}") if slug(code) else ""
        return slug(f"{_filled(self.table.part, cells)} {size}")

    # ---- specs and sizes

    def spec(self, name: str, told: Told, position: str, cells: Mapping[str, Cell]) -> Any:
        kind = self.shop.kinds[position].get(name)
        column = next(iter(told.columns), name)
        cell = cells.get(column)
        if kind is None:
            return None  # of another position that this table also holds
        try:
            text = self.text(told, cells, name)
            number = cell is not None and cell.sort == "number" and told.column is not None
            if told.fixed is not None:
                return stated(text, told.unit, {}, told.split, ".", kind)
            if told.column is not None and cell is not None:
                text = cell.text
            return stated(text, told.unit, told.words, told.split, self.decimal, kind, number)
        except ValueError as fault:  # of a unit or a value alike
            raise _Cannot(column, cell, str(fault)) from None

    def sizes(self, cells: Mapping[str, Cell]) -> Sequence[tuple[str, str]] | None:
        own = self.table.sizes
        if own is None or own.column not in cells:
            return None
        cell = cells[own.column]
        decimal = "." if cell.sort == "number" else self.decimal
        try:
            return size_steps(cell.text, own.split, own.words, own.unit, decimal)
        except ValueError as fault:
            raise _Cannot(own.column, cell, str(fault)) from None

    def sized(self, said: Mapping[str, Any], size: str, value: str, position: str,
              cells: Mapping[str, Cell]) -> dict[str, Any]:  # fmt: skip
        """What a row says of one of its sizes."""
        own, one = self.table.sizes, dict(said)
        if own is None or own.column not in cells:
            return one
        kinds = self.shop.kinds[position]
        try:
            for name, share in own.adds.items():
                if (before := one.get(f"specs.{name}")) is not None and name in kinds:
                    one[f"specs.{name}"] = stated(grown(before, value, share), None, {}, None, ".", kinds[name])
            if own.states is not None and own.states in kinds:
                one[f"specs.{own.states}"] = stated(
                    value or f"0 {own.unit}", None, {}, None, ".", kinds[own.states]
                )
        except ValueError as fault:
            raise _Cannot(own.column, cells[own.column], str(fault)) from None
        if value:
            one["name"] = f"{one['name']}, {size}"
        return one

    def code(self, code: str, size: str) -> str:
        if not size or self.table.sizes is None:
            return code
        digits = re.sub(r"\D", "", size)
        return self.table.sizes.code.format(code=code, size=size, digits=digits)

    # ---- prices

    def prices(self, cells: Mapping[str, Cell], several: int) -> list[Decimal | None] | None:
        """The price of each size; one for all where the row says one."""
        told = self.table.price
        if told is None:
            return None
        cell = cells.get(told.column)
        if cell is None:
            raise _Cannot(
                told.column, None, "says no price; say under `none` of `price` where it asks to be asked"
            )
        if any(_alike(cell.text, word) for word in told.none):
            return [None] * several
        pieces = (
            [piece for piece in cell.text.split(self.table.sizes.split) if piece.strip()]
            if self.table.sizes
            else []
        )
        if several > 1 and len(pieces) > 1:
            if len(pieces) != several:
                raise _Cannot(told.column, cell, f"names {len(pieces)} prices for {several} sizes")
            return [self.price(piece, cell, told.column) for piece in pieces]
        return [self.price(cell.text, cell, told.column)] * several

    def price(self, text: str, cell: Cell, column: str) -> Decimal:
        if cell.sort in ("error", "date", "flag"):
            raise _Cannot(column, cell, f"holds {_HELD[cell.sort]} where a price belongs")
        try:
            return price(text, self.currency, self.decimal, cell.sort == "number")
        except ValueError as fault:
            raise _Cannot(column, cell, str(fault)) from None

    def breaks(
        self, cells: Mapping[str, Cell], prices: Sequence[Decimal | None] | None
    ) -> list[tuple[int, Decimal]]:
        found = []
        for one in self.table.breaks:
            if (cell := cells.get(one.column)) is not None and not _alike(cell.text, "-"):
                found.append((one.packs, self.price(cell.text, cell, one.column)))
                highest = min([price for price in prices or [] if price is not None], default=None)
                last = found[-2][1] if len(found) > 1 else highest
                if last is not None and found[-1][1] >= last:
                    raise _Cannot(one.column, cell, f"asks no less for {one.packs} than for fewer ({last})")
        return found

    def asked(
        self,
        amount: Decimal,
        said: Mapping[str, Any],
        breaks: Sequence[tuple[int, Decimal]],
        cells: Mapping[str, Cell],
    ) -> dict[str, Any]:
        """A price as its entry says it."""
        assert self.table.price is not None
        pack = int(said.get("pack") or 1)
        times = pack if self.table.price.per == "piece" else 1
        try:
            Money.read(f"{amount * times:f} {self.currency}")
        except ValueError as fault:
            column = self.table.price.column
            raise _Cannot(column, cells.get(column), f"{fault} (for {times})") from None
        made: dict[str, Any] = {"price": f"{amount * times:f} {self.currency}", "list": self.own.list}
        if breaks:
            made["breaks"] = [
                {"packs": str(packs), "price": f"{price * times:f} {self.currency}"} for packs, price in breaks
            ]
        return made

    def pack(self, cells: Mapping[str, Cell]) -> str | None:
        told = self.table.pack
        if told is None or not self.has(told, cells):
            return None
        column = next(iter(told.columns), "pack")
        try:
            return str(whole_number(self.text(told, cells, "pack"), "a pack", 1000))
        except ValueError as fault:
            raise _Cannot(column, cells.get(column), str(fault)) from None

    def lead(self, cells: Mapping[str, Cell]) -> str | None:
        told = self.table.lead
        if told is None or not self.has(told, cells):
            return None
        column = next(iter(told.columns), "lead")
        text = self.text(told, cells, "lead time")
        plain = re.sub(r"(?i)\b(tage?|jours?|giorni|dagar|dage|d)\b", "days", text)
        plain = re.sub(r"(?i)\b(wochen?|semaines?|wk|wks|w)\b", "weeks", plain).strip()
        if re.fullmatch(r"\d+", plain):
            plain = f"{plain} {told.unit or 'days'}"
        plain = re.sub(r"(\d)\s*([A-Za-z])", r"\1 \2", plain)
        try:
            band = read_band(plain)
        except UnitFault:
            why = f"'{text}' is no lead time; write it like '5 days' or '2 weeks'"
            raise _Cannot(column, cells.get(column), why) from None
        if why := unfit(plain, band, "days"):
            raise _Cannot(column, cells.get(column), why)
        if not 0 <= band.nominal <= 3660 * DAY or band.low != band.high:
            raise _Cannot(column, cells.get(column), f"'{text}' is no lead time")
        return plain


def _alike(text: str, word: str) -> bool:
    return " ".join(text.split()).casefold() == " ".join(word.split()).casefold()


def _filled(pattern: str, cells: Mapping[str, Cell]) -> str:
    return FIELD.sub(lambda match: cells[match[1]].text if match[1] in cells else "", pattern)
