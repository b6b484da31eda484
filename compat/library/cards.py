"""Things of a shop and its rulebook as JSON and back: plain data, so that reading it can run nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from operator import attrgetter
from types import MappingProxyType
from typing import Any

from compat.engineering.formula import Formula
from compat.rulebook import models as rulebook_models
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundChange, BoundFigure, BoundRule, Limit, WorkBound
from compat.shop import models, terms
from compat.shop.entry import Entry
from compat.shop.money import Money, Percent
from compat.shop.source import Spot
from compat.shop.specs import Spec, SpecKind
from compat.units import Band, unit

__all__ = ["CardFault", "Reader", "card"]


class CardFault(ValueError):
    """What was kept is not what this program writes."""


def _classes() -> dict[str, tuple[type[Any], tuple[str, ...]]]:
    found: list[type[Any]] = [Money, Percent, BoundFigure, BoundRule, Limit]
    for module in (models, terms, rulebook_models):
        found += [each for each in vars(module).values() if isinstance(each, type) and issubclass(each, Entry)]
    return {each.__name__: (each, tuple(f.name for f in fields(each) if f.init)) for each in found}


_CLASSES = _classes()
"""Classes that a card may name, with their fields: a card cannot make anything else."""


def card(value: Any) -> str:
    """Write a thing, or plain data with things in it, as JSON.

    Parameters
    ----------
    value : object
        Entries, bound rules and figures, specs, bands, money, texts, numbers, tuples and mappings.

    Returns
    -------
    str
        JSON that `Reader.read` turns into an equal thing.

    Raises
    ------
    TypeError
        When something in it is of a class that is never kept.

    Examples
    --------
    >>> from compat.units import read_band
    >>> card(read_band("80 mm"))
    '{"$":["band",0.08,"mm"]}'
    """
    return _ENCODED(_guarded(value))


def _guarded(value: Any) -> Any:
    """Plain data whose mappings are asked for (`_tagged`): one of them may have a word that is ours, ``$``."""
    kind = type(value)
    if kind is dict:
        return MappingProxyType({key: _guarded(entry) for key, entry in value.items()})
    return [_guarded(entry) for entry in value] if kind is list or kind is tuple else value


def _tagged(value: Any) -> Any:
    """A value that JSON has no form for, as plain data that says what it is; what is in it is asked again."""
    kind = type(value)
    writer = _WRITERS.get(kind)
    if writer is not None:
        return {"$": writer(value)}
    if kind is MappingProxyType:
        return {"$": ["mapping", list(value.items())]} if "$" in value else dict(value)
    raise TypeError(f"a {kind.__name__} is not kept")


_ENCODED = json.JSONEncoder(
    ensure_ascii=False, separators=(",", ":"), check_circular=False, default=_tagged
).encode


def _dimension(dimension: tuple[float, ...], text: str) -> Any:
    """The dimension, where the unit alone does not tell it."""
    return None if unit(text).dimension == dimension else list(dimension)


def _write_band(band: Band) -> list[Any]:
    off = _dimension(band.dimension, band.unit)
    if off is None and band.low == band.nominal == band.high:
        return ["band", band.nominal, band.unit]
    return ["band", band.nominal, band.unit, band.low, band.high, off]


def _write_kind(kind: SpecKind) -> list[Any]:
    values = {one.name: getattr(kind, one.name) for one in fields(kind)}
    return ["declared", *(values | {"dimension": _dimension(kind.dimension, kind.unit)}).values()]


def _write_spec(spec: Spec) -> list[Any]:
    where = [spec.spot.line, spec.spot.column] if spec.spot is not None else []
    return ["spec", spec.value, spec.basis, spec.note, *where]


def _writer(name: str, names: tuple[str, ...]) -> Callable[[Any], list[Any]]:
    values = attrgetter(*names) if len(names) > 1 else lambda thing: (getattr(thing, names[0]),)

    def write(thing: Any) -> list[Any]:
        return [name, *[_guarded(value) if type(value) is dict else value for value in values(thing)]]

    return write


def _own(expression: Expression | None) -> dict[str, Any] | None:
    """The words of one piece of work are its own: another's may say the same and mean another size."""
    return {"$": ["own", expression.card()]} if expression is not None else None


def _write_bound(bound: WorkBound) -> list[Any]:
    limits = [
        [limit.text, limit.band, _own(limit.expression)] if limit is not None else None
        for limit in (bound.at_least, bound.at_most)
    ]
    return ["bound", bound.rule, bound.unit, _own(bound.measure), *limits]


def _write_change(change: BoundChange) -> list[Any]:
    own = _own(change.expression)
    values = {one.name: getattr(change, one.name) for one in fields(change) if one.name != "expression"}
    return ["change", own, values]


