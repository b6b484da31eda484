"""An order as data: what goes to each supplier, what the shelf gives, what is brought or held back.

It holds everything that its papers say, and nothing of the shop that it was made from, so that it can be kept.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from compat.trade.plans import Aim

__all__ = ["Against", "FromShelf", "HeldBack", "Order", "OrderLine", "OrderedBuild", "SupplierOrder", "ToBring"]


@dataclass(frozen=True, slots=True)
class OrderLine:
    """Packs of a part."""

    part: str
    name: str
    code: str
    packs: int
    pack: int
    """Pieces in a pack."""
    price: Decimal
    """Of a pack, when so many are ordered."""
    amount: Decimal
    reasons: tuple[str, ...]
    pieces: int
    left_over: int
    """Pieces that nothing is asked for."""
    days: int | None
    in_on: datetime.date | None
    note: str = ""
    """Why more packs are ordered than are needed."""


@dataclass(frozen=True, slots=True)
class SupplierOrder:
    """What is ordered from one supplier, in its currency."""

    supplier: str
    name: str
    place: str
    currency: str
    lines: tuple[OrderLine, ...]
    goods: Decimal
    carriage: Decimal
    total: Decimal
    total_own: Decimal
    """In the shop's currency, rounded as the shop rounds."""
    rate: Decimal | None
    """What one of its currency costs in the shop's; None where both are the same."""
    rate_on: datetime.date | None
    in_on: datetime.date | None
    """The day on which all of it is in; None where nobody says."""
    list_date: datetime.date | None
    expired: datetime.date | None
    """When the price list expired that it is reckoned with all the same."""
    note: str = ""
    """Why more is ordered than is needed."""


@dataclass(frozen=True, slots=True)
class FromShelf:
    """Pieces taken from the shop's own shelf."""

    part: str
    name: str
    count: int
    place: str
    condition: str
    stays: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToBring:
    """Pieces that a customer brings."""

    part: str
    name: str
    position: str
    count: int
    state: str
    build: str
    boxed: tuple[str, ...]
    """Parts that come in its box."""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Pieces that are not ordered before what speaks against them is settled."""

    part: str
    name: str
    position: str
    count: int
    build: str
    reasons: tuple[str, ...]
    until: str
    """What is to be settled."""


@dataclass(frozen=True, slots=True)
class Against:
    """A finding that stands against a build."""

    verdict: str
    title: str
    because: str


@dataclass(frozen=True, slots=True)
class OrderedBuild:
    """A build that is ordered for."""

    build: str
    name: str
    verdict: str
    against: tuple[Against, ...]
    """What conflicts, falls short or is missing, and what is not proven."""
    judged_by: tuple[str, ...] = ()
    """Scope and rules that it was judged by, where that is less than all, or not the program's."""


@dataclass(frozen=True, slots=True)
class Order:
    """All that is ordered at once."""

    number: str
    date: datetime.date
    shop: str
    address: tuple[str, ...]
    currency: str
    builds: tuple[OrderedBuild, ...]
    aim: Aim
    proved: bool
    """Whether no other choice of suppliers serves the aim better."""
    suppliers: tuple[SupplierOrder, ...]
    total: Decimal
    """Of all suppliers, in the shop's currency."""
    in_on: datetime.date | None
    shelf: tuple[FromShelf, ...]
    brought: tuple[ToBring, ...]
    held_back: tuple[HeldBack, ...]
    paper: str = "A4"
    language: str = "en_GB"

    @property
    def against(self) -> tuple[tuple[str, Against], ...]:
        """Every finding against a build, each with its build."""
        return tuple((one.build, each) for one in self.builds for each in one.against)
