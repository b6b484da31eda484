"""A shop of which only some files are read again: what the others hold is known without reading them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from compat.library.records import PartFace, Record
from compat.shop.draft import Draft
from compat.shop.graph import Key
from compat.shop.shop import Shop
from compat.shop.source import Spot

__all__ = ["LayeredDraft"]


class _Parts(dict[str, Any]):
    """Parts that were read again; of the others it is known what they fill."""

    def __init__(self, others: Mapping[str, PartFace]) -> None:
        super().__init__()
        self._others = others

    def get(self, name: str, default: Any = None) -> Any:
        """The part, or its face."""
        return super().get(name) or self._others.get(name, default)


class _Elsewhere:
    """Where a thing of a file that is not read again was written."""

    def __init__(self, shop: Shop, key: Key) -> None:
        self._shop = shop
        self._key = key

    @property
    def spot(self) -> Spot:
        return self._shop.spot(*self._key)

    def spot_of(self, path: Any) -> Spot:
        return self._shop.spot(*self._key, *path)

    def spot_in(self, path: Any, offset: int) -> Spot:
        return self.spot_of(path)


class LayeredDraft(Draft):
    """A draft over what other files hold.

    Parameters
    ----------
    records : iterable of (int, Record)
        Every file of the catalogue that is not read again, with its place among all.
    shop : Shop, optional
        The shop as it was, for the places of what is not read again.
    """

    def __init__(self, records: Iterable[tuple[int, Record]] = (), shop: Shop | None = None) -> None:
        super().__init__()
        self._others: dict[str, PartFace] = {}
        self._places: dict[str, tuple[int, int]] = {}
        for rank, record in records:
            for number, (key, face) in enumerate(record.things.items()):
                assert shop is not None
                self.nodes[key] = _Elsewhere(shop, key)
                if isinstance(face, PartFace):
                    self._others[face.part] = face
                    self._places[face.part] = (rank, number)
        self.tables["part"] = _Parts(self._others)
        self.ranks: Mapping[str, int] = {}
        """Place of each file among those that are read."""

    def includes(self) -> Mapping[str, tuple[str, ...]]:
        """What comes in the box of each part, in the order of all files; what brings nothing leads nowhere."""
        found = {name: face.includes for name, face in self._others.items() if face.includes}
        found |= {name: part.includes for name, part in self.parts.items() if part.includes}
        own = {
            name: (self.ranks[self.nodes["part", name].spot.file], number)
            for number, name in enumerate(self.parts)
        }
        return dict(sorted(found.items(), key=lambda entry: own.get(entry[0]) or self._places[entry[0]]))
