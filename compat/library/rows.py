"""The rows of a compiled shop: what stands in each, and which change with what."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from compat.library.book_cards import Writer
from compat.library.cards import pack
from compat.library.records import PartFace, Record
from compat.library.spots import StoredSpots, spots_card
from compat.rulebook.rulebook import Rulebook
from compat.shop.draft import TABLES
from compat.shop.graph import UNSOLD
from compat.shop.shop import KINDS, Shop
from compat.shop.source import Node

__all__ = ["Index", "Row", "book_rows", "part_rows", "shop_rows", "spots_row"]

Row = tuple[str, bytes]
"""Key and value."""


def _json(data: Any) -> bytes:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()


def part_rows(shop: Shop, book: Rulebook, record: Record, file: str) -> Iterator[Row]:
    """The parts of one file, and where everything in them was written."""
    for face in record.parts():
        part, node = shop.parts[face.part], shop.nodes["part", face.part]
        assert isinstance(node, Node)
        conditions = [
            [field, number, found.card()]
            for field in ("offers", "needs")
            for number in range(len(getattr(part, field)))
            if (found := book.conditions.get(("part", part.part, field, number))) is not None
        ]
        spot = [file, node.spot.line, node.spot.column]
        yield f"part:{part.part}", pack([spot, conditions, part], file).encode()
        yield f"spots:{part.part}", _json(spots_card(node))


def shop_rows(shop: Shop) -> Iterator[Row]:
    """Everything of a shop but its parts."""
    tables = {TABLES[kind]: shop.of_kind(kind) for kind in KINDS if kind != "part"}
    held = {"info": shop.info, "tables": tables, "kinds": shop.kinds, "setups": shop.setups}
    yield "shop", pack(held).encode()


def book_rows(book: Rulebook) -> Iterator[Row]:
    """Rules, figures, and the conditions of everything but parts."""
    writer = Writer()
    conditions = [
        [*where, writer.number(condition)] for where, condition in book.conditions.items() if where[0] != "part"
    ]
    held = {
        "rules": [writer.rule(bound) for bound in book.rules.values()],
        "figures": [writer.figure(bound) for bound in book.figures.values()],
        "conditions": conditions,
        "changes": {work: writer.changes(changes) for work, changes in book.changes.items()},
    }
    yield "book", pack(held).encode()
    yield "expressions", _json(writer.expressions)


def spots_row(shop: Shop, book: Rulebook, before: Rulebook | None) -> Row:
    """Where everything but parts was written; rules as they were when they were not read again."""
    found: dict[str, dict[str, Any]] = {}
    rules = book if before is None else before
    for (kind, name), node in [*shop.nodes.items(), *rules.nodes.items()]:
        if kind != "part":
            card = (
                spots_card(node)
                if isinstance(node, Node)
                else node.card
                if isinstance(node, StoredSpots)
                else []
            )
            found.setdefault(kind, {})[name] = [node.spot.file, card]
    return "spots", _json(found)


class Index:
    """Rows that many parts share: what fills what, what offers what, the cheapest first, every id.

    Parameters
    ----------
    records : mapping
        What each file holds, in the order of the files.
    """

    def __init__(self, records: Mapping[str, Record]) -> None:
        self.records = records

    def _parts(self) -> Iterator[PartFace]:
        for record in self.records.values():
            yield from record.parts()

    def _works(self) -> Iterator[tuple[str, list[str]]]:
        for record in self.records.values():
            for (kind, name), face in record.things.items():
                if kind == "work":
                    yield name, json.loads(face)

    def _names(self, kind: str) -> list[str]:
        return [name for record in self.records.values() for known, name in record.things if known == kind]

    def every(self) -> Iterator[Row]:
        """Every row."""
        return self._rows(self._names("position"), self._names("feature"))

    def of(self, faces: Iterable[PartFace], works: bool) -> Iterator[Row]:
        """Rows of what these parts fill and offer; every one when anything but parts was read again."""
        if works:
            return self.every()
        found = list(faces)
        positions = dict.fromkeys(position for face in found for position in face.fills)
        features = dict.fromkeys(feature for face in found for feature, _ in face.offers)
        return self._rows(positions, features)

    def _rows(self, positions: Iterable[str], features: Iterable[str]) -> Iterator[Row]:
        fills: dict[str, list[PartFace]] = {position: [] for position in positions}
        offers: dict[str, list[tuple[PartFace, int]]] = {feature: [] for feature in features}
        for face in self._parts():
            for position in face.fills:
                if position in fills:
                    fills[position].append(face)
            for feature, number in face.offers:
                if feature in offers:
                    offers[feature].append((face, number))
        works: dict[str, list[Any]] = {feature: [] for feature in offers}
        for work, offered in self._works():
            for number, feature in enumerate(offered):
                if feature in works:
                    works[feature].append(["work", work, number])
        for position, parts in fills.items():
            yield f"fills:{position}", _json([face.part for face in parts])
            yield f"cheapest:position:{position}", _cheapest(parts)
        for feature, found in offers.items():
            entries = [["part", face.part, number] for face, number in found]
            yield f"offers:{feature}", _json([*entries, *works[feature]])
            yield f"cheapest:{feature}", _cheapest(face for face, _ in found)

    def ids(self, kinds: Iterable[str] | None = None) -> Iterator[Row]:
        """Every id of each kind, in order."""
        for kind in kinds or ("shop", *KINDS, "rule", "figure"):
            yield f"ids:{kind}", _json(self._names(kind))


def _cheapest(parts: Iterable[PartFace]) -> bytes:
    once = {face.part: face for face in parts}.values()
    ranked = sorted((Decimal(face.price or UNSOLD), face.part, face) for face in once)
    return _json([[face.price, name, face.families, face.fills] for _, name, face in ranked])
