"""Curves through given points: monotone cubics and clamped splines, without a library."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence

__all__ = ["clamped_spline", "monotone_curve"]


def monotone_curve(x: Sequence[float], y: Sequence[float]) -> Callable[[float], float]:
    """Cubic through the points that never swings past them; held flat beyond the ends.

    Slopes by the weighted harmonic mean of Fritsch and Butland (SIAM J. Sci. Stat. Comput. 5, 1984).

    Parameters
    ----------
    x, y : sequence of float
        Points, x strictly rising, at least two.

    Returns
    -------
    callable
        Value at any x.

    Examples
    --------
    >>> curve = monotone_curve([0.0, 1.0, 2.0], [0.0, 1.0, 1.0])
    >>> curve(1.5), curve(9.0)
    (1.0, 1.0)
    """
    n = len(x)
    step = [x[i + 1] - x[i] for i in range(n - 1)]
    rise = [(y[i + 1] - y[i]) / step[i] for i in range(n - 1)]
    slope = [rise[0]] + [0.0] * (n - 2) + [rise[-1]]
    for i in range(1, n - 1):
        a, b = rise[i - 1], rise[i]
        if a * b > 0:
            w = 2 * step[i] + step[i - 1]
            v = step[i] + 2 * step[i - 1]
            slope[i] = (w + v) / (w / a + v / b)
    if n > 2:  # three-point ends, kept from overshooting
        for end, near, far in ((0, 0, 1), (n - 1, n - 2, n - 3)):
            tilt = (2 * step[near] + step[far]) * rise[near] - step[near] * rise[far]
            tilt /= step[near] + step[far]
            if tilt * rise[near] <= 0:
                tilt = 0.0
            elif rise[near] * rise[far] <= 0 and abs(tilt) > 3 * abs(rise[near]):
                tilt = 3 * rise[near]
            slope[end] = tilt

    def curve(at: float) -> float:
        if at <= x[0]:
            return y[0]
        if at >= x[-1]:
            return y[-1]
        i = bisect_right(x, at) - 1
        h = step[i]
        t = (at - x[i]) / h
        return (
            y[i] * (1 + 2 * t) * (1 - t) ** 2
            + slope[i] * h * t * (1 - t) ** 2
            + y[i + 1] * t**2 * (3 - 2 * t)
            + slope[i + 1] * h * t**2 * (t - 1)
        )

    return curve


def clamped_spline(x: Sequence[float], y: Sequence[float]) -> Callable[[float], tuple[float, float, float]]:
    """Cubic spline through the points that starts and ends level, with its two derivatives.

    Parameters
    ----------
    x, y : sequence of float
        Points, x strictly rising, at least three.

    Returns
    -------
    callable
        Value, slope and curvature at any x; beyond the ends the end value, level.

    Examples
    --------
    >>> at = clamped_spline([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 0.3, 1.0, 0.3, 0.0])
    >>> value, slope, curvature = at(2.0)
    >>> value, abs(slope) < 1e-12, curvature < 0
    (1.0, True, True)
    """
    n = len(x)
    step = [x[i + 1] - x[i] for i in range(n - 1)]
    rise = [(y[i + 1] - y[i]) / step[i] for i in range(n - 1)]
    # curvatures from continuity of slope; the end slopes are zero, as a lift curve's are
    diagonal = [2 * step[0]] + [2 * (step[i - 1] + step[i]) for i in range(1, n - 1)] + [2 * step[-1]]
    right = [6 * rise[0]] + [6 * (rise[i] - rise[i - 1]) for i in range(1, n - 1)] + [-6 * rise[-1]]
    for i in range(1, n):
        factor = step[i - 1] / diagonal[i - 1]
        diagonal[i] -= factor * step[i - 1]
        right[i] -= factor * right[i - 1]
    bend = [0.0] * n
    bend[-1] = right[-1] / diagonal[-1]
    for i in range(n - 2, -1, -1):
        bend[i] = (right[i] - step[i] * bend[i + 1]) / diagonal[i]

    def curve(at: float) -> tuple[float, float, float]:
        if at < x[0]:
            return y[0], 0.0, 0.0
        if at > x[-1]:
            return y[-1], 0.0, 0.0
        i = min(bisect_right(x, at) - 1, n - 2)
        h = step[i]
        b = at - x[i]
        a = x[i + 1] - at
        value = (bend[i] * a**3 + bend[i + 1] * b**3) / (6 * h)
        value += (y[i] / h - bend[i] * h / 6) * a + (y[i + 1] / h - bend[i + 1] * h / 6) * b
        slope = (bend[i + 1] * b**2 - bend[i] * a**2) / (2 * h) + rise[i] - h / 6 * (bend[i + 1] - bend[i])
        return value, slope, (bend[i] * a + bend[i + 1] * b) / h

    return curve
