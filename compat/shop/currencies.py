"""Currencies in use and their minor units, by ISO 4217 (list one; from memory, held against babel)."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

__all__ = ["MINOR_UNITS", "known_currency", "smallest"]

_BY_DIGITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    2: (
        "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF "
        "CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG "
        "HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU "
        "MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR "
        "SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED "
        "VES WST XCD XCG YER ZAR ZMW ZWG"
    ),
    3: "BHD IQD JOD KWD LYD OMR TND",
}

MINOR_UNITS: Mapping[str, int] = MappingProxyType(
    {code: digits for digits, codes in _BY_DIGITS.items() for code in codes.split()}
)
"""Decimal places of the smallest unit of each currency."""


def smallest(currency: str) -> Decimal:
    """The smallest amount of a currency.

    >>> smallest("GBP"), smallest("JPY"), smallest("KWD")
    (Decimal('0.01'), Decimal('1'), Decimal('0.001'))
    """
    return Decimal(1).scaleb(-MINOR_UNITS[currency])


def known_currency(code: str) -> str:
    """The code, when ISO 4217 has it.

    Raises
    ------
    ValueError
        When it has not; names the code that was most likely meant: letters swapped, or one of them another.
    """
    if code in MINOR_UNITS:
        return code
    near = min(MINOR_UNITS, key=lambda other: _apart(code, other))
    hint = f"; did you mean '{near}'?" if _apart(code, near)[0] <= 1 else ""
    raise ValueError(f"'{code[:40]}' is no currency of ISO 4217{hint}")


def _apart(code: str, other: str) -> tuple[int, bool]:
    swapped = sorted(code) == sorted(other)
    return 0 if swapped else sum(map(str.__ne__, code, other)), code[:2] != other[:2]
