"""What everything read from a file shares: frozen, compared by value, made without pydantic.

The annotations of an entry are read by pydantic only when a file is (`compat.shop.forms`); the words in
them stand in the module `fields` beside the entry's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, ClassVar

from compat.record import record

__all__ = ["NOTHING", "Entry", "Thing", "freeze", "hold_reason", "nothing", "thaw"]

_OPEN = frozenset((dict, list, tuple))
"""What holds, or may hold, something that could be changed."""

NOTHING: Mapping[Any, Any] = MappingProxyType({})
"""The mapping that holds nothing."""


def nothing() -> Mapping[Any, Any]:
    """Give the empty mapping, as the default of a field."""
    return NOTHING


@record(kw_only=True)
class Entry:
    """A piece of a file; what it holds cannot be changed once it is made."""

    only: ClassVar[str] = ""
    """The field that is meant where the file has only a word."""
    rest: ClassVar[str] = ""
    """The field that takes whatever else the file says."""

    def __post_init__(self) -> None:
        """Freeze what was given, then hold what no single field can tell."""
        values = vars(self)
        for name, value in values.items():
            if type(value) in _OPEN:
                values[name] = freeze(value)
        self.hold()

    def hold(self) -> None:
        """Raise ValueError when the fields do not go together."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> Any:
        """How pydantic reads the entry from a file."""
        from compat.shop.forms import core_schema_of

        return core_schema_of(cls, handler)


@record(kw_only=True)
class Thing(Entry):
    """Base of everything that has a file entry of its own."""

    kind: ClassVar[str]

    @property
    def id(self) -> str:
        """The thing's own id."""
        return str(getattr(self, self.kind))


def hold_reason(instead_of: str | None, reason: str) -> None:
    """Hold that what stands instead of a thing of the program says why, in words.

    Raises
    ------
    ValueError
        When one is given without the other, or the reason is none.
    """
    if instead_of is None and reason:
        raise ValueError("'reason' says why something stands 'instead_of' another, and nothing does")
    if instead_of is not None and len(reason.split()) < 2:
        raise ValueError("'instead_of' wants a 'reason', of two words at least")


def freeze(data: Any) -> Any:
    """Plain data that nobody can change: lists as tuples, mappings behind a proxy.

    >>> freeze({"a": ["b"]})
    mappingproxy({'a': ('b',)})
    """
    if isinstance(data, dict):
        return MappingProxyType(
            {key: value if type(value) is str else freeze(value) for key, value in data.items()}
        )
    if isinstance(data, list | tuple):
        return tuple([value if type(value) is str else freeze(value) for value in data])
    return data


def thaw(data: Any) -> Any:
    """Frozen data as lists and dicts, the way a file gave it.

    >>> thaw(freeze({"a": ["b"]}))
    {'a': ['b']}
    """
    if isinstance(data, Mapping):
        return {key: thaw(value) for key, value in data.items()}
    if isinstance(data, tuple):
        return [thaw(value) for value in data]
    return data
