"""What is searched in the index of the parts of a shop, and what is found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

__all__ = ["Matches", "Size", "Wanted"]


@dataclass(frozen=True, slots=True)
class Size:
    """Specs of which one is to lie in a range, SI."""

    specs: tuple[str, ...]
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is searched: all of it must hold."""

    words: tuple[str, ...] = ()
    """Clauses as FTS5 reads them."""
    sizes: tuple[Size, ...] = ()
    supplier: str = ""
    family: str = ""
    """Parts made for it, or for any."""
    among: tuple[str, ...] | None = None
    """Only of these parts."""
    rates: Mapping[str, Decimal] = field(default_factory=dict)
    """What one of each currency is in the shop's own."""
    leads: Mapping[str, float] = field(default_factory=dict)
    """Days of suppliers that state them."""
    here: tuple[str, ...] = ()
    """Parts on the shelf."""


@dataclass(frozen=True, slots=True)
class Matches:
    """What a search gives."""

    parts: tuple[str, ...]
    """The ids of the first."""
    count: int
    """How many there are."""
    more: bool = False
    """Whether there are at least so many: they were not counted further."""
