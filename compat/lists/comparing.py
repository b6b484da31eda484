"""What a list would change in a shop: what is new, what is otherwise, what it no longer has.

A field is held against three things: what the list says, what the shop says, and what the list said when it was
brought the last time. Where the list says what it said before, the shop's word stands, whoever wrote it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from datetime import date
from math import isclose
from typing import Any

from compat.lists.wanted import Aside, Read, Unread, Value, Wanted
from compat.record import record
from compat.shop.entry import nothing
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.shop.specs import Spec, SpecValue, state
from compat.shop.supply import Price
from compat.units import Band, read_band

__all__ = ["OFFERED", "Bringing", "Gone", "Remembered", "Restated", "compare", "shown_value"]

OFFERED = ("price", "breaks", "pack", "lead", "list")
"""Fields of an offer; the others are the part's own."""
ONCE = ("fills", "basis", "includes")
"""Fields that only a new part takes of a list."""


@record(slots=True)
class Remembered:
    """What a list said of a code when it was brought the last time."""

    part: str
    says: Mapping[str, Value]


@record(slots=True)
class Restated:
    """A field that a list says otherwise than the shop; `was` is None where the shop says nothing."""

    part: str
    field: str
    was: Value
    becomes: Value
    wanted: Wanted


@record(slots=True)
class Gone:
    """An offer that the list no longer has."""

    part: str
    supplier: str
    code: str
    price: str


@record
class Bringing:
    """What comes of bringing a list."""

    shown: str
    list: str
    supplier: str
    day: date | None = None
    expires: date | None = None
    dated: bool = False
    """Whether the days of the list are others than the shop has."""
    new: tuple[Wanted, ...] = ()
    changed: tuple[Restated, ...] = ()
    kept: tuple[Restated, ...] = ()
    """What the list says otherwise by now where the shop has a word of its own, which stays."""
    gone: tuple[Gone, ...] = ()
    unread: tuple[Unread, ...] = ()
    asides: tuple[Aside, ...] = ()
    same: int = 0
    """Parts of which nothing changes."""
    remembers: Mapping[str, Remembered] = field(default_factory=nothing)
    """What the list says, for the next time."""

    @property
    def changes(self) -> bool:
        """Whether anything is to be written."""
        return bool(self.new or self.changed or self.gone or self.dated)


def compare(
    start: Bringing, read: Read, before: Mapping[str, Remembered], shop: Shop, *, over: bool = False,
    whole: bool = True,
) -> Bringing:  # fmt: skip
    """Hold what a list says against a shop.

    Parameters
    ----------
    start : Bringing
        The list, with nothing found yet.
    read : Read
        What it says.
    before : mapping
        By code what it said the last time.
    shop : Shop
        The shop.
    over : bool
        Whether the list's word goes over the shop's own.
    whole : bool
        Whether what does not stand in the list is no longer sold.

    Returns
    -------
    Bringing
        Everything, ready to be told or written.
    """
    comparer = _Comparer(shop, before, over, start)
    for wanted in read.wanted:
        comparer.take(wanted)
    codes = {wanted.key for wanted in read.wanted}
    blind = any(not one.code for one in read.unread)
    gone = list(comparer.gone(codes | read.known)) if whole and not blind else []
    remembers = dict(comparer.remembers)
    lost = {one.code for one in gone}
    remembers |= {code: one for code, one in before.items() if code not in remembers and code not in lost}
    asides = list(read.asides)
    if comparer.taken_out:
        told = (
            f"parts that were taken out of the shop by hand, and stay out ({', '.join(comparer.taken_out[:4])})"
        )
        asides.append(Aside(told, len(comparer.taken_out)))
    others = {one.part for one in (*comparer.changed, *comparer.kept)} | {one.part for one in gone}
    return replace(
        start,
        new=tuple(comparer.new),
        changed=tuple(comparer.changed),
        kept=tuple(comparer.kept),
        gone=tuple(gone),
        unread=(*read.unread, *comparer.unread),
        asides=tuple(asides),
        same=len(comparer.same - others),
        remembers=remembers,
    )


