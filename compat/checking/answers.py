"""Answers of formulas, kept: builds, and figures of one build, ask the same again."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Mapping
from functools import lru_cache
from operator import itemgetter
from threading import Lock
from typing import Any, Protocol

from compat.engineering import Formula, GoalOutOfReach, OutOfRange

__all__ = ["Answer", "Answers", "Behind", "said"]

Moved = tuple[str, float]
"""Name of an argument that is moved, and by how much [SI]."""

Key = tuple[str, tuple[str, ...], Any] | tuple[str, tuple[str, ...], Any, Moved]
"""Name of a formula, names of arguments, and these; one by itself stands bare. Which is moved, if one is."""

Answer = Mapping[str, float] | OutOfRange
"""Results by name, or the refusal of the arguments."""

REFUSALS = {kind.__name__: kind for kind in (OutOfRange, GoalOutOfReach)}


def said(answer: Answer, result: str) -> float:
    """One of the results [SI]; raises OutOfRange where the formula refused or has no finite one."""
    if isinstance(answer, OutOfRange):
        raise type(answer)(*answer.args)
    value = answer[result]
    if not math.isfinite(value):
        raise OutOfRange("gives no finite result for these values")
    return value


class Behind(Protocol):
    """Where answers of heavy formulas are kept longer than a program runs."""

    def get(self, question: str) -> Any | None:
        """Plain data that was put for a question, or None."""

    def put(self, question: str, answer: Any) -> None:
        """Keep plain data for a question."""


class Answers:
    """What formulas said, at most so many; the one longest unasked goes first. Threads may share it.

    Parameters
    ----------
    most : int
        How many answers are kept.
    behind : Behind, optional
        Where answers of heavy formulas are kept for other runs.
    """

    def __init__(self, most: int = 4096, behind: Behind | None = None) -> None:
        self.most = most
        self.behind = behind
        self._kept: OrderedDict[Key, Answer] = OrderedDict()
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
        return said(self.of(formula, arguments), result)

    def of(self, formula: Formula, arguments: Mapping[str, Any], moved: Moved | None = None) -> Answer:
        """All that a formula says, a refusal among it; heavy ones and those of several results are kept.

        What it says with one argument moved a little it may find by way of what it says unmoved: that is
        another question than the moved arguments by themselves, and an answer never depends on what was asked.
        """
        if moved is not None and not formula.beside:
            name, step = moved
            arguments, moved = {**arguments, name: arguments[name] + step}, None
        if formula.heavy or "" not in formula.gives:
            return self._kept_or_run(formula, arguments, moved)
        return _answer(formula, arguments)

    def _kept_or_run(self, formula: Formula, arguments: Mapping[str, Any], moved: Moved | None) -> Answer:
        names, values = _order(tuple(arguments))
        key: Key = (formula.name, names, values(arguments))
        if moved is not None:
            key = (*key, moved)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None:
                self._kept.move_to_end(key)
                return kept
        # outside the lock: others need not wait for a cycle; two that ask the same compute the same
        found = self._long(formula, key, arguments, moved) if formula.heavy else _answer(formula, arguments)
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > self.most:
                self._kept.popitem(last=False)
        return found

    def _long(self, formula: Formula, key: Key, arguments: Mapping[str, Any], moved: Moved | None) -> Answer:
        """What a heavy formula says, as it was kept, or run and kept."""
        if self.behind is None:
            return _answer(formula, arguments, moved)
        question = repr(key)
        found = _read(formula, self.behind.get(question))
        if found is None:
            found = _answer(formula, arguments, moved)
            self.behind.put(question, _plain(found))
        return found


def _read(formula: Formula, plain: Any | None) -> Answer | None:
    """What was kept, where it is an answer of the formula."""
    if isinstance(plain, dict) and plain.keys() == formula.gives.keys():
        return plain
    if isinstance(plain, list) and plain and plain[0] in REFUSALS:
        return REFUSALS[plain[0]](*plain[1:])
    return None


@lru_cache(maxsize=1024)
def _order(names: tuple[str, ...]) -> tuple[tuple[str, ...], Callable[[Mapping[str, Any]], Any]]:
    """Names of arguments in one order, however they are asked with, and what takes them in it."""
    order = tuple(sorted(names))
    return order, itemgetter(*order) if order else tuple


def _answer(formula: Formula, arguments: Mapping[str, Any], moved: Moved | None = None) -> Answer:
    try:
        if moved is None:
            found = formula.function(**arguments)
        else:
            found = formula.function_beside(**arguments, argument=moved[0], step=moved[1])
    except OutOfRange as refusal:
        return type(refusal)(*refusal.args)  # without the frames it came through
    except (ArithmeticError, ValueError) as error:
        return OutOfRange(f"has no result for these values ({error})")
    return {name: float(getattr(found, name) if name else found) for name in formula.gives}


def _plain(answer: Answer) -> Any:
    if isinstance(answer, OutOfRange):
        return [type(answer).__name__, *answer.args]
    return answer
