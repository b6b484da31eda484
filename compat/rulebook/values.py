"""What an expression can come to: a number with its sensitivities, a word, a flag, or nothing known."""

from __future__ import annotations

import math
from typing import NamedTuple, Protocol

from compat.engineering import Formula, OutOfRange
from compat.record import record
from compat.shop.specs import Rows

__all__ = [
    "Absent",
    "Missing",
    "Number",
    "Plain",
    "Refusal",
    "Value",
    "World",
    "combine",
    "exact",
    "missing",
    "plain",
    "refused",
]

Sensitivities = dict[str, float]
"""Partial derivative by each toleranced leaf, as in JCGM 100 (the GUM), 5.1.3."""


class Absent(Exception):
    """A position that the expression names is empty, so the question does not arise."""

    def __init__(self, position: str) -> None:
        self.position = position
        super().__init__(position)


class Refusal(NamedTuple):
    """Why there is no value: what a formula or the arithmetic says."""

    text: str
    formula: str = ""
    argument: str = ""
    must: str = ""
    """What is asked of the argument, where it is that which stands in the way."""
    value: float = 0.0
    """What the argument was given [SI]."""
    unit: str = ""
    """Unit in which a reader types the argument."""


def refused(formula: Formula, error: OutOfRange) -> Refusal:
    """A formula's refusal as data.

    >>> from compat.engineering import find
    >>> error = OutOfRange("bore must be above zero, got -0.1 (SI)", "bore", "must be above zero", -0.1)
    >>> refused(find("swept_volume"), error).unit
    'mm'
    """
    unit = formula.takes.get(error.argument)
    if error.value is None or not isinstance(unit, str):
        return Refusal(str(error), formula.name)
    own = "" if unit == "number" else unit
    return Refusal(str(error), formula.name, error.argument, error.must, error.value, own)


@record(slots=True)
class Missing:
    """The value cannot be had: which specs are not stated, or why a formula refuses."""

    specs: frozenset[str] = frozenset()
    reasons: tuple[Refusal, ...] = ()
    out_of_reach: bool = False
    """Not for lack of a figure: the goal itself cannot be met, and the reason says what stands in the way."""

    def __or__(self, other: Missing) -> Missing:
        reasons = tuple(dict.fromkeys(self.reasons + other.reasons))
        return Missing(self.specs | other.specs, reasons, self.out_of_reach or other.out_of_reach)


class Number:
    """An SI float and its sensitivity to every toleranced leaf it rests on."""

    __slots__ = ("g", "x")

    def __init__(self, x: float, g: Sensitivities | None = None) -> None:
        self.x = x
        self.g = g

    def __repr__(self) -> str:
        return f"Number({self.x!r}, {self.g!r})"


Value = Number | str | bool | tuple[str, ...] | Rows | Missing


Plain = float | str | bool | tuple[str, ...] | Rows
"""A value without its sensitivities."""


def plain(value: Value) -> Plain:
    """The value alone, numbers as SI floats.

    >>> plain(Number(0.086, {"block.bore": 1.0}))
    0.086
    """
    if isinstance(value, Missing):
        raise TypeError("nothing is known of a missing value")
    return value.x if isinstance(value, Number) else value


class World(Protocol):
    """What an expression may ask of the build it is run on."""

    def spec(self, position: str, name: str) -> Value:
        """Value of a spec; raises Absent when the position is empty."""

    def figure(self, name: str) -> Value:
        """Value of a derived figure."""

    def goal(self, name: str) -> Value:
        """One entry of the goal."""

    def parameter(self, name: str) -> Value:
        """A value that a piece of work takes."""

    def engine(self, name: str) -> float | str:
        """A number of the family (cylinders, banks ...), or its firing order."""

    def fitted(self, position: str) -> bool:
        """Whether the position is filled."""

    def count(self, position: str) -> int:
        """How many pieces stand in the position."""

    def changed(self, position: str) -> bool:
        """Whether the part differs from the one the variant left the factory with."""

    def kept(self, position: str) -> bool:
        """Whether pieces that ran before stay in the position."""

    def measured(self, position: str, name: str) -> bool:
        """Whether the value of a spec was measured."""

    def done(self, work: str) -> bool:
        """Whether the work is part of the build."""

    def opened(self, joint: str) -> bool:
        """Whether the build opens the joint."""

    def offered(self, feature: str) -> int:
        """How many units of the feature the build offers."""

    def sister(self, position: str) -> str:
        """Variant that the fitted part left the factory in, or an empty word."""


def exact(x: float) -> Number:
    """Wrap a number without tolerance.

    >>> exact(2.0).g is None
    True
    """
    return Number(x)


def combine(x: float, *terms: tuple[float, Sensitivities | None]) -> Number | Missing:
    """Build a number from its value and (derivative, sensitivities) of each argument.

    >>> combine(3.0, (2.0, {"a": 1.0}), (1.0, None)).g
    {'a': 2.0}
    """
    if not math.isfinite(x):
        return Missing(reasons=(Refusal("the result is not a finite number"),))
    g: Sensitivities | None = None
    for factor, part in terms:
        if not part or factor == 0.0:
            continue
        if g is None:
            g = part.copy() if factor == 1.0 else {key: factor * value for key, value in part.items()}
        else:
            for key, value in part.items():
                g[key] = g.get(key, 0.0) + factor * value
    return Number(x, g)


def missing(*values: object) -> Missing | None:
    """Give what is missing among the values, or None.

    >>> missing(exact(1.0), Missing(frozenset({"rod.mass"}))).specs
    frozenset({'rod.mass'})
    """
    found: Missing | None = None
    for value in values:
        if isinstance(value, Missing):
            found = value if found is None else found | value
    return found
