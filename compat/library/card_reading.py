"""Cards as `cards` writes them, read: plain data made into the things that it says, and nothing else."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import MISSING
from datetime import date
from decimal import Decimal
from functools import cache, cached_property
from types import MappingProxyType
from typing import Any

from compat.engineering.formula import Formula
from compat.library.cards import CLASSES, USUAL, USUAL_GROUND, is_tagged
from compat.library.tables import Unread
from compat.rulebook.expressions import Expression
from compat.shop.money import Money
from compat.shop.source import Spot
from compat.shop.specs import Spec
from compat.units import Band, unit

__all__ = ["CardFault", "Reader"]

_OPEN = frozenset((list, dict))
"""What JSON gives that is to be looked into."""


class CardFault(ValueError):
    """What was kept is not what this program writes."""


class Reader:
    """Reads cards of one shop; equal expressions come as one object, as they do when files are read.

    Parameters
    ----------
    formula : callable
        Gives the formula of a name.
    said : callable
        Gives the cards of expressions that things name by their text alone.
    """

    def __init__(self, formula: Callable[[str], Formula], said: Callable[[], Iterable[Any]] = list) -> None:
        self.formula = formula
        self._said = said
        self._files: dict[str, _OfFile] = {}
        self.expressions: dict[str, Expression] = {}

    @cached_property
    def in_full(self) -> Mapping[str, list[Any]]:
        """The cards of expressions that are named by their text, by it."""
        return {each[0]: each for each in self._said()}

    def read(self, text: str | bytes, file: str = "") -> Any:
        """Read what `card` wrote.

        Parameters
        ----------
        text : str or bytes
            The card.
        file : str
            The file that specs in it were written in.

        Returns
        -------
        object
            What was written, its lists as tuples and its mappings frozen; what a mapping holds is looked
            into when somebody looks at it.

        Raises
        ------
        CardFault
            When the text is no card.

        Examples
        --------
        >>> from compat.engineering import find
        >>> Reader(find).read('["$band",0.086,"mm"]').text()
        '86 mm'
        """
        of = self._files.get(file)
        if of is None:
            of = self._files[file] = _OfFile(file, self)
        whole = text.decode() if isinstance(text, bytes) else text
        try:
            data, end = _SCANNED(whole)
        except ValueError as error:
            raise CardFault(f"is no card: {error}") from error
        if end != len(whole):
            raise CardFault("is a card and more")
        return of.sound(data)


_SCANNED = json.JSONDecoder().raw_decode
"""What a text says, and where that ends."""


class _OfFile:
    """Reads plain data of cards whose specs were written in one file."""

    __slots__ = ("expressions", "file", "reader")

    def __init__(self, file: str, reader: Reader) -> None:
        self.file = file
        self.reader = reader
        self.expressions = reader.expressions

    def sound(self, data: Any) -> Any:
        """What plain data says.

        Raises
        ------
        CardFault
            When it says nothing that is kept.
        """
        try:
            return self.value(data)
        except CardFault:
            raise
        except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError) as error:
            raise CardFault(f"is no card: {error!r}") from error

    def value(self, data: Any) -> Any:
        """What plain data says, faulty or not."""
        kind = type(data)
        if kind is list:
            if is_tagged(data):
                return _MAKERS[data[0]](self, data)
            return tuple([self.value(entry) if type(entry) in _OPEN else entry for entry in data])
        if kind is dict:
            for entry in data.values():
                if type(entry) in _OPEN:
                    return MappingProxyType(Unread(data, self.sound))
            return MappingProxyType(data)
        return data


def _list(of: _OfFile, row: list[Any]) -> tuple[Any, ...]:
    return tuple(map(of.value, row[1:]))


def _band(of: _OfFile, row: list[Any]) -> Band:
    nominal, text = row[1], row[2]
    dimension = tuple(row[5]) if len(row) > 5 else unit(text).dimension
    low, high = row[3:5] if len(row) > 3 else (nominal, nominal)
    return Band(nominal, low, high, dimension, text)


def _spec(of: _OfFile, row: list[Any]) -> Spec:
    value, line = row[1], row[2]
    basis, note = row[4:] or USUAL_GROUND
    spot = Spot(of.file, line, row[3]) if line is not None else None
    return Spec(of.value(value) if type(value) is list else value, basis, note, spot)


def _says(of: _OfFile, row: list[Any]) -> Expression:
    found = of.expressions.get(row[1])
    return found or of.expressions.setdefault(row[1], Expression.of_card(row[1:]))


def _said(of: _OfFile, row: list[Any]) -> Expression:
    found = of.expressions.get(row[1])
    return found or of.expressions.setdefault(row[1], Expression.of_card(of.reader.in_full[row[1]]))


def _asked(of: _OfFile, row: list[Any]) -> Mapping[str, Any]:
    return MappingProxyType({key: of.value(entry) for key, entry in row[1].items()})


class _Makers(dict[str, Callable[[_OfFile, list[Any]], Any]]):
    """What makes a value, by the first entry of its row; what makes things is put in as they are first met."""

    def __missing__(self, tag: str) -> Callable[[_OfFile, list[Any]], Any]:
        return self.setdefault(tag, _maker(tag))


_MAKERS = _Makers(
    {
        "$list": _list,
        "$band": _band,
        "$spec": _spec,
        "$says": _says,
        "$said": _said,
        "$asked": _asked,
        "$own": lambda of, row: Expression.of_card(row[1:]),
        "$money": lambda of, row: Money(Decimal(row[1]), row[2]),
        "$decimal": lambda of, row: Decimal(row[1]),
        "$date": lambda of, row: date.fromisoformat(row[1]),
        "$formula": lambda of, row: of.reader.formula(row[1]),
    }
)


@cache
def _fields_of(name: str) -> tuple[type[Any], Mapping[str, Any], Set[str], Set[str]]:
    """A class, what its fields usually say, and which of these always say something of their own, and which
    usually say what does not stand in the class."""
    kind = CLASSES.get(name)
    if kind is None:
        raise CardFault(f"'{name}' is nothing that is kept")
    usual = USUAL[kind]
    own = {each for each, value in usual.items() if value is MISSING}
    apart = {each for each, value in usual.items() if getattr(kind, each, MISSING) is not value}
    return kind, usual, own, apart


def _maker(tag: str) -> Callable[[_OfFile, list[Any]], Any]:
    """What makes things of a class and some of its fields as they were: they were held against their rules
    before they were kept."""
    name, *told = tag[1:].split(" ")
    kind, usual, own, apart = _fields_of(name)
    names = tuple([each.rstrip("*+") for each in told])
    left = usual.keys() - names
    if len(left) + len(told) != len(usual) or not left.isdisjoint(own):
        raise CardFault(f"a {name} has other fields")
    # what stands in the class need not stand in the thing
    more = {each: usual[each] for each in left & apart}
    tagged, held = ([at for at, each in enumerate(told, 1) if each[-1] == mark] for mark in "*+")
    length, slotted, new, makers = len(told) + 1, "__slots__" in vars(kind), object.__new__, _MAKERS

    def make(of: _OfFile, row: list[Any]) -> Any:
        if len(row) != length:
            raise CardFault(f"a {name} has other fields")
        values = row[:]  # the row itself may be read again
        for at in tagged:
            part = values[at]
            values[at] = makers[part[0]](of, part)
        for at in held:
            values[at] = of.value(values[at])
        del values[0]
        if slotted:
            return kind(**dict(zip(names, values, strict=True)))
        thing = new(kind)
        thing.__dict__.update(zip(names, values, strict=False))  # of one length, as the row is
        if more:
            thing.__dict__.update(more)
        return thing

    return make
