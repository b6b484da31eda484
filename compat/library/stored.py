"""A shop and its rulebook out of a store: parts are read when they are asked for, row by row.

Whatever row turns out broken on the way, the shop's own files are read instead, and the answer is theirs.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from threading import Lock
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeVar

from compat.library.book_cards import changes_of, conditions_of, figures_of, rules_of
from compat.library.cards import unpack
from compat.library.spots import StoredSpots
from compat.library.store import Broken, Store, discard
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import Condition, Rulebook
from compat.shop.graph import UNSOLD, Candidate, Indexes, Key, edges
from compat.shop.models import Part
from compat.shop.shop import KINDS, Shop
from compat.shop.source import Spot
from compat.shop.specs import Spec

if TYPE_CHECKING:
    from compat.library.library import Library

__all__ = ["BROKEN", "Rows", "stored_library"]

T = TypeVar("T")

BROKEN = (Broken, sqlite3.Error, ValueError, KeyError, TypeError, IndexError, AttributeError)
"""What may come of a file that is not as this program wrote it."""


class Rows:
    """Rows of a stored shop, and the shop's own files where one does not hold."""

    def __init__(self, store: Store, plain: Callable[[], Library]) -> None:
        self.store = store
        self._plain = plain
        self._lock = Lock()

    @cached_property
    def plain(self) -> Library:
        """The shop as its files tell it; the store is given up."""
        with self._lock:
            if "plain" not in vars(self):
                discard(self.store.path)
                vars(self)["plain"] = self._plain()
        library: Library = vars(self)["plain"]
        return library

    def ask(self, key: str, read: Callable[[Any], T], other: Callable[[Library], T]) -> T:
        """Read a row that must be there; what the files say when it does not hold."""
        if "plain" not in vars(self):
            with suppress(*BROKEN):
                return read(json.loads(self.store.need(key)))
        return other(self.plain)

    def ids(self, kind: str) -> Mapping[str, int]:
        """Ids of one kind in order, each with its place."""
        found = self._ids.get(kind)
        if found is None:
            names: Iterable[str] = self.ask(f"ids:{kind}", list, lambda library: list(_ids_of(library, kind)))
            found = self._ids[kind] = {name: number for number, name in enumerate(names)}
        return found

    @cached_property
    def _ids(self) -> dict[str, Mapping[str, int]]:
        return {}


def _ids_of(library: Library, kind: str) -> Iterable[str]:
    nodes = library.book.nodes if kind in ("rule", "figure") else library.shop.nodes
    return (name for known, name in nodes if known == kind)


_DECODER = json.JSONDecoder()


class _PartRow:
    """A part as its row has it: the part, its conditions, and where it was written."""

    def __init__(self, raw: bytes) -> None:
        # the row begins with its file, which its specs do not name again
        text = raw.decode()
        self.file: str = _DECODER.raw_decode(text, 2)[0]
        (_, self.line, self.column), conditions, part = unpack(text, self.file)
        self.part: Part = part
        self.conditions: Mapping[tuple[str, int], Expression] = {
            (field, number): Expression.of_card(expression) for field, number, expression in conditions
        }


class _Parts(Mapping[str, Part]):
    """Parts by id, each read at its first use."""

    def __init__(self, rows: Rows) -> None:
        self._rows = rows
        self._read: dict[str, _PartRow] = {}

    def row(self, name: str) -> _PartRow | None:
        """The row of a part; None when its own files have to tell."""
        row = self._read.get(name)
        if row is None and "plain" not in vars(self._rows):
            try:
                raw = self._rows.store.get(f"part:{name}")
                if raw is None and name not in self._rows.ids("part"):
                    raise KeyError(name)
                if raw is not None:
                    row = self._read[name] = _PartRow(raw)
            except KeyError:
                if name not in self._rows.ids("part"):
                    raise
            except BROKEN:
                pass
        return row

    def __getitem__(self, name: str) -> Part:
        row = self.row(name)
        return self._rows.plain.shop.parts[name] if row is None else row.part

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows.ids("part"))

    def __len__(self) -> int:
        return len(self._rows.ids("part"))


