"""The shop that a page shows, opened anew when its files change."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from threading import Lock
from time import monotonic
from typing import TYPE_CHECKING, Final

from compat.library.sources import is_demo
from compat.page.remembering import Remembered
from compat.page.settings import Settings
from compat.shop.source import Fault, Faults

if TYPE_CHECKING:
    from compat.checking.session import Session
    from compat.library.library import Library

__all__ = ["Desk"]

LOOK_EVERY: Final = 0.5
"""How long the files are taken to be as they were [s]."""

CHECKS: Final = 192
"""Checked builds that are remembered: a few for each of fifty people."""


class Desk:
    """One shop, open, with the session that its checks are remembered in.

    Files may be edited meanwhile. What can be read counts from the next request on; where it cannot, the page
    goes on with what was read before, and `faults` says what is wrong.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.faults: tuple[Fault, ...] = ()
        self.known = Remembered()
        """What views worked out of builds that do not change."""
        self._lock = Lock()
        self._stamps: Mapping[str, tuple[int, int, int]] = {}
        self._looked = -LOOK_EVERY
        self._opened: tuple[Library, Session] | None = None
        self._hold()

    @property
    def library(self) -> Library:
        """The shop and its rulebook, as its files have them now."""
        return self._hold()[0]

    @property
    def session(self) -> Session:
        """Where checks remember."""
        return self._hold()[1]

    @property
    def folder(self) -> Path:
        """The shop's folder."""
        return self.settings.folder

    @property
    def is_demo(self) -> bool:
        """Whether the shop is the demo, which comes with the program and is not written to."""
        return is_demo(self.folder)

    def look_again(self) -> None:
        """Look at the files at the next question: something was written."""
        self._looked = monotonic() - LOOK_EVERY

    def _hold(self) -> tuple[Library, Session]:
        with self._lock:
            if self._opened is not None and monotonic() - self._looked < LOOK_EVERY:
                return self._opened
            stamps = _stamps(self.folder)
            self._looked = monotonic()
            if self._opened is not None and stamps == self._stamps:
                return self._opened
            try:
                self._opened = self._open()
                self.faults = ()
                self.known.forget()  # it was of a shop that is no more
            except Faults as wrong:
                if self._opened is None:
                    raise
                self.faults = tuple(wrong.faults)
            self._stamps = stamps
            return self._opened

    def _open(self) -> tuple[Library, Session]:
        from compat.checking.session import Session
        from compat.library.opening import open_library

        library = open_library(self.folder, self.settings.cache)
        return library, Session(library.shop, library.book, checks=CHECKS, behind=library.answers)


def _stamps(folder: Path) -> dict[str, tuple[int, int, int]]:
    from compat.library.sources import look

    found = {}
    for name, path in look(folder):
        try:
            state = path.stat()
        except OSError:
            continue
        found[name] = state.st_size, state.st_mtime_ns, state.st_ino
    return found
