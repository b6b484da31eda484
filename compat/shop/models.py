"""The things a shop keeps files about, as pydantic models."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from compat.shop.fields import (
    DUTIES,
    Duty,
    EngineNumbers,
    Height,
    Id,
    Money,
    Name,
    Names,
    Power,
    Pressure,
    Price_,
    Remedy,
    Renew,
    Speed,
    System,
    Temperature,
    Time,
    Torque,
    short,
)
from compat.shop.specs import SpecKind, declare
from compat.units import Band, Unit, read_band, unit

__all__ = [
    "DUTIES",
    "Build",
    "Change",
    "Duty",
    "Family",
    "Feature",
    "Goal",
    "Joint",
    "Money",
    "Need",
    "Offer",
    "Parameter",
    "Part",
    "Position",
    "Price",
    "ShopInfo",
    "Supplier",
    "TakeFrom",
    "Thing",
    "Variant",
    "Work",
    "WorkDone",
]


class Thing(BaseModel):
    """Base of everything that has a file entry of its own."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    kind: ClassVar[str]

    @property
    def id(self) -> str:
        """The thing's own id."""
        return str(getattr(self, self.kind))


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class Offer(_Entry):
    """A feature that something offers."""

    feature: Name
    count: int = Field(1, ge=1, le=999)
    matching: dict[str, str] = Field(default_factory=dict, alias="with")
    when: str | None = None


class Need(_Entry):
    """A feature that something needs; any one of several will do when `any_of` is given."""

    feature: Name | None = None
    any_of: tuple[Name, ...] = ()
    count: int = Field(1, ge=1, le=999)
    matching: dict[str, str] = Field(default_factory=dict, alias="with")
    when: str | None = None

    def model_post_init(self, _: Any) -> None:
        """Hold that exactly one of feature and any_of is given."""
        if (self.feature is None) == (not self.any_of):
            raise ValueError("says either 'feature' or 'any_of'")

    @property
    def features(self) -> tuple[str, ...]:
        """Every feature that would meet the need."""
        return (self.feature,) if self.feature else self.any_of


Offers = Annotated[Offer, BeforeValidator(short("feature"), json_schema_input_type=Name | Offer)]
Needs = Annotated[Need, BeforeValidator(short("feature"), json_schema_input_type=Name | Need)]


class Position(Thing):
    """A place in the engine that one kind of part fills."""

    kind = "position"
    position: Name
    name: str
    system: System
    per: Literal[
        "engine", "cylinders", "banks", "main_journals", "cams", "inlet_valves", "exhaust_valves", "valves"
    ] = "engine"
    count: int = Field(1, ge=1, le=200)
    counted_by: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$")] | None = None
    required: bool = False
    specs: dict[Name, Annotated[Any, WithJsonSchema({"type": ["string", "array", "object"]})]] = Field(
        default_factory=dict
    )

    def kinds(self) -> dict[str, SpecKind]:
        """Read the declarations of the specs."""
        return {name: declare(name, raw) for name, raw in self.specs.items()}


class Feature(Thing):
    """Something one part offers and another needs."""

    kind = "feature"
    feature: Name
    name: str
    used_up: bool = False
    why: str = ""
    source: str = "common practice"
    remedies: tuple[Remedy, ...] = ()


class Goal(_Entry):
    """What the customer asks for: power at a speed, and under what conditions."""

    power: Power
    at: Speed
    torque: Torque | None = None
    torque_at: Speed | None = None
    rev_limit: Speed | None = None
    boost: Pressure | None = None
    fuel: Id | None = None
    duty: Duty = "street"
    altitude: Height = Band(0.0, 0.0, 0.0, unit("m").dimension, "m")
    air_temperature: Temperature = Band(298.15, 298.15, 298.15, unit("K").dimension, "K")


class Family(Thing):
    """Engines that share a block pattern."""

    kind = "family"
    family: Id
    name: str
    numbers: EngineNumbers
    firing_order: str = ""


class Variant(Thing):
    """One factory version of a family, with the part it left the factory with in each position."""

    kind = "variant"
    variant: Id
    name: str
    family: Id
    rated: Goal
    stated: dict[Name, str] = Field(default_factory=dict)
    setup: dict[Name, Any] = Field(default_factory=dict)
    counts: dict[Name, Annotated[int, Field(ge=0, le=200)]] = Field(default_factory=dict)
    parts: dict[Name, Id]


class Price(_Entry):
    """What a supplier asks for a pack of a part."""

    supplier: Id
    code: str = ""
    price: Price_
    pack: int = Field(1, ge=1, le=1000)
    lead: Time | None = None


