"""Answers of formulas, kept while the program runs: builds, and figures of one build, ask the same again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from compat.engineering import Formula, OutOfRange

__all__ = ["answer", "forget"]


def answer(formula: Formula, arguments: Mapping[str, Any], result: str = "") -> float:
    """Run a formula, or give the answer it gave before.

    Parameters
    ----------
    formula : Formula
        The formula; heavy ones and those of several results are kept, the rest is quicker run again.
    arguments : mapping
        SI floats, words and tables by name.
    result : str
        Which of several results.

    Returns
    -------
    float
        The result [SI].

    Raises
    ------
    OutOfRange
        When the formula refuses the arguments or has no finite result for them.

    Examples
    --------
    >>> from compat.engineering import find
    >>> round(answer(find("swept_volume"), {"bore": 0.0855, "stroke": 0.087}) * 1e6, 1)
    499.5
    """
    if formula.heavy or result:
        found = _kept(formula.function, tuple(sorted(arguments.items())))
        if isinstance(found, OutOfRange):
            raise type(found)(*found.args)
    else:
        found = _run(formula.function, arguments)
    value = float(getattr(found, result) if result else found)
    if not math.isfinite(value):
        raise OutOfRange("gives no finite result for these values")
    return value


def forget() -> None:
    """Forget every answer, so that the next check computes all of its own.

    >>> forget()
    """
    _kept.cache_clear()


@lru_cache(maxsize=4096)
def _kept(function: Callable[..., Any], arguments: tuple[tuple[str, Any], ...]) -> Any:
    """A formula's answer, a refusal among them."""
    try:
        return _run(function, dict(arguments))
    except OutOfRange as refusal:
        return type(refusal)(*refusal.args)  # without the frames it came through


def _run(function: Callable[..., Any], arguments: Mapping[str, Any]) -> Any:
    try:
        return function(**arguments)
    except OutOfRange:
        raise
    except (ArithmeticError, ValueError) as error:
        raise OutOfRange(f"has no result for these values ({error})") from error
