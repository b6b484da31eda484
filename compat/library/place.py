"""Where kept shops lie: a folder of the user's own, which nobody else may write to."""

from __future__ import annotations

import os
import re
import stat
import sys
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path
from time import time

__all__ = ["OFF", "kept_file", "kept_folder", "own_folder", "program_stamp", "sweep_out"]

VARIABLE = "COMPAT_CACHE"
OFF = "off"
"""What the variable says to keep nothing; else it names the folder."""

_OURS = re.compile(r"[0-9a-f]{24}\.(?:shop|answers)|\..*\.draft")
"""What is kept is called so; whatever else lies there belongs to somebody."""

LONGEST = 90 * 86_400
"""What nobody opened for so long [s] is swept out."""

HALF_WRITTEN = 86_400
"""A draft that old [s] was given up."""


def kept_folder() -> Path | None:
    """The folder, made when it is not there; None where nothing is to be kept or the folder is not safe.

    Returns
    -------
    Path or None
        A folder that the user owns and alone may write to.
    """
    said = os.environ.get(VARIABLE, "")
    if said.lower() == OFF:
        return None
    try:
        folder = Path(said) if said else _own_folder()
        if not said and not folder.is_absolute():
            return None  # nobody knows where this user is at home
        return own_folder(folder)
    except (OSError, RuntimeError):
        return None


def own_folder(folder: Path) -> Path | None:
    """A folder, made when it is not there; None where the user does not own it, or others may write to it."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return folder if _is_own(folder.stat()) else None
    except OSError:
        return None


def _own_folder() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("shop-compat", appauthor=False)


def _is_own(found: os.stat_result) -> bool:
    if not hasattr(os, "geteuid"):
        return True  # the system keeps users' folders apart itself
    return found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def kept_file(folder: Path, name: str, suffix: str) -> Path | None:
    """The file kept under a name; None where others own it or may write to it, or the name is no text."""
    try:
        path = folder / f"{blake2b(name.encode(), digest_size=12).hexdigest()}{suffix}"
    except UnicodeEncodeError:
        return None
    try:
        found = path.lstat()
    except OSError:
        return path
    return path if stat.S_ISREG(found.st_mode) and _is_own(found) else None


@cache
def program_stamp() -> str:
    """What stands for this very program: another version, or an edit of it, has another."""
    package = Path(__file__).resolve().parents[1]
    digest = blake2b(os.fsencode(f"{sys.version}|{package}"), digest_size=16)
    for parent, folders, files in os.walk(package):
        folders[:] = sorted(name for name in folders if name != "__pycache__")
        for name in sorted(files):
            if name.endswith(".py"):
                found = os.stat(os.path.join(parent, name))  # noqa: PTH116, PTH118  at every start
                # an unpacked program may have files of one time: when each came to lie here tells them apart
                digest.update(f"{name}|{found.st_size}|{found.st_mtime_ns}|{found.st_ctime_ns}".encode())
    return digest.hexdigest()


def sweep_out(folder: Path) -> None:
    """Take away what nobody opened for long, and what was never finished; what others laid there stays."""
    now = time()
    for path in folder.iterdir():
        if not _OURS.fullmatch(path.name):
            continue
        with suppress(OSError):
            age = now - path.lstat().st_mtime
            if age > (HALF_WRITTEN if path.suffix == ".draft" else LONGEST):
                path.unlink()
