"""What a formula is, and the register that makes every formula reachable by name.

A formula is a pure function of SI floats. The register adds what the outside needs to
know of it: the unit a reader types for each argument, the unit of the result, the
published source, and how far the model itself may be off.
"""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable, Mapping
from dataclasses import field, fields
from functools import cached_property
from importlib import import_module
from typing import Any, TypeVar

from compat.engineering.arguments import ByKeyword, Table, Takes, arguments_of, parameters_of, table
from compat.record import record

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
    "take_known",
]

F = TypeVar("F", bound=Callable[..., Any])
Directions = tuple[str, ...] | Mapping[str, tuple[str, ...]]


class OutOfRange(ValueError):
    """An argument lies outside what the formula is valid for; the message says which and why.

    Parameters
    ----------
    message : str
        The whole sentence, figures in the unit that it names.
    argument, must : str
        The argument and what is asked of it, where the sentence is of that form.
    value : float, optional
        What it was given [SI], so that a reader can be told in a unit of his own.
    """

    def __init__(self, message: str, argument: str = "", must: str = "", value: float | None = None) -> None:
        super().__init__(message, argument, must, value)
        self.argument = argument
        self.must = must
        self.value = value

    def __str__(self) -> str:
        return str(self.args[0])


class GoalOutOfReach(OutOfRange):
    """The engine cannot do what is asked of it; the message says what stands in the way."""


