"""Numbers, money, shares and dates as readers of a language write them, exact to the last digit, or plainly."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from compat.paper.document import Cell, Sort, Value
from compat.shop.money import Money

if TYPE_CHECKING:
    from babel import Locale

__all__ = ["bare", "plain", "shown", "shown_day"]


def bare(cell: Value | Cell) -> Value:
    """The value of a cell, named or not."""
    return cell.value if isinstance(cell, Cell) else cell


@lru_cache(maxsize=16)
def _locale(language: str) -> Locale:
    from babel import Locale

    return Locale.parse(language)


def shown(value: Value, sort: Sort = "text", language: str = "en_GB") -> str:
    """A value as a reader of the language writes it; no digit is added to it or taken away.

    Parameters
    ----------
    value : Value
        What a cell or an entry holds.
    sort : Sort
        The sort of its column: a share is written in percent, a code without groups of digits.
    language : str
        Locale as the CLDR names it.

    Returns
    -------
    str
        The text; empty for None.

    Examples
    --------
    >>> shown(Money(Decimal("1234.5"), "GBP")), shown(Decimal("86.00"), "number", "de_DE")
    ('£1,234.50', '86,00')
    >>> shown(Decimal("0.085"), "percent"), shown(date(2026, 3, 9))
    ('8.5%', '9 Mar 2026')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, Money):
        from babel.numbers import format_currency

        return str(
            format_currency(value.amount, value.currency, locale=_locale(language), decimal_quantization=False)
        )
    if isinstance(value, date):
        return _day(value, "medium", language)
    if sort == "code":
        return plain(value)
    if sort == "percent":
        from babel.numbers import format_percent

        return str(format_percent(value, locale=_locale(language), decimal_quantization=False))
    return _number(Decimal(value), language)


def _number(value: Decimal, language: str) -> str:
    from babel.numbers import format_decimal, get_decimal_symbol, get_minus_sign_symbol

    locale = _locale(language)
    whole, _, digits = f"{abs(value):f}".partition(".")
    text = str(format_decimal(int(whole), locale=locale))
    if digits:
        text += get_decimal_symbol(locale) + digits
    return get_minus_sign_symbol(locale) + text if value < 0 else text


def shown_day(day: date | None, language: str) -> str:
    """A date in full, as at the head of a letter."""
    return "" if day is None else _day(day, "long", language)


def _day(day: date, length: str, language: str) -> str:
    from babel.dates import format_date

    return str(format_date(day, length, locale=_locale(language)))


def plain(value: Value) -> str:
    """A value for a program to read: digits and a point, days by ISO 8601, money without its currency.

    >>> plain(Money(Decimal("1234.50"), "GBP")), plain(date(2026, 3, 9))
    ('1234.50', '2026-03-09')
    """
    if isinstance(value, Money):
        value = value.amount
    if isinstance(value, Decimal):
        return f"{value:f}"
    return "" if value is None else str(value)
