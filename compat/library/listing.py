"""What a kept shop lists: its files, and the ids and names of its things."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from compat.library.store import Store

__all__ = ["Listing"]


class Listing:
    """Reads the lists of a kept shop; of the things themselves it knows nothing.

    Parameters
    ----------
    store : Store
        The entries.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._names: dict[str, Mapping[str, str]] = {}

    def data(self, key: str) -> Any:
        """An entry that is plain data."""
        return json.loads(self.store.get(key))

    @cached_property
    def files(self) -> Mapping[str, Any]:
        """What is known of every file, in the order in which they are read."""
        stamps: Mapping[str, Any] = self.data("stamps")
        return stamps

    @cached_property
    def holdings(self) -> Mapping[str, Any]:
        """What each file that holds parts says of them, in the order in which they are read."""
        listed = [file for file, stamp in self.files.items() if stamp[-1]]
        found = self.store.below("parts", listed)
        return {file: json.loads(found[file]) for file in listed}

    def names(self, kind: str) -> Mapping[str, str]:
        """Ids of a kind with the names of the things, in the order of the files."""
        if kind not in self._names:
            if kind == "part":
                self._names[kind] = {
                    part: name for held in self.holdings.values() for part, name in held["parts"]
                }
            else:
                self._names[kind] = dict(self.data(f"ids/{kind}"))
        return self._names[kind]