class Part(Thing):
    """Something bought or reused that can fill a position."""

    kind = "part"
    part: Id
    name: str
    fills: Names
    families: tuple[Id, ...] = ()
    basis: Literal["maker", "measured", "handbook", "shop", "estimate"] = "maker"
    specs: dict[Name, Annotated[Any, WithJsonSchema({})]] = Field(default_factory=dict)
    includes: tuple[Id, ...] = ()
    offers: tuple[Offers, ...] = ()
    needs: tuple[Needs, ...] = ()
    never_with: tuple[Id, ...] = ()
    sold_by: tuple[Price, ...] = ()
    note: str = ""


class Change(_Entry):
    """What a piece of work does to one spec."""

    spec: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$")]
    by: str | None = None
    to: str | None = None
    tolerance: str | None = None

    def model_post_init(self, _: Any) -> None:
        """Hold that exactly one of by and to is given."""
        if (self.by is None) == (self.to is None):
            raise ValueError("says either 'by' or 'to'")


class Parameter(_Entry):
    """What a build states for a piece of work (a depth, a size), perhaps with a default."""

    unit: str
    default: str | None = None

    def model_post_init(self, _: Any) -> None:
        """Hold that the unit is one, and that the default is in it."""
        if self.default is not None:
            self.read(self.default)
        self.measure()

    def measure(self) -> Unit:
        """The unit; a plain number has none."""
        return unit("" if self.unit == "number" else self.unit)

    def read(self, raw: Any) -> Band:
        """Read what a build states."""
        if not isinstance(raw, str):
            raise ValueError(f"wants a quantity in {self.unit}")
        band = read_band(raw)
        if band.dimension != self.measure().dimension:
            raise ValueError(f"'{raw}' is not in {self.unit}")
        return band


Parameters = Annotated[Parameter, BeforeValidator(short("unit"), json_schema_input_type=str | Parameter)]


class Work(Thing):
    """A machining or fitting operation."""

    kind = "work"
    work: Id
    name: str
    on: Name
    takes: dict[Name, Parameters] = Field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    offers: tuple[Offers, ...] = ()
    needs: tuple[Needs, ...] = ()
    forces: tuple[Id, ...] = ()
    after: tuple[Id, ...] = ()
    opens: tuple[Name, ...] = ()
    hours: Annotated[Decimal, Field(ge=0, le=500)] = Decimal(0)
    done_by: str = "shop"
    price: Price_ | None = None
    caution: str = ""
    note: str = ""


class Renewal(_Entry):
    """One thing an opened joint consumes, perhaps only under a condition."""

    position: Name
    where: str | None = None
    count: int | None = Field(None, ge=1, le=999)


Renewals = Annotated[Renewal, BeforeValidator(short("position"), json_schema_input_type=Name | Renewal)]


class Joint(Thing):
    """A place that is sealed or bolted and must be opened to reach what lies behind it."""

    kind = "joint"
    joint: Name
    name: str
    behind: tuple[Name, ...]
    opens: tuple[Name, ...] = ()
    renews: tuple[Renewals, ...] = ()
    inspect: tuple[str, ...] = ()
    note: str = ""


class Supplier(Thing):
    """Who sells parts or does work."""

    kind = "supplier"
    supplier: Id
    name: str
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    place: str = ""
    note: str = ""


class ShopInfo(Thing):
    """The shop itself."""

    kind = "shop"
    shop: Id
    name: str
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    labour_rate: Price_
    place: str = ""
    note: str = ""


class TakeFrom(_Entry):
    """Parts taken from a sister variant, position by position."""

    variant: Id
    positions: tuple[Name, ...]


class WorkDone(BaseModel):
    """A piece of work chosen for a build, with what it takes (a depth, a size)."""

    model_config = ConfigDict(extra="allow", frozen=True)
    work: Id

    @property
    def values(self) -> dict[str, Any]:
        """What the build states for the work."""
        return dict(self.model_extra or {})


WorksDone = Annotated[WorkDone, BeforeValidator(short("work"), json_schema_input_type=Id | WorkDone)]


class Build(Thing):
    """A variant, the parts and work chosen, a goal, and what was measured."""

    kind = "build"
    build: Id
    name: str
    customer: str = ""
    variant: Id
    goal: Goal
    fit: dict[Name, Id] = Field(default_factory=dict)
    take_from: tuple[TakeFrom, ...] = ()
    leave_out: tuple[Name, ...] = ()
    counts: dict[Name, Annotated[int, Field(ge=0, le=200)]] = Field(default_factory=dict)
    work: tuple[WorksDone, ...] = ()
    renew: Renew = ()
    setup: dict[Name, Any] = Field(default_factory=dict)
    measured: dict[str, Any] = Field(default_factory=dict)
    note: str = ""