class _Comparer:
    def __init__(self, shop: Shop, before: Mapping[str, Remembered], over: bool, start: Bringing) -> None:
        self.shop, self.before, self.over, self.start = shop, before, over, start
        self.new: list[Wanted] = []
        self.changed: list[Restated] = []
        self.kept: list[Restated] = []
        self.unread: list[Unread] = []
        self.taken_out: list[str] = []
        self.remembers: dict[str, Remembered] = {}
        self.same: set[str] = set()
        self._by_code = self._codes(start.supplier) if start.supplier else {}

    def _codes(self, supplier: str) -> dict[str, str]:
        sold = self.shop.indexes.sold_by.get(supplier, ())
        found: dict[str, str] = {}
        for part in sold:
            for offer in self.shop.parts[part].sold_by:
                if offer.supplier == supplier and offer.code:
                    found.setdefault(offer.code, part)
        return found

    def take(self, wanted: Wanted) -> None:
        known = self.before.get(wanted.key)
        part = self._part_of(wanted, known)
        if part not in self.shop.parts:
            if known is not None and not self.over:
                self.taken_out.append(known.part)
                self.remembers[wanted.key] = known
                return
            self.new.append(replace(wanted, part=part))
            self.remembers[wanted.key] = Remembered(part, wanted.says)
            return
        fills = self.shop.parts[part].fills
        place = wanted.says.get("fills")
        if place is not None and place not in fills:
            told = f"is '{part}' here, which fills {', '.join(fills)} and not {place}"
            self.unread.append(Unread(wanted.spot, "code", wanted.code, told, wanted.code))
            return
        self.remembers[wanted.key] = Remembered(part, wanted.says)
        found, kept = self._changes(part, replace(wanted, part=part), known)
        self.changed += found
        self.kept += kept
        self.same.add(part)

    def _part_of(self, wanted: Wanted, known: Remembered | None) -> str:
        if not self.start.supplier:
            return wanted.part
        if wanted.code in self._by_code:
            return self._by_code[wanted.code]
        return known.part if known is not None else wanted.part

    def _changes(
        self, part: str, wanted: Wanted, known: Remembered | None
    ) -> tuple[list[Restated], list[Restated]]:
        changed, kept = [], []
        offer = self.offer(part, wanted)
        base = known.says if known is not None else nothing()
        for name, value in wanted.says.items():
            if name in ONCE:
                continue
            was = self.current(part, name, offer)
            if self.alike(part, name, was, value):
                continue
            change = Restated(part, name, shown_value(was), value, wanted)
            first = name not in base
            if self.over or (first and (was is None or name in OFFERED)):
                changed.append(change)
            elif first:
                kept.append(change)
            elif self.alike(part, name, self.typed(part, name, base[name]), value):
                continue  # the list says what it said; the shop's own word stands
            elif self.alike(part, name, was, base[name]):
                changed.append(change)
            else:
                kept.append(change)
        return changed, kept

    def offer(self, part: str, wanted: Wanted) -> Price | None:
        """The shop's own entry of the price that is meant."""
        offers = [one for one in self.shop.parts[part].sold_by if one.supplier == wanted.supplier]
        named = [one for one in offers if one.code == wanted.code] or [one for one in offers if not one.code]
        return named[0] if named else None

    def current(self, part: str, name: str, offer: Price | None) -> Any:
        """What the shop says; None where it says nothing."""
        if name in OFFERED:
            if offer is None:
                return None
            value = getattr(offer, name)
            return None if name == "breaks" and not value else value
        if name.startswith("specs."):
            return self.shop.specs[part].get(name[6:])
        thing = self.shop.parts[part]
        value = getattr(thing, name)
        return None if value in ("", ()) else value

    def typed(self, part: str, name: str, value: Value) -> Any:
        """A text of the list as the shop would hold it."""
        if name.startswith("specs."):
            kind = next(
                (self.shop.kinds[place][name[6:]] for place in self.shop.parts[part].fills
                 if name[6:] in self.shop.kinds.get(place, {})), None,
            )  # fmt: skip
            try:
                return None if kind is None else state(kind, value)
            except ValueError:  # declared otherwise since
                return None
        match name:
            case "price":
                return Money.read(value)
            case "pack":
                return int(value)
            case "lead":
                return read_band(value)
            case "families":
                return tuple(value)
        return value

    def alike(self, part: str, name: str, was: Any, value: Value) -> bool:
        """Whether what the shop holds is what a text says."""
        if was is None:
            return False
        if name == "breaks":
            shop = (
                [(one.packs, one.price) for one in was]
                if was and not isinstance(was[0], Mapping)
                else _steps(was)
            )
            return shop == _steps(value)
        becomes = self.typed(part, name, value)
        if isinstance(was, Spec):
            return isinstance(becomes, Spec) and _same_value(was.value, becomes.value)
        if isinstance(was, Band):
            return isinstance(becomes, Band) and _same_value(was, becomes)
        return bool(was == becomes)

    def gone(self, there: set[str] | frozenset[str]) -> Iterator[Gone]:
        """Offers of this list that it no longer has."""
        for code, known in self.before.items():
            part = self.shop.parts.get(known.part)
            if code in there or part is None:
                continue
            for offer in part.sold_by:
                if (offer.supplier, offer.code, offer.list) == (self.start.supplier, code, self.start.list):
                    yield Gone(part.part, offer.supplier, code, _plain(offer.price))


def _steps(breaks: Sequence[Mapping[str, str]]) -> list[tuple[int, Money]]:
    return [(int(one["packs"]), Money.read(one["price"])) for one in breaks]


def _same_value(one: SpecValue, other: SpecValue) -> bool:
    if isinstance(one, Band) and isinstance(other, Band):
        pairs = ((one.nominal, other.nominal), (one.low, other.low), (one.high, other.high))
        return one.dimension == other.dimension and all(
            isclose(a, b, rel_tol=1e-9, abs_tol=1e-15) for a, b in pairs
        )
    return one == other


def _plain(money: Money) -> str:
    return str(money).replace(",", "")


def shown_value(value: Any) -> Value:
    """What a shop holds, as its file would say it."""
    match value:
        case None | str():
            return value
        case Spec():
            return shown_value(value.value)
        case Band():
            return value.text()
        case Money():
            return _plain(value)
        case bool():
            return "yes" if value else "no"
        case tuple() if value and hasattr(value[0], "packs"):
            return [{"packs": str(one.packs), "price": _plain(one.price)} for one in value]
        case tuple() | list():
            return [shown_value(one) for one in value]
    return str(value)
