"""How a supplier's list is to be understood: a file that a person writes once for a supplier."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry, Thing, nothing
from compat.shop.reading import validate
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Node, nearest, read_tree
from compat.shop.specs import SpecKind
from compat.units import UnitFault, unit

if TYPE_CHECKING:
    from compat.lists.fields import (
        Basis,
        Currency,
        Date,
        DecimalSign,
        HeadingLine,
        Hidden,
        Id,
        Name,
        Pack,
        Per,
        Share,
        Words,
    )

__all__ = ["BreakFrom", "LeaveOut", "ListMap", "PriceFrom", "Sizes", "Table", "Told", "read_map"]

FIELD = re.compile(r"\{([^{}]+)\}")
"""A column in a pattern."""


@record(kw_only=True)
class Told(Entry):
    """Where a value comes from: a column, several in a pattern, or the same for all."""

    only = "column"
    column: str | None = None
    pattern: str | None = None
    """Text with columns in braces: ``{Type} {Bore}``."""
    fixed: str | None = field(default=None, metadata={"written": "is"})
    unit: str | None = None
    """Where the list says none with its numbers."""
    words: Mapping[str, str] = field(default_factory=nothing)
    """A word of the list, and what it is here."""
    split: str | None = None
    """What stands between the words of a list."""
    none: Words = ()
    """What the list writes where it does not know."""

    def hold(self) -> None:
        """Hold that it says one thing, in a unit that there is."""
        given = [one for one in (self.column, self.pattern, self.fixed) if one is not None]
        if len(given) != 1:
            raise ValueError("says one of 'column', 'pattern' and 'is'")
        if self.unit is not None:
            try:
                unit(self.unit)
            except UnitFault as fault:
                raise ValueError(str(fault)) from None

    @property
    def columns(self) -> tuple[str, ...]:
        """Columns that it is read of."""
        if self.column is not None:
            return (self.column,)
        return tuple(FIELD.findall(self.pattern)) if self.pattern is not None else ()


@record(kw_only=True)
class PriceFrom(Entry):
    """Where the price comes from."""

    only = "column"
    column: str
    currency: Currency | None = None
    """Else that of the supplier; a sign or code in the list must agree."""
    per: Per = "pack"
    none: Words = ()
    """What the list writes where it asks to be asked."""


@record(kw_only=True)
class BreakFrom(Entry):
    """A column with the price of a pack from so many packs on."""

    packs: Pack
    column: str


@record(kw_only=True)
class Sizes(Entry):
    """A column that says in how many sizes a row is to be had: each is a part."""

    column: str
    split: str = "/"
    unit: str = "mm"
    words: Mapping[str, str] = field(default_factory=nothing)
    """What a word is as a size; ``STD`` is nothing more than standard."""
    adds: Mapping[Name, Share] = field(default_factory=nothing)
    """Specs that grow with the size, each by its share of it; below zero they shrink."""
    states: Name | None = None
    """The spec that holds the size itself."""
    code: str = "{code} {size}"
    """Code of a part that is not of standard size; ``{digits}`` are the digits of the size alone."""

    def hold(self) -> None:
        """Hold that it cuts at something, in a unit that there is."""
        if not self.adds and self.states is None:
            raise ValueError("says neither which specs grow ('adds') nor which holds the size ('states')")
        if not self.split.strip():
            raise ValueError("'split' is what stands between the sizes, like '/'")
        try:
            unit(self.unit)
        except UnitFault as fault:
            raise ValueError(str(fault)) from None
        if unknown := [name for name in FIELD.findall(self.code) if name not in ("code", "size", "digits")]:
            raise ValueError(f"'code' knows {{code}}, {{size}} and {{digits}}, not {{{unknown[0]}}}")
        if "{size}" not in self.code and "{digits}" not in self.code:
            raise ValueError("'code' must hold {size} or {digits}: else all sizes have one code")


@record(kw_only=True)
class LeaveOut(Entry):
    """Rows that are not taken: where a column says one of some words, fits a pattern, or says nothing."""

    column: str
    words: Words = field(default=(), metadata={"written": "is"})
    like: str | None = None
    """With ``*`` for anything and ``?`` for one letter."""
    empty: bool = False

    def hold(self) -> None:
        """Hold that it says when."""
        if not (self.words or self.like or self.empty):
            raise ValueError("says when: 'is' with words, 'like' with a pattern, or 'empty: yes'")


@record(kw_only=True)
class Table(Entry):
    """How the rows of a sheet are understood."""

    sheet: str | None = None
    """Left out: every sheet that has the headings."""
    heading: HeadingLine | None = None
    """The row of the headings, the last where they take several; left out, it is looked for."""
    code: Told
    name: Told
    part: str | None = None
    """Pattern of ids; else supplier and code."""
    fills: Told
    families: tuple[Id, ...] = ()
    includes: tuple[Id, ...] = ()
    """Parts of the shop that come in the box of each."""
    basis: Basis | None = None
    specs: Mapping[Name, Told] = field(default_factory=nothing)
    price: PriceFrom | None = None
    breaks: tuple[BreakFrom, ...] = ()
    pack: Told | None = None
    lead: Told | None = None
    note: Told | None = None
    sizes: Sizes | None = None
    leave_out: tuple[LeaveOut, ...] = ()

    def columns(self) -> Iterator[tuple[str, tuple[str | int, ...]]]:
        """Every column that it names, and where it does."""
        tolds = {"code": self.code, "name": self.name, "fills": self.fills, "pack": self.pack}
        tolds |= {"lead": self.lead, "note": self.note}
        for key, told in tolds.items():
            if told is not None:
                yield from ((column, (key,)) for column in told.columns)
        for name, told in self.specs.items():
            yield from ((column, ("specs", name)) for column in told.columns)
        if self.part is not None:
            yield from ((column, ("part",)) for column in FIELD.findall(self.part))
        if self.price is not None:
            yield self.price.column, ("price",)
        for number, one in enumerate(self.breaks):
            yield one.column, ("breaks", number)
        if self.sizes is not None:
            yield self.sizes.column, ("sizes",)
        for number, left in enumerate(self.leave_out):
            yield left.column, ("leave_out", number)


@record(kw_only=True)
class ListMap(Thing):
    """How a list is understood, sheet by sheet."""

    kind = "list"
    list: Id
    supplier: Id
    date: Date | None = None
    """Day of the list; said anew with each by `--dated`."""
    expires: Date | None = None
    decimal: DecimalSign | None = None
    encoding: str | None = None
    separator: str | None = None
    hidden: Hidden = "leave"
    into: str | None = None
    """File below `catalog` that new parts go into; else one named after the list."""
    tables: tuple[Table, ...]

    def hold(self) -> None:
        """Hold that it reads something, and writes into a file of the catalogue."""
        if not self.tables:
            raise ValueError("'tables' wants at least one entry")
        if self.separator is not None and (len(self.separator) != 1 or self.separator in '"\r\n'):
            raise ValueError("'separator' is one sign, like ';'")
        if self.encoding is not None:
            import codecs

            try:
                codecs.lookup(self.encoding).incrementaldecoder and "".encode(self.encoding)
            except (LookupError, UnicodeError, TypeError, ValueError):
                raise ValueError(f"'{self.encoding[:40]}' is no code page, like utf-8 or cp1252") from None
        if self.into is not None and not re.fullmatch(r"(?:[\w-]+/)*[\w-]+\.yaml", self.into):
            raise ValueError(f"'into' is a file below catalog, like {self._usual}")

    @property
    def file(self) -> str:
        """The file of new parts, below the shop's folder."""
        return f"catalog/{self.into or self._usual}"

    @property
    def _usual(self) -> str:
        return f"parts/{self.list.replace('-', '_')}.yaml"


