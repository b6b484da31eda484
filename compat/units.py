"""Quantities as people write them, and as the program holds them.

A person writes ``86.00 mm ±0.01``; the program holds a `Band`: nominal, low and high as SI
floats, with a dimension. Pint does the units, only here at the edge. The usual units stand in
`compat.unit_table`, written out by pint, since loading pint costs a third of a cold check.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from compat.unit_table import TABLE

__all__ = [
    "DIMENSIONLESS",
    "Band",
    "Dimension",
    "Unit",
    "UnitFault",
    "a_or_an",
    "ask_pint",
    "describe",
    "is_usual",
    "nature",
    "preferred",
    "read_band",
    "show",
    "unit",
]

Dimension = tuple[float, ...]
"""Exponents of length, mass, time, current, temperature, substance and luminosity."""

DIMENSIONLESS: Dimension = (0.0,) * 7

_BASES = ("[length]", "[mass]", "[time]", "[current]", "[temperature]", "[substance]", "[luminosity]")


class UnitFault(ValueError):
    """A quantity or unit that cannot be read; the message quotes it and says what is expected."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: SI value = number * factor + offset."""

    text: str
    factor: float
    offset: float
    dimension: Dimension

    def to_si(self, number: float) -> float:
        """Turn a number in this unit into SI."""
        return number * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """Turn an SI value into a number in this unit."""
        return (value - self.offset) / self.factor


@dataclass(frozen=True, slots=True)
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


_ALIASES = {
    "": "dimensionless", "number": "dimensionless", "%": "percent", "‰": "permille",
    "cc": "cm^3", "thou": "thou", "°": "deg", "°C": "degC", "°F": "degF", "′": "arcmin",
    "Nm": "N*m", "kgf.m": "kgf*m", "ft.lbf": "ft*lbf", "ft-lbf": "ft*lbf", "lbf-ft": "lbf*ft",
    "lb-ft": "lbf*ft", "ft-lb": "lbf*ft", "lb*ft": "lbf*ft", "lb.ft": "lbf*ft", "lbft": "lbf*ft",
    "lbf-in": "lbf*in", "in-lb": "lbf*in", "PS": "metric_horsepower", "hp_metric": "metric_horsepower",
    "bhp": "hp", "ohm": "ohm", "Ω": "ohm", "days": "day", "hours": "hour", "h": "hour", "min": "minute",
    "litre": "L", "litres": "L", "l": "L", "mil": "thou", "mils": "thou", "cfm": "ft^3/min",
}  # fmt: skip
_MARKS = str.maketrans({"²": "^2", "³": "^3", "·": "*", "⋅": "*", "×": "*", "μ": "u", "µ": "u", "−": "-"})


# products of names with powers of one digit, one level of brackets: what a general parser may be fed
_TERM = r"(?:[A-Za-z%°_]+(?:\d[A-Za-z_]+)*(?:\^-?\d)?|1)"
_FORM = re.compile(rf"(?:{_TERM}|\({_TERM}(?:[*/]{_TERM})*\))(?:[*/](?:{_TERM}|\({_TERM}(?:[*/]{_TERM})*\)))*")


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry()
    registry.define("@alias revolution = rev")
    return registry


@lru_cache(maxsize=1024)
def unit(text: str) -> Unit:
    """Read a unit.

    Parameters
    ----------
    text : str
        A unit such as ``mm``, ``lbf*ft``, ``cm^3/min``, ``degC``; empty or ``number`` for a plain number.

    Returns
    -------
    Unit
        The unit with its SI factor, offset and dimension.

    Raises
    ------
    UnitFault
        When the unit is not known.

    Examples
    --------
    >>> unit("thou").to_si(1.0)
    2.54e-05
    >>> round(unit("lbf*ft").factor, 6)
    1.355818
    """
    plain = text.strip().translate(_MARKS)
    plain = _ALIASES.get(plain, plain)
    if known := TABLE.get(plain):
        return Unit(text, *known)
    if len(plain) > 40 or not _FORM.fullmatch(plain):
        raise UnitFault(f"unit '{text}' is not known{_nearest(text)}")
    return ask_pint(text, plain)


def is_usual(text: str) -> bool:
    """Whether a unit is one of the usual ones, so that a bare word in a rule can mean it."""
    return _ALIASES.get(text, text) in TABLE


