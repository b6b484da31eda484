"""What the fields of rules and figures may hold when a file is read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainValidator, WithJsonSchema

from compat.shop.fields import Basis, Id, Name, Remedy
from compat.shop.source import nearest
from compat.shop.words import DUTIES

__all__ = [
    "Basis",
    "Estimated",
    "Headroom",
    "Id",
    "Name",
    "Pairs",
    "Reason",
    "Remedy",
    "Scatter",
    "Text",
    "Title",
]

Text = Annotated[str, Field(max_length=2000)]
Title = Annotated[str, Field(min_length=3, max_length=120)]
Reason = Annotated[str, Field(min_length=3)]
Scatter = Annotated[float, Field(ge=0, le=2)]
Estimated = Literal["estimate"]


def _pairs(raw: Any) -> Any:
    pairs = [raw] if isinstance(raw, list) and raw and all(isinstance(entry, str) for entry in raw) else raw
    if not isinstance(pairs, list) or any(not isinstance(pair, list) or len(pair) != 2 for pair in pairs):
        raise ValueError("wants pairs: [[piston.pin_diameter, rod.small_end_bore], ...]")
    return pairs


Pairs = Annotated[
    tuple[tuple[Text, Text], ...],
    BeforeValidator(_pairs),
    WithJsonSchema({"type": "array", "items": {"type": ["string", "array"]}}),
]


def _share(raw: Any) -> float:
    try:
        share = float(raw)
    except (TypeError, ValueError):
        share = math.nan
    if not math.isfinite(share):
        raise ValueError("wants a number, or a number for each duty")
    if not -0.9 <= share <= 100:
        raise ValueError(f"must be between -0.9 and 100, not {raw}")
    return share


def _headroom(raw: Any) -> float | Mapping[str, float]:
    if not isinstance(raw, Mapping):
        return _share(raw)
    for duty in raw:
        if duty not in DUTIES:
            raise ValueError(f"'{duty}' is not one of {', '.join(DUTIES)}{nearest(duty, DUTIES)}")
    return {duty: _share(share) for duty, share in raw.items()}


_SHARE = {"type": "number", "minimum": -0.9, "maximum": 100}
Headroom = Annotated[
    float | Mapping[str, float],
    PlainValidator(_headroom),
    WithJsonSchema(
        {
            "description": "capacity / load - 1 that is asked, for every duty or each",
            "anyOf": [
                _SHARE,
                {
                    "type": "object",
                    "properties": dict.fromkeys(DUTIES, _SHARE),
                    "required": [duty for duty in DUTIES if duty != "sprint"],
                    "additionalProperties": False,
                },
            ],
        }
    ),
]
