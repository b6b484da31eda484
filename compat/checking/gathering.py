"""What an iterator gives, kept while it is gone through."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from threading import Lock
from typing import TypeVar

__all__ = ["Gathered"]

T = TypeVar("T")


class Gathered(Iterable[T]):
    """What an iterator gives, gone through as often as is wanted, and never further than anybody went.

    Threads may share it.
    """

    def __init__(self, source: Iterator[T]) -> None:
        self._source = source
        self._found: list[T] = []
        self._lock = Lock()
        self._error: Exception | None = None

    def __iter__(self) -> Iterator[T]:
        number = 0
        while True:
            while number < len(self._found):
                yield self._found[number]
                number += 1
            with self._lock:
                if number == len(self._found):
                    if self._error is not None:
                        raise self._error  # an iterator that broke off would end here as if that were all
                    try:
                        self._found.append(next(self._source))
                    except StopIteration:
                        return
                    except Exception as error:
                        self._error = error
                        raise