def ask_pint(text: str, plain: str) -> Unit:
    """Have pint read a unit; `plain` is its plain ASCII form."""
    registry = _registry()
    try:
        parsed = registry.parse_units(plain)
        zero = float(registry.Quantity(0.0, parsed).to_base_units().magnitude)
        thousand = float(registry.Quantity(1000.0, parsed).to_base_units().magnitude)
        double = float(registry.Quantity(2000.0, parsed).to_base_units().magnitude)
        powers = parsed.dimensionality
    except Exception as error:  # pint raises many kinds, tokenizer errors among them
        raise UnitFault(f"unit '{text}' is not known{_nearest(text)}") from error
    factor = (thousand - zero) / 1000
    if not math.isclose(double - zero, 2000 * factor, rel_tol=1e-9):
        raise UnitFault(f"unit '{text}' is logarithmic, which no spec is")
    if re.search(r"[*/^]", plain):
        for name in re.findall(r"[A-Za-z%°_]+", plain):
            if unit(name).offset:
                raise UnitFault(f"unit '{text}': {name} has an offset; write K in a product")
    if parsed.dimensionless:
        return Unit(text, float(f"{factor:.15g}"), 0.0, DIMENSIONLESS)
    if unknown := set(powers) - set(_BASES):
        raise UnitFault(f"unit '{text}' measures {', '.join(sorted(unknown))}, which no spec does")
    dimension = tuple(float(powers.get(base, 0)) for base in _BASES)
    return Unit(text, float(f"{factor:.14g}"), float(f"{zero:.13g}"), dimension)


_USUAL = (
    "mm", "um", "in", "thou", "m", "cm^3", "cc", "L", "in^3", "mm^2", "cm^2", "g", "kg", "lb", "N", "kN", "lbf",
    "N*m", "lbf*ft", "kPa", "bar", "psi", "MPa", "kW", "hp", "PS", "rpm", "deg", "degC", "degF", "K", "L/min",
    "L/h", "cm^3/min", "cm^3/rev", "kg/s", "g/s", "lb/min", "A", "V", "ohm", "mJ", "ms", "Hz", "kHz", "days",
    "%",
    "N/mm", "g/(kW*h)", "kg/L", "MJ/kg", "m/s", "mm/deg", "kg/m^3",
)  # fmt: skip


def _nearest(text: str) -> str:
    from difflib import get_close_matches

    plain = {name.lower(): name for name in reversed(_USUAL)}
    close = get_close_matches(text.lower()[:40], plain, 1, 0.5)
    return f"; did you mean '{plain[close[0]]}'?" if close else ""


_NUMBER = r"(?:\d+\s+)?\d+/\d+|\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?"
_SIGNED = rf"[+-]?\s*(?:{_NUMBER})"
_TAIL = r"(?P<{0}>[A-Za-z%°ΩµμÅ][^±+]*?)?"
_RANGE = re.compile(rf"(?P<a>{_SIGNED})\s*\.\.\s*(?P<b>{_SIGNED})\s*{_TAIL.format('u')}$")
_RATIO = re.compile(rf"(?P<a>{_NUMBER})\s*:\s*(?P<b>{_NUMBER})$")
_PLAIN = re.compile(
    rf"(?P<a>{_SIGNED})\s*{_TAIL.format('u')}\s*"
    rf"(?:±\s*(?P<t>{_NUMBER})\s*{_TAIL.format('tu')}"
    rf"|(?P<p>[+-]\s*(?:{_NUMBER}))\s*/\s*(?P<m>[+-]\s*(?:{_NUMBER}))\s*{_TAIL.format('pu')})?$"
)


def _number(text: str, whole: str) -> float:
    plain = text.replace("−", "-").strip()
    sign = -1.0 if plain.startswith("-") else 1.0
    plain = plain.lstrip("+-").strip()
    if len(plain) > 60:
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
    plain = whole.translate(_MARKS).replace("+/-", "±").replace("+-", "±")
    if re.search(r"\d,\d", plain):
        raise UnitFault(f"'{whole}' has a comma in a number; write a decimal point and no thousands mark")
    if re.search(r"(?i)(^|[^a-z])(nan|inf|infinity)([^a-z]|$)", plain):
        raise UnitFault(f"'{whole}' is not a finite number")
    if match := _RATIO.match(plain):
        bottom = _number(match["b"], whole)
        if bottom == 0:
            raise UnitFault(f"'{whole}' divides by zero")
        value = _number(match["a"], whole) / bottom
        return _finite(Band(value, value, value), whole)
    if match := _RANGE.match(plain):
        own = unit((match["u"] or "").strip())
        low, high = own.to_si(_number(match["a"], whole)), own.to_si(_number(match["b"], whole))
        if low > high:
            raise UnitFault(f"'{whole}' runs from high to low")
        return _finite(Band(0.5 * (low + high), low, high, own.dimension, own.text), whole)
    if match := _PLAIN.match(plain):
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
    if tolerance_unit == "%" and _ALIASES.get(name, name) != "percent":
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


_NAMED = {
    "length": "mm", "area": "mm^2", "volume": "cm^3", "mass": "kg", "time": "s", "speed": "m/s",
    "pressure": "kPa", "force": "N", "torque or energy": "N*m", "power": "kW", "rotation or frequency": "rpm",
    "current": "A",
    "voltage": "V", "resistance": "ohm", "temperature": "K", "mass flow": "kg/s", "volume flow": "L/min",
    "density": "kg/m^3", "plain number or angle": "", "stiffness": "N/mm", "specific consumption": "g/(kW*h)",
    "specific energy": "MJ/kg", "viscosity": "Pa*s", "kinematic viscosity": "mm^2/s", "acceleration": "m/s^2",
}  # fmt: skip


