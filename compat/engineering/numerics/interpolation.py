"""Curves through given points: monotone cubics, and splines that smooth reading errors."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["monotone_curve", "smoothing_spline"]


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


def smoothing_spline(
    x: Sequence[float], y: Sequence[float], error: float
) -> Callable[[float], tuple[float, float, float]]:
    """Smoothest cubic spline that stays as close to readings as their error lets it, with its derivatives.

    Reinsch (Numerische Mathematik 10, 1967): least integral of curvature squared for a
    root-mean-square distance of `error`. With no error it goes through the points.

    Parameters
    ----------
    x, y : sequence of float
        Points, x strictly rising, at least four.
    error : float
        Standard error of the readings, in the unit of y.

    Returns
    -------
    callable
        Value, slope and curvature at any x; beyond the ends the end value, level.

    Examples
    --------
    >>> at = smoothing_spline([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 0.3, 1.0, 0.3, 0.0], 0.0)
    >>> value, slope, curvature = at(2.0)
    >>> round(value, 12), abs(slope) < 1e-12, curvature < 0
    (1.0, True, True)
    """
    import numpy as np

    knots, readings = np.asarray(x, float), np.asarray(y, float)
    n = len(knots)
    step = np.diff(knots)
    second = np.zeros((n, n - 2))  # second differences
    stiffness = np.zeros((n - 2, n - 2))
    for j in range(n - 2):
        second[j : j + 3, j] = 1 / step[j], -1 / step[j] - 1 / step[j + 1], 1 / step[j + 1]
        stiffness[j, j] = (step[j] + step[j + 1]) / 3
        if j:
            stiffness[j, j - 1] = stiffness[j - 1, j] = step[j] / 6

    def bends(weight: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        inner = np.linalg.solve(stiffness + weight * second.T @ second, second.T @ readings)
        return inner, weight * second @ inner

    weight = 0.0
    if error > 0:
        unit = float(np.mean(step)) ** 3
        low, high = -12.0, 8.0  # decimal exponents of the weight
        if np.sqrt(np.mean(bends(unit * 10**high)[1] ** 2)) < error:
            low = high  # a straight line is within the error
        while high - low > 1e-9:
            middle = 0.5 * (low + high)
            if np.sqrt(np.mean(bends(unit * 10**middle)[1] ** 2)) < error:
                low = middle
            else:
                high = middle
        weight = unit * 10**low
    inner, residual = bends(weight)
    bend = [0.0, *inner.tolist(), 0.0]
    value_at = (readings - residual).tolist()
    starts, gaps = knots.tolist(), step.tolist()

    def curve(at: float) -> tuple[float, float, float]:
        if at < starts[0]:
            return value_at[0], 0.0, 0.0
        if at > starts[-1]:
            return value_at[-1], 0.0, 0.0
        i = min(bisect_right(starts, at) - 1, n - 2)
        h = gaps[i]
        b = at - starts[i]
        a = starts[i + 1] - at
        value = (bend[i] * a**3 + bend[i + 1] * b**3) / (6 * h)
        value += (value_at[i] / h - bend[i] * h / 6) * a + (value_at[i + 1] / h - bend[i + 1] * h / 6) * b
        slope = (bend[i + 1] * b**2 - bend[i] * a**2) / (2 * h)
        slope += (value_at[i + 1] - value_at[i]) / h - h / 6 * (bend[i + 1] - bend[i])
        return value, slope, (bend[i] * a + bend[i + 1] * b) / h

    return curve
