"""Refusals of arguments that lie outside what a formula is valid for, as plain sentences."""

from __future__ import annotations

import math

from compat.engineering.formula import OutOfRange

__all__ = ["finite", "not_negative", "whole", "within"]


def finite(**arguments: float) -> None:
    """Refuse arguments that are not finite numbers.

    >>> finite(deck_clearance=-0.0002)
    >>> finite(deck_clearance=float("nan"))
    Traceback (most recent call last):
    ...
    compat.engineering.formula.OutOfRange: deck_clearance must be a finite number, got nan
    """
    for name, value in arguments.items():
        if not math.isfinite(value):
            raise OutOfRange(f"{name} must be a finite number, got {value}")


def not_negative(**arguments: float) -> None:
    """Refuse arguments that are not finite or lie below zero.

    >>> not_negative(depth=0.0)
    >>> not_negative(depth=-0.1)
    Traceback (most recent call last):
    ...
    compat.engineering.formula.OutOfRange: depth must not be below zero, got -0.1 (SI)
    """
    for name, value in arguments.items():
        if 0 <= value < math.inf:
            continue
        finite(**{name: value})
        if value < 0:
            must = "must not be below zero"
            raise OutOfRange(f"{name} {must}, got {value:g} (SI)", name, must, value)


def within(name: str, value: float, low: float, high: float, unit: str = "", scale: float = 1.0) -> None:
    """Refuse an argument outside a closed range.

    Parameters
    ----------
    name : str
        Argument as the reader knows it.
    value, low, high : float
        Value and limits, [SI].
    unit : str
        Unit in which the sentence writes them.
    scale : float
        SI value of one such unit.

    >>> within("duty", 0.8, 0.0, 1.0)
    >>> within("gap", 0.012, 0.0, 0.01, "mm", 1e-3)
    Traceback (most recent call last):
    ...
    compat.engineering.formula.OutOfRange: gap must lie between 0 and 10 mm, got 12 mm
    """
    if low <= value <= high and math.isfinite(value):
        return  # asked a few thousand times in a check
    finite(**{name: value})
    # a limit that went through a unit conversion still counts as inside
    slack = 1e-12 * max(abs(low), abs(high))
    if not low - slack <= value <= high + slack:
        mark = f" {unit}" if unit else ""
        raise OutOfRange(
            f"{name} must lie between {low / scale:g} and {high / scale:g}{mark}, got {value / scale:g}{mark}"
        )


def whole(name: str, value: float, low: int, high: int) -> int:
    """Give an argument that counts things, refused unless whole and within its range.

    >>> whole("cylinders", 4.0, 1, 12)
    4
    >>> whole("cylinders", 4.5, 1, 12)
    Traceback (most recent call last):
    ...
    compat.engineering.formula.OutOfRange: cylinders must be a whole number, got 4.5
    """
    within(name, value, low, high)
    if abs(value - round(value)) > 1e-9:
        raise OutOfRange(f"{name} must be a whole number, got {value:g}")
    return round(value)
