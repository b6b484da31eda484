"""One formula asked with one set of arguments: figures that take several of its results ask it once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

from compat.checking.answers import Answer, Answers, said
from compat.engineering import Formula, GoalOutOfReach, OutOfRange
from compat.rulebook.expressions import Expression
from compat.rulebook.values import Absent, Missing, Number, Value, World, combine, refused

__all__ = ["Call", "call_of"]


class Call:
    """A formula with its arguments, and what it says to them and beside them.

    Parameters
    ----------
    answers : Answers
        What formulas said before.
    formula : Formula
        The formula.
    values : mapping
        Numbers, words and tables by the name of the argument.

    Examples
    --------
    >>> from compat.engineering import find
    >>> call = Call(Answers(), find("swept_volume"), {"bore": Number(0.0855), "stroke": Number(0.087)})
    >>> round(call.value("") * 1e6, 1), round(call.slope("stroke", 1e-5, ""), 6)  # pi/4 bore^2
    (499.5, 0.005741)
    """

    def __init__(self, answers: Answers, formula: Formula, values: Mapping[str, Any]) -> None:
        self.answers = answers
        self.formula = formula
        self.values = values
        self.plain = {key: value.x if isinstance(value, Number) else value for key, value in values.items()}
        self.toleranced = {key: value for key, value in values.items() if isinstance(value, Number) and value.g}
        """Arguments that may be off."""
        self.halves: dict[str, float] = {}
        """By how much at the worst, of those asked for so far."""
        self._beside: dict[tuple[str, float], Answer] = {}

    @cached_property
    def _answer(self) -> Answer:
        return self.answers.of(self.formula, self.plain)

    def value(self, result: str) -> float:
        """One of the results [SI].

        Raises
        ------
        OutOfRange
            When the formula refuses the arguments or has no finite result for them.
        """
        return said(self._answer, result)

    def result(self, name: str, worst: Callable[[Number], float], *, rough: bool = False) -> Value:
        """One of the results [SI] with its sensitivities; Missing where the formula refuses the arguments.

        Parameters
        ----------
        name : str
            Which of the results.
        worst : callable
            By how much a number may be off at the worst [SI].
        rough : bool
            Whether what it may be off is left out.

        Examples
        --------
        >>> from compat.engineering import find
        >>> values = {"bore": Number(0.0855, {"block.bore": 1.0}), "stroke": Number(0.087)}
        >>> call = Call(Answers(), find("swept_volume"), values)
        >>> [list(call.result("", lambda bore: 1e-5, rough=rough).g or ()) for rough in (False, True)]
        [['block.bore'], []]
        """
        formula = self.formula
        try:
            middle = self.value(name)
        except OutOfRange as error:
            out_of_reach = isinstance(error, GoalOutOfReach)
            return Missing(reasons=(refused(formula, error),), out_of_reach=out_of_reach)
        if rough:
            return Number(middle)
        terms = []
        for key, value in self.toleranced.items():
            if formula.heavy and key not in formula.sensitive_to:
                if own := formula.slopes.get(name, {}).get(key):
                    terms.append((self.value(own), value.g))
                continue
            half = self.halves.get(key)
            if half is None:
                half = self.halves[key] = worst(value)
            if half <= 0:
                continue
            terms.append((self.slope(key, half if formula.heavy else 0.1 * half, name), value.g))
        return combine(middle, *terms)

    def slope(self, key: str, step: float, result: str) -> float:
        """How much a result moves with one argument [SI]: central difference, one-sided at the edge."""
        middle = self.value(result)
        ends = []
        for moved in (step, -step):
            try:
                ends.append((moved, said(self._at(key, moved), result)))
            except OutOfRange:
                ends.append((0.0, middle))
        (up, high), (down, low) = ends
        return (high - low) / (up - down) if up != down else 0.0

    def _at(self, key: str, moved: float) -> Answer:
        found = self._beside.get((key, moved))
        if found is None:
            found = self._beside[key, moved] = self.answers.of(self.formula, self.plain, (key, moved))
        return found


def call_of(
    answers: Answers, formula: Formula, arguments: Mapping[str, Expression], world: World
) -> Call | Missing:
    """Call a formula with what its arguments come to in a world; Missing where one of them is not known.

    Raises
    ------
    Absent
        When an argument that is not optional names an empty position.
    """
    values: dict[str, Any] = {}
    gaps: Missing | None = None
    for key, expression in arguments.items():
        try:
            value = expression.run(world)
        except Absent:
            if key in formula.optional:
                continue  # nothing is fitted there, and the formula knows what that means
            raise
        if isinstance(value, Missing):
            gaps = value if gaps is None else gaps | value
        values[key] = value
    return Call(answers, formula, values) if gaps is None else gaps
