"""What a list says, row by row, in the words of the shop, before it is held against what the shop has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any, TypeAlias

from compat.record import record
from compat.shop.entry import nothing
from compat.shop.source import Spot

__all__ = ["Aside", "Read", "Unread", "Value", "Wanted"]

Value: TypeAlias = Any
"""A text, or a list of texts, or of prices from so many packs on; as a file of the shop would say it."""


@record
class Wanted:
    """A part as a list says it is."""

    code: str
    """The supplier's own."""
    part: str
    """The id that it gets where the shop does not have it."""
    says: Mapping[str, Value]
    """`name`, `fills`, `families`, `basis`, `note`, `specs.…`; of its price `price`, `pack`, `lead` …"""
    spot: Spot
    spots: Mapping[str, Spot] = field(default_factory=nothing)
    supplier: str = ""
    """Who asks the price."""
    row: str = ""
    """What it is remembered under; else its code."""

    @property
    def key(self) -> str:
        """What it is remembered under."""
        return self.row or self.code


@record(slots=True)
class Unread:
    """Something that cannot be read."""

    spot: Spot
    column: str
    text: str
    why: str
    code: str = ""


@record(slots=True)
class Aside:
    """Something that was not taken, and why; or was taken in a way that is better told."""

    what: str
    count: int = 0
    where: str = ""


@record
class Read:
    """All that a file says."""

    wanted: tuple[Wanted, ...] = ()
    unread: tuple[Unread, ...] = ()
    asides: tuple[Aside, ...] = ()
    known: frozenset[str] = frozenset()
    """Codes that stand in the list though nothing was taken of them: hidden, or not to be read."""
