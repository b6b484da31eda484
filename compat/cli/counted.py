"""How far long work is, told to a person who looks on."""

from __future__ import annotations

import sys

__all__ = ["Counted"]


class Counted:
    """Takes note of how much is done, and tells it where standard error is a terminal."""

    done = of = 0

    def __call__(self, done: int, of: int) -> None:
        """Take note of how many of how many are done."""
        self.done, self.of = done, of
        if sys.stderr.isatty():
            print(f"\r{done} of {of} done ", end="\n" if done == of else "", file=sys.stderr, flush=True)

    def stopped(self, then: str = "") -> None:
        """Tell that somebody stopped it, and what becomes of what is done."""
        if sys.stderr.isatty():
            print(file=sys.stderr)
        told = f"Stopped: {self.done} of {self.of} are done" if self.of else "Stopped"
        print(f"{told}; {then}." if then else f"{told}.", file=sys.stderr)
