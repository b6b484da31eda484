"""What a kept shop holds, entry by entry."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, TypeVar

from compat.engineering.formula import Formula
from compat.library.cards import Reader, card
from compat.library.listing import Listing
from compat.library.spots import StoredSpots
from compat.library.store import Store

__all__ = ["APART", "BETWEEN", "HELD", "Rows", "Table", "file_of", "written"]

T = TypeVar("T")

HELD = 20_000
"""So many parts, and so much of what hangs on them, is held in memory at most."""

APART = ("part", "stock", "build")
"""Kinds of things that no word, rule or piece of work is made of: files of them alone are read apart from the
frame, which is all the other kinds together."""


AFTER_FILE, BETWEEN = "\0", "\0\0"
"""What stands behind the name of a file, and between two things: neither names nor cards hold such a letter."""


def written(file: str, thing: Any, more: Mapping[str, Any]) -> str:
    """A thing as it is kept, with the file it comes from and what was worked out of it."""
    return AFTER_FILE.join((file, card(thing), card(more)))


def file_of(written: str) -> str:
    """The file that a thing as it is kept comes from."""
    return written.partition(AFTER_FILE)[0]


class Table(dict[Any, T]):
    """A table whose entries are read when they are first asked for.

    Parameters
    ----------
    load : callable
        Gives the entry of a key, or raises KeyError.
    keys : callable
        Gives every key, in the order of the files.
    most : int
        So many entries are held at most; any number when left out.
    """

    def __init__(
        self, load: Callable[[Any], T], keys: Callable[[], Iterable[Any]], most: int | None = None
    ) -> None:
        super().__init__()
        self._load = load
        self._all = keys
        self._most = most

    def __missing__(self, key: Any) -> T:
        value = self._load(key)
        if self._most is not None and dict.__len__(self) >= self._most:
            self.clear()
        self[key] = value
        return value

    def __contains__(self, key: object) -> bool:
        try:
            self[key]
        except KeyError:
            return False
        return True

    def get(self, key: Any, default: Any = None) -> Any:
        """The entry of a key, or the default."""
        try:
            return self[key]
        except KeyError:
            return default

    def __iter__(self) -> Iterator[Any]:
        return iter(self._all())

    def __len__(self) -> int:
        return sum(1 for _ in self._all())

    def __eq__(self, other: object) -> bool:
        """Whether both hold the same, read or not."""
        return isinstance(other, Mapping) and dict(self.items()) == dict(other.items())

    __hash__ = None

    def keys(self) -> Any:
        """Every key, in the order of the files."""
        return dict.fromkeys(self._all()).keys()

    def values(self) -> Any:
        """Every entry; those of a great table are read as they are gone through, and not held."""
        return (self._held(key) for key in self._all())

    def items(self) -> Any:
        """Every key with its entry."""
        return ((key, self._held(key)) for key in self._all())

    def _held(self, key: Any) -> T:
        if self._most is None or dict.__contains__(self, key):
            return self[key]
        return self._load(key)


class Rows(Listing):
    """Reads the entries of a kept shop.

    Threads may share it: whoever reads an entry reads the same.

    Parameters
    ----------
    store : Store
        The entries.
    """

    def __init__(self, store: Store) -> None:
        super().__init__(store)
        self._reader = Reader(self._formula)
        self._formulas: dict[str, Formula] = {}
        self._frame: dict[str, Mapping[str, str]] = {}
        self._more: dict[tuple[str, str], Mapping[str, Any]] = {}

    def _formula(self, name: str) -> Formula:
        if not self._formulas:
            self._formulas = {key: Formula.of_card(card) for key, card in self.data("formulas").items()}
        return self._formulas[name]

    def has(self, kind: str, name: str) -> bool:
        """Whether there is a thing of an id; does not list all parts to tell."""
        return self._raw(kind, name) is not None

    def _raw(self, kind: str, name: str) -> str | None:
        if kind == "part":
            raw = self.store.find(f"thing/part/{name}", lambda: name in self.names("part"))
            return None if raw is None else raw.decode()
        return self.written(kind).get(name)

    def written(self, kind: str) -> Mapping[str, str]:
        """All things of a kind other than parts, by id, as they are kept."""
        if kind not in self._frame:
            things = self.store.get(f"things/{kind}").decode().split(BETWEEN)
            self._frame[kind] = dict(zip(self.names(kind), things, strict=False))
        return self._frame[kind]

    def thing(self, kind: str, name: str) -> Any:
        """A thing, rule or figure.

        Raises
        ------
        KeyError
            When there is none of that id.
        """
        file, text, _ = self._written(kind, name)
        return self._reader.read(text, file)

    def _written(self, kind: str, name: str) -> list[str]:
        """File and card of a thing, and the card of what was worked out of it, which is seldom asked for."""
        raw = self._raw(kind, name)
        if raw is None:
            raise KeyError(name)
        return raw.split(AFTER_FILE)

    def more(self, kind: str, name: str, what: str) -> Any:
        """What the shop or its rulebook worked out of a thing; None where that is nothing.

        Raises
        ------
        KeyError
            When there is no such thing.
        """
        found = self._more.get((kind, name))
        if found is None:
            file, _, text = self._written(kind, name)
            if len(self._more) >= HELD:
                self._more.clear()
            found = self._more[kind, name] = self._reader.read(text, file)
        return found.get(what)

    def conditioned(self, kind: str) -> list[str]:
        """Things of a kind that state conditions, in the order of the files."""
        if kind == "part":
            found = self.store.below("says", self.with_parts)
            return [part for file in self.with_parts for part in json.loads(found[file])["conditioned"]]
        return [name for name in self.names(kind) if self.more(kind, name, "conditions")]

    def spots(self, kind: str, name: str) -> StoredSpots:
        """Where a thing was written."""
        file, card = self.data(f"spots/{kind}/{name}")
        return StoredSpots(file, card)

    def table(
        self, load: Callable[[Any], T], keys: Callable[[], Iterable[Any]], most: int | None = None
    ) -> Mapping[Any, T]:
        """A table of the shop, its entries read when they are first asked for."""
        return MappingProxyType(Table(load, keys, most))
