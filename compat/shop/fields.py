"""What the fields of a shop's things may hold when a file is read: names, words, quantities, money."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, WithJsonSchema

from compat.shop.currencies import known_currency
from compat.shop.money import Money, Percent
from compat.shop.quantities import BOUNDS, within
from compat.shop.source import nearest
from compat.shop.specs import Basis
from compat.shop.words import (
    ENGINE_NUMBERS,
    Condition,
    Counted,
    Duty,
    EngineNumber,
    Layout,
    Per,
    Scope,
    SetName,
    System,
)
from compat.units import Band, read_band

__all__ = [
    "Basis",
    "Condition",
    "Count",
    "Counted",
    "Currency",
    "Date",
    "DaysOfWork",
    "Declaration",
    "Deposit",
    "Duty",
    "EngineNumbers",
    "Height",
    "Hours",
    "Id",
    "Kept",
    "Language",
    "Layout",
    "LeftOut",
    "Lines",
    "MarginShare",
    "Money",
    "Name",
    "Names",
    "NumberPattern",
    "Pack",
    "Paper",
    "Per",
    "Percent",
    "Pieces",
    "Power",
    "Pressure",
    "Price_",
    "Ratio",
    "Raw",
    "Reasons",
    "Remedy",
    "Renew",
    "RoundingMode",
    "Rows",
    "RuleReasons",
    "Scope",
    "Selected",
    "SetName",
    "SpecName",
    "Speed",
    "Stands",
    "Statement",
    "Step",
    "System",
    "TaxShare",
    "Temperature",
    "Time",
    "Torque",
    "Uncertainty",
    "WorkingDay",
    "short",
]


def _between(least: str, most: str) -> Any:
    """A quantity in the unit of its bounds, which are far outside anything that is built."""
    says = {"type": ["string", "number"], "description": f"a quantity in {read_band(most).unit}"}
    return Annotated[Band, PlainValidator(partial(within, least, most)), WithJsonSchema(says)]


def _some(raw: Any) -> Band:
    """A quantity of any kind above zero."""
    if isinstance(raw, Band):
        return raw
    if not isinstance(raw, str):
        raise ValueError("wants a quantity with its unit")
    band = read_band(raw)
    if not band.unit or not 0 < band.low == band.high:
        raise ValueError(f"'{raw}' is no quantity above zero with its unit")
    return band


Uncertainty = Annotated[
    Band,
    PlainValidator(_some),
    WithJsonSchema({"type": "string", "description": "a quantity above zero, like 0.003 mm"}),
]
"""What a gauge may be off: expanded uncertainty, k = 2."""
Power = _between(*BOUNDS["Power"])
Speed = _between(*BOUNDS["Speed"])
Torque = _between(*BOUNDS["Torque"])
Pressure = _between(*BOUNDS["Pressure"])
Height = _between(*BOUNDS["Height"])
Temperature = _between(*BOUNDS["Temperature"])
Time = _between("0 days", "3660 days")
Price_ = Annotated[
    Money,
    BeforeValidator(Money.read),
    WithJsonSchema(
        {
            "type": ["string"],
            "pattern": r"^\s*\d{1,9}(\.\d{1,4})?\s*[A-Z]{3}\s*$",
            "examples": ["1140 GBP"],
        }
    ),
]
Hours = Annotated[Decimal, Field(ge=0, le=500)]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$"), AfterValidator(known_currency)]

Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*(_[a-z0-9]+)*$", max_length=80)]
SpecName = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$")]
"""A spec with its position."""

Count = Annotated[int, Field(ge=1, le=999)]
"""Units of a feature or of a renewed part."""
Pieces = Annotated[int, Field(ge=0, le=200)]
"""Pieces in a position, none among them."""
Stands = Annotated[int, Field(ge=1, le=200)]
"""Pieces that a position takes."""
Pack = Annotated[int, Field(ge=1, le=1000)]
Kept = Annotated[int, Field(ge=0, le=100_000)]
"""Pieces in one place of the shelf."""

MOST_REASON = 300

Rows = Annotated[int, Field(ge=1, le=2)]
"""Rows of fasteners across the engine."""

Declaration = Annotated[Any, WithJsonSchema({"type": ["string", "array", "object"]})]
Statement = Annotated[Any, WithJsonSchema({})]
Raw = Any
"""As the file says it; read against a declaration later."""


def _share(most: int, raw: Any) -> Percent:
    percent = Percent.read(raw)
    if percent.value > most:
        raise ValueError(f"'{percent}' is beyond sense; the most is {most} %")
    return percent


def _up_to(most: int) -> Any:
    """A share in percent, with a bound beyond which it is a slip of the pen."""
    says = {"type": "string", "pattern": r"^\s*\d{1,6}(\.\d{1,4})?\s*%\s*$", "examples": ["20 %"]}
    return Annotated[Percent, PlainValidator(partial(_share, most)), WithJsonSchema(says)]


Deposit = _up_to(100)
MarginShare = _up_to(90)
TaxShare = _up_to(60)


def _day(raw: Any) -> date:
    if isinstance(raw, date):
        return raw
    said = raw.strip()[:40] if isinstance(raw, str) else ""
    if not said:
        raise ValueError("wants a date; write year-month-day, like 2026-11-30")
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", said, re.ASCII):
        raise ValueError(f"'{said}' is no date; write year-month-day, like 2026-11-30")
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise ValueError(f"'{said}' is a day that no calendar has") from None


Date = Annotated[
    date,
    PlainValidator(_day),
    WithJsonSchema({"type": "string", "pattern": r"^\s*\d{4}-\d\d-\d\d\s*$", "examples": ["2026-11-30"]}),
]


def _language(raw: Any) -> str:
    from babel.localedata import exists, locale_identifiers

    said = str(raw)[:40]
    if not re.fullmatch(r"[A-Za-z_]{2,20}", said) or not exists(said):
        raise ValueError(
            f"'{said}' is no language with a country that dates and numbers are written in; "
            f"write it like en_GB{nearest(said, locale_identifiers())}"
        )
    return said


Language = Annotated[str, AfterValidator(_language)]
"""A locale, as the Unicode CLDR names it."""
Paper = Literal["A4", "Letter"]
RoundingMode = Literal["half-up", "half-even", "up", "down"]
Step = Annotated[Decimal, Field(gt=0, le=1000)]
Ratio = Annotated[Decimal, Field(gt=0, le=1_000_000_000)]
"""How much of one is worth one of another."""
DaysOfWork = Annotated[int, Field(ge=1, le=7)]
WorkingDay = Annotated[Decimal, Field(gt=0, le=24)]
"""Hours of it."""


def _number_pattern(raw: str) -> str:
    rest = re.sub(r"\{year\}|\{count(:[1-9])?\}", "", raw)
    if len(re.findall(r"\{count(?::[1-9])?\}", raw)) != 1:
        raise ValueError(f"'{raw[:40]}' needs {{count}} once, like Q-{{year}}-{{count:4}} for Q-2026-0001")
    if not re.fullmatch(r"[A-Za-z0-9._-]{0,40}", rest) or raw.startswith("."):
        raise ValueError(
            f"'{raw[:40]}' may hold {{year}}, {{count}} or {{count:4}} for so many digits, and besides "
            "letters, digits, hyphens, underscores and points, none of them at its head a point"
        )
    return raw


NumberPattern = Annotated[str, AfterValidator(_number_pattern)]


def _lines(raw: Any) -> Any:
    return raw.splitlines() if isinstance(raw, str) else raw


Line = Annotated[str, Field(max_length=400)]
Lines = Annotated[tuple[Line, ...], BeforeValidator(_lines, json_schema_input_type=Line | tuple[Line, ...])]
"""A text line by line, or a list of them."""


ASKED = ("power", "speed", "torque", "torque_speed", "rev_limit", "boost")
"""Entries of a goal, by their names in expressions, of which less or more may be asked."""
_OF_THE_GOAL = ("relax", "raise")
_PLACED = ("do", *_OF_THE_GOAL, "set")
"""What may say with which position filled it is of use; the others name their own."""


def _one_remedy(raw: Mapping[str, str]) -> Mapping[str, str]:
    known = ("work", "swap", "add", "leave_out", *_PLACED)
    if len(raw.keys() - {"with"}) != 1 or not set(raw) <= {*known, "with"}:
        raise ValueError(f"wants one of {', '.join(known)} in each entry")
    key, name = next((key, name) for key, name in raw.items() if key != "with")
    if "with" in raw and key not in _PLACED:
        raise ValueError(
            f"'with' names the position that {', '.join(_PLACED)} are for; the others name their own"
        )
    if key in _OF_THE_GOAL and name not in ASKED:
        raise ValueError(f"'{key}' wants one of {', '.join(ASKED)}, not '{name[:40]}'")
    if key == "set" and not re.fullmatch(r"\w+=\w+", name):
        raise ValueError("'set' wants a word of the setup and its value: `set: ignition=wasted_spark`")
    return raw


def _remedy_of(key: str, *, words: Sequence[str] = (), placed: bool = False) -> dict[str, Any]:
    said: dict[str, Any] = {key: {"type": "string", **({"enum": [*words]} if words else {})}}
    if placed:
        said["with"] = {"type": "string"}
    return {"type": "object", "properties": said, "required": [key], "additionalProperties": False}


Remedy = Annotated[
    Mapping[str, str],
    AfterValidator(_one_remedy),
    WithJsonSchema(
        {
            "oneOf": [
                *(_remedy_of(key) for key in ("work", "swap", "add", "leave_out")),
                *(_remedy_of(key, words=ASKED, placed=True) for key in _OF_THE_GOAL),
                *(_remedy_of(key, placed=True) for key in ("set", "do")),
            ]
        }
    ),
]
"""What helps: work, another part, one more or one less by position, less or more asked of the goal, a word of
the setup; or a sentence. Some perhaps only where a position is filled."""


def _all_numbers(raw: Mapping[EngineNumber, int]) -> Mapping[EngineNumber, int]:
    if lacking := [name for name in ENGINE_NUMBERS if name not in raw]:
        raise ValueError(f"lacks {', '.join(lacking)}")
    return raw


def _not_empty(raw: tuple[str, ...]) -> tuple[str, ...]:
    if not raw:
        raise ValueError("wants at least one entry")
    return raw


def _in_words(raw: str) -> str:
    if len(raw) > MOST_REASON:
        raise ValueError(f"gives a reason of {len(raw)} characters; the most is {MOST_REASON}")
    said = raw.strip()
    if said and len(re.findall(r"[^\W\d_]{2,}", said)) < 2:
        raise ValueError(f"gives '{said}' for a reason; wanted are two words of letters at least")
    return said


def _are_words(raw: Sequence[Any]) -> bool:
    return all(isinstance(word, str) for word in raw)


def _all_or_some(raw: Any) -> Any:
    if raw == "all":
        return raw
    if not isinstance(raw, list | tuple) or not all(isinstance(name, str) for name in raw):
        raise ValueError("wants 'all' or a list of positions")
    return tuple(raw)


Reason = Annotated[str, AfterValidator(_in_words)]
"""Why something is so, as the person who says it would; empty where none is given."""
EngineNumbers = Annotated[Mapping[EngineNumber, Stands], AfterValidator(_all_numbers)]
Names = Annotated[
    tuple[Name, ...],
    AfterValidator(_not_empty),
    BeforeValidator(lambda v: [v] if isinstance(v, str) else v, json_schema_input_type=Name | tuple[Name, ...]),
]
"""One name, or a list of them."""
Selected = Mapping[Name, tuple[Stands, ...]]
"""Numbers of pieces in the order of the places they go to, by position."""
Reasons = Mapping[Name, Reason]
"""Why something is so, by position."""


def _said(raw: str) -> str:
    if not _in_words(raw):
        raise ValueError("gives no reason")
    return raw.strip()


RuleReasons = Mapping[Id, Annotated[str, AfterValidator(_said)]]
"""Why something is so, by rule; never without a reason."""
LeftOut = Annotated[
    Reasons,
    BeforeValidator(
        lambda raw: dict.fromkeys(raw, "") if isinstance(raw, list | tuple) and _are_words(raw) else raw,
        json_schema_input_type=Reasons | tuple[Name, ...],
    ),
]
"""Positions with the reason why each is left out, or only their list."""
Renew = Annotated[
    Literal["all"] | tuple[Name, ...],
    PlainValidator(_all_or_some, json_schema_input_type=Literal["all"] | tuple[Name, ...]),
]


def short(key: str) -> Callable[[Any], Any]:
    """Let an entry that is only a word say `key`.

    >>> short("feature")("knock_boss")
    {'feature': 'knock_boss'}
    """
    return lambda raw: {key: raw} if isinstance(raw, str) else raw
