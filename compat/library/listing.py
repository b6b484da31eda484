"""What a kept shop lists: its files, and the ids and names of its things."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from compat.library.sources import Stamp, digest_of
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
    def stamp(self) -> str:
        """What stands for every byte that the shop was read from, and for what the program lends it.

        Whatever is worked out of the shop and the program alone is the same where this is.
        """
        held = [(file, Stamp(*stamp).digest) for file, stamp in self.files.items()]
        return digest_of(json.dumps([held, self.data("lent")]).encode())

    @cached_property
    def with_parts(self) -> list[str]:
        """Files that hold parts, in the order in which they are read."""
        return [file for file, stamp in self.files.items() if stamp[-1]]

    def parts_in(self, file: str) -> list[tuple[str, str]]:
        """Id and name of every part in a file."""
        parts: list[tuple[str, str]] = self.data(f"parts/{file}")
        return parts

    def names(self, kind: str) -> Mapping[str, str]:
        """Ids of a kind with the names of the things, in the order of the files."""
        if kind not in self._names:
            if kind == "part":
                found = self.store.below("parts", self.with_parts)
                self._names[kind] = {
                    part: name for file in self.with_parts for part, name in json.loads(found[file])
                }
            else:
                self._names[kind] = dict(self.data(f"ids/{kind}"))
        return self._names[kind]
