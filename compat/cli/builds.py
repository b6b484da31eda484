"""The build that a command is about: by id, from a file, or from standard input."""

from __future__ import annotations

import sys
from contextlib import chdir
from pathlib import Path
from tempfile import TemporaryDirectory

from compat.checking.library import Library, find_build
from compat.shop.models import Build
from compat.shop.reading import read_build
from compat.shop.source import MOST_BYTES, Fault, Faults, Spot

__all__ = ["named_build"]

STANDARD_INPUT = "standard input"


def named_build(library: Library, name: str) -> Build | str:
    """Find what is to be checked: `-` reads a build file from standard input.

    Parameters
    ----------
    library : Library
        The shop.
    name : str
        A path to a build file, an id, or ``-``.

    Returns
    -------
    Build or str
        The build read, or the id.

    Raises
    ------
    Faults
        When the file is faulty or too large, or the id is not known.
    """
    if name != "-":
        return find_build(library, name)
    raw = sys.stdin.buffer.read(MOST_BYTES + 1) if sys.stdin is not None else b""
    if len(raw) > MOST_BYTES:
        most = f"holds more than {MOST_BYTES / 1e6:.0f} MB, the most that a file may have"
        raise Faults([Fault(Spot(STANDARD_INPUT), most)])
    # the reader of files names a file as it is told to find it: in a folder of its own, by this name alone
    with TemporaryDirectory() as folder:
        path = Path(folder, STANDARD_INPUT)
        path.write_bytes(raw)
        with chdir(folder):
            return read_build(library.shop, Path(path.name))
