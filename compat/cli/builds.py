"""The build that a command is about: by id, from a file, or from standard input."""

from __future__ import annotations

import sys

from compat.checking.library import Library, find_build
from compat.shop.builds import ReadyBuild, read_build
from compat.shop.source import MOST_BYTES, Fault, Faults, Spot

__all__ = ["named_build"]

STANDARD_INPUT = "standard input"


def named_build(library: Library, name: str) -> ReadyBuild:
    """Find what is to be checked: `-` reads a build file from standard input.

    Parameters
    ----------
    library : Library
        The shop.
    name : str
        A path to a build file, an id, or ``-``.

    Returns
    -------
    ReadyBuild
        The build, held against the shop.

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
    return read_build(library.shop, raw, STANDARD_INPUT)
