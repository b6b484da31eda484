"""Money: exact, and in one currency."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

__all__ = ["Money"]


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in one currency."""

    amount: Decimal
    currency: str

    @classmethod
    def read(cls, raw: Any) -> Money:
        """Read ``1140.50 GBP``.

        >>> Money.read("1140.50 GBP").amount
        Decimal('1140.50')
        """
        if isinstance(raw, Money):
            return raw
        if not isinstance(raw, str | int | float | Decimal):
            raise ValueError("wants a price; write it like '1140.00 GBP'")
        match = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{1,2})?)\s*([A-Z]{3})?\s*", str(raw))
        if not match:
            raise ValueError(f"'{str(raw)[:40]}' is no price; write it like '1140.00 GBP'")
        if match[2] is None:
            raise ValueError(f"'{raw}' has no currency; write it like '{raw} GBP'")
        return cls(amount=Decimal(match[1]), currency=match[2])

    def __str__(self) -> str:
        return f"{self.amount:,.2f} {self.currency}"
