"""Quantities as people write them, read into bands: nominal, low and high as SI floats, with a dimension."""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache

from compat.record import record
from compat.units.unit import (
    DIMENSIONLESS,
    Dimension,
    UnitFault,
    a_or_an,
    describe,
    is_percent,
    is_usual,
    plain_marks,
    unit,
)

__all__ = ["Band", "nature", "read_band"]


@record(slots=True)
class Band:
    """A quantity with its tolerance: SI floats, a dimension, and the unit it was written in."""

    nominal: float
    low: float
    high: float
    dimension: Dimension = DIMENSIONLESS
    unit: str = ""

    @property
    def middle(self) -> float:
        """Middle of the tolerance zone (the mean size of ISO 286-1)."""
        return self.nominal if self.low == self.high else 0.5 * (self.low + self.high)

    @property
    def half_width(self) -> float:
        """Half the tolerance zone."""
        return 0.5 * (self.high - self.low)

    def text(self, decimals: int | None = None) -> str:
        """Write the band in its own unit, so that reading it gives the same band.

        >>> read_band("86 mm +0.02/-0").text()
        '86 mm +0.02/-0'
        """
        own = unit(self.unit)

        def number(x: float) -> str:
            if decimals is not None:
                return f"{x:.{decimals}f}"
            return repr(float(f"{x:.14g}")).removesuffix(".0")

        def offset(x: float) -> str:
            # a difference of two floats is good to the digits of the nominal, no further
            size = max(abs(own.from_si(self.nominal)), abs(x), 1e-300)
            return number(round(x, 13 - math.ceil(math.log10(size))))

        name = f" {self.unit}" if self.unit else ""
        value = f"{number(own.from_si(self.nominal))}{name}"
        plus = (self.high - self.nominal) / own.factor
        minus = (self.nominal - self.low) / own.factor
        if plus == minus == 0:
            return value
        if math.isclose(plus, minus, rel_tol=1e-9):
            return f"{value} ±{offset(plus)}"
        return f"{value} {_signed(offset(plus))}/{_signed(offset(-minus))}"


def _signed(number: str) -> str:
    return number if number.startswith("-") else f"+{number}"


_NUMBER = r"(?:\d+\s+)?\d+/\d+|\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?"
_SIGNED = rf"[+-]?\s*(?:{_NUMBER})"
_DIGITS = 60
"""So many characters a number has at most."""
_TAIL = r"(?P<{0}>[A-Za-z%°ΩµμÅ][^±+]*?)?"


@cache
def _forms() -> tuple[re.Pattern[str], re.Pattern[str], re.Pattern[str]]:
    """What a ratio, a range and a value with its tolerance look like; five milliseconds to compile."""
    return (
        re.compile(rf"(?P<a>{_NUMBER})\s*:\s*(?P<b>{_NUMBER})$"),
        re.compile(rf"(?P<a>{_SIGNED})\s*\.\.\s*(?P<b>{_SIGNED})\s*{_TAIL.format('u')}$"),
        re.compile(
            rf"(?P<a>{_SIGNED})\s*{_TAIL.format('u')}\s*"
            rf"(?:±\s*(?P<t>{_NUMBER})\s*{_TAIL.format('tu')}"
            rf"|(?P<p>[+-]\s*(?:{_NUMBER}))\s*/\s*(?P<m>[+-]\s*(?:{_NUMBER}))\s*{_TAIL.format('pu')})?$"
        ),
    )


def _number(text: str, whole: str) -> float:
    plain = text.replace("−", "-").strip()
    sign = -1.0 if plain.startswith("-") else 1.0
    plain = plain.lstrip("+-").strip()
    if len(plain) > _DIGITS:
        raise UnitFault(f"'{whole[:40]}…' has a number of {len(plain)} characters")
    if "/" in plain:
        *lead, fraction = plain.split()
        top, bottom = fraction.split("/")
        if int(bottom) == 0:
            raise UnitFault(f"'{whole}' divides by zero")
        value = (int(lead[0]) if lead else 0) + int(top) / int(bottom)
    else:
        value = float(plain)
    if not math.isfinite(value):
        raise UnitFault(f"'{whole}' is too large a number")
    return sign * value


