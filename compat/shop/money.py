"""Money: exact, and in one currency; shares in percent."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from compat.record import record
from compat.shop.currencies import MINOR_UNITS, known_currency

__all__ = ["Money", "Percent"]


@record(slots=True)
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
        match = re.fullmatch(r"\s*(\d{1,9}(?:\.(\d{1,4}))?)\s*([A-Z]{3})?\s*", str(raw), re.ASCII)
        if not match:
            raise ValueError(f"'{str(raw)[:40]}' is no price; write it like '1140.00 GBP'")
        if match[3] is None:
            raise ValueError(f"'{raw}' has no currency; write it like '{raw} GBP'")
        digits, most = len(match[2] or ""), MINOR_UNITS[known_currency(match[3])]
        if digits > most:
            said = str(raw).strip()
            raise ValueError(f"'{said}' is finer than the smallest coin: {match[3]} has {most} decimals")
        return cls(amount=Decimal(match[1]), currency=match[3])

    @property
    def figure(self) -> str:
        """The amount as people read it, where the currency stands beside.

        >>> Money(Decimal("1140.5"), "GBP").figure, Money(Decimal(1140), "JPY").figure
        ('1,140.50', '1,140')
        """
        return f"{self.amount:,.{MINOR_UNITS.get(self.currency, 2)}f}"

    def __str__(self) -> str:
        return f"{self.figure} {self.currency}"


@record(slots=True)
class Percent:
    """A share of something, as people say it."""

    value: Decimal

    @classmethod
    def read(cls, raw: Any) -> Percent:
        """Read ``20 %``.

        >>> Percent.read("17.5 %").share
        Decimal('0.175')
        """
        if isinstance(raw, Percent):
            return raw
        said = str(raw)[:40] if isinstance(raw, str | int | float | Decimal) else "this"
        match = re.fullmatch(r"\s*(-?)(\d{1,6}(?:\.\d{1,4})?)\s*(%?)\s*", said, re.ASCII)
        if not match:
            raise ValueError(f"'{said}' is no share; write it like '20 %'")
        if match[1]:
            raise ValueError(f"'{said}' is below zero")
        if not match[3]:
            raise ValueError(f"'{said}' does not say of what; write '{said.strip()} %' if you mean percent")
        return cls(Decimal(match[2]))

    @property
    def share(self) -> Decimal:
        """The same as a part of one."""
        return self.value / 100

    def __str__(self) -> str:
        return f"{self.value.normalize():f} %"
