"""Numbers, quantities and prices as lists write them, into words that a shop's files hold."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from compat.shop.currencies import MINOR_UNITS
from compat.shop.money import Money
from compat.shop.specs import SpecKind, state

__all__ = [
    "SIGNS",
    "decimal_sign",
    "plain_text",
    "price",
    "quantity",
    "slug",
    "stated",
    "whole_number",
    "with_points",
    "worded",
]

SIGNS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "£": frozenset(("GBP", "GIP", "FKP", "SHP", "EGP")),
        "€": frozenset(("EUR",)),
        "$": frozenset(("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN")),
        "¥": frozenset(("JPY", "CNY")),
        "円": frozenset(("JPY",)),
        "元": frozenset(("CNY",)),
        "₹": frozenset(("INR",)),
        "₩": frozenset(("KRW",)),
        "₺": frozenset(("TRY",)),
        "zł": frozenset(("PLN",)),
        "kč": frozenset(("CZK",)),
        "kr": frozenset(("SEK", "NOK", "DKK", "ISK")),
        "fr": frozenset(("CHF",)),
        "ft": frozenset(("HUF",)),
    }
)
"""Currencies that a sign may stand for (common practice)."""

MOST_DIGITS = 20
_DIGITS = re.compile(r"\d+(?:[.,]\d+)*")
_FRACTION = re.compile(r"(\d)\s*([\u00bc-\u00be\u2150-\u215e])")


def plain_text(text: str) -> str:
    """A text with its marks as a keyboard has them: fractions spelled out, minus signs, spaces.

    >>> plain_text("3⅜″"), plain_text("86,00\u00a0±\u202f0,01"), plain_text("3-3/8 in")
    ('3 3/8 in', '86,00 ± 0,01', '3 3/8 in')
    """
    text = _FRACTION.sub(r"\1 \2", text)
    text = unicodedata.normalize("NFKC", text.replace("″", '"').replace("“", '"').replace("”", '"'))
    text = text.replace("\u2044", "/").replace("−", "-").replace("–", "-").replace("''", '"')
    text = re.sub(r"(\d)\s*\"", r"\1 in", text)
    text = re.sub(r"(?<![\d.,])([.,])(?=\d)", r"0\1", text)
    text = re.sub(r"(\d)\s*-\s*(\d+/\d+)", r"\1 \2", text)
    return " ".join(text.split())


def decimal_sign(texts: Iterable[str]) -> tuple[str | None, tuple[str, ...]]:
    """Make out what stands before decimals in numbers of one list.

    Parameters
    ----------
    texts : iterable of str
        What its columns of numbers say.

    Returns
    -------
    tuple
        The sign, None where it cannot be told; and then the number that could be either, or the two of which
        one says the other.

    Examples
    --------
    >>> decimal_sign(["86,00", "1.204,50"]), decimal_sign(["86.5", "12"]), decimal_sign(["12", "7"])
    ((',', ()), ('.', ()), ('.', ()))
    >>> decimal_sign(["1,204"]), decimal_sign(["86,5", "86.5"])
    ((None, ('1,204',)), (None, ('86,5', '86.5')))
    """
    told: dict[str, str] = {}
    open_: str | None = None
    for text in texts:
        for token in _DIGITS.findall(plain_text(text)):
            sign = _tells(token)
            if sign == "?":
                open_ = open_ or token
            elif sign:
                told.setdefault(sign, token)
    if len(told) == 2:
        return None, tuple(told.values())
    if told:
        return next(iter(told)), ()
    return (None, (open_,)) if open_ else (".", ())


def _tells(token: str) -> str:
    """Which sign a number shows to stand before decimals; nothing where it has none, ``?`` where both may."""
    marks = [letter for letter in token if letter in ".,"]
    if not marks:
        return ""
    if len(set(marks)) == 2:
        return marks[-1]
    if len(marks) > 1:  # groups of thousands alone
        return "," if marks[0] == "." else "."
    before, after = re.split(r"[.,]", token)
    if len(after) == 3 and before != "0" and len(before) <= 3:
        return "?"
    return marks[0]


def with_points(text: str, decimal: str) -> str:
    """Numbers of a text with a decimal point and no thousands marks.

    Raises
    ------
    ValueError
        When a number is not written that way.
    """

    def number(match: re.Match[str]) -> str:
        token = match[0]
        other = "." if decimal == "," else ","
        whole, _, rest = token.partition(decimal)
        groups = whole.split(other)
        sound = len(groups) == 1 or (
            1 <= len(groups[0]) <= 3
            and all(len(one) == 3 for one in groups[1:])
            and not groups[0].startswith("0")  # 0,047 is no forty-seven
        )
        if not sound or other in rest or decimal in rest:
            name = "comma" if decimal == "," else "point"
            raise ValueError(f"'{token}' is no number with a decimal {name}, as this list writes them")
        return "".join(groups) + (f".{rest}" if rest else "")

    return _DIGITS.sub(number, text)


_RANGE = re.compile(r"(?P<a>\d[\d.]*)\s*(?:\.\.|\.\.\.|…|-|to|bis)\s*(?P<b>\d[\d.]*)\s*(?P<u>[^\d±+-].*)?")
_BARE = re.compile(
    r"(?P<a>[+-]?\s*(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?))\s*(?P<t>(?:±|\+/-)\s*[\d.]+\s*%?|[+-]\s*[\d.]+\s*/\s*[+-]?\s*[\d.]+)?"
)
_INCHES = re.compile(r"(?<![A-Za-z])(?:in|inch|inches)(?![A-Za-z])")


@lru_cache(maxsize=65_536)
def quantity(text: str, own_unit: str | None, decimal: str, kind: SpecKind) -> str:
    """A quantity as a file of the shop holds it.

    Parameters
    ----------
    text : str
        What the list says.
    own_unit : str or None
        The unit that the column is in, where a cell says none.
    decimal : {".", ","}
        What stands before decimals.
    kind : SpecKind
        What the spec may be.

    Returns
    -------
    str
        With a decimal point and its unit.

    Raises
    ------
    ValueError
        When it is no such quantity.

    Examples
    --------
    >>> from compat.shop.specs import declare
    >>> bore, mass = declare("bore", "mm"), declare("mass", "g")
    >>> quantity("86,00 ±0,01", "mm", ",", bore), quantity('3 3/8"', None, ".", bore)
    ('86.00 mm ±0.01', '3 3/8 in')
    >>> quantity("1.204,5", "g", ",", mass), quantity("2,4 - 2,6", "mm", ",", bore)
    ('1204.5 g', '2.4..2.6 mm')
    """
    plain = with_points(plain_text(text).replace("+/-", "±").replace("+-", "±"), decimal)
    plain = re.sub(r"±\s+", "±", plain)
    if (match := _RANGE.fullmatch(plain)) and "/" not in plain:
        said = (match["u"] or "").strip() or own_unit or ""
        plain = f"{match['a']}..{match['b']} {said}".strip()
    elif (match := _BARE.fullmatch(plain)) and kind.sort == "quantity":
        if own_unit is None and kind.unit:
            raise ValueError(f"'{text}' says no unit, nor does its column; '{kind.name}' wants {kind.expected}")
        tail = " ".join((match["t"] or "").split()).replace(" ", "")
        plain = " ".join(part for part in (" ".join(match["a"].split()), own_unit or "", tail) if part)
    else:
        plain = re.sub(r"(\d)([A-Za-zµ°])", r"\1 \2", plain, count=1)
    if _INCHES.search(plain) and (thousands := _grouped(text, decimal)):
        name = "comma" if decimal == "," else "point"
        raise ValueError(f"'{thousands}' would be thousands of inches, as this list has a decimal {name}")
    state(kind, plain)
    return plain


def _grouped(text: str, decimal: str) -> str:
    """The first number of a text that has marks of thousands; empty where none has."""
    other = "." if decimal == "," else ","
    return next((token for token in _DIGITS.findall(plain_text(text)) if other in token), "")


def stated(text: str, own_unit: str | None, words: Mapping[str, str], split: str | None, decimal: str,
           kind: SpecKind, number: bool = False) -> str | list[str]:  # fmt: skip
    """A value of a spec as a file of the shop holds it.

    Parameters
    ----------
    text : str
        What the list says.
    own_unit : str or None
        The unit that the column is in.
    words : mapping
        Words of the list, and what they are here.
    split : str or None
        What stands between the words of a list.
    decimal : {".", ","}
        What stands before decimals.
    kind : SpecKind
        What the spec may be.
    number : bool
        Whether the cell holds a number, which a workbook keeps with a point.

    Raises
    ------
    ValueError
        When it is nothing that the spec may be.
    """
    known = worded(text, words)
    if kind.sort == "quantity":
        return (
            quantity(text, own_unit, "." if number else decimal, kind) if known is None else _held(kind, known)
        )
    if kind.sort == "list":
        pieces = [piece.strip() for piece in text.split(split or ",") if piece.strip()]
        several = [worded(piece, words) or piece for piece in pieces]
        state(kind, several)
        return several
    said = text if known is None else known
    if kind.sort in ("choice", "flag") and known is None:
        said = {word.casefold(): word for word in (*kind.words, "yes", "no")}.get(text.casefold(), text)
    return _held(kind, said)


def _held(kind: SpecKind, said: str) -> str:
    state(kind, said)
    return said


def worded(text: str, words: Mapping[str, str]) -> str | None:
    """What a word of the list is here; None where that is not said. Small and large letters count alike."""
    if text in words:
        return words[text]
    plain = " ".join(text.split()).casefold()
    return next((here for there, here in words.items() if " ".join(there.split()).casefold() == plain), None)


def whole_number(text: str, what: str, most: int) -> int:
    """A count of pieces.

    >>> whole_number("4 Stk.", "a pack", 1000), whole_number("1", "a pack", 1000)
    (4, 1)
    """
    match = re.fullmatch(r"\D{0,12}?(\d{1,6})(?:[.,]0+)?\s*\D{0,12}", text)
    if match is None or not 1 <= int(match[1]) <= most:
        raise ValueError(f"'{text}' is no number of pieces in {what}, 1 to {most}")
    return int(match[1])


def price(text: str, currency: str, decimal: str, number: bool = False) -> Decimal:
    """An amount of money in a currency that is known.

    Parameters
    ----------
    text : str
        What the list says, with a sign, a code or neither.
    currency : str
        What the list is in.
    decimal : {".", ","}
        What stands before decimals.
    number : bool
        Whether the cell holds a number.

    Returns
    -------
    Decimal
        The amount.

    Raises
    ------
    ValueError
        When it is no price, in another currency, finer than its coins, or nothing.

    Examples
    --------
    >>> price("€ 1.204,50", "EUR", ","), price("£12.5", "GBP", "."), price("1 200,-", "EUR", ",")
    (Decimal('1204.50'), Decimal('12.50'), Decimal('1200.00'))
    """
    plain = " ".join(unicodedata.normalize("NFKC", text).replace("’", "'").split())
    said = re.sub(r"(?<=\d)[.,](?:-+|—|–)(?!\d)", "", plain)
    digits = re.search(r"\d(?:[\d.,' ]*\d)?", said)
    if digits is None:
        raise ValueError(f"'{text}' is no price")
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}(?:[ T].*)?", plain):
        raise ValueError(f"'{text}' is a date, and no price")
    sign = (said[: digits.start()] + said[digits.end() :]).strip()
    if sign.startswith("-") or sign.endswith("-"):
        raise ValueError(f"'{text}' is below zero")
    _in_currency(sign, currency, text)
    body = digits[0]
    if re.search(r"['\s]", body):
        if not re.fullmatch(r"\d{1,3}(?:[' ]\d{3})+(?:[.,]\d+)?", body):
            raise ValueError(f"'{text}' is no price: a space stands where no thousands end")
        body = re.sub(r"['\s]", "", body)
    if len(body) > MOST_DIGITS:
        raise ValueError(f"'{text[:40]}' is no price: {len(body)} digits")
    body = body if number else with_points(body, decimal)
    if not re.fullmatch(r"\d+(?:\.\d+)?", body, re.ASCII):
        raise ValueError(f"'{text}' is no price")
    amount = Decimal(body)
    places = MINOR_UNITS[currency]
    coined = round(amount, places)
    if number and abs(amount - coined) < Decimal("1e-9"):
        amount = coined
    if coined != amount:
        raise ValueError(f"'{text}' is finer than the smallest coin: {currency} has {places} decimals")
    if not amount:
        raise ValueError(
            f"'{text}' is nothing, which no part costs; say under `none` where the list knows no price"
        )
    return Money.read(f"{coined:f} {currency}").amount


def _in_currency(sign: str, currency: str, text: str) -> None:
    plain = sign.strip(" .:")
    if not plain:
        return
    if plain.upper() == currency:
        return
    codes = [word for word in re.findall(r"[A-Za-z]{3}", plain) if word.upper() in MINOR_UNITS]
    meant = SIGNS.get(plain.casefold().strip("."), SIGNS.get(plain[:1], frozenset()))
    left = re.sub(r"[A-Za-z]{3}", "", plain).strip(" .") if codes else ""
    if codes and codes[0].upper() == currency and (not left or currency in SIGNS.get(left.casefold(), ())):
        return
    if not codes and currency in meant and len(plain.strip(".")) <= 2:
        return
    if codes or meant:
        said = codes[0].upper() if codes else plain
        raise ValueError(f"'{text}' is in {said}, and this list is in {currency}")
    raise ValueError(f"'{text}' is no price: '{plain[:20]}' is no currency")


def slug(text: str) -> str:
    """A text as an id: small letters and digits, parted by hyphens.

    >>> slug("HP-100 +0.25"), slug("Kolben Ø86"), slug("3 3/8")
    ('hp-100-0-25', 'kolben-o86', '3-3-8')
    """
    text = text.casefold()
    for letter, plain in (("ß", "ss"), ("ø", "o"), ("æ", "ae"), ("œ", "oe"), ("ł", "l"), ("đ", "d")):
        text = text.replace(letter, plain)
    text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", text).strip("-")[:80].strip("-")
