"""A plan of what is bought where, as data: orders by supplier, what the shelf gives, what nobody sells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from compat.shop.models import Money, Price, Supplier
from compat.trade.wanting import Wanted

__all__ = ["Aim", "Line", "Ordered", "Plan", "Short", "Taken"]

Aim = Literal["cost", "soonest"]
"""Least total cost; or the earliest day that everything is in, and of all plans for it the least cost."""


@dataclass(frozen=True, slots=True)
class Line:
    """Packs of one offer."""

    part: str
    name: str
    offer: Price
    packs: int
    price: Money
    """Of a pack, when so many are ordered."""
    wants: tuple[Wanted, ...]
    """What the pieces are for; where a part comes from several offers, all that they are for together."""
    left_over: int = 0
    """Pieces that are not needed."""
    days: int | None = None
    """Until it is in; None where nobody says."""

    @property
    def code(self) -> str:
        """The supplier's own code for it."""
        return self.offer.code

    @property
    def pack(self) -> int:
        """Pieces in a pack."""
        return self.offer.pack

    @property
    def pieces(self) -> int:
        """Pieces that come."""
        return self.packs * self.offer.pack

    @property
    def spare(self) -> int:
        """Whole packs more than are needed: they make the order cost less, or large enough to be taken."""
        return self.left_over // self.offer.pack

    @property
    def amount(self) -> Money:
        """What all of it costs."""
        return Money(self.price.amount * self.packs, self.price.currency)


@dataclass(frozen=True, slots=True)
class Ordered:
    """All that is ordered from one supplier."""

    supplier: Supplier
    lines: tuple[Line, ...]
    carriage: Money

    @property
    def goods(self) -> Money:
        """Value of the goods."""
        return Money(sum((line.amount.amount for line in self.lines), Decimal(0)), self.supplier.currency)

    @property
    def list_days(self) -> tuple[tuple[date | None, date | None], ...]:
        """Of each list that its prices stand in its date and the last day on which they hold."""
        return tuple(dict.fromkeys(self.supplier.list_days(line.offer) for line in self.lines))

    def expired(self, on: date) -> date | None:
        """The last day of the first of these lists that no longer holds on a day; None where all do."""
        return min((last for _, last in self.list_days if last is not None and on > last), default=None)

    @property
    def total(self) -> Money:
        """Goods and carriage."""
        return Money(self.goods.amount + self.carriage.amount, self.supplier.currency)

    @property
    def days(self) -> int | None:
        """Days until all of it is in; None where that is not known of something."""
        return _latest([line.days for line in self.lines])


@dataclass(frozen=True, slots=True)
class Taken:
    """Pieces taken from the shelf."""

    part: str
    name: str
    count: int
    place: str
    condition: str
    wants: tuple[Wanted, ...]
    stays: int = 0
    """Pieces that stay in that place."""


@dataclass(frozen=True, slots=True)
class Short:
    """Pieces that nobody sells and that are not on the shelf."""

    part: str
    name: str
    count: int
    wants: tuple[Wanted, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What is bought where."""

    aim: Aim
    on: date
    currency: str
    """The shop's own."""
    orders: tuple[Ordered, ...]
    taken: tuple[Taken, ...]
    short: tuple[Short, ...]
    cost: Decimal
    """Of all orders with carriage, in the shop's currency: exact, not rounded."""
    proved: bool
    """Whether no other plan serves the aim better. False where time ran out first."""

    @property
    def lines(self) -> Iterator[Line]:
        """Every line of every order."""
        for order in self.orders:
            yield from order.lines

    @property
    def days(self) -> int | None:
        """Days until everything is in; None where that is not known of something."""
        return _latest([line.days for line in self.lines])

    @property
    def whole_on(self) -> date | None:
        """The day on which everything is in."""
        return None if self.days is None else self.on + timedelta(days=self.days)


def _latest(days: list[int | None]) -> int | None:
    known = [each for each in days if each is not None]
    return max(known, default=0) if len(known) == len(days) else None
