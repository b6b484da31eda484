"""What the fields of a shop's things may hold: names, words, quantities, money."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
)

from compat.units import Band, nature, read_band, unit

__all__ = [
    "DUTIES",
    "SYSTEMS",
    "Duty",
    "EngineNumbers",
    "Height",
    "Id",
    "Money",
    "Name",
    "Names",
    "Power",
    "Pressure",
    "Price_",
    "Remedy",
    "Renew",
    "Speed",
    "System",
    "Temperature",
    "Time",
    "Torque",
    "short",
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
        if isinstance(raw, Money):
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
        raise ValueError(f"'{raw}' {nature(band)}; wanted is a quantity in {expected}")
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
    Money,
    BeforeValidator(Money.read),
    WithJsonSchema(
        {
            "type": ["string"],
            "pattern": r"^\s*\d{1,9}(\.\d{1,2})?\s*[A-Z]{3}\s*$",
            "examples": ["1140 GBP"],
        }
    ),
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


EngineNumbers = Annotated[dict[EngineNumber, Annotated[int, Field(ge=1, le=200)]], AfterValidator(_all_numbers)]
Names = Annotated[
    tuple[Name, ...],
    AfterValidator(_not_empty),
    BeforeValidator(lambda v: [v] if isinstance(v, str) else v, json_schema_input_type=Name | tuple[Name, ...]),
]
"""One name, or a list of them."""
Renew = Annotated[Literal["all"] | tuple[Name, ...], BeforeValidator(_all_or_some)]


def short(key: str) -> Callable[[Any], Any]:
    """Let an entry that is only a word say `key`.

    >>> short("feature")("knock_boss")
    {'feature': 'knock_boss'}
    """
    return lambda raw: {key: raw} if isinstance(raw, str) else raw
