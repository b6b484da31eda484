"""How the operations of the language run: values in, value out, sensitivities carried along."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from compat.rulebook.values import Missing, Number, Refusal, Value, World, combine

__all__ = ["COMPARE", "FUNCTIONS", "NUMERIC", "Run", "compare", "interpolate", "reach"]

Run = Callable[[World], Value]
Binary = Callable[[Number, Number], Number | Missing]


def _numeric(operate: Binary, one: bool = False) -> Callable[[Run, Run], Run]:
    def build(left: Run, right: Run) -> Run:
        def run(w: World) -> Value:
            a = left(w)
            b = a if one else right(w)
            if isinstance(a, Number) and isinstance(b, Number):
                try:
                    return operate(a, b)
                except (ZeroDivisionError, OverflowError, ValueError) as error:
                    return Missing(reasons=(Refusal(f"the arithmetic has no result ({error})"),))
            return _gap(a, b)

        return run

    return build


def _gap(a: Value, b: Value) -> Missing:
    if isinstance(a, Missing):
        return a | b if isinstance(b, Missing) else a
    assert isinstance(b, Missing)
    return b


def _divide(a: Number, b: Number) -> Number | Missing:
    return combine(a.x / b.x, (1 / b.x, a.g), (-a.x / b.x**2, b.g))


NUMERIC: dict[str, Callable[[Run, Run], Run]] = {
    "add": _numeric(lambda a, b: combine(a.x + b.x, (1.0, a.g), (1.0, b.g))),
    "sub": _numeric(lambda a, b: combine(a.x - b.x, (1.0, a.g), (-1.0, b.g))),
    "mult": _numeric(lambda a, b: combine(a.x * b.x, (b.x, a.g), (a.x, b.g))),
    "div": _numeric(_divide),
    "neg": _numeric(lambda a, _: combine(-a.x, (-1.0, a.g)), one=True),
    "abs": _numeric(lambda a, _: combine(abs(a.x), (math.copysign(1.0, a.x), a.g)), one=True),
    "sin": _numeric(lambda a, _: combine(math.sin(a.x), (math.cos(a.x), a.g)), one=True),
    "cos": _numeric(lambda a, _: combine(math.cos(a.x), (-math.sin(a.x), a.g)), one=True),
    "tan": _numeric(lambda a, _: combine(math.tan(a.x), (1 + math.tan(a.x) ** 2, a.g)), one=True),
    "min": _numeric(lambda a, b: a if a.x <= b.x else b),
    "max": _numeric(lambda a, b: a if a.x >= b.x else b),
}


def _power(run: Run, exponent: float) -> Run:
    def operate(a: Number, _: Number) -> Number | Missing:
        value = a.x**exponent
        if isinstance(value, complex):
            raise ValueError("root of a negative number")
        slope = exponent * a.x ** (exponent - 1) if a.g else 0.0
        return combine(value, (slope, a.g))

    return _numeric(operate, one=True)(run, run)


_SAME = 1e-9
"""By what share a place may lie beyond the end of a curve and still be the end, as units are converted."""

FUNCTIONS: dict[str, Callable[[Run, float], Run]] = {"pow": _power}


def reach(points: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """From where to where a curve says something: its ends, and what units make of them.

    >>> reach([(1.0, 5.0), (2.0, 6.0)]) == (1.0 - 2e-9, 2.0 + 2e-9)
    True
    """
    first, last = points[0][0], points[-1][0]
    slack = _SAME * max(abs(first), abs(last))
    return first - slack, last + slack


def interpolate(rows: Run, point: Run) -> Run:
    """Linear interpolation in a two-column table; of what lies beyond its ends it says nothing."""

    def run(w: World) -> Value:
        table, x = rows(w), point(w)
        if isinstance(table, Missing) or isinstance(x, Missing):
            return _gap(table, x)
        assert isinstance(table, tuple)
        assert isinstance(x, Number)
        points = sorted((float(row[0]), float(row[1])) for row in table)
        least, most = reach(points)
        if not least <= x.x <= most:
            return Missing(reasons=(Refusal("a curve is asked for what lies beyond its ends"),))
        if x.x <= points[0][0]:
            return Number(points[0][1])
        for (x0, y0), (x1, y1) in pairwise(points):
            if x.x <= x1:
                slope = (y1 - y0) / (x1 - x0) if x1 > x0 else 0.0
                return combine(y0 + slope * (x.x - x0), (slope, x.g))
        return Number(points[-1][1])

    return run


def _plain(value: Value) -> object:
    return value.x if isinstance(value, Number) else value


def compare(operator: str, a: Value, b: Value) -> bool | Missing:
    """Hold two values against each other; what is missing stays missing.

    >>> compare("Lt", Number(1.0), Number(2.0))
    True
    """
    if isinstance(a, Missing) or isinstance(b, Missing):
        return _gap(a, b)
    return _HOLDS[operator](_plain(a), _plain(b))


def _comparison(operate: Callable[[object, object], bool]) -> Callable[[Run, Run], Run]:
    def build(left: Run, right: Run) -> Run:
        def run(w: World) -> Value:
            a, b = left(w), right(w)
            if isinstance(a, Missing) or isinstance(b, Missing):
                return _gap(a, b)
            return operate(_plain(a), _plain(b))

        return run

    return build


def _close(a: object, b: object) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        # floats that went through unit conversion: equal to the twelfth digit is equal
        return math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-15)
    return a == b


_HOLDS: dict[str, Callable[[object, object], bool]] = {
    "Eq": _close,
    "NotEq": lambda a, b: not _close(a, b),
    "Lt": lambda a, b: a < b and not _close(a, b),  # type: ignore[operator]
    "LtE": lambda a, b: a <= b or _close(a, b),  # type: ignore[operator]
    "Gt": lambda a, b: a > b and not _close(a, b),  # type: ignore[operator]
    "GtE": lambda a, b: a >= b or _close(a, b),  # type: ignore[operator]
    "In": lambda a, b: a in b,  # type: ignore[operator]
    "NotIn": lambda a, b: a not in b,  # type: ignore[operator]
}

COMPARE: dict[str, Callable[[Run, Run], Run]] = {name: _comparison(holds) for name, holds in _HOLDS.items()}