@record
class Formula:
    """A registered formula: where its function is, and what a reader must know to use it."""

    name: str
    module: str
    takes: Mapping[str, Takes]
    gives: Mapping[str, str]
    source: str
    scatter: Mapping[str, float] = field(default_factory=dict)
    scatter_source: str = ""
    heavy: bool = False
    sensitive_to: tuple[str, ...] = ()
    beside: bool = False
    """Whether it has a quicker way to what it gives with one of these moved a little."""
    slopes: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    optional: frozenset[str] = frozenset()
    rises_with: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By result the arguments with which it never falls, wherever the formula has a result."""
    falls_with: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By result the arguments with which it never rises."""
    either_way: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By result the arguments with which it never turns back: which way it moves hangs on the others."""
    lies: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """Between what the result lies, whatever the arguments are [SI]."""
    sum_of: Mapping[str, float] = field(default_factory=dict)
    """What each argument is multiplied by, where the result is no more than their sum."""

    @cached_property
    def function(self) -> Callable[..., Any]:
        """The function, called by keyword; its module is imported when first asked for.

        Raises
        ------
        LookupError
            When the module does not hold the formula.
        """
        if self.name not in _FUNCTIONS:
            import_module(self.module)
        if self.name not in _FUNCTIONS:
            raise LookupError(f"{self.module} holds no formula {self.name}")
        return _FUNCTIONS[self.name]

    @cached_property
    def function_beside(self) -> Callable[..., Any]:
        """The function of a formula with `beside`: as its own, with the name of an `argument` and a `step`, SI.

        Raises
        ------
        LookupError
            When the module does not hold it.
        """
        if not callable(self.function) or self.name not in _BESIDE:
            raise LookupError(f"{self.module} gives nothing beside {self.name}")
        return _BESIDE[self.name]

    @property
    def single(self) -> bool:
        """Whether the formula gives one result rather than several named ones."""
        return set(self.gives) == {""}

    @property
    def summary(self) -> str:
        """First sentence of the docstring."""
        return (inspect.getdoc(self.function) or "").split("\n\n")[0].replace("\n", " ")

    def card(self) -> dict[str, Any]:
        """Give everything but the function as plain data that JSON can hold.

        >>> from compat.engineering import find
        >>> find("swept_volume").card()["takes"]
        {'bore': 'mm', 'stroke': 'mm'}
        """
        return {
            "name": self.name,
            "module": self.module,
            "takes": {key: _plain(takes) for key, takes in self.takes.items()},
            "gives": dict(self.gives),
            "source": self.source,
            "scatter": dict(self.scatter),
            "scatter_source": self.scatter_source,
            "heavy": self.heavy,
            "sensitive_to": list(self.sensitive_to),
            "beside": self.beside,
            "slopes": {result: dict(by) for result, by in self.slopes.items()},
            "optional": sorted(self.optional),
            "rises_with": {key: list(names) for key, names in self.rises_with.items()},
            "falls_with": {key: list(names) for key, names in self.falls_with.items()},
            "either_way": {key: list(names) for key, names in self.either_way.items()},
            "lies": {key: list(ends) for key, ends in self.lies.items()},
            "sum_of": dict(self.sum_of),
        }

    @classmethod
    def of_card(cls, card: Mapping[str, Any]) -> Formula:
        """Make the formula that a card tells of; nothing is imported until its function is asked for.

        Parameters
        ----------
        card : mapping
            As `card` gives it, also after a round through JSON.

        Raises
        ------
        ValueError
            When the card lacks something, holds what is not known, or names a module outside this package:
            a card may come from a file, and a file must not choose what is run.

        Examples
        --------
        >>> from compat.engineering import find
        >>> card = find("swept_volume").card()
        >>> round(Formula.of_card(card).function(bore=0.0855, stroke=0.087) * 1e6, 1)
        499.5
        """
        if off := {entry.name for entry in fields(cls)} ^ set(card):
            raise ValueError(f"a formula's card lacks or does not know: {', '.join(sorted(off))}")
        if not str(card["module"]).startswith(f"{__package__}."):
            raise ValueError(f"{card['module']} is no module of formulas")
        return cls(
            **{
                **card,
                "takes": {key: _takes(plain) for key, plain in card["takes"].items()},
                "sensitive_to": tuple(card["sensitive_to"]),
                "optional": frozenset(card["optional"]),
                "rises_with": {key: tuple(names) for key, names in card["rises_with"].items()},
                "falls_with": {key: tuple(names) for key, names in card["falls_with"].items()},
                "either_way": {key: tuple(names) for key, names in card["either_way"].items()},
                "lies": {key: tuple(ends) for key, ends in card["lies"].items()},
            }
        )


def _plain(takes: Takes) -> Any:
    """How an argument is written, as JSON holds it: a unit, a list of words, or columns."""
    if isinstance(takes, Table):
        return {"table": list(takes.units)}
    return list(takes) if isinstance(takes, tuple) else takes


def _takes(plain: Any) -> Takes:
    """Read back what `_plain` wrote."""
    if isinstance(plain, dict):
        return Table(tuple(plain["table"]))
    return tuple(plain) if isinstance(plain, list | tuple) else str(plain)


REGISTER: dict[str, Formula] = {}
"""Every formula of the modules imported so far, by name."""

_KNOWN: dict[str, Formula] = {}
"""What was kept of formulas that this very program registered before."""

_FUNCTIONS: dict[str, Callable[..., Any]] = {}
_BESIDE: dict[str, Callable[..., Any]] = {}


def formula(
    *,
    takes: Mapping[str, Takes | type[Any]],
    gives: str | Mapping[str, str],
    source: str,
    scatter: float | Mapping[str, float] = 0.0,
    scatter_source: str = "",
    heavy: bool = False,
    sensitive_to: tuple[str, ...] = (),
    beside: Callable[..., Any] | None = None,
    slopes: Mapping[str, Mapping[str, str]] | None = None,
    rises_with: Directions = (),
    falls_with: Directions = (),
    either_way: Directions = (),
    lies: Mapping[str, tuple[float, float]] | None = None,
    sum_of: Mapping[str, float] | None = None,
) -> Callable[[F], F]:
    """Register a function of SI floats as a formula.

    Parameters
    ----------
    takes : mapping
        For each argument the unit in which a reader writes it, a tuple of allowed words, a table, or the
        class of a record, whose fields then stand for it.
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
    beside : callable, optional
        What a heavy formula gives with one of those moved a little, where that is quicker by way of what it
        gives unmoved: takes the same, and the name of the `argument` and a `step` [SI].
    slopes : mapping, optional
        For a result of a heavy formula that works its own slopes out: by argument which other result is
        the slope [SI].
    rises_with, falls_with : tuple of str or mapping
        Arguments with which the result, or each result, never falls, or never rises: wherever the formula has a
        result on both sides, also when several are moved at once. Declared where it is so over the whole range
        of the formula, and held by `tests/engineering/test_directions.py`.
    either_way : tuple of str or mapping
        Arguments with which the result, or each result, never turns back, though which way it moves hangs on
        the others; held by the same test.
    lies : mapping, optional
        By result between what it lies, whatever the arguments are [SI].
    sum_of : mapping, optional
        What each argument is multiplied by, where the result is no more than their sum; that settles the
        directions.

    Raises
    ------
    TypeError
        When `takes` and the signature disagree, the name is taken, or a direction is of no argument or is
        told both ways.
    """

    def register(function: F) -> F:
        name = function.__name__
        records = {key: given for key, given in takes.items() if isinstance(given, type)}
        call = ByKeyword(function, records) if records else function
        known = _KNOWN.get(name)
        if known is not None and known.module == function.__module__:
            enter(known, call, records)
            return function
        written: dict[str, Takes] = {}
        for key, given in takes.items():
            if isinstance(given, type):
                written |= {each: argument.takes for each, argument in arguments_of(given).items()}
            else:
                written[key] = given
        parameters = parameters_of(call)
        if set(parameters) != set(written):
            raise TypeError(f"{name}: `takes` names {sorted(written)}, the function takes {sorted(parameters)}")
        if name in REGISTER and REGISTER[name].module != function.__module__:
            raise TypeError(f"{name} is registered twice")
        results = {"": gives} if isinstance(gives, str) else dict(gives)
        for result, by in (slopes or {}).items():
            if unknown := {result, *by.values()} - set(results) | set(by) - set(written):
                raise TypeError(f"{name}: `slopes` names {sorted(unknown)}, which it neither takes nor gives")
        if isinstance(scatter, Mapping):
            spread = dict(scatter)
        else:
            spread = {key: float(scatter) for key in results} if scatter else {}
        rising, falling = _directions(rises_with, results), _directions(falls_with, results)
        if sum_of is not None:
            if set(sum_of) != set(written) or set(results) != {""} or rising or falling:
                raise TypeError(f"{name}: a sum has one result, names every argument, and tells no directions")
            rising = {"": tuple(key for key, factor in sum_of.items() if factor > 0)}
            falling = {"": tuple(key for key, factor in sum_of.items() if factor < 0)}
        either = _directions(either_way, results)
        for key in results:
            told = [entry for table in (rising, falling, either) for entry in table.get(key, ())]
            if strange := sorted({entry for entry in told if entry not in written or told.count(entry) > 1}):
                raise TypeError(f"{name}: no direction can be told of {', '.join(strange)}")
        made = Formula(
            name=name,
            module=function.__module__,
            takes=written,
            gives=results,
            source=source,
            scatter=spread,
            scatter_source=scatter_source,
            heavy=heavy,
            sensitive_to=sensitive_to,
            beside=beside is not None,
            slopes={} if slopes is None else slopes,
            optional=frozenset(name for name, usual in parameters.items() if usual),
            rises_with=rising,
            falls_with=falling,
            either_way=either,
            lies=dict(lies or {}),
            sum_of=dict(sum_of or {}),
        )
        enter(made, call, records)
        return function

    def enter(made: Formula, call: Callable[..., Any], records: Mapping[str, type[Any]]) -> None:
        REGISTER[made.name] = made
        _FUNCTIONS[made.name] = call
        if beside is not None:
            _BESIDE[made.name] = ByKeyword(beside, records) if records else beside

    return register


def take_known(formulas: Mapping[str, Formula]) -> None:
    """Take formulas as this very program registered them before, so that nothing is held against them again.

    Parameters
    ----------
    formulas : mapping
        What was kept of them, by name.
    """
    _KNOWN.update(formulas)


def _directions(given: Directions, results: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """By result the arguments of one direction; those of several results say which is meant."""
    if not isinstance(given, Mapping):
        return {key: tuple(given) for key in results} if given else {}
    if strange := sorted(set(given) - set(results)):
        raise TypeError(f"a direction is told of {', '.join(strange)}, which is no result")
    return {key: tuple(names) for key, names in given.items()}


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
            must = "must be above zero"
            raise OutOfRange(f"{name} {must}, got {value:g} (SI)", name, must, value)
