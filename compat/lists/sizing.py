"""Sizes of one row, as lists write them, and specs that grow with them: exactly, in the words of the list."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from compat.lists.values import plain_text, with_points, worded
from compat.units import UnitFault, read_band, unfit, unit

__all__ = ["grown", "size_steps"]


def size_steps(
    text: str, split: str, words: Mapping[str, str], size_unit: str, decimal: str
) -> Sequence[tuple[str, str]]:
    """Sizes that a cell names, each as it is written there and as a quantity; the standard size as nothing.

    >>> size_steps("STD/+0.25/+0.50", "/", {}, "mm", ".")
    [('STD', ''), ('+0.25', '0.25 mm'), ('+0.50', '0.50 mm')]
    """
    found: list[tuple[str, str]] = []
    seen: dict[str, str] = {}
    for piece in (piece.strip() for piece in _pieces(text, split)):
        if not piece:
            raise ValueError(f"'{text}' names a size of nothing between '{split}'")
        said = worded(piece, words) or piece
        if said.casefold() in ("std", "std.", "standard"):
            value = ""
        else:
            value = _size(said, size_unit, decimal)
            value = "" if read_band(value).nominal == 0 else value
        if value in seen:
            raise ValueError(f"'{text}' names one size twice: {seen[value]} and {piece}")
        seen[value] = piece
        found.append((piece, value))
    return found


def _pieces(text: str, split: str) -> list[str]:
    # what cuts may stand in a fraction too: 1/64 in is one size
    if split == "/" and re.search(r"\s/|/\s", text):
        return re.split(r"\s+/\s*|\s*/\s+", text)
    return text.split(split)


def _size(text: str, size_unit: str, decimal: str) -> str:
    plain = with_points(plain_text(text), decimal).lstrip("+ ")
    plain = re.sub(r"^\.", "0.", plain)
    if re.fullmatch(r"-?\s*(?:\d+\s+)?\d+(?:/\d+|\.\d+)?", plain):
        plain = f"{plain} {size_unit}"
    else:
        plain = re.sub(r"(\d)([A-Za-z])", r"\1 \2", plain)
    try:
        band = read_band(plain)
    except UnitFault:
        raise ValueError(f"'{text}' is no size; say under `words` what it is") from None
    if why := unfit(text, band, size_unit):
        raise ValueError(f"{why}; wanted is a size in {size_unit}")
    return plain


def grown(value: str, size: str, share: Decimal) -> str:
    """A quantity that grows by its share of a size, exactly, in its own unit, its tolerance as it was.

    >>> grown("86.00 mm ±0.01", "0.25 mm", Decimal(1)), grown("3 3/8 in", "0.020 in", Decimal(1))
    ('86.25 mm ±0.01', '3.395 in')
    """
    match = re.fullmatch(r"(-?[\d./ ]*\d)\s*([A-Za-z].*?)?\s*(±.*|[+-].*/.*)?", value)
    if match is None or not size:
        if not size:
            return value
        raise ValueError(f"'{value}' cannot grow by a size: it is no single number")
    band = read_band(size)
    own, other = unit((match[2] or "").strip()), unit(band.unit)
    start = _fraction(match[1])
    factor = Fraction(repr(other.factor)) / Fraction(repr(own.factor))
    number = re.match(r"-?[\d./ ]*\d", size)
    assert number is not None
    total = start + _fraction(number[0]) * factor * Fraction(share)
    digits = max(_decimals(match[1]), _decimals(number[0]), 0)
    exact = Decimal(total.numerator) / Decimal(total.denominator)
    text = f"{exact:.{max(digits, 4 if factor != 1 else 0)}f}"
    if Fraction(text) != total:
        text = f"{exact:.6f}".rstrip("0").rstrip(".")
    return " ".join(part for part in (text, match[2] or "", match[3] or "") if part)


def _fraction(text: str) -> Fraction:
    return sum((Fraction(part) for part in text.replace("- ", "-").split()), Fraction(0))


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])
