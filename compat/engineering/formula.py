"""What a formula is, and the register that makes every formula reachable by name.

A formula is a pure function of SI floats. The register adds what the outside needs to
know of it: the unit a reader types for each argument, the unit of the result, the
published source, and how far the model itself may be off.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

__all__ = [
    "REGISTER",
    "Formula",
    "GoalOutOfReach",
    "OutOfRange",
    "Table",
    "Takes",
    "formula",
    "positive",
    "table",
]

F = TypeVar("F", bound=Callable[..., Any])


class OutOfRange(ValueError):
    """An argument lies outside what the formula is valid for; the message says which and why."""


class GoalOutOfReach(OutOfRange):
    """The engine cannot do what is asked of it; the message says what stands in the way."""


@dataclass(frozen=True)
class Table:
    """An argument given as rows of points, one unit for each column."""

    units: tuple[str, ...]


def table(*units: str) -> Table:
    """Declare a tabular argument with the given column units.

    >>> table("kPa", "L/h").units
    ('kPa', 'L/h')
    """
    return Table(units)


Takes = str | tuple[str, ...] | Table
"""How one argument is written: a unit, a choice of words, or a table."""


@dataclass(frozen=True)
class Formula:
    """A registered formula: the function and what a reader must know to use it."""

    name: str
    function: Callable[..., Any]
    takes: Mapping[str, Takes]
    gives: Mapping[str, str]
    source: str
    scatter: Mapping[str, float] = field(default_factory=dict)
    scatter_source: str = ""
    heavy: bool = False
    sensitive_to: tuple[str, ...] = ()
    optional: frozenset[str] = frozenset()

    @property
    def single(self) -> bool:
        """Whether the formula gives one result rather than several named ones."""
        return set(self.gives) == {""}

    @property
    def summary(self) -> str:
        """First sentence of the docstring."""
        return (inspect.getdoc(self.function) or "").split("\n\n")[0].replace("\n", " ")


REGISTER: dict[str, Formula] = {}
"""Every formula of the modules imported so far, by name."""


def formula(
    *,
    takes: Mapping[str, Takes],
    gives: str | Mapping[str, str],
    source: str,
    scatter: float | Mapping[str, float] = 0.0,
    scatter_source: str = "",
    heavy: bool = False,
    sensitive_to: tuple[str, ...] = (),
) -> Callable[[F], F]:
    """Register a function of SI floats as a formula.

    Parameters
    ----------
    takes : mapping
        For each argument the unit in which a reader writes it, a tuple of allowed words, or a table.
    gives : str or mapping
        Unit of the result, or of each field of the named tuple returned.
    source : str
        Where the formula is published.
    scatter : float or mapping
        Relative half width of the model's own uncertainty, of each result.
    scatter_source : str
        Where that half width comes from.
    heavy : bool
        Costs more than a tenth of a millisecond: cached, and differentiated only by `sensitive_to`.
    sensitive_to : tuple of str
        Arguments through which a heavy formula passes tolerances on.

    Raises
    ------
    TypeError
        When `takes` and the signature disagree, or the name is taken.
    """

    def register(function: F) -> F:
        name = function.__name__
        parameters = inspect.signature(function).parameters
        if set(parameters) != set(takes):
            raise TypeError(f"{name}: `takes` names {sorted(takes)}, the function takes {sorted(parameters)}")
        if name in REGISTER and REGISTER[name].function.__module__ != function.__module__:
            raise TypeError(f"{name} is registered twice")
        results = {"": gives} if isinstance(gives, str) else dict(gives)
        if isinstance(scatter, Mapping):
            spread = dict(scatter)
        else:
            spread = {key: float(scatter) for key in results} if scatter else {}
        REGISTER[name] = Formula(
            name=name,
            function=function,
            takes=dict(takes),
            gives=results,
            source=source,
            scatter=spread,
            scatter_source=scatter_source,
            heavy=heavy,
            sensitive_to=sensitive_to,
            optional=frozenset(k for k, p in parameters.items() if p.default is not inspect.Parameter.empty),
        )
        return function

    return register


def positive(**arguments: float) -> None:
    """Refuse arguments that are not finite and above zero.

    >>> positive(bore=0.086)
    >>> positive(bore=-0.086)
    Traceback (most recent call last):
    ...
    compat.engineering.formula.OutOfRange: bore must be above zero, got -0.086 (SI)
    """
    for name, value in arguments.items():
        if not math.isfinite(value):
            raise OutOfRange(f"{name} must be a finite number, got {value}")
        if value <= 0:
            raise OutOfRange(f"{name} must be above zero, got {value:g} (SI)")
