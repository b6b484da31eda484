"""What takes seconds, in a process of its own, so that nobody else at the page waits for it."""

from __future__ import annotations

import copyreg
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import replace
from datetime import date
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Lock
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, TypeVar

from compat.shop.builds import ReadyBuild

if TYPE_CHECKING:
    from compat.checking.lint import Remark
    from compat.checking.session import Session
    from compat.library.library import Library
    from compat.planning.finding import Asked
    from compat.planning.finding import Found as FoundParts
    from compat.planning.ladder import Ladder

__all__ = ["Slowly", "found_for", "ladder_of", "linted"]

Found = TypeVar("Found")

MOST_KNOWN: Final = 64
"""Results that are kept, the longest known dropped first."""


def _closed(table: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(table)


# builds hold their tables read-only; those go from process to process as plain ones and are closed again
copyreg.pickle(MappingProxyType, lambda table: (_closed, (dict(table),)))


class Slowly:
    """Work of seconds, one after another, each asked once for what it hangs on.

    Parameters
    ----------
    folder : Path
        The shop.
    cache : bool
        Whether what is kept of it may be used.
    """

    def __init__(self, folder: Path, cache: bool) -> None:
        self._where = folder, cache
        self._lock = Lock()
        self._known: dict[object, tuple[object, Future[Any]]] = {}
        self._turns = ThreadPoolExecutor(1, "slowly")
        self._other: tuple[BaseProcess, Connection] | None = None
        self._closed = False

    def ask(
        self, work: Callable[..., Found], session: Session, ready: ReadyBuild | None = None, *more: object
    ) -> Future[Found]:
        """Begin work on a build or the whole shop, or join what is under way or done.

        Parameters
        ----------
        work : callable
            A function that can be named: takes session, build and what more is asked; or, where there is no
            build, the library of the shop.
        session : Session
            The session as the page has it; what was found for another one counts no longer.
        ready : ReadyBuild, optional
            The build.
        *more
            What the work takes beside.
        """
        key = (work.__name__, ready.build.build if ready is not None else "", *more)
        with self._lock:
            known = self._known.pop(key, None)
            if known is None or known[0] != (id(session), ready) or _failed(known[1]):
                if known is not None:
                    known[1].cancel()
                says = (ready.build, dict(ready.measured)) if ready is not None else None
                asked = work, says, more
                known = (id(session), ready), self._turns.submit(self._done, asked)
            self._known[key] = known
            while len(self._known) > MOST_KNOWN:
                self._known.pop(next(iter(self._known)))[1].cancel()
            return known[1]

    def close(self) -> None:
        """End the other process, whatever it is at."""
        with self._lock:
            self._closed = True
            if self._other is not None:
                self._other[0].kill()
        self._turns.shutdown(wait=False, cancel_futures=True)

    def _done(self, asked: object) -> Any:
        """Have the other process do it, and start that where it is not there."""
        with self._lock:
            if self._closed:
                raise CancelledError
            if self._other is None or not self._other[0].is_alive():
                context = get_context("spawn")
                here, there = context.Pipe()
                process = context.Process(target=_work, args=(there, *self._where), daemon=True)
                process.start()
                there.close()
                self._other = process, here
            line = self._other[1]
        line.send(asked)
        found, wrong = line.recv()  # ends with EOFError where the process does
        if wrong is not None:
            raise wrong
        return found


def _failed(future: Future[Any]) -> bool:
    return future.cancelled() or (future.done() and future.exception() is not None)


def _work(line: Connection, folder: Path, cache: bool) -> None:
    """The other process: open the shop, hold the build against it, and work, until nobody asks any more."""
    from compat.checking.session import Session
    from compat.library.opening import open_library
    from compat.planning.processes import follow
    from compat.shop.builds import prepare

    follow()
    with suppress(EOFError, BrokenPipeError):
        while True:
            work, says, more = line.recv()
            try:
                library = open_library(folder, cache)
                if says is None:
                    line.send((work(library, *more), None))
                    continue
                build, measured = says
                ready = replace(prepare(library.shop, build), measured=MappingProxyType(measured))
                found = work(Session(library.shop, library.book, behind=library.answers), ready, *more)
                if library.answers is not None:
                    library.answers.write()
            except Exception as wrong:  # told to whoever asked
                line.send((None, wrong))
            else:
                line.send((found, None))


def ladder_of(session: Session, ready: ReadyBuild, on: date, system: str) -> Ladder:
    """The ladder of a build; see `compat.planning.ladder.climb`."""
    from compat.planning.ladder import climb

    return climb(session, ready, on, system=system)


def found_for(session: Session, ready: ReadyBuild, asked: Asked, system: str) -> FoundParts:
    """The parts that go into a build; see `compat.planning.finding.find`."""
    from compat.planning.finding import find

    return find(session.shop, asked, session, ready, system)


def linted(library: Library) -> list[Remark]:
    """Oversights of the whole shop; see `compat.checking.lint.lint`."""
    from compat.checking.lint import lint

    return lint(library)
