"""What a kept shop holds, entry by entry."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any, TypeVar

from compat.engineering.formula import Formula, take_known
from compat.library.card_reading import Reader
from compat.library.cards import Says, card, in_full
from compat.library.listing import Listing
from compat.library.spots import StoredSpots
from compat.library.store import Store
from compat.library.tables import Table
from compat.shop.entry import NOTHING

__all__ = ["APART", "BETWEEN", "HELD", "Rows", "file_of", "written"]

T = TypeVar("T")

HELD = 20_000
"""So many parts, and so much of what hangs on them, is held in memory at most."""

APART = ("part", "stock", "build")
"""Kinds of things that no word, rule or piece of work is made of: files of them alone are read apart from the
frame, which is all the other kinds together."""


AFTER_FILE, BETWEEN = "\0", "\0\0"
"""What stands behind the name of a file, and between two things: neither names nor cards hold such a letter."""

NO_MORE = card({})
"""What is kept of a thing of which nothing was worked out."""


def written(file: str, thing: Any, more: Mapping[str, Any], says: Says = in_full) -> str:
    """A thing as it is kept, with the file it comes from and what was worked out of it."""
    return AFTER_FILE.join((file, card(thing, says), card(more, says)))


def file_of(written: str) -> str:
    """The file that a thing as it is kept comes from."""
    return written.partition(AFTER_FILE)[0]


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
        self._reader = Reader(self._formula, lambda: self.data("said"))
        self._formulas: dict[str, Formula] = {}
        self._frame: dict[str, Mapping[str, bytes]] = {}
        self._more: dict[tuple[str, str], Mapping[str, Any]] = {}
        self._bare: set[str] = set()
        """Parts that were read and have no more to them."""

    def _formula(self, name: str) -> Formula:
        if not self._formulas:
            self._formulas = {key: Formula.of_card(card) for key, card in self.data("formulas").items()}
            take_known(self._formulas)
        return self._formulas[name]

    def has(self, kind: str, name: str) -> bool:
        """Whether there is a thing of an id; does not list all parts to tell."""
        return (kind == "part" and name in self._bare) or self._raw(kind, name) is not None

    def _raw(self, kind: str, name: str) -> bytes | None:
        if kind == "part":
            return self.store.find(f"thing/part/{name}", lambda: name in self.names("part"))
        return self.written(kind).get(name)

    def written(self, kind: str) -> Mapping[str, bytes]:
        """All things of a kind other than parts, by id, as they are kept."""
        if kind not in self._frame:
            things = self.store.get(f"things/{kind}").split(BETWEEN.encode())
            self._frame[kind] = dict(zip(self.names(kind), things, strict=False))
        return self._frame[kind]

    def thing(self, kind: str, name: str) -> Any:
        """A thing, rule or figure.

        Raises
        ------
        KeyError
            When there is none of that id.
        """
        file, text, more = self._written(kind, name)
        if kind == "part" and more == NO_MORE:
            if len(self._bare) >= HELD:
                self._bare.clear()
            self._bare.add(name)
        return self._reader.read(text, file)

    def _written(self, kind: str, name: str) -> list[str]:
        """File and card of a thing, and the card of what was worked out of it, which is seldom asked for."""
        raw = self._raw(kind, name)
        if raw is None:
            raise KeyError(name)
        return raw.decode().split(AFTER_FILE)

    def more(self, kind: str, name: str, what: str) -> Any:
        """What the shop or its rulebook worked out of a thing; None where that is nothing.

        Raises
        ------
        KeyError
            When there is no such thing.
        """
        if kind == "part" and name in self._bare:
            return None
        found = self._more.get((kind, name))
        if found is None:
            file, _, text = self._written(kind, name)
            if len(self._more) >= HELD:
                self._more.clear()
            found = self._more[kind, name] = NOTHING if text == NO_MORE else self._reader.read(text, file)
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
