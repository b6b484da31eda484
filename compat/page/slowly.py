"""What takes seconds, in a process of its own, so that nobody else at the page waits for it."""

from __future__ import annotations

import copyreg
import os
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from hashlib import blake2b
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Lock
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, TypeVar
from weakref import ref

from compat.shop.builds import ReadyBuild

if TYPE_CHECKING:
    from compat.checking.lint import Remark
    from compat.checking.session import Session
    from compat.library.library import Library
    from compat.planning.finding import Asked
    from compat.planning.finding import Found as FoundParts
    from compat.planning.ladder import Ladder
    from compat.trade.quoted import Doubt

__all__ = ["Slowly", "doubted", "found_for", "ladder_of", "linted"]

Found = TypeVar("Found")

MOST_KNOWN: Final = 64
"""Results that are kept, the longest known dropped first."""
GIVES_WAY: Final = 5
"""How much later than a press its turn comes where the processors are busy."""
PATIENCE: Final = 0.2
"""How long who begins work waits for it before it is said that it is being worked out [s]."""


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
        self._known: dict[bytes, _Asked] = {}
        self._turns = ThreadPoolExecutor(1, "slowly")
        self._other: tuple[BaseProcess, Connection] | None = None
        self._closed = False

    def look(
        self,
        who: str,
        work: Callable[..., Found],
        session: Session,
        ready: ReadyBuild | None = None,
        *more: object,
        patience: float | None = None,
    ) -> Found | None:
        """What came of work on a build or the whole shop; it is begun where nobody has asked for it yet.

        Parameters
        ----------
        who : str
            Who asks: of the same work each waits for one thing at a time, and no longer for what came before.
        work : callable
            A function that can be named: takes session, build and what more is asked; or, where there is no
            build, the library of the shop.
        session : Session
            The session as the page has it; what was found for another one counts no longer.
        ready : ReadyBuild, optional
            The build.
        *more
            What the work takes beside.
        patience : float, optional
            How long to wait for it [s]; else a moment where it is begun now, and not at all where it was.

        Returns
        -------
        Found or None
            None while it is being worked out.

        Raises
        ------
        Exception
            Whatever the work raised.
        """
        future, begun = self._asked(who, work, session, ready, more)
        wait([future], patience if patience is not None else PATIENCE if begun else 0.0)
        found: Found | None = future.result() if future.done() else None
        return found

    def _asked(
        self,
        who: str,
        work: Callable[..., Any],
        session: Session,
        ready: ReadyBuild | None,
        more: tuple[object, ...],
    ) -> tuple[Future[Any], bool]:
        """Begin work, or join what is under way or done; and whether it was begun."""
        says = (ready.build, dict(ready.measured)) if ready is not None else None
        # two may have the same build on the table as each changed it: what it says tells them apart
        key = blake2b(f"{work.__name__} {says!r} {more!r}".encode(), digest_size=16).digest()
        with self._lock:
            known = self._known.pop(key, None)
            begun = known is None or known.session() is not session or _failed(known.future)
            if known is None or begun:
                if known is not None:
                    known.future.cancel()
                future = self._turns.submit(self._done, (work, says, more))
                known = _Asked(ref(session), work.__name__, future, set())
            self._known[key] = known
            for other in self._known.values():
                if other is not known and other.work == known.work and who in other.by:
                    other.by.discard(who)
                    if not other.by:
                        other.future.cancel()  # of no effect where it is begun, or done
            known.by.add(who)
            while len(self._known) > MOST_KNOWN:
                self._known.pop(next(iter(self._known))).future.cancel()
            return known.future, begun

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


@dataclass(frozen=True, slots=True)
class _Asked:
    """Work that was asked, and who waits for it."""

    session: ref[Session]
    work: str
    future: Future[Any]
    by: set[str]


def _failed(future: Future[Any]) -> bool:
    return future.cancelled() or (future.done() and future.exception() is not None)


def _work(line: Connection, folder: Path, cache: bool) -> None:
    """The other process: open the shop, hold the build against it, and work, until nobody asks any more."""
    from compat.checking.session import Session
    from compat.library.opening import open_library
    from compat.planning.processes import follow
    from compat.shop.builds import prepare

    follow()
    with suppress(AttributeError, OSError):  # not on every system
        os.nice(GIVES_WAY)
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


def doubted(session: Session, ready: ReadyBuild) -> tuple[tuple[Doubt, ...], Decimal]:
    """What is in doubt of a quote; see `compat.trade.quote.doubts_of`."""
    from compat.trade.quote import doubts_of

    return doubts_of(session, ready)


def linted(library: Library) -> list[Remark]:
    """Oversights of the whole shop; see `compat.checking.lint.lint`."""
    from compat.checking.lint import lint

    return lint(library)