def read_map(path: Path, shop: Shop, shown: str = "") -> tuple[ListMap, Node]:
    """Read a mapping and hold it against the shop.

    Parameters
    ----------
    path : Path
        The file.
    shop : Shop
        The shop whose positions, specs, families and suppliers it names.
    shown : str, optional
        How messages name the file; else by its path.

    Returns
    -------
    tuple
        The mapping, and its file for the places of what is wrong later.

    Raises
    ------
    Faults
        With everything wrong in it.
    """
    node = read_tree(path, shown or str(path))
    if not isinstance(node.data, dict) or not node.data:
        told = (
            "is no mapping of a list; it begins with `list: name-of-the-list`, and `compat bring FILE --guess` "
        )
        raise Faults([Fault(node.spot, f"{told}makes a first one")])
    faults: list[Fault] = []
    found: ListMap | None = validate(ListMap, node, faults, "mapping")
    if found is not None:
        _hold(found, node, shop, faults)
    if faults or found is None:
        raise Faults(faults)
    return found, node


def _hold(found: ListMap, node: Node, shop: Shop, faults: list[Fault]) -> None:
    def fault(path: tuple[str | int, ...], message: str) -> None:
        faults.append(Fault(node.spot_of(path), message))

    if found.supplier not in shop.suppliers:
        hint = nearest(found.supplier, shop.suppliers) or "; give it an entry, with its name and currency"
        fault(("supplier",), f"supplier '{found.supplier}' is not known{hint}")
    seller = shop.suppliers.get(found.supplier)
    for number, table in enumerate(found.tables):
        here = ("tables", number)
        asked = table.price.currency if table.price is not None else None
        if asked is not None and seller is not None and asked != seller.currency:
            told = (
                f"prices in {asked}, and '{found.supplier}' sells in {seller.currency}: one of the two is wrong"
            )
            fault((*here, "price", "currency"), told)
        for at, family in enumerate(table.families):
            if family not in shop.families:
                fault(
                    (*here, "families", at), f"family '{family}' is not known{nearest(family, shop.families)}"
                )
        for at, part in enumerate(table.includes):
            if part not in shop.parts:
                fault((*here, "includes", at), f"part '{part}' is not known{nearest(part, shop.parts)}")
        _hold_specs(table, here, shop, fault)


