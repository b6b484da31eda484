"""Quantities with bounds far outside anything that is built: what a goal may say, read without pydantic."""

from __future__ import annotations

from typing import Any

from compat.units import Band, read_band, unfit

__all__ = ["BOUNDS", "within"]

BOUNDS = {
    "Power": ("0.1 kW", "10000 kW"),
    "Speed": ("10 rpm", "50000 rpm"),
    "Torque": ("0.1 N*m", "50000 N*m"),
    "Pressure": ("0 kPa", "2000 kPa"),
    "Height": ("-500 m", "9000 m"),
    "Temperature": ("-60 degC", "80 degC"),
}
"""The least and the most by the word that annotates a field; their unit is the one that is asked."""


def within(least: str, most: str, raw: Any) -> Band:
    """Read a quantity between bounds.

    Parameters
    ----------
    least, most : str
        The bounds, in the unit that is asked.
    raw : Any
        What was said; a band that was read before stays.

    Returns
    -------
    Band
        The quantity.

    Raises
    ------
    ValueError
        When it is none, of another kind, or out of bounds.

    Examples
    --------
    >>> within(*BOUNDS["Power"], "130 kW").text()
    '130 kW'
    >>> within(*BOUNDS["Power"], "0 kW")
    Traceback (most recent call last):
    ...
    ValueError: '0 kW' is zero
    """
    expected = read_band(most).unit
    if isinstance(raw, Band):
        return raw
    if not isinstance(raw, str):
        raise ValueError(f"wants a quantity in {expected}")
    band = read_band(raw)
    if why := unfit(raw, band, expected):
        raise ValueError(f"{why}; wanted is a quantity in {expected}")
    low, high = read_band(least).nominal, read_band(most).nominal
    if band.low < 0 <= low:
        raise ValueError(f"'{raw}' is below zero")
    if band.nominal == 0 < low:
        raise ValueError(f"'{raw}' is zero")
    if not low <= band.nominal <= high:
        raise ValueError(f"'{raw}' is out of all bounds; wanted are {least} to {most}")
    return band
