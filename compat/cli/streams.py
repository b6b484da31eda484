"""The way out: what a terminal would obey is shown instead, and a reader who has gone is no fault."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO, cast

from compat.paper.visible import visible

__all__ = ["guarded_streams", "styled"]


class Unbroken(io.TextIOBase):
    """A stream that swallows what is written after its reader has gone, as behind `| head`."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.gone = False

    def write(self, text: str, /) -> int:
        """Write, or swallow."""
        if not self.gone:
            try:
                self.stream.write(text)
            except BrokenPipeError:
                self.leave()
        return len(text)

    def flush(self) -> None:
        """Send on what is held, or let it go."""
        if not self.gone:
            try:
                self.stream.flush()
            except BrokenPipeError:
                self.leave()

    def leave(self) -> None:
        """Lead what is still held to nowhere, so that nothing is left to complain at exit."""
        self.gone = True
        with suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self.stream.fileno())
            os.close(nowhere)

    def fileno(self) -> int:
        """Of the stream below."""
        return self.stream.fileno()

    def isatty(self) -> bool:
        """Whether a person reads along."""
        return self.stream.isatty()

    def writable(self) -> bool:
        """Always."""
        return True

    @property
    def encoding(self) -> str:  # type: ignore[override]  # the base class has it as a plain attribute
        """Of the stream below."""
        return self.stream.encoding


class Guarded(Unbroken):
    """A stream that shows what a terminal would obey; what carries styles of our own goes to `styled`."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__(stream)
        self.styled = Unbroken(stream)

    def write(self, text: str, /) -> int:
        """Write with every control character visible."""
        self.styled.write(visible(text))
        return len(text)

    def flush(self) -> None:
        """Send on what is held."""
        self.styled.flush()


@contextmanager
def guarded_streams() -> Iterator[None]:
    """Guard both ways out; a closed one swallows, a letter the terminal lacks becomes a question mark."""
    before = sys.stdout, sys.stderr
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name) or io.StringIO()
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
        setattr(sys, name, Guarded(stream))
    try:
        yield
    finally:
        for guarded in (sys.stdout, sys.stderr):
            guarded.flush()
        sys.stdout, sys.stderr = before


def styled() -> TextIO:
    """Where a console writes that makes its text visible itself and adds styles."""
    return cast(TextIO, sys.stdout.styled if isinstance(sys.stdout, Guarded) else sys.stdout)
