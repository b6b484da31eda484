"""What the fields of a mapping may hold, beside those of a shop's own things."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from compat.shop.fields import Basis, Currency, Date, Id, Name, Pack

__all__ = [
    "Any",
    "Basis",
    "Currency",
    "Date",
    "Decimal",
    "DecimalSign",
    "HeadingLine",
    "Hidden",
    "Id",
    "Mapping",
    "Name",
    "Pack",
    "Per",
    "Sequence",
    "Share",
    "Words",
]

DecimalSign = Literal[".", ","]
Hidden = Literal["leave", "take"]
"""What is done with rows, columns and sheets that the list hides."""
Per = Literal["pack", "piece"]
HeadingLine = Annotated[int, Field(ge=0, le=200)]
"""Row of the headings; 0 where the list has none, and columns go by their letters."""
Share = Annotated[Decimal, Field(ge=-10, le=10)]


def _several(raw: Any) -> Any:
    return [raw] if isinstance(raw, str) else raw


Words = Annotated[tuple[str, ...], BeforeValidator(_several), WithJsonSchema({"type": ["string", "array"]})]
"""A word or a list of words."""
