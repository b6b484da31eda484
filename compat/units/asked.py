"""Whether a quantity can stand where one in a certain unit is asked: its dimension, its kind, its size."""

from __future__ import annotations

import math
import re

from compat.units.band import Band, nature
from compat.units.unit import unit

__all__ = ["unfit"]

FAR = 1e6
"""A prefix that makes a unit so many times larger or smaller than the one asked is a slip of the pen."""
MOST = 1e9
"""Nothing in an engine is more than so many of the unit in which it is asked, nor less than so small a part."""
RATE = unit("Hz").dimension


def unfit(text: str, band: Band, wanted: str) -> str:
    """Say why a quantity cannot stand where one in a unit is asked.

    Parameters
    ----------
    text : str
        The quantity as it was written, for the message.
    band : Band
        The same, read.
    wanted : str
        Unit that is asked; empty or ``number`` for a plain number.

    Returns
    -------
    str
        The reason; empty when it can.

    Examples
    --------
    >>> from compat.units import read_band
    >>> unfit("12 psi", read_band("12 psi"), "mm")
    "'12 psi' is a pressure"
    >>> unfit("106 Hz", read_band("106 Hz"), "rpm")
    "'106 Hz' is a frequency, not a speed of rotation: write '6360 rpm'"
    >>> unfit("130 Mm", read_band("130 Mm"), "mm")
    "'130 Mm' is 1.3e+11 mm: check the unit's prefix"
    >>> unfit("130 mm", read_band("130 mm"), "mm")
    ''
    """
    own, asked = unit(band.unit), unit(wanted)
    if band.dimension != asked.dimension:
        return f"'{text}' {nature(band)}"
    if band.dimension == RATE and _turns(band.unit) != _turns(wanted):
        return _turned(text, band, wanted)
    ratio = own.factor / asked.factor
    # the unit of the SI itself is never a slip: Pa for a modulus, m^3 for a volume
    if own.factor != 1.0 and not 1.01 / FAR < ratio < FAR / 1.01:
        return f"'{text}' is {asked.from_si(band.nominal):g} {wanted}: check the unit's prefix"
    for end in (band.nominal, band.low, band.high):
        size = abs(asked.from_si(end))
        if size > MOST:
            return f"'{text}' is larger than anything an engine holds"
        if end and 0 < size < 1 / MOST:
            return f"'{text}' is smaller than anything that is measured"
    return ""


def _turns(text: str) -> bool:
    """Whether a unit of 1/s counts turns or angles; else it counts events."""
    return re.search(r"rpm|rev|turn|rad|deg|°", text) is not None


def _turned(text: str, band: Band, wanted: str) -> str:
    """Refuse a frequency as a speed, and a speed as a frequency; one turn is one event only by chance."""
    if _turns(wanted):
        meant = band.nominal * 2 * math.pi / unit(wanted).factor
        return f"'{text}' is a frequency, not a speed of rotation: write '{meant:.6g} {wanted}'"
    meant = band.nominal / (2 * math.pi) / unit(wanted).factor
    return f"'{text}' is a speed of rotation, not a frequency: write '{meant:.6g} {wanted}'"
