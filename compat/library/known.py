"""What was kept of a shop before an edit, as far as the edit may bear on it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from compat.library.rows import Rows
from compat.library.sources import Stamp
from compat.library.store import Draft
from compat.shop.graph import Key
from compat.shop.specs import SpecKind
from compat.units import Dimension

__all__ = ["Old"]

NAMED = ("family", "feature", "supplier", "work", "joint")
"""Kinds of things that parts name, beside positions and figures."""


class Old:
    """What a draft begins with, read before anything is written to it.

    Parameters
    ----------
    draft : Draft
        The draft.
    """

    def __init__(self, draft: Draft) -> None:
        self.stamps: Mapping[str, Stamp] = {}
        self.files: frozenset[str] = frozenset()
        """Files that held parts."""
        self._names: dict[str, Mapping[str, str]] = {}
        self._kinds: dict[str, Mapping[str, SpecKind]] = {}
        self._figures: dict[str, Dimension] = {}
        self._lists: dict[str, list[str]] = {}
        if not draft.begun:
            return
        rows = self._rows = Rows(draft)
        self.stamps = {file: Stamp(*stamp) for file, stamp in rows.files.items()}
        self.files = frozenset(rows.with_parts)
        self._names = {kind: rows.names(kind) for kind in NAMED}
        self._kinds = {name: rows.more("position", name, "kinds") for name in rows.names("position")}
        self._lists = {name: list(rows.thing("supplier", name).lists) for name in rows.names("supplier")}
        self._figures = {name: rows.thing("figure", name).dimension for name in rows.names("figure")}

    def parts(self, file: str) -> list[str]:
        """Ids of the parts that a file held."""
        return [part for part, _ in self._rows.parts_in(file)]

    def says(self, file: str) -> Mapping[str, Any]:
        """What a file said beside them."""
        said: Mapping[str, Any] = self._rows.data(f"says/{file}")
        return said

    @cached_property
    def includes(self) -> Mapping[str, Mapping[str, list[str]]]:
        """What comes in the box of parts, by file."""
        told: Mapping[str, Mapping[str, list[str]]] = self._rows.data("includes")
        return told

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
        moved = {
            (kind, name) for kind, names in self._names.items() for name in names if name not in tables[kind]
        }
        moved |= {("position", name) for name, declared in self._kinds.items() if kinds.get(name) != declared}
        for name, lists in self._lists.items():
            if any(own not in tables["supplier"][name].lists for own in lists if name in tables["supplier"]):
                moved.add(("supplier", name))
        moved |= {("figure", name) for name, size in self._figures.items() if figures.get(name) != size}
        return moved
