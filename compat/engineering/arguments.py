"""How the arguments of a formula are written: one by one, or many together as a record.

A record is a frozen dataclass whose fields say how a reader writes them and what they mean, with
the SI unit: ``bore: Annotated[float, "mm", "Cylinder diameter [m]"]``. Its module keeps annotations as
objects, so that they need not be compiled again to be read. A formula that takes a record is reached
by name with the record's fields as arguments of its own: what many formulas share is described once.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from functools import update_wrapper
from types import CodeType, MappingProxyType
from typing import Any, NamedTuple, get_args

from compat.record import record

__all__ = ["Argument", "ByKeyword", "Table", "Takes", "arguments_of", "parameters_of", "table"]


@record
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
"""How one argument is written: a unit, a choice of words (none: any word), or a table."""


class Argument(NamedTuple):
    """A field of a record: how a reader writes it, and what it means, with its SI unit."""

    takes: Takes
    meaning: str


_TOLD: dict[type[Any], Mapping[str, Argument]] = {}


def arguments_of(record: type[Any]) -> Mapping[str, Argument]:
    """Give the arguments that a record holds, in the order of its fields.

    >>> from compat.engineering.cycle.cycle_input import CycleInput
    >>> arguments_of(CycleInput)["bore"]
    Argument(takes='mm', meaning='Cylinder diameter [m]')
    """
    found = _TOLD.get(record)
    if found is None:
        told = {field.name: Argument(*get_args(field.type)[1:]) for field in fields(record)}
        found = _TOLD[record] = MappingProxyType(told)
    return found


def parameters_of(function: Callable[..., Any]) -> dict[str, bool]:
    """Names that a function takes, and whether each may be left out; at a tenth of what a signature costs.

    >>> def area(width: float, height: float = 1.0) -> float:
    ...     return width * height
    >>> parameters_of(area)
    {'width': False, 'height': True}
    """
    if isinstance(function, ByKeyword):
        return function.parameters
    code: CodeType | None = getattr(function, "__code__", None)
    if code is None or code.co_flags & (inspect.CO_VARARGS | inspect.CO_VARKEYWORDS):
        empty = inspect.Parameter.empty
        return {name: one.default is not empty for name, one in inspect.signature(function).parameters.items()}
    by_place = code.co_varnames[: code.co_argcount]
    by_name = code.co_varnames[code.co_argcount : code.co_argcount + code.co_kwonlyargcount]
    told = len(by_place) - len(function.__defaults__ or ())
    usual = function.__kwdefaults__ or {}
    found = {name: number >= told for number, name in enumerate(by_place)}
    return found | {name: name in usual for name in by_name}


class ByKeyword:
    """A function that takes records, called by keyword with their fields instead.

    Parameters
    ----------
    function : callable
        The function; it takes each record under the name given.
    records : mapping
        Record class of each such argument.

    Raises
    ------
    ValueError
        When two arguments come to have one name.

    Examples
    --------
    >>> from compat.engineering.lubrication.oil_consumers import OilConsumers
    >>> def main_bearing_area(engine: OilConsumers) -> float:
    ...     return engine.main_bearings * engine.main_journal_diameter * engine.main_bearing_width
    >>> area = ByKeyword(main_bearing_area, {"engine": OilConsumers})
    >>> "main_bearings" in inspect.signature(area).parameters
    True
    """

    def __init__(self, function: Callable[..., Any], records: Mapping[str, type[Any]]) -> None:
        update_wrapper(self, function)
        self._function = function
        self._records = [(name, record, tuple(arguments_of(record))) for name, record in records.items()]
        own = {name: usual for name, usual in parameters_of(function).items() if name not in records}
        of_records = [field for record in records.values() for field in fields(record)]
        self.parameters = own | {field.name: field.default is not MISSING for field in of_records}
        """Names that it takes, and whether each may be left out."""
        names = [*own, *(field.name for field in of_records)]
        if twice := sorted({name for name in names if names.count(name) > 1}):
            raise ValueError(f"{function.__name__}: two arguments are called {', '.join(twice)}")
        self.__doc__ = _spelt_out(function.__doc__, records)

    def __getattr__(self, name: str) -> Any:
        if name != "__signature__":
            raise AttributeError(name)
        records = {each: record for each, record, _ in self._records}
        return _signature(self._function, records)

    def __call__(self, **arguments: Any) -> Any:
        """Gather the fields of each record and run the function."""
        for name, kind, keys in self._records:
            arguments[name] = kind(**{key: arguments.pop(key) for key in keys if key in arguments})
        return self._function(**arguments)


def _signature(function: Callable[..., Any], records: Mapping[str, type[Any]]) -> inspect.Signature:
    """The function's signature with the fields in place of their records."""
    whole = inspect.signature(function)
    own = [parameter for name, parameter in whole.parameters.items() if name not in records]
    of_records = [
        inspect.Parameter(
            field.name,
            inspect.Parameter.KEYWORD_ONLY,
            default=inspect.Parameter.empty if field.default is MISSING else field.default,
            annotation=field.type,
        )
        for record in records.values()
        for field in fields(record)
    ]
    return whole.replace(
        parameters=[*(each.replace(kind=inspect.Parameter.KEYWORD_ONLY) for each in own), *of_records]
    )


def _spelt_out(doc: str | None, records: Mapping[str, type[Any]]) -> str | None:
    """The docstring with each record's fields described where the record stood."""
    for name, kind in records.items():
        entry = re.compile(rf"^( *){name} : .*\n(?:\1 +\S.*\n)+", re.MULTILINE)

        def described(match: re.Match[str], kind: type[Any] = kind) -> str:
            indent = match[1]
            return "".join(
                f"{indent}{key} : float\n{indent}    {argument.meaning}.\n"
                for key, argument in arguments_of(kind).items()
            )

        doc = entry.sub(described, doc, count=1) if doc else doc
    return doc