_WRITERS: dict[type[Any], Callable[[Any], list[Any]]] = {
    Band: _write_band,
    Spec: _write_spec,
    SpecKind: _write_kind,
    Decimal: lambda value: ["decimal", str(value)],
    date: lambda value: ["date", value.isoformat()],
    Expression: lambda value: ["says", value.card()],
    BoundChange: _write_change,
    WorkBound: _write_bound,
    Formula: lambda value: ["formula", value.name],
    **{kind: _writer(name, names) for name, (kind, names) in _CLASSES.items()},
}


_OPEN = frozenset((list, dict))
"""What JSON gives that could be changed."""


def _frozen(value: Any) -> Any:
    kind = type(value)
    if kind is list:
        return tuple([_frozen(entry) if type(entry) in _OPEN else entry for entry in value])
    if kind is dict:
        return MappingProxyType(
            {key: _frozen(entry) if type(entry) in _OPEN else entry for key, entry in value.items()}
        )
    return value


class Reader:
    """Reads cards of one shop; equal expressions come as one object, as they do when files are read.

    Parameters
    ----------
    formula : callable
        Gives the formula of a name.
    """

    def __init__(self, formula: Callable[[str], Formula]) -> None:
        self._formula = formula
        self._expressions: dict[str, Expression] = {}
        self._decoders: dict[str, Callable[[str], Any]] = {}

    def _decoder(self, file: str) -> Callable[[str], Any]:
        """What reads the cards of one file; made once, since making it costs as much as a card."""
        found = self._decoders.get(file)
        if found is None:
            tagged = self._tagged

            def hook(data: dict[str, Any]) -> Any:
                return tagged(data["$"], file) if "$" in data else data

            found = self._decoders[file] = json.JSONDecoder(object_hook=hook).decode
        return found

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
            What was written, its lists as tuples and its mappings frozen.

        Raises
        ------
        CardFault
            When the text is no card.

        Examples
        --------
        >>> from compat.engineering import find
        >>> Reader(find).read('{"$":["band",0.086,"mm"]}').text()
        '86 mm'
        """
        try:
            return _frozen(self._decoder(file)(text.decode() if isinstance(text, bytes) else text))
        except (ValueError, TypeError, LookupError, AttributeError) as error:
            raise CardFault(f"is no card: {error}") from error

    def _tagged(self, entry: list[Any], file: str) -> Any:
        tag = entry[0]
        if tag == "spec":
            spot = Spot(file, entry[4], entry[5]) if len(entry) > 4 else None
            return Spec(_frozen(entry[1]), entry[2], entry[3], spot)
        if tag == "band":
            return _band(entry)
        if tag == "says":
            return self._says(entry[1])
        if tag in _CLASSES:
            return _made(*_CLASSES[tag], entry)
        if tag == "decimal":
            return Decimal(entry[1])
        if tag == "date":
            return date.fromisoformat(entry[1])
        if tag == "declared":
            values = [_frozen(value) for value in entry[1:]]
            if values[3] is None:
                values[3] = unit(values[2]).dimension
            return SpecKind(*values)
        if tag == "formula":
            return self._formula(entry[1])
        if tag == "own":
            return Expression.of_card(entry[1])
        if tag == "change":
            rest = {name: _frozen(value) for name, value in entry[2].items()}
            return BoundChange(expression=entry[1], **rest)
        if tag == "bound":
            least, most = (None if limit is None else Limit(*limit) for limit in entry[4:])
            return WorkBound(entry[1], measure=entry[3], at_least=least, at_most=most, unit=entry[2])
        if tag == "mapping":
            return MappingProxyType({key: _frozen(value) for key, value in entry[1]})
        raise CardFault(f"'{tag}' is nothing that is kept")

    def _says(self, data: list[Any]) -> Expression:
        found = self._expressions.get(data[0])
        if found is None:
            found = self._expressions[data[0]] = Expression.of_card(data)
        return found


def _band(entry: list[Any]) -> Band:
    nominal, text = entry[1], entry[2]
    dimension = tuple(entry[5]) if len(entry) > 3 and entry[5] is not None else unit(text).dimension
    if len(entry) == 3:
        return Band(nominal, nominal, nominal, dimension, text)
    return Band(nominal, entry[3], entry[4], dimension, text)


def _made(kind: type[Any], names: tuple[str, ...], entry: list[Any]) -> Any:
    """The thing as it was: what it holds was held against its rules before it was kept."""
    if len(entry) != len(names) + 1:
        raise CardFault(f"a {kind.__name__} has other fields")
    if "__slots__" in vars(kind):
        return kind(*entry[1:])
    thing = object.__new__(kind)
    del entry[0]
    vars(thing).update(zip(names, [_frozen(v) if type(v) in _OPEN else v for v in entry], strict=True))
    return thing


assert all(is_dataclass(kind) for kind, _ in _CLASSES.values())
