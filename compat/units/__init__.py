"""Quantities as people write them, and as the program holds them.

A person writes ``86.00 mm ±0.01``; the program holds a `Band`: nominal, low and high as SI floats, with a
dimension.
"""

from compat.units.asked import unfit
from compat.units.band import Band, nature, read_band
from compat.units.printed import printed
from compat.units.unit import (
    DIMENSIONLESS,
    Dimension,
    Unit,
    UnitFault,
    a_or_an,
    ask_pint,
    describe,
    is_usual,
    unit,
)
from compat.units.writing import preferred, show

__all__ = [
    "DAY",
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
    "printed",
    "read_band",
    "show",
    "unfit",
    "unit",
]

DAY = 86_400
"""Seconds of a day, as a `Band` holds a time."""