class _Specs(Mapping[str, Mapping[str, Spec]]):
    """What each part states."""

    def __init__(self, parts: _Parts) -> None:
        self._parts = parts

    def __getitem__(self, name: str) -> Mapping[str, Spec]:
        return self._parts[name].specs

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


class _LeastPrices(Mapping[str, Decimal]):
    """For each part the least that one piece costs."""

    def __init__(self, parts: _Parts) -> None:
        self._parts = parts

    def __getitem__(self, name: str) -> Decimal:
        part = self._parts[name]
        return min((price.price.amount / price.pack for price in part.sold_by), default=UNSOLD)

    def __iter__(self) -> Iterator[str]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)


class _Table(Mapping[str, T]):
    """One row for each key, read at its first use."""

    def __init__(
        self,
        rows: Rows,
        head: str,
        keys: Iterable[str],
        read: Callable[[Any], T],
        other: Callable[[Library, str], T],
    ) -> None:
        self._rows = rows
        self._head = head
        self._keys = dict.fromkeys(keys)
        self._of = read
        self._other = other
        self._read: dict[str, T] = {}

    def __getitem__(self, key: str) -> T:
        if key not in self._keys:
            raise KeyError(key)
        if key not in self._read:
            other = self._other
            self._read[key] = self._rows.ask(
                f"{self._head}:{key}", self._of, lambda library: other(library, key)
            )
        return self._read[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._keys)

    def __len__(self) -> int:
        return len(self._keys)


def _words(row: Iterable[str]) -> tuple[str, ...]:
    return tuple(row)


class _StoredIndexes(Indexes):
    """The indexes of a shop, one row for each position and feature."""

    def __init__(self, rows: Rows, parts: _Parts, shop: Shop) -> None:
        things = (thing for kind in KINDS if kind != "part" for thing in shop.of_kind(kind).values())
        super().__init__(edges(things))
        self._prices = _LeastPrices(parts)
        self._fills: Mapping[str, tuple[str, ...]] = _Table(
            rows, "fills", shop.positions, _words, lambda library, key: tuple(library.shop.fillers[key])
        )
        self._offers: Mapping[str, tuple[tuple[str, str, int], ...]] = _Table(
            rows, "offers", shop.features, _offers, lambda library, key: tuple(library.shop.offerers[key])
        )
        self._cheap: Mapping[str, tuple[Candidate, ...]] = _Table(
            rows,
            "cheapest",
            [*(f"position:{name}" for name in shop.positions), *shop.features],
            _candidates,
            lambda library, key: tuple(library.shop.cheapest(key)),
        )

    @property
    def fillers(self) -> Mapping[str, tuple[str, ...]]:
        """For each position the parts that can fill it."""
        return self._fills

    @property
    def offerers(self) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        """For each feature who offers it."""
        return self._offers

    @property
    def least_prices(self) -> Mapping[str, Decimal]:
        """For each part the least that one piece costs."""
        return self._prices

    def cheapest(self, feature: str) -> Iterable[Candidate]:
        """Parts that offer a feature, or fill a position, the cheapest first."""
        return self._cheap.get(feature, ())


def _offers(row: Iterable[Any]) -> tuple[tuple[str, str, int], ...]:
    return tuple([(kind, name, number) for kind, name, number in row])


def _candidates(row: Iterable[Any]) -> tuple[Candidate, ...]:
    return tuple([Candidate(Decimal(price), part, tuple(a), tuple(b)) for price, part, a, b in row])


