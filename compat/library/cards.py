"""Things of a shop and its rulebook as JSON: plain data, so that reading it (`card_reading`) can run nothing.

What JSON has no form for is a list that begins with a word of what it is, behind a ``$``: ``["$band", 0.08,
"mm"]``. A thing says its class and which of its fields follow; those with a ``*`` hold more than a text or a
number: such a list. Those with a ``+`` hold a list or a mapping of the usual sort, and those that say what
they usually do are left out.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from decimal import Decimal
from operator import attrgetter
from types import MappingProxyType, NoneType
from typing import Any

from compat.engineering.formula import Formula
from compat.rulebook import models as rulebook_models
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundChange, BoundFigure, BoundRule, Limit, WorkBound
from compat.shop import models, terms
from compat.shop.entry import Entry
from compat.shop.money import Money, Percent
from compat.shop.specs import Spec, SpecKind
from compat.units import Band, unit

__all__ = ["CLASSES", "USUAL", "USUAL_GROUND", "Says", "by_text", "card", "in_full", "is_tagged", "own"]


def _classes() -> dict[str, type[Any]]:
    found: list[type[Any]] = [Percent, SpecKind, BoundFigure, BoundRule, WorkBound, BoundChange, Limit]
    for module in (models, terms, rulebook_models):
        found += [each for each in vars(module).values() if isinstance(each, type) and issubclass(each, Entry)]
    return {each.__name__: each for each in found}


CLASSES = _classes()
"""Classes that a card may name: a card cannot make anything else."""

assert all(map(is_dataclass, CLASSES.values()))


def _usual(kind: type[Any]) -> Mapping[str, Any]:
    """What each field of a class usually says; ``MISSING`` where it always says something of its own."""
    return {
        one.name: one.default if one.default_factory is MISSING else one.default_factory()
        for one in fields(kind)
        if one.init
    }


USUAL = {kind: _usual(kind) for kind in CLASSES.values()}
"""The same of every class that a card may name."""

_PLAIN = frozenset((str, int, float, bool, NoneType))
"""What is the same in JSON."""


def is_tagged(data: Any) -> bool:
    """Whether plain data is a list that says what it is."""
    return type(data) is list and bool(data) and type(data[0]) is str and data[0][:1] == "$"


Says = Callable[[Expression], list[Any]]
"""How expressions are written: in full, or by their text, where what they say is kept beside the cards."""


def in_full(expression: Expression) -> list[Any]:
    """An expression with all that it says."""
    return ["$says", *expression.card()]


def by_text(expression: Expression) -> list[Any]:
    """An expression by its text alone."""
    return ["$said", expression.text]


def own(expression: Expression) -> list[Any]:
    """The words of one piece of work are its own: another's may say the same and mean another size."""
    return ["$own", *expression.card()]


def card(value: Any, says: Says = in_full) -> str:
    """Write a thing, or plain data with things in it, as JSON.

    Parameters
    ----------
    value : object
        Entries, bound rules and figures, specs, bands, money, texts, numbers, tuples and mappings.
    says : callable
        Writes an expression.

    Returns
    -------
    str
        JSON that `card_reading.Reader` turns into an equal thing.

    Raises
    ------
    TypeError
        When something in it is of a class that is never kept.

    Examples
    --------
    >>> from compat.units import read_band
    >>> card(read_band("80 mm"))
    '["$band",0.08,"mm"]'
    """
    return _ENCODED(_plain(value, says))


_ENCODED = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), check_circular=False).encode


def _plain(value: Any, says: Says) -> Any:
    """A value as plain data."""
    kind = type(value)
    if kind in _PLAIN:
        return value
    writer = _WRITERS.get(kind)
    if writer is None:
        raise TypeError(f"a {kind.__name__} is not kept")
    return writer(value, says)


def _write_list(value: Any, says: Says) -> list[Any]:
    plain = [entry if type(entry) in _PLAIN else _plain(entry, says) for entry in value]
    return ["$list", *plain] if is_tagged(plain) else plain


def _write_mapping(value: Any, says: Says) -> dict[str, Any] | list[Any]:
    if any(type(entry) is Expression for entry in value.values()):
        # what a figure asks its formula with is looked at as a whole, so that reading it later gains nothing
        return ["$asked", {key: _plain(entry, says) for key, entry in value.items()}]
    return {key: entry if type(entry) in _PLAIN else _plain(entry, says) for key, entry in value.items()}


def _write_money(money: Money, says: Says) -> list[Any]:
    return ["$money", str(money.amount), money.currency]


def _write_band(band: Band, says: Says) -> list[Any]:
    if unit(band.unit).dimension != band.dimension:
        return ["$band", band.nominal, band.unit, band.low, band.high, list(band.dimension)]
    if band.low == band.nominal == band.high:
        return ["$band", band.nominal, band.unit]
    return ["$band", band.nominal, band.unit, band.low, band.high]


def _write_spec(spec: Spec, says: Says) -> list[Any]:
    place = [spec.spot.line, spec.spot.column] if spec.spot is not None else [None, None]
    ground = [spec.basis, spec.note]
    return ["$spec", _plain(spec.value, says), *place, *(ground if ground != USUAL_GROUND else ())]


USUAL_GROUND = [_usual(Spec)[name] for name in ("basis", "note")]
"""On what a spec usually rests, and what is noted of it."""


def _looks_like(value: Any, other: Any) -> bool:
    """Whether values that are equal are told alike too: 0, 0.0, -0.0 and a decimal 0.00 are not."""
    return type(value) is type(other) and repr(value) == repr(other)


def _writer(kind: type[Any], own_says: Says | None = None) -> Callable[[Any, Says], list[Any]]:
    usual = list(USUAL[kind].items())
    names = [name for name, _ in usual]
    values = attrgetter(*names) if len(names) > 1 else lambda thing: (getattr(thing, names[0]),)

    def write(thing: Any, says: Says) -> list[Any]:
        tag, row = [f"${kind.__name__}"], []
        for (name, often), value in zip(usual, values(thing), strict=True):
            if value is often or (value == often and _looks_like(value, often)):
                continue
            if type(value) in _PLAIN:
                tag.append(name)
                row.append(value)
            else:
                plain = _plain(value, own_says or says)
                tag.append(f"{name}*" if is_tagged(plain) else f"{name}+")
                row.append(plain)
        return [" ".join(tag), *row]

    return write


_WRITERS: dict[type[Any], Callable[[Any, Says], Any]] = {
    **{kind: _writer(kind) for kind in CLASSES.values()},
    **{kind: _writer(kind, own) for kind in (BoundChange, WorkBound)},
    list: _write_list,
    tuple: _write_list,
    dict: _write_mapping,
    MappingProxyType: _write_mapping,
    Money: _write_money,
    Band: _write_band,
    Spec: _write_spec,
    Decimal: lambda value, says: ["$decimal", str(value)],
    date: lambda value, says: ["$date", value.isoformat()],
    Expression: lambda value, says: says(value),
    Formula: lambda value, says: ["$formula", value.name],
}