@lru_cache(maxsize=256)
def describe(dimension: Dimension) -> str:
    """Name a dimension for a message.

    >>> describe(unit("psi").dimension)
    'pressure'
    """
    for name, sample in _NAMED.items():
        if unit(sample).dimension == dimension:
            return name
    symbols = ("m", "kg", "s", "A", "K", "mol", "cd")
    powers = [(s, p) for s, p in zip(symbols, dimension, strict=True) if p]
    return "·".join(s if p == 1 else f"{s}^{p:g}" for s, p in powers)


def a_or_an(words: str) -> str:
    """Put the indefinite article before words.

    >>> a_or_an("area"), a_or_an("length")
    ('an area', 'a length')
    """
    return f"{'an' if words[:1] in 'aeio' else 'a'} {words}"


def nature(band: Band) -> str:
    """Say what a quantity is, for a message that wants another.

    >>> nature(read_band("12 psi")), nature(read_band("12"))
    ('is a pressure', 'has no unit')
    """
    return f"is {a_or_an(describe(band.dimension))}" if band.unit else "has no unit"


_IMPERIAL = {
    "mm": "in", "cm": "in", "m": "ft", "um": "uin", "mm^2": "in^2", "cm^2": "in^2", "cm^3": "in^3", "L": "qt",
    "g": "oz", "kg": "lb", "N": "lbf", "kN": "lbf", "N*m": "lbf*ft", "kPa": "psi", "bar": "psi", "Pa": "psi",
    "MPa": "ksi", "kW": "hp", "degC": "degF", "m/s": "ft/min", "kg/s": "lb/min", "g/s": "lb/min",
    "L/h": "gal/h", "L/min": "gal/min", "N/mm": "lbf/in", "g/(kW*h)": "lb/(hp*h)", "MJ/kg": "Btu/lb",
    "kg/m^3": "lb/ft^3", "kW/L": "hp/L",
    "m/s^2": "ft/s^2", "mm/deg": "in/deg", "K": "delta_degF", "GPa": "ksi",
}  # fmt: skip


def preferred(name: str, system: str = "metric") -> str:
    """Give the unit a reader of that system wants in place of a metric one.

    >>> preferred("N*m", "imperial")
    'lbf*ft'
    """
    return _IMPERIAL.get(name, name) if system == "imperial" else name


_DECIMALS = {
    "mm": 3, "in": 4, "thou": 1, "um": 1, "cm^3": 2, "in^3": 2, "bar": 1, "kPa": 0, "psi": 1, "kN": 1, "N": 0,
    "lbf": 0, "N*m": 0, "lbf*ft": 0, "kW": 0, "hp": 0, "rpm": 0, "deg": 1, "degC": 0, "degF": 0, "K": 0, "g": 0,
    "kg": 1, "L/h": 0, "L/min": 1, "cm^3/min": 0, "MPa": 0, "m/s": 1, "ft/min": 0, "mm^2": 0, "kHz": 1, "%": 1,
    "oz": 2, "lb": 1, "A": 1, "L": 2, "qt": 2, "ksi": 1,
}  # fmt: skip


def show(value: float, name: str = "", system: str = "metric", *, bare: bool = False) -> str:
    """Write an SI value in the reader's unit with sensible digits.

    Parameters
    ----------
    value : float
        SI value.
    name : str
        Metric unit wanted.
    system : str
        ``metric`` or ``imperial``.
    bare : bool
        Leave the unit out.

    Returns
    -------
    str
        Number and unit.

    Examples
    --------
    >>> show(0.0855, "mm"), show(0.0855, "mm", "imperial"), show(9.18)
    ('85.500 mm', '3.3661 in', '9.18')
    """
    own, label, decimals = _written(name, system)
    number = own.from_si(value)
    size = abs(number)
    if decimals is not None and size < 10.0 ** (-decimals - 5):
        number = size = 0.0  # the rest of a difference of floats
    if not label:
        decimals = 2 if size < 100 else 0
    if decimals is None or (number and size < 10.0**-decimals):
        text = f"{number:.4g}"
    else:
        text = f"{number:.{decimals}f}"
        if decimals < 3 and size < 100 and len(text.replace("-", "").replace(".", "").lstrip("0")) < 3:
            text = f"{number:.{decimals + 1}f}"
    if size < 1 and not text.strip("-0."):
        text = text.lstrip("-")
    return text if bare else text + label


@cache
def _written(name: str, system: str) -> tuple[Unit, str, int | None]:
    """How a reader of that system has a metric unit written: the unit, its label, its decimals."""
    wanted = preferred(name, system)
    label = "" if wanted in ("", "number") else f" {wanted.replace('delta_degF', 'degF (difference)')}"
    return unit(wanted), label, _DECIMALS.get(wanted)
