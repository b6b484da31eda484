"""The things a shop keeps files about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from compat.record import record
from compat.shop.chosen import Option, TakeFrom, WorkDone
from compat.shop.entry import Entry, Thing, hold_reason, nothing
from compat.shop.features import Need, Offer
from compat.shop.fitting import Fitting, Tightening
from compat.shop.money import Money
from compat.shop.supply import Break, Carriage, Price, PriceList, Shelf, Stock, Supplier
from compat.shop.terms import ShopInfo
from compat.shop.words import DUTIES, Duty
from compat.units import Band, Unit, read_band, unfit, unit

if TYPE_CHECKING:
    from compat.shop.fields import (
        Basis,
        Count,
        Declaration,
        EngineNumbers,
        Height,
        Hours,
        Id,
        LeftOut,
        Name,
        Names,
        Per,
        Pieces,
        Power,
        Pressure,
        Price_,
        Raw,
        Reasons,
        Remedy,
        Renew,
        Scope,
        Selected,
        SpecName,
        Speed,
        Stands,
        Statement,
        System,
        Temperature,
        Time,
        Torque,
    )

__all__ = [
    "DUTIES",
    "Break",
    "Build",
    "Carriage",
    "Duty",
    "Family",
    "Feature",
    "Fitting",
    "Goal",
    "Joint",
    "Money",
    "MoreSpecs",
    "Need",
    "Offer",
    "Option",
    "Parameter",
    "Part",
    "Position",
    "Price",
    "PriceList",
    "Shelf",
    "ShopInfo",
    "SpecChange",
    "Stock",
    "Supplier",
    "TakeFrom",
    "Thing",
    "Tightening",
    "Variant",
    "Work",
    "WorkDone",
]


@record(kw_only=True)
class Position(Thing):
    """A place in the engine that one kind of part fills."""

    kind = "position"
    position: Name
    name: str
    system: System
    per: Per = "engine"
    count: Stands = 1
    counted_by: SpecName | None = None
    each_serves: Name | None = None
    """A spec of its own parts: how many of what it is counted per one piece serves (plugs of a coil pack)."""
    required: bool = False
    varies: bool = False
    """How many go in is for the job to say: more than the usual is no fault by itself."""
    fewer_too: bool = False
    """And fewer is none, as another part may stand in for some: a rule says how many there must be."""
    indispensable: bool = False
    """An engine that left the factory with one cannot do without, whatever the reason."""
    fitting: Fitting = field(default_factory=Fitting)
    """How its parts are fitted on the bench."""
    specs: Mapping[Name, Declaration] = field(default_factory=nothing)


@record(kw_only=True)
class MoreSpecs(Thing):
    """Specs that a shop declares of a position beside those that a set of the program gives it."""

    kind = "more_specs"
    more_specs: Name
    specs: Mapping[Name, Declaration]


@record(kw_only=True)
class Feature(Thing):
    """Something one part offers and another needs."""

    kind = "feature"
    feature: Name
    name: str
    used_up: bool = False
    why: str = ""
    source: str = "common practice"
    remedies: tuple[Remedy, ...] = ()


SEA_LEVEL = Band(0.0, 0.0, 0.0, unit("m").dimension, "m")
STANDARD_AIR = Band(298.15, 298.15, 298.15, unit("K").dimension, "K")


@record(kw_only=True)
class Goal(Entry):
    """What the customer asks for: power at a speed, and under what conditions."""

    power: Power
    at: Speed
    torque: Torque | None = None
    torque_at: Speed | None = None
    rev_limit: Speed | None = None
    boost: Pressure | None = None
    fuel: Id | None = None
    duty: Duty = "street"
    altitude: Height = SEA_LEVEL
    air_temperature: Temperature = STANDARD_AIR

    def hold(self) -> None:
        """Hold that a speed of the torque goes with a torque."""
        if self.torque_at is not None and self.torque is None:
            raise ValueError("'torque_at' says at what speed, and 'torque' not how much")


@record(kw_only=True)
class Family(Thing):
    """Engines that share a block pattern."""

    kind = "family"
    family: Id
    name: str
    numbers: EngineNumbers
    firing_order: str = ""


@record(kw_only=True)
class Variant(Thing):
    """One factory version of a family, with the part it left the factory with in each position."""

    kind = "variant"
    variant: Id
    name: str
    family: Id
    rated: Goal
    stated: Mapping[Name, str] = field(default_factory=nothing)
    setup: Mapping[Name, Raw] = field(default_factory=nothing)
    counts: Mapping[Name, Pieces] = field(default_factory=nothing)
    parts: Mapping[Name, Id]


@record(kw_only=True)
class Part(Thing):
    """Something bought or reused that can fill a position."""

    kind = "part"
    part: Id
    name: str
    fills: Names
    families: tuple[Id, ...] = ()
    basis: Basis = "maker"
    specs: Mapping[Name, Statement] = field(default_factory=nothing)
    """As its file states them while that is read, then typed."""
    includes: tuple[Id, ...] = ()
    offers: tuple[Offer, ...] = ()
    needs: tuple[Need, ...] = ()
    never_with: tuple[Id, ...] = ()
    leaves_out: tuple[Name, ...] = ()
    """Specs and features that its like state and that this card leaves out for good reason."""
    note: str = ""
    sold_by: tuple[Price, ...] = ()
    only_for: Id | None = None
    """The build that alone may fit it: what stands among a build's own `parts` is so."""
    no_longer_sold_by: tuple[Price, ...] = ()
    """What suppliers asked who list it no more; nothing is reckoned with it."""


@record(kw_only=True)
class SpecChange(Entry):
    """What a piece of work does to one spec."""

    spec: SpecName
    by: str | None = None
    to: str | None = None
    tolerance: str | None = None

    def hold(self) -> None:
        """Hold that exactly one of by and to is given."""
        if (self.by is None) == (self.to is None):
            raise ValueError("says either 'by' or 'to'")