class _Nodes(Mapping[Key, StoredSpots]):
    """Where everything was written, by kind and id."""

    def __init__(self, rows: Rows, parts: _Parts, kinds: Iterable[str]) -> None:
        self._rows = rows
        self._parts = parts
        self._kinds = tuple(kinds)

    @cached_property
    def _spots(self) -> Mapping[str, Mapping[str, Any]]:
        return self._rows.ask("spots", dict, lambda library: {})

    def __contains__(self, key: object) -> bool:
        match key:
            case ("part", str(name)) if "part" in self._kinds:
                return name in self._parts
            case (str(kind), str(name)):
                return kind in self._kinds and name in self._rows.ids(kind)
        return False

    def __getitem__(self, key: Key) -> Any:
        if key not in self:
            raise KeyError(key)
        kind, name = key
        row = self._parts.row(name) if kind == "part" else None
        if row is not None:
            return _PartSpots(self._rows, row)
        if "plain" not in vars(self._rows) and name in self._spots.get(kind, {}):
            return StoredSpots(*self._spots[kind][name])
        library = self._rows.plain
        return (library.book.nodes if kind in ("rule", "figure") else library.shop.nodes)[key]

    def __iter__(self) -> Iterator[Key]:
        for kind in self._kinds:
            yield from ((kind, name) for name in self._rows.ids(kind))

    def __len__(self) -> int:
        return sum(len(self._rows.ids(kind)) for kind in self._kinds)


class _PartSpots:
    """Where a part was written; what lies inside it is looked up when it is asked for."""

    def __init__(self, rows: Rows, row: _PartRow) -> None:
        self._rows = rows
        self._row = row

    @property
    def spot(self) -> Spot:
        """Where it begins."""
        return Spot(self._row.file, self._row.line, self._row.column)

    def spot_of(self, path: Any) -> Spot:
        """Where the last key of the path stands."""
        if not path:
            return self.spot
        name, file = self._row.part.part, self._row.file
        inner: Any = self._rows.ask(
            f"spots:{name}",
            lambda card: StoredSpots(file, card),
            lambda library: library.shop.nodes["part", name],
        )
        spot: Spot = inner.spot_of(path)
        return spot

    def spot_in(self, path: Any, offset: int) -> Spot:
        """Where the text at the path stands."""
        return self.spot_of(path)


class _Conditions(Mapping[Condition, Expression]):
    """Conditions of everything; those of a part stand in its row."""

    def __init__(self, parts: _Parts, own: Mapping[Condition, Expression], rows: Rows) -> None:
        self._parts = parts
        self._own = own
        self._rows = rows

    def __getitem__(self, key: Condition) -> Expression:
        kind, name, field, number = key
        if kind != "part":
            return self._own[key]
        row = self._parts.row(name)
        return self._rows.plain.book.conditions[key] if row is None else row.conditions[field, number]

    def __iter__(self) -> Iterator[Condition]:
        for name in self._parts:
            row = self._parts.row(name)
            found = (
                [k for k in self._rows.plain.book.conditions if k[:2] == ("part", name)]
                if row is None
                else [("part", name, *k) for k in row.conditions]
            )
            yield from found
        yield from self._own

    def __len__(self) -> int:
        return sum(1 for _ in self)


def stored_library(folder: Path, store: Store, plain: Callable[[], Library]) -> Library:
    """Open what a store holds of a shop.

    Raises
    ------
    Broken, sqlite3.Error, ValueError and others of `BROKEN`
        When it does not hold.
    """
    from compat.library.library import Library

    rows = Rows(store, plain)
    parts = _Parts(rows)
    data = unpack(store.need("shop"))
    shop = Shop(
        info=data["info"],
        **data["tables"],
        parts=parts,
        kinds=data["kinds"],
        specs=_Specs(parts),
        setups=data["setups"],
        nodes=_Nodes(rows, parts, ("shop", *KINDS)),
    )
    vars(shop)["indexes"] = _StoredIndexes(rows, parts, shop)
    table = [Expression.of_card(card) for card in json.loads(store.need("expressions"))]
    held = unpack(store.need("book"))
    book = Rulebook(
        rules_of(held["rules"], table),
        figures_of(held["figures"], table),
        _Conditions(parts, MappingProxyType(conditions_of(held["conditions"], table)), rows),
        changes_of(held["changes"], table),
        _Nodes(rows, parts, ("rule", "figure")),
    )
    return Library(folder, shop, book)