@lru_cache(maxsize=8192)
def read_band(text: str) -> Band:
    """Read a quantity with or without a tolerance.

    Parameters
    ----------
    text : str
        ``86.00 mm ±0.01``, ``51 mm +0.013/-0``, ``2.4..2.6 mm``, ``85 lbf*ft``, ``10.5:1``, ``3/8 in``,
        ``545 g ±2 %``, ``850 degC`` or a plain number.

    Returns
    -------
    Band
        SI values and the dimension.

    Raises
    ------
    UnitFault
        When the text is no quantity, a number is not finite, or tolerance and value disagree.

    Examples
    --------
    >>> band = read_band("2.4..2.6 mm")
    >>> round(band.nominal * 1000, 6), round(band.half_width * 1000, 6)
    (2.5, 0.1)
    >>> read_band("10.5:1").nominal
    10.5
    """
    whole = text.strip()
    if len(whole) > 200:
        raise UnitFault(f"'{whole[:40]}…' is no quantity: {len(whole)} characters")
    return _plainly(whole) or _read(whole)


def _plainly(whole: str) -> Band | None:
    """A number and a usual unit after one space, which is how most are written; None for anything else."""
    number, _, name = whole.partition(" ")
    digits = number.replace(".", "", 1)
    if not (digits.isascii() and digits.isdigit() and len(number) <= _DIGITS):
        return None
    if name and not (name.isascii() and (name[0].isalpha() or name == "%") and is_usual(name)):
        return None
    own = unit(name)
    value = own.to_si(float(number))
    return Band(value, value, value, own.dimension, name)


def _read(whole: str) -> Band:
    """A quantity in any of its forms."""
    plain = plain_marks(whole).replace("+/-", "±").replace("+-", "±")
    if re.search(r"\d,\d", plain):
        raise UnitFault(f"'{whole}' has a comma in a number; write a decimal point and no thousands mark")
    if re.search(r"(?i)(^|[^a-z])(nan|inf|infinity)([^a-z]|$)", plain):
        raise UnitFault(f"'{whole}' is not a finite number")
    ratio, span, value_with_tolerance = _forms()
    if match := ratio.match(plain):
        bottom = _number(match["b"], whole)
        if bottom == 0:
            raise UnitFault(f"'{whole}' divides by zero")
        value = _number(match["a"], whole) / bottom
        return _finite(Band(value, value, value), whole)
    if match := span.match(plain):
        own = unit((match["u"] or "").strip())
        low, high = own.to_si(_number(match["a"], whole)), own.to_si(_number(match["b"], whole))
        if low > high:
            raise UnitFault(f"'{whole}' runs from high to low")
        return _finite(Band(0.5 * (low + high), low, high, own.dimension, own.text), whole)
    if match := value_with_tolerance.match(plain):
        return _finite(_toleranced(match, whole), whole)
    raise UnitFault(f"'{whole}' is no quantity; write it like '86.00 mm ±0.01', '2.4..2.6 mm' or '10.5:1'")


def _toleranced(match: re.Match[str], whole: str) -> Band:
    tolerance_unit = (match["tu"] or match["pu"] or "").strip()
    name = (match["u"] or "").strip()
    if not name and tolerance_unit != "%":
        name = tolerance_unit
    own = unit(name)
    nominal = own.to_si(_number(match["a"], whole))
    plus = minus = 0.0
    if match["t"] is not None:
        plus = _number(match["t"], whole)
        minus = -plus
    elif match["p"] is not None:
        plus, minus = sorted((_number(match["p"], whole), _number(match["m"], whole)), reverse=True)
    if tolerance_unit == "%" and not is_percent(name):
        scale = abs(_number(match["a"], whole)) / 100 * own.factor
    else:
        given = unit(tolerance_unit) if tolerance_unit else own
        if given.dimension != own.dimension:
            raise UnitFault(
                f"'{whole}': the tolerance is in {tolerance_unit}, the value in {name or 'no unit'}"
            )
        scale = given.factor
    return Band(nominal, nominal + minus * scale, nominal + plus * scale, own.dimension, name)


def _finite(band: Band, whole: str) -> Band:
    if not all(map(math.isfinite, (band.nominal, band.low, band.high))):
        raise UnitFault(f"'{whole}' is too large a number")
    return band


def nature(band: Band) -> str:
    """Say what a quantity is, for a message that wants another.

    >>> nature(read_band("12 psi")), nature(read_band("12"))
    ('is a pressure', 'has no unit')
    """
    return f"is {a_or_an(describe(band.dimension))}" if band.unit else "has no unit"
