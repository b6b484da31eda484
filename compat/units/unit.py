"""Units: what a unit is in SI, and what its dimension is called.

Pint does the units, only here at the edge. The usual units stand in `compat.units.table`, written out by pint,
since loading pint costs a third of a cold check.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache
from typing import Any

from compat.record import record
from compat.units.table import TABLE

__all__ = [
    "DIMENSIONLESS",
    "Dimension",
    "Unit",
    "UnitFault",
    "a_or_an",
    "ask_pint",
    "describe",
    "is_percent",
    "is_usual",
    "plain_marks",
    "unit",
]


Dimension = tuple[float, ...]
"""Exponents of length, mass, time, current, temperature, substance and luminosity."""

DIMENSIONLESS: Dimension = (0.0,) * 7

_BASES = ("[length]", "[mass]", "[time]", "[current]", "[temperature]", "[substance]", "[luminosity]")


class UnitFault(ValueError):
    """A quantity or unit that cannot be read; the message quotes it and says what is expected."""


@record(slots=True)
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


_ALIASES = {
    "": "dimensionless", "number": "dimensionless", "%": "percent", "‰": "permille",
    "cc": "cm^3", "thou": "thou", "°": "deg", "°C": "degC", "°F": "degF", "′": "arcmin",
    "Nm": "N*m", "kgf.m": "kgf*m", "ft.lbf": "ft*lbf", "ft-lbf": "ft*lbf", "lbf-ft": "lbf*ft",
    "lb-ft": "lbf*ft", "ft-lb": "lbf*ft", "lb*ft": "lbf*ft", "lb.ft": "lbf*ft", "lbft": "lbf*ft",
    "lbf-in": "lbf*in", "in-lb": "lbf*in", "PS": "metric_horsepower", "hp_metric": "metric_horsepower",
    "bhp": "hp", "ohm": "ohm", "Ω": "ohm", "kΩ": "kohm",
    "days": "day", "hours": "hour", "h": "hour", "min": "minute",
    "litre": "L", "litres": "L", "l": "L", "mil": "thou", "mils": "thou", "cfm": "ft^3/min",
}  # fmt: skip
_MARKS = str.maketrans({"²": "^2", "³": "^3", "·": "*", "⋅": "*", "×": "*", "μ": "u", "µ": "u", "−": "-"})


# products of names with powers of one digit, one level of brackets: what a general parser may be fed
_TERM = r"(?:[A-Za-z%°_]+(?:\d[A-Za-z_]+)*(?:\^-?\d)?|1)"
_FORM = rf"(?:{_TERM}|\({_TERM}(?:[*/]{_TERM})*\))(?:[*/](?:{_TERM}|\({_TERM}(?:[*/]{_TERM})*\)))*"


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
    if len(plain) > 40 or not re.fullmatch(_FORM, plain):
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


def is_percent(text: str) -> bool:
    """Whether a unit is a hundredth, however it is written."""
    return _ALIASES.get(text, text) == "percent"


def plain_marks(text: str) -> str:
    """A text with the marks of printed units and numbers in plain letters.

    >>> plain_marks("12 µm²")
    '12 um^2'
    """
    return text.translate(_MARKS)
