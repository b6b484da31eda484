"""Kept quotes of a span reckoned again, on all cores where they are many."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from compat.library.opening import open_library
from compat.planning.processes import Work, each
from compat.trade.again import Again, reckon_again
from compat.trade.frozen import kept

if TYPE_CHECKING:
    from compat.checking.session import Session
    from compat.library.library import Library

__all__ = ["QuotesAgain", "again"]


@dataclass(frozen=True, slots=True)
class QuotesAgain:
    """What kept quotes come to on another day."""

    on: dt.date
    """The day whose prices are taken."""
    since: dt.date | None
    """The first day of the span; None: since ever."""
    until: dt.date | None
    """Its last day; None: until now."""
    quotes: tuple[Again, ...]
    faults: tuple[str, ...]
    """Of files that could not be read."""

    def of(self, state: str) -> tuple[Again, ...]:
        """Those that have changed, cannot be quoted, or are the same."""
        return tuple(one for one in self.quotes if one.state == state)


def again(
    folder: Path,
    where: Path,
    numbers: Sequence[str],
    on: dt.date,
    cores: int,
    keep: bool = True,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> tuple[Again, ...]:
    """Reckon kept quotes again.

    Parameters
    ----------
    folder : Path
        The shop.
    where : Path
        Where its quotes are kept.
    numbers : sequence of str
        The quotes.
    on : date
        The day whose prices are taken.
    cores : int
        So many processes at most.
    keep : bool
        Whether the shop's own cache may be used.
    progress : callable
        Told how many of how many are done.

    Returns
    -------
    tuple of Again
        In the order of the numbers.

    Raises
    ------
    Faults
        When processes are lost again and again.
    """
    done: dict[str, Again] = {}
    work = Work(_begin, (folder, keep, where, on), _do)
    for number, found in each(work, numbers, cores):
        done[number] = found
        progress(len(done), len(numbers))
    return tuple(done[number] for number in numbers)


_asked: list[tuple[Path, bool, Path, dt.date]] = []
_here: list[tuple[Library, Session]] = []
"""The shop of a process, read when the first quote is asked for: what is wrong can be told then."""


def _begin(folder: Path, keep: bool, where: Path, on: dt.date) -> None:
    _here.clear()
    _asked[:] = [(folder, keep, where, on)]


def _do(number: str) -> Again:
    folder, keep, where, on = _asked[0]
    if not _here:
        from compat.checking.session import Session

        library = open_library(folder, keep)
        _here[:] = [(library, Session(library.shop, library.book, behind=library.answers))]
    library, session = _here[0]
    found = reckon_again(session, kept(where, number), on)
    if library.answers is not None:
        library.answers.write()
    return found
