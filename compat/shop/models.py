"""The things a shop keeps files about, as pydantic models."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import partial
from typing import Annotated, Any, ClassVar, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
)

from compat.shop.source import a_or_an
from compat.shop.specs import SpecKind, declare
from compat.units import Band, Unit, describe, read_band, unit

__all__ = [
    "DUTIES",
    "SYSTEMS",
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
    "Remedy",
    "ShopInfo",
    "Supplier",
    "TakeFrom",
    "Thing",
    "Variant",
    "Work",
    "WorkDone",
]

Duty = Literal["street", "track", "sprint", "endurance"]
DUTIES: tuple[str, ...] = ("street", "track", "sprint", "endurance")
System = Literal[
    "short-block", "rotating-assembly", "sealing", "valve-train", "lubrication", "cooling", "induction",
    "exhaust", "fuel", "ignition", "management", "timing-drive", "front-drive", "driveline", "consumable",
    "setup",
]  # fmt: skip
SYSTEMS: tuple[str, ...] = get_args(System)


class Money(BaseModel):
    """An amount in one currency."""

    model_config = ConfigDict(frozen=True)
    amount: Decimal
    currency: str

    @classmethod
    def read(cls, raw: Any) -> Any:
        """Read ``1140.50 GBP``.

        >>> Money.read("1140.50 GBP").amount
        Decimal('1140.50')
        """
        if isinstance(raw, Money | dict):
            return raw
        match = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{1,2})?)\s*([A-Z]{3})?\s*", str(raw))
        if not match:
            raise ValueError(f"'{raw}' is no price; write it like '1140.00 GBP'")
        if match[2] is None:
            raise ValueError(f"'{raw}' has no currency; write it like '{raw} GBP'")
        return cls(amount=Decimal(match[1]), currency=match[2])

    def __str__(self) -> str:
        return f"{self.amount:,.2f} {self.currency}"


def _quantity(expected: str, signed: bool, raw: Any) -> Band:
    if isinstance(raw, Band):
        return raw
    if not isinstance(raw, str):
        raise ValueError(f"wants a quantity in {expected}")
    band = read_band(raw)
    own = unit(expected)
    if band.dimension != own.dimension:
        what = "has no unit" if not band.unit else f"is {a_or_an(describe(band.dimension))}"
        raise ValueError(f"'{raw}' {what}; wanted is a quantity in {expected}")
    if band.low < 0 and not signed:
        raise ValueError(f"'{raw}' is below zero")
    if band.nominal == 0 and expected in ("kW", "rpm", "N*m"):
        raise ValueError(f"'{raw}' is zero")
    return band


def _schema(expected: str) -> WithJsonSchema:
    return WithJsonSchema({"type": ["string", "number"], "description": f"a quantity in {expected}"})


Power = Annotated[Band, PlainValidator(partial(_quantity, "kW", False)), _schema("kW")]
Speed = Annotated[Band, PlainValidator(partial(_quantity, "rpm", False)), _schema("rpm")]
Torque = Annotated[Band, PlainValidator(partial(_quantity, "N*m", False)), _schema("N*m")]
Pressure = Annotated[Band, PlainValidator(partial(_quantity, "kPa", False)), _schema("kPa")]
Height = Annotated[Band, PlainValidator(partial(_quantity, "m", True)), _schema("m")]
Temperature = Annotated[Band, PlainValidator(partial(_quantity, "degC", False)), _schema("degC")]
Time = Annotated[Band, PlainValidator(partial(_quantity, "days", False)), _schema("days")]
Price_ = Annotated[
    Money, BeforeValidator(Money.read), WithJsonSchema({"type": "string", "examples": ["1140 GBP"]})
]

Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(_[a-z0-9]+)*$", max_length=80)]


def _one_remedy(raw: dict[str, str]) -> dict[str, str]:
    if len(raw) != 1 or not set(raw) <= {"work", "swap", "do", "add"}:
        raise ValueError("wants one of work, swap, do, add in each entry")
    return raw


Remedy = Annotated[
    dict[str, str],
    AfterValidator(_one_remedy),
    WithJsonSchema(
        {
            "type": "object",
            "properties": {key: {"type": "string"} for key in ("work", "swap", "do", "add")},
            "additionalProperties": False,
            "minProperties": 1,
            "maxProperties": 1,
        }
    ),
]
EngineNumber = Literal[
    "cylinders", "banks", "main_journals", "cams", "inlet_valves", "exhaust_valves", "valves"
]


def _all_numbers(raw: dict[EngineNumber, int]) -> dict[EngineNumber, int]:
    if lacking := [name for name in get_args(EngineNumber) if name not in raw]:
        raise ValueError(f"lacks {', '.join(lacking)}")
    return raw


def _not_empty(raw: tuple[str, ...]) -> tuple[str, ...]:
    if not raw:
        raise ValueError("wants at least one entry")
    return raw


def _all_or_some(raw: Any) -> Any:
    if isinstance(raw, str) and raw != "all":
        raise ValueError("wants 'all' or a list of positions")
    return raw


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


def _unit_short(raw: Any) -> Any:
    return {"unit": raw} if isinstance(raw, str) else raw


def _feature_short(raw: Any) -> Any:
    return {"feature": raw} if isinstance(raw, str) else raw


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


Offers = Annotated[Offer, BeforeValidator(_feature_short)]
Needs = Annotated[Need, BeforeValidator(_feature_short)]


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
    numbers: Annotated[dict[EngineNumber, Annotated[int, Field(ge=1, le=200)]], AfterValidator(_all_numbers)]
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
    fills: Annotated[
        tuple[Name, ...],
        BeforeValidator(lambda v: (v,) if isinstance(v, str) else v),
        AfterValidator(_not_empty),
    ]
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


Parameters = Annotated[Parameter, BeforeValidator(_unit_short, json_schema_input_type=str | Parameter)]


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


class Joint(Thing):
    """A place that is sealed or bolted and must be opened to reach what lies behind it."""

    kind = "joint"
    joint: Name
    name: str
    behind: tuple[Name, ...]
    opens: tuple[Name, ...] = ()
    renews: tuple[
        Annotated[Renewal, BeforeValidator(lambda v: {"position": v} if isinstance(v, str) else v)], ...
    ] = ()
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
    work: tuple[
        Annotated[WorkDone, BeforeValidator(lambda v: {"work": v} if isinstance(v, str) else v)], ...
    ] = ()
    renew: Annotated[Literal["all"] | tuple[Name, ...], BeforeValidator(_all_or_some)] = ()
    setup: dict[Name, Any] = Field(default_factory=dict)
    measured: dict[str, Any] = Field(default_factory=dict)
    note: str = ""
