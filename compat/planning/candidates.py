"""How a part goes into a position of a build, as data."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

__all__ = ["FITS", "Beside", "Candidate", "Fits", "Reason", "Way", "best_first"]

Way = Literal["directly", "with more", "not known", "not"]
FITS: tuple[Way, ...] = ("directly", "with more", "not known", "not")
"""How a part goes in, best first. Not known: nothing stands against it, but a spec that decides is unstated."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A part or work that a candidate forces beside what the build forces anyhow."""

    id: str
    name: str
    position: str
    """Where a part goes; empty for work."""
    count: int
    because: str
    values: tuple[tuple[str, str], ...] = ()
    """What work takes: ``(("bore", "22.010 mm"),)``."""


@dataclass(frozen=True, slots=True)
class Reason:
    """What stands against a candidate, or is not known of it."""

    rule: str
    title: str
    verdict: str
    because: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part in a position of a build."""

    part: str
    name: str
    position: str
    build: str
    way: Way
    stands: bool
    """Whether it is what the build has there."""
    beside: tuple[Beside, ...] = ()
    """What it forces; also where it does not go in for another reason."""
    against: tuple[Reason, ...] = ()
    unknown: tuple[Reason, ...] = ()
    clears: tuple[Reason, ...] = ()
    """What stands against the build as it is, and no longer with it."""
    price: Decimal | None = None
    """The least that one piece is sold for, in the shop's currency; None where nobody sells it."""
    headroom: Decimal | None = None
    """The least of all load rules that look at the position, as a part of one; None where none does."""


@dataclass(frozen=True, slots=True)
class Fits:
    """What goes in where, the best first."""

    currency: str
    candidates: tuple[Candidate, ...]


def best_first(one: Candidate) -> tuple[int, bool, bool, Decimal, int, str, str]:
    """What candidates are told in the order of: how they go in, what stands there, then the cheapest first."""
    price = one.price if one.price is not None else Decimal(0)
    more = len(one.against) + len(one.beside)
    return FITS.index(one.way), not one.stands, one.price is None, price, more, one.part, one.build
