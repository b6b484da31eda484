"""What each file holds for the others: enough to tell which of them a change of it touches."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from compat.library.cards import pack
from compat.rulebook.expressions import Expression
from compat.shop.graph import UNSOLD, Key, edges_of
from compat.shop.models import Part, Position, Thing, Work

__all__ = ["PartFace", "Record", "face_of", "refers_to"]


@dataclass(frozen=True, slots=True)
class PartFace:
    """What others may ask of a part without reading it."""

    part: str
    fills: tuple[str, ...]
    includes: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    price: str = ""
    offers: tuple[tuple[str, int], ...] = ()

    @property
    def linked(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What makes those that name the part right or wrong."""
        return self.fills, self.includes


@dataclass
class Record:
    """What one file holds: each thing by kind and id with its face, and every id that it names."""

    things: dict[Key, Any] = field(default_factory=dict)
    refers: set[Key] = field(default_factory=set)

    def card(self) -> bytes:
        """As JSON."""
        things = [[kind, name, _face_card(face)] for (kind, name), face in self.things.items()]
        return json.dumps([things, sorted(self.refers)], ensure_ascii=False, separators=(",", ":")).encode()

    @classmethod
    def of_card(cls, raw: bytes) -> Record:
        """Back from JSON."""
        things, refers = json.loads(raw)
        return cls(
            {(kind, name): _face(name, card) for kind, name, card in things},
            {(kind, name) for kind, name in refers},
        )

    def parts(self) -> Iterator[PartFace]:
        """The parts of the file."""
        return (face for face in self.things.values() if isinstance(face, PartFace))

    @property
    def mixed(self) -> bool:
        """Whether there is anything in it but parts."""
        return any(kind != "part" for kind, _ in self.things)


def _face_card(face: Any) -> Any:
    if isinstance(face, PartFace):
        return [face.fills, face.includes, face.families, face.price, face.offers]
    return face


def _face(name: str, card: Any) -> Any:
    if isinstance(card, str):
        return card
    fills, includes, families, price, offers = card
    return PartFace(
        name, tuple(fills), tuple(includes), tuple(families), price, tuple([(f, n) for f, n in offers])
    )


def face_of(thing: Thing | None) -> Any:
    """What others may ask of a thing; one that failed its own checks is only known to be there."""
    if isinstance(thing, Part):
        prices = (price.price.amount / price.pack for price in thing.sold_by)
        return PartFace(
            thing.part,
            thing.fills,
            thing.includes,
            thing.families,
            str(min(prices, default=UNSOLD)),
            tuple((offer.feature, number) for number, offer in enumerate(thing.offers)),
        )
    if isinstance(thing, Position):
        return pack(thing.specs)
    if isinstance(thing, Work):
        return pack([offer.feature for offer in thing.offers])
    return "" if thing is not None else "?"


def seen(face: Any) -> Any:
    """The side of a face by which those that name the thing are right or wrong."""
    return face.linked if isinstance(face, PartFace) else face


def refers_to(thing: Thing, conditions: Iterable[Expression] = ()) -> Iterator[Key]:
    """Every id that a thing names, its conditions among them."""
    yield from (edge.target for edge in edges_of(thing))
    for expression in conditions:
        names = expression.names
        yield from (("position", position) for position, _ in names.specs)
        yield from (("position", position) for position in names.positions)
        yield from (("figure", figure) for figure in names.figures)
        yield from (("feature", feature) for feature in names.features)
        yield from (("work", work) for work in names.works)
        yield from (("joint", joint) for joint in names.joints)


def moved(before: Mapping[Key, Any], after: Mapping[Key, Any]) -> set[Key]:
    """Ids that went, or that others may now find otherwise."""
    return {key for key, face in before.items() if key not in after or seen(after[key]) != seen(face)}
