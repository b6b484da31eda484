"""What a shop asks for and on what terms: labour, margin, tax, rounding, rates of currencies, paper."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry, Thing, nothing
from compat.shop.money import Money, Percent
from compat.units import read_band

if TYPE_CHECKING:
    from compat.shop.fields import (
        Currency,
        Date,
        DaysOfWork,
        Deposit,
        Id,
        Language,
        Lines,
        MarginShare,
        Name,
        NumberPattern,
        Paper,
        Price_,
        Ratio,
        RoundingMode,
        RuleReasons,
        SetName,
        Step,
        TaxShare,
        Time,
        Uncertainty,
        WorkingDay,
    )

__all__ = ["Margin", "Numbers", "Rate", "Rounding", "ShopInfo", "Tax"]

NONE = Percent(Decimal(0))


@record(kw_only=True)
class Margin(Entry):
    """What a shop puts on parts of one position, supplier or band of cost, as a part of the price it asks."""

    margin: MarginShare
    position: Name | None = None
    supplier: Id | None = None
    at_least: Price_ | None = None
    """Cost of a piece from which it counts."""
    below: Price_ | None = None

    def hold(self) -> None:
        """Hold that it says what for, and that its band has room."""
        if self.position is None and self.supplier is None and self.at_least is None and self.below is None:
            raise ValueError("says no position, supplier or cost; all else is the shop's `margin`")
        if self.at_least is not None and self.below is not None and self.at_least.amount >= self.below.amount:
            raise ValueError(f"'at_least' {self.at_least} leaves nothing 'below' {self.below}")

    @property
    def particular(self) -> tuple[bool, bool, bool]:
        """How particular it is: a position outweighs a supplier, and a supplier a band of cost."""
        return self.position is not None, self.supplier is not None, bool(self.at_least or self.below)

    def overlaps(self, other: Margin) -> bool:
        """Whether both hold for a part, neither more particular than the other."""
        if (self.position, self.supplier) != (other.position, other.supplier):
            return False
        if self.particular != other.particular:
            return False
        return self._starts_below(other) and other._starts_below(self)

    def _starts_below(self, other: Margin) -> bool:
        return self.at_least is None or other.below is None or self.at_least.amount < other.below.amount


@record(kw_only=True)
class Tax(Entry):
    """Tax on sales, by what is sold.

    Used goods that were bought without tax to reclaim may be sold under the margin scheme: tax is due on the
    margin alone, stands inside the price, and is not shown (Directive 2006/112/EC, articles 312 to 325; in
    the United Kingdom VAT Notice 718; both from memory).
    """

    name: str = "VAT"
    number: str = ""
    goods: TaxShare = NONE
    labour: TaxShare = NONE
    outwork: TaxShare = NONE
    margin_scheme: tuple[Id, ...] = ()
    """Suppliers whose goods are used ones and sold under the margin scheme."""


@record(kw_only=True)
class Rounding(Entry):
    """To what step amounts of a currency are rounded, and which way."""

    step: Step
    mode: RoundingMode = "half-up"


@record(kw_only=True)
class Rate(Entry):
    """What one of another currency costs in the shop's own, and on which day that was so."""

    rate: Ratio
    on: Date


@record(kw_only=True)
class Numbers(Entry):
    """How documents are numbered, each kind in its own series; with the year in it, from 1 each year."""

    quote: NumberPattern = "Q-{year}-{count:4}"
    order: NumberPattern = "O-{year}-{count:4}"

    def hold(self) -> None:
        """Hold that no quote is called as an order is."""
        bare = [re.sub(r"\{count(:[1-9])?\}", "{count}", pattern) for pattern in (self.quote, self.order)]
        if bare[0] == bare[1]:
            raise ValueError(f"gives quotes and orders the same numbers, '{self.quote}'")


MONTH = read_band("30 days")


@record(kw_only=True)
class ShopInfo(Thing):
    """The shop itself, and its terms."""

    kind = "shop"
    shop: Id
    name: str
    place: str = ""
    address: Lines = ()
    signature: Lines = ()
    currency: Currency
    labour_rate: Price_
    """For an hour of work of any kind that has no rate of its own."""
    labour_rates: Mapping[Name, Price_] = field(default_factory=nothing)
    """For an hour, by kind of labour."""
    margin: MarginShare = NONE
    """Part of the price of goods and outwork that is not their cost, where `margins` says nothing else."""
    margins: tuple[Margin, ...] = ()
    tax: Tax | None = None
    rounding: Mapping[Currency, Rounding] = field(default_factory=nothing)
    rates: Mapping[Currency, Rate] = field(default_factory=nothing)
    validity: Time = MONTH
    deposit: Deposit = NONE
    terms: Lines = ()
    not_included: Lines = ()
    numbers: Numbers = Numbers()
    gauges: Mapping[str, Uncertainty] = field(default_factory=nothing)
    """Expanded uncertainty (k = 2) of the shop's own gauges, by what the vocabulary calls them."""
    paper: Paper = "A4"
    language: Language = "en_GB"
    hours_a_day: WorkingDay = Decimal(8)
    days_a_week: DaysOfWork = 5
    uses: tuple[SetName, ...] = ()
    """Sets of words and rules that the program lends; a shop that names none keeps its own alone."""
    leave_out: RuleReasons = field(default_factory=nothing)
    """Rules of those sets that are not held here, each with the reason, which every report repeats."""
    note: str = ""

    def rate_for(self, labour: str | None) -> Money:
        """What an hour of a kind of labour costs."""
        return self.labour_rates.get(labour or "", self.labour_rate)
