"""What an iterator gives, kept while it is gone through."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

__all__ = ["Gathered"]

T = TypeVar("T")


class Gathered(Iterable[T]):
    """What an iterator gives, gone through as often as is wanted, and never further than anybody went."""

    def __init__(self, source: Iterator[T]) -> None:
        self._source = source
        self._found: list[T] = []

    def __iter__(self) -> Iterator[T]:
        number = 0
        while True:
            while number < len(self._found):
                yield self._found[number]
                number += 1
            try:
                self._found.append(next(self._source))
            except StopIteration:
                return
