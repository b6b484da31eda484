"""How far long work is, told to a person who looks on."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable
from typing import TypeVar

__all__ = ["STOPPED", "Counted"]

STOPPED = 130
"""Exit status of what was stopped with a key, as shells have it."""

Found = TypeVar("Found")


class Counted:
    """Takes note of how much is done, and tells it where standard error is a terminal."""

    done = of = 0

    def __call__(self, done: int, of: int) -> None:
        """Take note of how many of how many are done."""
        self.done, self.of = done, of
        if sys.stderr.isatty():
            print(f"\r{done} of {of} done ", end="\n" if done == of else "", file=sys.stderr, flush=True)

    def unless_stopped(self, work: Callable[[], Found], then: str = "") -> Found | None:
        """Do work; where somebody stops it with a key, tell so, and `then`: what becomes of what is done."""
        try:
            return work()
        except KeyboardInterrupt:
            pass
        gc.collect()  # what was shared with other processes is given back, and not found lying about
        self._stopped(then)
        return None

    def _stopped(self, then: str) -> None:
        if sys.stderr.isatty():
            print(file=sys.stderr)
        told = f"Stopped: {self.done} of {self.of} are done" if self.of else "Stopped"
        print(f"{told}; {then}." if then else f"{told}.", file=sys.stderr)
