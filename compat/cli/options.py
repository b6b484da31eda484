"""What several commands share: the shop folder, the width of the window, and stopping with a message."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from compat.library.library import Library

__all__ = ["UnitSystem", "choose_folder", "open_chosen", "stop", "width"]


class UnitSystem(StrEnum):
    """Units of the output."""

    metric = "metric"
    imperial = "imperial"


def stop(*messages: str) -> NoReturn:
    """Stop with exit status 2, each message on a line of its own."""
    for message in messages:
        print(message.replace("\n", "\\n"), file=sys.stderr)
    sys.exit(2)


def choose_folder(given: Path | None) -> Path:
    """The shop folder: as given, else the working folder when it is one, else the demo shop."""
    from compat.library.sources import demo_folder

    if given is not None:
        if not given.is_dir():
            stop(f"{given}: is not a folder; --shop wants one with catalog and rules in it")
        return given
    here = Path.cwd()
    if (here / "catalog").is_dir() and (here / "rules").is_dir():
        return here
    return demo_folder()


def open_chosen(folder: Path, keep: bool, builds: Sequence[str] = ()) -> Library:
    """Open a shop; a great one that is read for the first time says how far it is.

    Of builds that are files the parts count that they carry themselves.
    """
    from compat.library.opening import open_library

    drafts = [path for name in dict.fromkeys(builds) if _carries_parts(path := Path(name), folder)]

    began = monotonic()
    told = False

    def progress(left: int, of: int) -> None:
        nonlocal told
        if monotonic() - began > 1 and sys.stderr.isatty():
            told = True
            print(f"\rreading the shop's files: {left} of {of} to go ", end="", file=sys.stderr, flush=True)

    try:
        return open_library(folder, keep, progress, drafts)
    finally:
        if told:
            print("\r\033[K", end="", file=sys.stderr, flush=True)


def _carries_parts(path: Path, folder: Path) -> bool:
    """Whether a file outside the shop seems to hold a build with own parts; reading it tells for sure."""
    from compat.shop.source import Faults, read_bytes

    try:
        if not path.is_file() or path.resolve().is_relative_to((folder / "catalog").resolve()):
            return False
        return b"parts:" in read_bytes(path, "")
    except (Faults, OSError, ValueError):
        return False


def width() -> int:
    """Columns of the window, by COLUMNS where that is set; 100 into a file or pipe."""
    told = os.environ.get("COLUMNS", "")
    if told.isdecimal() and int(told) > 0:
        return int(told)
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else 100
