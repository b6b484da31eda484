"""How an SI value is written for a reader: in which unit, with which digits."""

from __future__ import annotations

from functools import cache

from compat.units.unit import Unit, unit

__all__ = ["preferred", "show"]

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
