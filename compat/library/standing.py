"""What a compiler has of a shop without reading it: things by their entries, read when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from typing import Any

from compat.library.asked import Asked, Watched
from compat.library.rows import Rows
from compat.library.tables import Table
from compat.shop.draft import Draft as ShopDraft
from compat.shop.graph import Key
from compat.shop.shop import Spots
from compat.shop.words import KINDS

__all__ = ["Nodes", "read_draft", "standing_draft"]

MOST = 1000
"""So many parts are held at most while a shop is compiled."""


class Nodes(dict[Key, Spots]):
    """Where things were written: of what is read as the files say, of what stands by its entries.

    Parameters
    ----------
    rows : Rows
        The entries.
    stands : collection of str
        Kinds of things of which some stand; their ids are those that have entries.
    parts : callable
        Gives the ids of all parts, in the order of the files.
    asked : Asked
        Is told which parts are looked up.
    """

    def __init__(
        self, rows: Rows, stands: Collection[str], parts: Callable[[], Iterator[str]], asked: Asked
    ) -> None:
        super().__init__()
        self.hidden: set[Key] = set()
        """What has an entry and does not stand: its file is read again, or gone."""
        self._rows = rows
        self._kinds = stands
        self._parts = parts
        self._asked = asked

    def stands(self, kind: str, name: str) -> bool:
        """Whether there is a thing that need not be read."""
        return kind in self._kinds and (kind, name) not in self.hidden and self._rows.has(kind, name)

    def __missing__(self, key: Key) -> Spots:
        if key not in self:
            raise KeyError(key)
        return self._rows.spots(*key)

    def __contains__(self, key: object) -> bool:
        if not isinstance(key, tuple):
            return False
        kind, name = key
        if kind == "part":
            self._asked.note(name)
        return dict.__contains__(self, key) or self.stands(kind, name)

    def get(self, key: Key, default: Any = None) -> Any:
        """Where a thing was written, or the default."""
        try:
            return self[key]
        except KeyError:
            return default

    def of(self, kind: str) -> Iterator[str]:
        """Ids of all things of a kind."""
        if kind == "part":
            self._asked.note_every()
            yield from self._parts()
            return
        read = dict.fromkeys(name for of, name in dict.__iter__(self) if of == kind)
        if kind in self._kinds:
            yield from (name for name in self._rows.names(kind) if self.stands(kind, name) and name not in read)
        yield from read

    def __iter__(self) -> Iterator[Key]:
        kinds = dict.fromkeys([*KINDS, *(kind for kind, _ in dict.__iter__(self))])
        for kind in kinds:
            yield from ((kind, name) for name in self.of(kind))


class _Draft(ShopDraft):
    """A shop whose things are not gone through where the ids of one kind are asked."""

    def known(self, kind: str) -> Iterator[str]:
        """Ids of a kind, those of faulty things too."""
        assert isinstance(self.nodes, Nodes)
        return self.nodes.of(kind)


def read_draft(nodes: Nodes, rows: Rows, parts: Callable[[], Iterator[str]], asked: Asked) -> ShopDraft:
    """A shop whose files are to be read, all but parts, which are known by their entries.

    Parameters
    ----------
    nodes : Nodes
        Where its things were written.
    rows : Rows
        The entries.
    parts : callable
        Gives the ids of all parts.
    asked : Asked
        Is told which parts are looked up.

    Returns
    -------
    Draft
        The shop, empty but for its parts.
    """

    def part(name: str) -> Any:
        if not nodes.stands("part", name):
            raise KeyError(name)
        return rows.thing("part", name)

    draft = _Draft(nodes=nodes)
    draft.tables["part"] = Watched(asked, part, parts, MOST)
    draft.specs = Watched(asked, lambda name: draft.tables["part"][name].specs, parts, MOST)
    return draft


def standing_draft(nodes: Nodes, rows: Rows, parts: Callable[[], Iterator[str]], asked: Asked) -> ShopDraft:
    """A shop of which nothing but parts, builds and stock is to be read, as `read_draft` takes it."""
    draft = read_draft(nodes, rows, parts, asked)

    def standing(kind: str) -> Table[Any]:
        def thing(name: str) -> Any:
            if not nodes.stands(kind, name):
                raise KeyError(name)
            return rows.thing(kind, name)

        return Table(thing, lambda: nodes.of(kind))

    def worked_out(kind: str, what: str) -> Table[Any]:
        return Table(lambda name: rows.more(kind, name, what), lambda: rows.names(kind))

    draft.info = next((rows.thing("shop", name) for name in rows.names("shop")), None)
    draft.tables |= {kind: standing(kind) for kind in KINDS if kind != "part"}
    draft.kinds = worked_out("position", "kinds")
    draft.setups = worked_out("variant", "setup")
    return draft