def _hold_specs(table: Table, here: tuple[str | int, ...], shop: Shop, fault: _Faulting) -> None:
    fills = table.fills
    places = [fills.fixed] if fills.fixed is not None else list(fills.words.values())
    for place in places:
        if place not in shop.positions:
            fault((*here, "fills"), f"position '{place}' is not known{nearest(place, shop.positions)}")
    known: dict[str, SpecKind] = {}
    for place in places or list(shop.positions):
        known |= shop.kinds.get(place, {})
    named: list[tuple[str, tuple[str, ...]]] = [(name, ("specs", name)) for name in table.specs]
    sizes = table.sizes
    if sizes is not None:
        named += [(name, ("sizes", "adds", name)) for name in sizes.adds]
        named += [(sizes.states, ("sizes", "states"))] if sizes.states is not None else []
    for name, path in named:
        if name not in known:
            where = f"position '{places[0]}'" if len(places) == 1 else "any position of this table"
            fault((*here, *path), f"spec '{name}' is not declared for {where}{nearest(name, known)}")
    if places and all(place in shop.positions for place in places):
        for name, told in table.specs.items():
            if name in known:
                _hold_told(told, known[name], (*here, "specs", name), fault)
        if sizes is not None:
            _hold_sizes(sizes, known, (*here, "sizes"), fault)


def _hold_told(told: Told, kind: SpecKind, path: tuple[str | int, ...], fault: _Faulting) -> None:
    if told.unit is not None and (kind.sort != "quantity" or unit(told.unit).dimension != kind.dimension):
        fault(path, f"'{kind.name}' is in {told.unit} here, and wants {kind.expected}")
    if kind.sort == "table":
        fault(path, f"'{kind.name}' is a table, which no column holds; state it in the part's own entry")
    for word in told.words.values():
        if kind.sort == "choice" and word not in kind.words:
            fault(path, f"'{word}' is not {kind.expected}{nearest(word, kind.words)}")


def _hold_sizes(
    sizes: Sizes, known: Mapping[str, SpecKind], path: tuple[str | int, ...], fault: _Faulting
) -> None:
    size = unit(sizes.unit).dimension
    for name in [*sizes.adds, *([sizes.states] if sizes.states is not None else [])]:
        if name in known and known[name].dimension != size:
            fault(
                path, f"a size in {sizes.unit} cannot be added to '{name}', which wants {known[name].expected}"
            )


if TYPE_CHECKING:
    from collections.abc import Callable

    _Faulting = Callable[[tuple[str | int, ...], str], None]
