"""How pydantic reads an entry: one model for each dataclass, made from the dataclass's own fields."""

from __future__ import annotations

from dataclasses import MISSING, fields
from importlib import import_module
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, create_model
from pydantic_core import core_schema

from compat.shop.entry import Entry
from compat.shop.fields import short

__all__ = ["core_schema_of", "form", "reader"]


_READERS: dict[type[Entry], TypeAdapter[Any]] = {}
_FORMS: dict[type[Entry], type[BaseModel]] = {}


def reader(entry: type[Entry]) -> TypeAdapter[Any]:
    """What reads entries of one class from plain data; made once."""
    if entry not in _READERS:
        _READERS[entry] = TypeAdapter(entry)
    return _READERS[entry]


def form(entry: type[Entry]) -> type[BaseModel]:
    """The entry as files hold it; made once.

    Parameters
    ----------
    entry : type
        A dataclass; the words of its annotations stand in the module `fields` of its package.

    Returns
    -------
    type
        A pydantic model with the same fields, under the names that files use.
    """
    if entry in _FORMS:
        return _FORMS[entry]
    hints = _hints(entry)
    held: dict[str, Any] = {}
    for one in fields(entry):
        if one.name == entry.rest:
            continue
        given: dict[str, Any] = {"alias": one.metadata.get("written")}
        if one.default is not MISSING:
            given["default"] = one.default
        elif one.default_factory is not MISSING:
            given["default_factory"] = one.default_factory
        held[one.name] = (hints[one.name], Field(**given))
    _FORMS[entry] = create_model(
        entry.__name__,
        __config__=ConfigDict(extra="allow" if entry.rest else "forbid", frozen=True, populate_by_name=True),
        __doc__=entry.__doc__,
        __module__=entry.__module__,
        **held,
    )
    return _FORMS[entry]


def _hints(entry: type[Entry]) -> dict[str, Any]:
    words = vars(import_module(f"{entry.__module__.rpartition('.')[0]}.fields"))
    return get_type_hints(entry, localns=words, include_extras=True)


def core_schema_of(entry: type[Entry], handler: Any) -> core_schema.CoreSchema:
    """Validate against the form, then make the entry; a word alone is the field it is short for."""
    model = form(entry)

    def make(filled: BaseModel) -> Entry:
        given = dict(vars(filled))
        if entry.rest:
            given[entry.rest] = filled.model_extra
        return entry(**given)

    schema = core_schema.no_info_after_validator_function(make, handler.generate_schema(model))
    if not entry.only:
        return schema
    word = _hints(entry)[entry.only]
    word = next((kind for kind in get_args(word) if type(None) in get_args(word)), word)
    return core_schema.no_info_before_validator_function(
        short(entry.only), schema, json_schema_input_schema=handler.generate_schema(word | model)
    )
