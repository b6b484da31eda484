"""Shapes of a valve's rise and fall, on a scale of 1: published families and tables of points.

A shape gives lift over greatest lift, with its first and second derivative, against distance
from the lobe's middle over half the lobe's whole length (0 at greatest lift, 1 where the
valve meets its seat). Shapes are symmetric.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from functools import lru_cache

from compat.engineering.formula import OutOfRange
from compat.engineering.numerics.interpolation import smoothing_spline

__all__ = ["PROFILES", "Shape", "TableLift", "extremes", "reach", "shape_of", "spline_of_table"]

Shape = Callable[[float], tuple[float, float, float]]
"""Lift, slope and curvature on the scale of 1, at a distance of 0 to 1 from the middle."""

TableLift = tuple[tuple[float, ...], ...]

PROFILES = (
    "polynomial_2_6_8_10",
    "polynomial_2_8_14_20",
    "polynomial_2_10_18_26",
    "cycloidal",
    "polynomial_3_4_5",
    "polynomial_4_5_6_7",
)
"""The first three are rise-and-fall polynomials as valve cams use; the others dwell at both ends."""


def _even_polynomial(p: int, q: int, r: int) -> Shape:
    """1 + c2 x^2 + cp x^p + cq x^q + cr x^r, with lift, slope, curvature and jerk zero at x = 1.

    Closed coefficients as in Stoddart, Polydyne cam design, Machine Design 25 (1953), and Norton,
    Cam Design and Manufacturing Handbook.
    """
    c2 = -p * q * r / ((p - 2) * (q - 2) * (r - 2))
    cp = 2 * q * r / ((p - 2) * (q - p) * (r - p))
    cq = -2 * p * r / ((q - 2) * (q - p) * (r - q))
    cr = 2 * p * q / ((r - 2) * (r - p) * (r - q))

    def shape(x: float) -> tuple[float, float, float]:
        if x >= 1:
            return 0.0, 0.0, 0.0
        p2, q2, r2 = cp * x ** (p - 2), cq * x ** (q - 2), cr * x ** (r - 2)
        lift = 1 + (c2 + p2 + q2 + r2) * x * x
        slope = (2 * c2 + p * p2 + q * q2 + r * r2) * x
        return lift, slope, 2 * c2 + p * (p - 1) * p2 + q * (q - 1) * q2 + r * (r - 1) * r2

    return shape


def _rise(function: Shape) -> Shape:
    """A rise from 0 to 1, turned to count from the middle of the lobe."""

    def shape(x: float) -> tuple[float, float, float]:
        if x >= 1:
            return 0.0, 0.0, 0.0
        lift, slope, bend = function(1 - x)
        return lift, -slope, bend

    return shape


def _cycloid(u: float) -> tuple[float, float, float]:
    turn = 2 * math.pi * u
    return u - math.sin(turn) / (2 * math.pi), 1 - math.cos(turn), 2 * math.pi * math.sin(turn)


def _rise_345(u: float) -> tuple[float, float, float]:
    return (
        u**3 * (10 - 15 * u + 6 * u**2),
        30 * u**2 * (1 - u) ** 2,
        60 * u * (1 - 3 * u + 2 * u**2),
    )


def _rise_4567(u: float) -> tuple[float, float, float]:
    return (
        u**4 * (35 - 84 * u + 70 * u**2 - 20 * u**3),
        140 * u**3 * (1 - u) ** 3,
        420 * u**2 * (1 - u) ** 2 * (1 - 2 * u),
    )


_SHAPES: dict[str, Shape] = {
    "polynomial_2_6_8_10": _even_polynomial(6, 8, 10),
    "polynomial_2_8_14_20": _even_polynomial(8, 14, 20),
    "polynomial_2_10_18_26": _even_polynomial(10, 18, 26),
    "cycloidal": _rise(_cycloid),
    "polynomial_3_4_5": _rise(_rise_345),
    "polynomial_4_5_6_7": _rise(_rise_4567),
}


def shape_of(profile: str) -> Shape:
    """Shape of that name.

    >>> shape_of("cycloidal")(0.5)[0]
    0.5
    """
    if profile not in _SHAPES:
        raise OutOfRange(f"profile must be one of {', '.join(PROFILES)}, got {profile}")
    return _SHAPES[profile]


@lru_cache(maxsize=256)
def reach(profile: str, share: float) -> float:
    """Distance from the middle at which the lift has fallen to a share of its greatest, 0 to 1.

    >>> round(reach("cycloidal", 0.5), 9)
    0.5
    """
    if share <= 0:
        return 1.0
    shape = shape_of(profile)
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if shape(middle)[0] > share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=32)
def extremes(profile: str) -> tuple[float, float, float]:
    """Greatest slope, greatest curvature towards opening, and greatest towards closing.

    >>> [round(value, 3) for value in extremes("polynomial_3_4_5")]
    [1.875, 5.774, 5.774]
    """
    shape = shape_of(profile)
    count = 2000
    points = [shape(i / count) for i in range(count + 1)]

    def peak(values: list[float]) -> float:
        i = values.index(max(values))
        if i in (0, count):
            return values[i]
        before, here, after = values[i - 1 : i + 2]
        bend = before - 2 * here + after
        return here - (after - before) ** 2 / (8 * bend) if bend else here

    return (
        peak([-p[1] for p in points]),
        peak([p[2] for p in points]),
        peak([-p[2] for p in points]),
    )


@lru_cache(maxsize=32)
def spline_of_table(lift_table: TableLift, reading_step: float) -> Shape:
    """Spline along a measured lift curve: lift [m], slope [m/rad], curvature [m/rad^2] by crank angle.

    Readings rounded to `reading_step` [m] scatter by that over the square root of twelve; left in,
    it would swamp the acceleration, which comes from second differences.

    Raises
    ------
    OutOfRange
        When the table is too short, unordered, or does not begin and end shut.
    """
    if len(lift_table) < 9 or any(len(row) != 2 for row in lift_table):
        raise OutOfRange("lift_table needs at least nine rows of crank angle and lift")
    if not all(math.isfinite(value) for row in lift_table for value in row):
        raise OutOfRange("lift_table holds a value that is not a finite number")
    angles = [row[0] for row in lift_table]
    lifts = [row[1] for row in lift_table]
    if any(b <= a for a, b in itertools.pairwise(angles)):
        raise OutOfRange("lift_table: angles must rise from row to row")
    if min(lifts) < 0 or max(lifts) <= 0 or max(lifts) > 0.05:
        raise OutOfRange("lift_table: lifts must lie between 0 and 50 mm and open the valve")
    if max(lifts[0], lifts[-1]) > 0.02 * max(lifts):
        raise OutOfRange("lift_table must begin and end with the valve shut (within 2 % of greatest lift)")
    if not 0 <= reading_step <= 0.02 * max(lifts):
        raise OutOfRange(
            f"reading_step must lie between 0 and 2 % of greatest lift ({20 * max(lifts):.2g} mm), "
            f"got {reading_step * 1e3:g} mm"
        )
    return smoothing_spline(angles, lifts, reading_step / math.sqrt(12))
