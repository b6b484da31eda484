"""Which parts a thing looked at while it was held against the shop: it is held again when one of them changes.

Variants, builds, stock and remedies name parts, and a build looks at what comes in their boxes too. Nobody says
beforehand which parts that will be: they are noted as they are looked up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Set
from contextlib import contextmanager
from typing import Any, TypeVar

from compat.library.tables import Table
from compat.shop.graph import Key

__all__ = ["Asked", "Watched"]

T = TypeVar("T")

EVERY = "*"
"""Stands for all parts, where somebody went through them; no part is called so."""


class Asked:
    """Notes what is looked up, by who looks.

    Parameters
    ----------
    kept : iterable
        What `card` gave before.
    """

    def __init__(self, kept: Iterable[tuple[str, str, Iterable[str]]] = ()) -> None:
        self._by: dict[Key, set[str]] = {(kind, name): set(parts) for kind, name, parts in kept}
        self._now: set[str] | None = None

    @contextmanager
    def noting(self, kind: str, name: str) -> Iterator[None]:
        """Note what is looked up from here on as asked by one thing, in place of what it asked before."""
        outer, self._now = self._now, set()
        self._by[kind, name] = self._now
        try:
            yield
        finally:
            self._now = outer

    def note(self, part: object) -> None:
        """Note that a part was looked up, whether it is there or not; what is no text never is."""
        if self._now is not None and isinstance(part, str):
            self._now.add(part)

    def note_every(self) -> None:
        """Note that all parts were gone through."""
        self.note(EVERY)

    def touched(self, parts: Set[str]) -> set[Key]:
        """Things that looked at one of some parts."""
        if not parts:
            return set()
        return {key for key, asked in self._by.items() if EVERY in asked or not asked.isdisjoint(parts)}

    def forget(self, things: Iterable[Key]) -> None:
        """Forget what things asked that are gone."""
        for key in things:
            self._by.pop(key, None)

    def card(self) -> list[list[Any]]:
        """As plain data."""
        return [[kind, name, sorted(parts)] for (kind, name), parts in self._by.items() if parts]


class Watched(Table[T]):
    """A table of parts that notes which of them are looked up.

    Parameters
    ----------
    asked : Asked
        Gets the notes.
    load, keys, most
        As of any table.
    """

    def __init__(
        self, asked: Asked, load: Callable[[Any], T], keys: Callable[[], Iterable[Any]], most: int
    ) -> None:
        def every() -> Iterable[Any]:
            asked.note_every()
            return keys()

        super().__init__(load, every, most)
        self._asked = asked

    def __getitem__(self, key: Any) -> T:
        self._asked.note(key)
        return super().__getitem__(key)
