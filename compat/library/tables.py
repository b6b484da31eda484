"""Mappings that make an entry when it is first looked at, and else are what a mapping of all entries is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, TypeVar

__all__ = ["Table", "Unread"]

T = TypeVar("T")


class _Later(dict[Any, T]):
    """What was made so far, by key; below it say what keys there are, and how an entry is made."""

    __slots__ = ()

    def get(self, key: Any, default: Any = None) -> Any:
        """The entry of a key, or the default."""
        try:
            return self[key]
        except KeyError:
            return default

    def __reversed__(self) -> Any:
        return reversed(list(self))

    def values(self) -> Any:
        """Every entry."""
        return (self[key] for key in self)

    def items(self) -> Any:
        """Every key with its entry."""
        return ((key, self[key]) for key in self)

    def copy(self) -> dict[Any, T]:
        """All of it, made."""
        return dict(self.items())

    def __eq__(self, other: object) -> bool:
        """Whether both hold the same, made or not."""
        return isinstance(other, Mapping) and self.copy() == dict(other.items())

    def __ne__(self, other: object) -> bool:
        return not self == other

    __hash__ = None

    def __or__(self, other: Any) -> Any:
        return self.copy() | dict(other)

    def __ror__(self, other: Any) -> Any:
        return dict(other) | self.copy()

    def __repr__(self) -> str:
        return repr(self.copy())


class Table(_Later[T]):
    """A table whose entries are read when they are first asked for.

    Parameters
    ----------
    load : callable
        Gives the entry of a key, or raises KeyError.
    keys : callable
        Gives every key, in the order of the files.
    most : int
        So many entries are held at most; any number when left out.
    """

    def __init__(
        self, load: Callable[[Any], T], keys: Callable[[], Iterable[Any]], most: int | None = None
    ) -> None:
        super().__init__()
        self._load = load
        self._all = keys
        self._most = most

    def __missing__(self, key: Any) -> T:
        value = self._load(key)
        if self._most is not None and dict.__len__(self) >= self._most:
            self.clear()
        return self.setdefault(key, value)

    def __contains__(self, key: object) -> bool:
        try:
            self[key]
        except KeyError:
            return False
        return True

    def __iter__(self) -> Iterator[Any]:
        return iter(self._all())

    def __len__(self) -> int:
        return sum(1 for _ in self._all())

    def keys(self) -> Any:
        """Every key, in the order of the files."""
        return dict.fromkeys(self._all()).keys()

    def values(self) -> Any:
        """Every entry; those of a great table are read as they are gone through, and not held."""
        return (self._held(key) for key in self._all())

    def items(self) -> Any:
        """Every key with its entry."""
        return ((key, self._held(key)) for key in self._all())

    def _held(self, key: Any) -> T:
        if self._most is None or dict.__contains__(self, key):
            return self[key]
        return self._load(key)


class Unread(_Later[T]):
    """A mapping of which the entries are at hand as plain data, each read when it is first looked at.

    Threads may share it: whoever reads an entry, all get the same.

    Parameters
    ----------
    rows : mapping
        The plain data; nobody else may change it.
    read : callable
        Gives the entry that plain data says.

    Examples
    --------
    >>> sizes = Unread({"bore": ["86", "mm"], "stroke": ["75", "mm"]}, " ".join)
    >>> sizes["bore"], dict.__len__(sizes), len(sizes)
    ('86 mm', 1, 2)
    """

    __slots__ = ("_read", "_rows")

    def __init__(self, rows: dict[str, Any], read: Callable[[Any], T]) -> None:
        super().__init__()
        self._rows = rows
        self._read = read

    def __missing__(self, key: Any) -> T:
        return self.setdefault(key, self._read(self._rows[key]))

    def __contains__(self, key: object) -> bool:
        return key in self._rows

    def __iter__(self) -> Iterator[Any]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def keys(self) -> Any:
        """Every key."""
        return self._rows.keys()
