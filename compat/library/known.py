"""What was kept of a shop before an edit, as far as the edit may bear on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any, NamedTuple

from compat.library.rows import APART, Rows, file_of
from compat.library.sources import Stamp
from compat.library.store import Draft
from compat.shop.graph import Key
from compat.shop.specs import SpecKind
from compat.units import Dimension

__all__ = ["Kept", "Old"]

NAMED = ("family", "feature", "supplier", "work", "joint")
"""Kinds of things that parts name, beside positions and figures."""


class Kept(NamedTuple):
    """A thing as it is kept."""

    name: str
    called: str
    written: str


class Old:
    """What a draft begins with. What of it will be written anew is asked for before that.

    Parameters
    ----------
    draft : Draft
        The draft.
    """

    def __init__(self, draft: Draft) -> None:
        self.stamps: Mapping[str, Stamp] = {}
        self.files: frozenset[str] = frozenset()
        """Files that held parts."""
        self._begun = draft.begun
        self._rows = Rows(draft)
        if draft.begun:
            self.stamps = {file: Stamp(*stamp) for file, stamp in self._rows.files.items()}
            self.files = frozenset(self._rows.with_parts)

    @cached_property
    def frame(self) -> set[str]:
        """Files that held more than what is read apart."""
        return {file for file, stamp in self.stamps.items() if stamp.more}

    def parts(self, file: str) -> list[str]:
        """Ids of the parts that a file held."""
        return [part for part, _ in self._rows.parts_in(file)]

    def says(self, file: str) -> Mapping[str, Any]:
        """What a file said beside them."""
        said: Mapping[str, Any] = self._rows.data(f"says/{file}")
        return said

    @cached_property
    def apart(self) -> Mapping[str, Mapping[str, list[Kept]]]:
        """Stock and builds: by kind and file, as they are kept."""
        found: dict[str, dict[str, list[Kept]]] = {kind: {} for kind in APART if kind != "part"}
        for kind, files in found.items() if self._begun else ():
            names = self._rows.names(kind)
            for name, raw in self._rows.written(kind).items():
                written = raw.decode()
                files.setdefault(file_of(written), []).append(Kept(name, names[name], written))
        return found

    def things(self, files: Iterable[str]) -> set[Key]:
        """Stock and builds that files held."""
        wanted = set(files)
        return {
            (kind, kept.name)
            for kind, held in self.apart.items()
            for file in held.keys() & wanted
            for kept in held[file]
        }

    @cached_property
    def includes(self) -> Mapping[str, Mapping[str, list[str]]]:
        """What comes in the box of parts, by file."""
        told: Mapping[str, Mapping[str, list[str]]] = self._told("includes")
        return told

    @cached_property
    def mentions(self) -> Mapping[str, list[str]]:
        """Parts that parts name, by file."""
        told: Mapping[str, list[str]] = self._told("mentions")
        return told

    @cached_property
    def asked(self) -> list[tuple[str, str, list[str]]]:
        """Which parts things looked at when they were held against the shop."""
        return list(self._told("asked"))

    def _told(self, key: str) -> Any:
        return self._rows.data(key) if self._begun else {}

    def moved(
        self,
        tables: Mapping[str, Mapping[str, Any]],
        kinds: Mapping[str, Mapping[str, SpecKind]],
        figures: Mapping[str, Dimension],
    ) -> set[Key]:
        """What parts may name and is gone, or means something else than it did.

        Parameters
        ----------
        tables : mapping
            The things there are now, by kind and id.
        kinds, figures : mapping
            What positions declare, and the dimensions of figures.

        Returns
        -------
        set
            Kinds and ids.
        """
        if not self._begun:
            return set()
        rows = self._rows
        moved = {(kind, name) for kind in NAMED for name in rows.names(kind) if name not in tables[kind]}
        for name in rows.names("position"):
            if kinds.get(name) != rows.more("position", name, "kinds"):
                moved.add(("position", name))
        for name in rows.names("supplier"):
            now = tables["supplier"].get(name)
            if now is not None and not set(rows.thing("supplier", name).lists) <= set(now.lists):
                moved.add(("supplier", name))
        for name in rows.names("figure"):
            if figures.get(name) != rows.thing("figure", name).dimension:
                moved.add(("figure", name))
        return moved
