"""Where a shop gets its parts: suppliers with their terms, what they ask, and its own shelf."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry, Thing, nothing
from compat.shop.money import Money

if TYPE_CHECKING:
    from compat.shop.fields import Condition, Currency, Date, Id, Kept, Pack, Price_, Time

__all__ = ["Break", "Carriage", "Price", "PriceList", "Shelf", "Stock", "Supplier"]


@record(kw_only=True)
class Break(Entry):
    """What a pack costs from so many packs on, all of them."""

    packs: Pack
    price: Price_


@record(kw_only=True)
class Price(Entry):
    """What a supplier asks for a pack of a part."""

    supplier: Id
    code: str = ""
    price: Price_
    pack: Pack = 1
    breaks: tuple[Break, ...] = ()
    """Lower prices of a pack, by how many are ordered at once."""
    lead: Time | None = None
    """Days until it is in; as the supplier's own where it is left out."""
    list: Id | None = None
    """Which of the supplier's `lists` it stands in; else it holds as the supplier says of all."""

    def hold(self) -> None:
        """Hold that each break takes more packs than the one before, and costs less a pack."""
        packs, price = 1, self.price
        for one in self.breaks:
            if one.price.currency != price.currency:
                raise ValueError(f"'breaks' has a price in {one.price.currency} beside one in {price.currency}")
            if one.packs <= packs:
                raise ValueError(f"'breaks' wants more packs than {packs} next, not {one.packs}")
            if one.price.amount >= price.amount:
                raise ValueError(f"'breaks' asks {one.price} a pack for {one.packs}, and {price} for fewer")
            packs, price = one.packs, one.price

    def of(self, packs: int) -> Money:
        """What one pack costs when so many are ordered at once.

        >>> fewer = Break(packs=3, price=Money.read("9 GBP"))
        >>> offer = Price(supplier="northgate", price=Money.read("10 GBP"), breaks=(fewer,))
        >>> str(offer.of(2)), str(offer.of(3))
        ('10.00 GBP', '9.00 GBP')
        """
        return next((one.price for one in reversed(self.breaks) if one.packs <= packs), self.price)


@record(kw_only=True)
class Carriage(Entry):
    """What a supplier asks for bringing an order, up to a value of its goods."""

    only = "price"
    price: Price_
    below: Price_ | None = None
    """Value of the goods below which it holds; left out: of any order that no other entry speaks of."""


@record(kw_only=True)
class PriceList(Entry):
    """One of several lists of a supplier, with days of its own."""

    only = "date"
    date: Date
    expires: Date | None = None
    """The last day on which its prices hold."""

    def hold(self) -> None:
        """Hold that it does not end before it begins."""
        if self.expires is not None and self.expires < self.date:
            raise ValueError(f"'expires' on {self.expires}, before its 'date' {self.date}")


@record(kw_only=True)
class Supplier(Thing):
    """Who sells parts or does work."""

    kind = "supplier"
    supplier: Id
    name: str
    currency: Currency
    carriage: tuple[Carriage, ...] = ()
    """By value of the goods, rising; beyond the last, and where nothing is said, carriage is free."""
    minimum_order: Price_ | None = None
    """Value of goods below which it takes no order."""
    lead: Time | None = None
    """Days until its goods are in, where their price says nothing else."""
    list_date: Date | None = None
    list_expires: Date | None = None
    """The last day on which its prices hold."""
    lists: Mapping[Id, PriceList] = field(default_factory=nothing)
    """Lists that were brought in one by one; a price that names one holds as long as that does."""
    rate: Price_ | None = None
    """For an hour of work, where it works for other shops."""
    work_lead: Time | None = None
    """How long its work is away."""
    place: str = ""
    note: str = ""

    def hold(self) -> None:
        """Hold that its terms are in its own currency, and go together."""
        named = [("minimum_order", self.minimum_order), ("rate", self.rate)]
        named += [("carriage", money) for one in self.carriage for money in (one.price, one.below)]
        for key, money in named:
            if money is not None and money.currency != self.currency:
                raise ValueError(f"'{key}' is in {money.currency}; the supplier sells in {self.currency}")
        before = None
        for number, one in enumerate(self.carriage):
            if one.below is None and number + 1 < len(self.carriage):
                raise ValueError("'carriage' has an entry without 'below' that is not the last")
            if one.below is not None and not one.below.amount:
                raise ValueError("'carriage' has an entry below nothing, which no order is")
            if before is not None and one.below is not None and one.below.amount <= before.amount:
                raise ValueError(f"'carriage' wants more than {before} next, not {one.below}")
            before = one.below
        if self.list_date is not None and self.list_expires is not None and self.list_expires < self.list_date:
            raise ValueError(f"'list_expires' on {self.list_expires}, before its 'list_date' {self.list_date}")

    def carriage_of(self, goods: Money) -> Money:
        """What bringing an order costs.

        Parameters
        ----------
        goods : Money
            Value of the goods, in the supplier's currency.

        Returns
        -------
        Money
            The price of the first entry that the value is below.
        """
        for one in self.carriage:
            if one.below is None or goods.amount < one.below.amount:
                return one.price
        return Money(goods.amount * 0, self.currency)

    def list_days(self, offer: Price) -> tuple[date | None, date | None]:
        """Date of the list that a price stands in, and the last day on which it holds.

        Parameters
        ----------
        offer : Price
            A price of this supplier.

        Returns
        -------
        tuple
            Each None where it is not said.
        """
        if offer.list is None:
            return self.list_date, self.list_expires
        own = self.lists[offer.list]
        return own.date, own.expires

    def expired(self, offer: Price, on: date) -> bool:
        """Whether a price no longer holds on a day."""
        last = self.list_days(offer)[1]
        return last is not None and on > last


@record(kw_only=True)
class Shelf(Entry):
    """Pieces of a part in one place."""

    count: Kept
    place: str = ""
    condition: Condition = "new"
    cost: Price_ | None = None
    """What a piece of it cost; left out, it is reckoned at what one would cost to replace."""
    note: str = ""


@record(kw_only=True)
class Stock(Thing):
    """What the shop has of a part and can take for a build."""

    kind = "stock"
    stock: Id
    shelf: tuple[Shelf, ...]
    """Place by place."""

    def hold(self) -> None:
        """Hold that it names a place."""
        if not self.shelf:
            raise ValueError("'shelf' wants at least one entry, like {place: rack 2, count: 4}")

    @property
    def name(self) -> str:
        """How many there are, and where."""
        return ", ".join(
            f"{one.count} {one.condition}{f' at {one.place}' * bool(one.place)}" for one in self.shelf
        )
