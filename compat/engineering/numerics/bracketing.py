"""A root between two points of opposite sign."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["bracketed_root"]


def bracketed_root(
    function: Callable[[float], float],
    low: float,
    high: float,
    at_low: float,
    at_high: float,
    tolerance: float,
) -> float:
    """Root of a function in a bracket, by inverse quadratic interpolation guarded by bisection.

    Parameters
    ----------
    function : callable
        Function of one variable.
    low, high : float
        Ends of the bracket.
    at_low, at_high : float
        The function there; of opposite sign, or zero.
    tolerance : float
        Width of the bracket at which to stop, in the variable's own unit.

    Returns
    -------
    float
        The end of the last bracket with the smaller value.

    Raises
    ------
    ValueError
        When both ends have the same sign.

    References
    ----------
    1. T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145.

    Examples
    --------
    >>> round(bracketed_root(lambda x: x * x - 2.0, 0.0, 2.0, -2.0, 2.0, 1e-12), 9)
    1.414213562
    """
    if at_low == 0.0:
        return low
    if at_high == 0.0:
        return high
    if (at_low > 0.0) == (at_high > 0.0):
        raise ValueError("the function has the same sign at both ends of the bracket")
    a, b, fa, fb = low, high, at_low, at_high
    # Start with the chord rather than the middle: the functions here are nearly straight.
    share = fa / (fa - fb)
    share = min(max(share, 1e-3), 1.0 - 1e-3)
    for _ in range(100):
        x = a + share * (b - a)
        fx = function(x)
        if (fx > 0.0) == (fa > 0.0):
            c, fc = a, fa
        else:
            c, fc = b, fb
            b, fb = a, fa
        a, fa = x, fx
        best, at_best = (a, fa) if abs(fa) < abs(fb) else (b, fb)
        width = abs(b - a)
        if at_best == 0.0 or width < tolerance:
            return best
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        if phi * phi < xi and (1.0 - phi) * (1.0 - phi) < 1.0 - xi:
            share = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        else:
            share = 0.5
        least = min(0.5, 0.5 * tolerance / width)
        share = min(max(share, least), 1.0 - least)
    return best