@record(kw_only=True)
class Parameter(Entry):
    """What a build states for a piece of work (a depth, a size), perhaps with a default and bounds.

    The bounds are of the part as it stands when the work begins, and the reason for them is told.
    """

    only = "unit"
    unit: str
    default: str | None = None
    at_least: str | None = None
    at_most: str | None = None
    why: str = ""
    source: str = "common practice"

    def hold(self) -> None:
        """Hold that the unit is one, that the default is in it, and that a bound says why."""
        if self.default is not None:
            self.read(self.default)
        self.measure()
        if (self.at_least is not None or self.at_most is not None) and not self.why:
            raise ValueError("a bound says 'why'")

    def measure(self) -> Unit:
        """The unit; a plain number has none."""
        return unit("" if self.unit == "number" else self.unit)

    def read(self, raw: Any) -> Band:
        """Read what a build states."""
        if not isinstance(raw, str):
            raise ValueError(f"wants a quantity in {self.unit}")
        band = read_band(raw)
        if why := unfit(raw, band, self.unit):
            raise ValueError(f"{why}; wanted is a quantity in {self.unit}")
        if band.nominal < 0:
            raise ValueError(f"'{raw}' is below zero; work takes a size, and puts no metal back")
        return band


@record(kw_only=True)
class Work(Thing):
    """A machining or fitting operation."""

    kind = "work"
    work: Id
    instead_of: Id | None = None
    """The work of a set that this one stands for in this shop; they have one id."""
    reason: str = ""
    name: str
    on: Name
    takes: Mapping[Name, Parameter] = field(default_factory=nothing)
    changes: tuple[SpecChange, ...] = ()
    needs: tuple[Need, ...] = ()
    offers: tuple[Offer, ...] = ()
    opens: tuple[Name, ...] = ()
    forces: tuple[Id, ...] = ()
    after: tuple[Id, ...] = ()
    awaits: tuple[Name, ...] = ()
    """Positions whose parts must be in before it begins, beside its own. The assembly awaits all of them."""
    assembles: bool = False
    """It is the assembly itself: what follows it is done on the assembled engine."""
    fitted: tuple[Name, ...] = ()
    """Positions whose parts are in when it is done, in the course of the assembly."""
    before: tuple[Name, ...] = ()
    """Positions whose parts would be in its way."""
    measures: tuple[SpecName, ...] = ()
    """Specs that are measured as it is done."""
    hours: Hours = Decimal(0)
    """For one of what `per` says."""
    per: Per = "engine"
    set_up: Hours = Decimal(0)
    """More, once, however many of them there are."""
    labour: Name | None = None
    """Which of the shop's `labour_rates` is asked for it."""
    done_by: str = "shop"
    price: Price_ | None = None
    """What a supplier asks who does it, for one of what `per` says; else hours at the supplier's rate."""
    lead: Time | None = None
    """How long it is away; else as the supplier says."""
    caution: str = ""
    note: str = ""

    def hold(self) -> None:
        """Hold that what stands instead of other work says why."""
        hold_reason(self.instead_of, self.reason)

    def number(self, family: Family) -> int:
        """Of how many pieces of an engine its hours are."""
        return 1 if self.per == "engine" else family.numbers[self.per]

    def hours_on(self, family: Family) -> Decimal:
        """Hours that it takes on an engine of a family."""
        return plain(self.set_up + self.hours * self.number(family))


def plain(hours: Decimal) -> Decimal:
    """A number without the noughts that a product drags along.

    >>> plain(Decimal("0.375") * 4), plain(Decimal("2.5") * 4)
    (Decimal('1.5'), Decimal('10'))
    """
    return Decimal(f"{hours.normalize():f}")


@record(kw_only=True)
class Renewal(Entry):
    """One thing an opened joint consumes, perhaps only under a condition."""

    only = "position"
    position: Name
    where: str | None = None
    count: Count | None = None


@record(kw_only=True)
class Joint(Thing):
    """A place that is sealed or bolted and must be opened to reach what lies behind it."""

    kind = "joint"
    joint: Name
    name: str
    behind: tuple[Name, ...]
    opens: tuple[Name, ...] = ()
    renews: tuple[Renewal, ...] = ()
    inspect: tuple[str, ...] = ()
    note: str = ""


@record(kw_only=True)
class Build(Thing):
    """A variant, the parts and work chosen, a goal, and what was measured."""

    kind = "build"
    build: Id
    name: str
    customer: str = ""
    variant: Id
    scope: Scope = "vehicle"
    """How much of the car it is; what lies outside is not asked for."""
    take_from: tuple[TakeFrom, ...] = ()
    fits_because: Reasons = field(default_factory=nothing)
    """Why a part of another family fits, by its position."""
    leave_out: LeftOut = field(default_factory=nothing)
    """Positions that the build leaves empty, each with the reason; an empty text is none."""
    brought: LeftOut = field(default_factory=nothing)
    """What the customer brings, by its position, each with its state; an empty text where none is said."""
    fit: Mapping[Name, Id] = field(default_factory=nothing)
    counts: Mapping[Name, Pieces] = field(default_factory=nothing)
    work: tuple[WorkDone, ...] = ()
    renew: Renew = ()
    setup: Mapping[Name, Raw] = field(default_factory=nothing)
    measured: Mapping[str, Raw] = field(default_factory=nothing)
    selected: Selected = field(default_factory=nothing)
    """Which measured piece goes where: by position the number of the piece in each place, from the front."""
    options: tuple[Option, ...] = ()
    """What the customer may have instead; nothing of it is in the build itself."""
    goal: Goal
    note: str = ""
