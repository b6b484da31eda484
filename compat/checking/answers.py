"""Answers of formulas, kept: builds, and figures of one build, ask the same again."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Mapping
from threading import Lock
from typing import Any

from compat.engineering import Formula, OutOfRange

__all__ = ["Answers"]

Key = tuple[str, tuple[tuple[str, Any], ...]]


class Answers:
    """What formulas said, at most so many; the one longest unasked goes first. Threads may share it.

    Parameters
    ----------
    most : int
        How many answers are kept.
    """

    def __init__(self, most: int = 4096) -> None:
        self.most = most
        self._kept: OrderedDict[Key, Any] = OrderedDict()
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._kept)

    def ask(self, formula: Formula, arguments: Mapping[str, Any], result: str = "") -> float:
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
        >>> round(Answers().ask(find("swept_volume"), {"bore": 0.0855, "stroke": 0.087}) * 1e6, 1)
        499.5
        """
        if formula.heavy or result:
            found = self._kept_or_run(formula, arguments)
            if isinstance(found, OutOfRange):
                raise type(found)(*found.args)
        else:
            found = _run(formula.function, arguments)
        value = float(getattr(found, result) if result else found)
        if not math.isfinite(value):
            raise OutOfRange("gives no finite result for these values")
        return value

    def slope(
        self,
        formula: Formula,
        arguments: Mapping[str, Any],
        key: str,
        step: float,
        result: str,
        middle: float,
    ) -> float:
        """How much the result moves with one argument [SI]: central difference, one-sided at the edge.

        Examples
        --------
        >>> from compat.engineering import find
        >>> circle = {"bore": 0.0855, "stroke": 0.087}
        >>> volume = Answers().ask(find("swept_volume"), circle)
        >>> round(Answers().slope(find("swept_volume"), circle, "stroke", 1e-5, "", volume), 6)  # pi/4 bore^2
        0.005741
        """
        ends = []
        for sign in (1, -1):
            try:
                moved = {**arguments, key: arguments[key] + sign * step}
                ends.append((sign * step, self.ask(formula, moved, result)))
            except OutOfRange:
                ends.append((0.0, middle))
        (up, high), (down, low) = ends
        return (high - low) / (up - down) if up != down else 0.0

    def _kept_or_run(self, formula: Formula, arguments: Mapping[str, Any]) -> Any:
        """A formula's answer, a refusal among them."""
        key = (formula.name, tuple(sorted(arguments.items())))
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        # outside the lock: others need not wait for a cycle; two that ask the same compute the same
        try:
            found = _run(formula.function, arguments)
        except OutOfRange as refusal:
            found = type(refusal)(*refusal.args)  # without the frames it came through
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
        return found


def _run(function: Callable[..., Any], arguments: Mapping[str, Any]) -> Any:
    try:
        return function(**arguments)
    except OutOfRange:
        raise
    except (ArithmeticError, ValueError) as error:
        raise OutOfRange(f"has no result for these values ({error})") from error
