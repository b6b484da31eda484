"""What several commands share: the shop folder, the console, and stopping with a message."""

from __future__ import annotations

import io
import os
import shutil
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from rich.console import Console

__all__ = ["UnitSystem", "choose_folder", "console", "ready_streams", "stop"]


class UnitSystem(StrEnum):
    """Units of the output."""

    metric = "metric"
    imperial = "imperial"


def ready_streams() -> None:
    """Make printing safe: a closed stream swallows, and a letter the terminal lacks becomes a question mark."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, io.StringIO())
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def stop(message: str) -> NoReturn:
    """Stop with a message and exit status 2."""
    print(message, file=sys.stderr)
    sys.exit(2)


def choose_folder(given: Path | None) -> Path:
    """The shop folder: as given, else the working folder when it is one, else the demo shop."""
    from compat.library.library import demo_folder

    if given is not None:
        if not given.is_dir():
            stop(f"{given}: is not a folder; --shop wants one with catalog and rules in it")
        return given
    here = Path.cwd()
    if (here / "catalog").is_dir() and (here / "rules").is_dir():
        return here
    return demo_folder()


def console() -> Console:
    """A console that folds to the window, and prints plain text into a pipe."""
    from rich.console import Console

    told = os.environ.get("COLUMNS", "")
    if told.isdecimal() and int(told) > 0:
        wide = int(told)
    else:
        wide = shutil.get_terminal_size().columns if sys.stdout.isatty() else 100
    return Console(highlight=False, width=wide, markup=False)
