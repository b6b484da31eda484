"""Things as JSON and back: plain data only, so nothing that stands in a file can make code run."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from compat.rulebook import models as rulebook_models
from compat.shop import models as shop_models
from compat.shop.entry import NOTHING, Entry
from compat.shop.money import Money
from compat.shop.source import Spot
from compat.shop.specs import Spec, SpecKind
from compat.units import DIMENSIONLESS, Band
from compat.units.table import TABLE

__all__ = ["pack", "unpack"]

MARK = "~"
"""Key that tells what an object of the file is; a mapping that has it of its own is written as pairs."""

ENTRIES: dict[str, type[Entry]] = {
    kind.__name__: kind
    for module in (shop_models, rulebook_models)
    for kind in vars(module).values()
    if isinstance(kind, type) and issubclass(kind, Entry) and kind.__module__ == module.__name__
}


def _usual(kind: type[Any]) -> dict[str, Any]:
    """What the fields hold where nothing is said."""
    return {
        one.name: one.default_factory() if one.default_factory is not MISSING else one.default
        for one in fields(kind)
        if one.default is not MISSING or one.default_factory is not MISSING
    }


_USUAL: dict[type[Any], dict[str, Any]] = {}


def usual(kind: type[Any]) -> dict[str, Any]:
    """Defaults of a class, looked up once."""
    if kind not in _USUAL:
        _USUAL[kind] = _usual(kind)
    return _USUAL[kind]


def pack(value: Any, file: str = "") -> str:
    """Write things and what they hold as JSON.

    Parameters
    ----------
    value
        Things, quantities, money, words and numbers, in mappings and tuples.
    file : str
        File that need not be named again for each spec that stands in it.

    Returns
    -------
    str
        JSON.

    Raises
    ------
    TypeError
        When there is something in it that has no card.

    Examples
    --------
    >>> pack({"price": Money(Decimal("24.50"), "GBP")})
    '{"price":{"~":"money","v":["24.50","GBP"]}}'
    """
    return json.dumps(_plain(value, file), ensure_ascii=False, separators=(",", ":"))


def _plain(value: Any, file: str) -> Any:
    kind = type(value)
    if kind in (str, float, int, bool) or value is None:
        return value
    if kind in (tuple, list):
        return [_plain(entry, file) for entry in value]
    if kind is Band:
        # most units are in the table, and tell the dimension
        known = value.unit == "" and value.dimension == DIMENSIONLESS
        known = known or (value.unit in TABLE and TABLE[value.unit][2] == value.dimension)
        dimension = () if known else value.dimension
        return {MARK: "band", "v": [value.nominal, value.low, value.high, value.unit, *dimension]}
    if kind is Spec:
        spot: list[Any] = []
        if value.spot is not None:
            own = [] if value.spot.file == file else [value.spot.file]
            spot = [value.spot.line, value.spot.column, *own]
        return {MARK: "spec", "v": [_plain(value.value, file), value.basis, value.note, *spot]}
    if kind is Money:
        return {MARK: "money", "v": [str(value.amount), value.currency]}
    if kind is Decimal:
        return {MARK: "decimal", "v": str(value)}
    if kind is SpecKind:
        return {MARK: "kind", **_said(value, file)}
    if isinstance(value, Entry):
        return {MARK: kind.__name__, **_said(value, file)}
    if isinstance(value, Mapping):
        if any(key.startswith(MARK) for key in value):
            return {MARK: "pairs", "v": [[key, _plain(entry, file)] for key, entry in value.items()]}
        return {key: _plain(entry, file) for key, entry in value.items()}
    raise TypeError(f"{kind.__name__} has no card")


def _said(value: Any, file: str) -> dict[str, Any]:
    defaults = usual(type(value))
    return {
        one.name: _plain(held, file)
        for one in fields(value)
        if (held := getattr(value, one.name)) is not defaults.get(one.name, MISSING)
        and (one.name not in defaults or held != defaults[one.name])
    }


def unpack(text: str | bytes, file: str = "") -> Any:
    """Read back what `pack` wrote: mappings take nothing, lists are tuples, things are as they were.

    Raises
    ------
    ValueError, KeyError, TypeError
        When the text is not what `pack` writes.

    Examples
    --------
    >>> unpack(pack({"price": Money(Decimal("24.50"), "GBP")}))["price"].amount
    Decimal('24.50')
    """
    return _frozen(json.loads(text, object_hook=lambda data: _made(data, file)))


def _frozen(value: Any) -> Any:
    return tuple([_frozen(entry) for entry in value]) if type(value) is list else value


_DIMENSIONS: dict[tuple[float, ...], tuple[float, ...]] = {}
"""Each dimension once, however many quantities have it."""


def _band(v: list[Any]) -> Band:
    nominal, low, high, own, *rest = v
    if rest:
        dimension = tuple(rest)
        dimension = _DIMENSIONS.setdefault(dimension, dimension)
    else:
        dimension = TABLE[own][2] if own else DIMENSIONLESS
    return Band(nominal, low, high, dimension, own)


def _spec(v: list[Any], file: str) -> Spec:
    value, basis, note, *spot = v
    if not spot:
        return Spec(_frozen(value), basis, note)
    line, column, *own = spot
    return Spec(_frozen(value), basis, note, Spot(own[0] if own else file, line, column))


def _pairs(v: list[Any]) -> Mapping[str, Any]:
    return MappingProxyType({key: _frozen(entry) for key, entry in v})


_VALUES: dict[str, Callable[[Any], Any]] = {
    "band": _band,
    "money": lambda v: Money(Decimal(v[0]), v[1]),
    "decimal": Decimal,
    "pairs": _pairs,
}


def _made(data: dict[str, Any], file: str) -> Any:
    """What an object of the file stands for; its inner ones are made already."""
    mark = data.get(MARK)
    if mark is None:
        for key, value in data.items():
            if type(value) is list:
                data[key] = _frozen(value)
        return MappingProxyType(data) if data else NOTHING
    if mark == "spec":
        return _spec(data["v"], file)
    if mark in _VALUES:
        return _VALUES[mark](data["v"])
    del data[MARK]
    if mark == "kind":
        return SpecKind(**{key: _frozen(value) for key, value in data.items()})
    # it was held to be right when it was read from its file, and is not looked at again
    kind = ENTRIES[mark]
    thing = object.__new__(kind)
    held = vars(thing)
    held.update(usual(kind))
    for key, value in data.items():
        held[key] = _frozen(value)
    return thing
