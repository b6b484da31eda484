"""A quote as data: what is printed, frozen and compared. Money is Decimal in the shop's own currency."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

__all__ = [
    "Against",
    "Doubt",
    "Inspected",
    "Kind",
    "Lead",
    "Line",
    "OptionPrice",
    "Own",
    "OwnLine",
    "Paper",
    "Quote",
    "Reused",
    "Source",
    "Step",
    "TaxLine",
    "Way",
]

Kind = Literal["part", "labour", "outwork", "carriage"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where so many of a line come from."""

    supplier: str
    quantity: Decimal
    asked: str
    """What is asked for one, in the supplier's currency."""
    code: str = ""
    shelf: str = ""
    """Where on the shop's own shelf it lies, where it is taken from there."""


@dataclass(frozen=True, slots=True)
class OwnLine:
    """What a line is to the shop; never on the customer's copy."""

    cost: Decimal
    """Of the whole line, in the shop's currency, rounded."""
    sources: tuple[Source, ...] = ()
    margin: str = ""
    """The part of the price that the terms ask."""
    hidden_tax: Decimal = Decimal(0)
    """Tax on the margin that stands inside the price of used goods."""
    alternatives: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a quote: `amount` is `quantity` times `unit_price`, rounded as the shop rounds."""

    what: str
    kind: Kind
    system: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    amount: Decimal
    tax_rate: Decimal
    """Of the amount, as a part of one; nought where tax stands inside the price."""
    id: str = ""
    """The part or work."""
    position: str = ""
    margin_scheme: bool = False
    """Used goods: tax on the margin stands inside the price, and is not shown."""
    note: str = ""
    own: OwnLine | None = None


@dataclass(frozen=True, slots=True)
class TaxLine:
    """Tax at one rate, on all amounts of that rate together."""

    rate: Decimal
    base: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the longest path: what is waited for, and how many days."""

    what: str
    days: Decimal


@dataclass(frozen=True, slots=True)
class Lead:
    """How long it takes, and by what."""

    days: int
    path: tuple[Step, ...] = ()
    unknown: tuple[str, ...] = ()
    """What nobody knows the lead of; it is not in the days."""


@dataclass(frozen=True, slots=True)
class Reused:
    """A part of the engine that stays, and why it is looked at."""

    part: str
    what: str
    system: str
    position: str
    count: int
    carries: tuple[str, ...] = ()
    """Loads at the goal that it carries."""
    opened: tuple[str, ...] = ()
    """Joints that are opened and that it lies behind."""


@dataclass(frozen=True, slots=True)
class Inspected:
    """What is looked at where a joint is opened."""

    joint: str
    inspect: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """What helps if something fails; None: what it costs is told when it comes to that."""

    says: str
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is measured, or must become known, before the quote is confirmed; and what it costs if it fails."""

    rule: str
    title: str
    verdict: str
    because: str
    ways: tuple[Way, ...] = ()
    """What helps if it fails."""
    least: Decimal | None = None
    """Of all ways with a price the cheapest, before tax; None where none has one."""
    most: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Against:
    """A finding that stands against the build."""

    rule: str
    verdict: str
    title: str
    because: str


@dataclass(frozen=True, slots=True)
class OptionPrice:
    """An option: what it adds to the total, tax included; or that it does not go together, and why."""

    name: str
    goes_together: bool
    difference: Decimal | None = None
    total: Decimal | None = None
    why: tuple[str, ...] = ()
    not_proven: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """Who sends it, and how it is set."""

    name: str
    address: tuple[str, ...] = ()
    signature: tuple[str, ...] = ()
    paper: Literal["A4", "Letter"] = "A4"
    language: str = "en_GB"


@dataclass(frozen=True, slots=True)
class Own:
    """What the shop's copy has beside the customer's."""

    cost: Decimal
    earned: Decimal
    """Net less cost, labour not counted as a cost, less the tax that stands inside prices."""
    hidden_tax: Decimal
    carriage: tuple[str, ...] = ()
    rates: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    """What the shop's terms do not state, and what is taken instead."""
    findings: tuple[Against, ...] = ()


@dataclass(frozen=True, slots=True)
class Quote:
    """A quote; without a number it is a draft."""

    number: str
    date: dt.date
    valid_until: dt.date
    currency: str
    rounding: str
    """Step that amounts are rounded to, and which way."""
    build: str
    name: str
    customer: str
    engine: str
    goal: Mapping[str, str]
    lines: tuple[Line, ...]
    net: Decimal
    """Sum of the amounts of all lines."""
    taxes: tuple[TaxLine, ...]
    tax_name: str
    tax_number: str
    tax: Decimal
    total: Decimal
    deposit: Decimal
    deposit_share: Decimal
    lead: Lead
    fuel: str = ""
    verdict: str = "ok"
    against: tuple[Against, ...] = ()
    reused: tuple[Reused, ...] = ()
    inspected: tuple[Inspected, ...] = ()
    brought: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    doubt_most: Decimal = Decimal(0)
    """If all that is in doubt fails, and each is mended the dearest way; before tax."""
    options: tuple[OptionPrice, ...] = ()
    held_back: tuple[str, ...] = ()
    left_over: tuple[str, ...] = ()
    not_included: tuple[str, ...] = ()
    cautions: tuple[Against, ...] = ()
    standing: tuple[str, ...] = ()
    """Titles of what is said of every build of its kind."""
    judged_by: tuple[str, ...] = ()
    """Scope and rules that the build was judged by, where that is less than all, or not the program's."""
    terms: tuple[str, ...] = ()
    paper: Paper = field(default_factory=lambda: Paper(""))
    own: Own | None = None
