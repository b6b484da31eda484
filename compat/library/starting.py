"""Writing a shop to begin with into a folder of its own."""

from __future__ import annotations

import os
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path

from compat.library.skeleton import SIZES, skeleton
from compat.shop.source import Fault, Faults, Spot

__all__ = ["SIZES", "start"]


def start(folder: Path, size: str) -> list[Path]:
    """Write a shop to begin with, whole or not at all.

    Parameters
    ----------
    folder : Path
        Where to; nothing may lie there yet but an empty folder.
    size : str
        ``short-block``, ``long-block`` or ``whole``.

    Returns
    -------
    list of Path
        The files that were written.

    Raises
    ------
    Faults
        When something lies there already, or a file is in the way.
    OSError
        When it cannot be written; nothing is left behind then.
    """
    folder = Path(os.path.abspath(folder))  # noqa: PTH100  a link in the way is not followed
    if folder.is_symlink() or (folder.exists() and (not folder.is_dir() or any(folder.iterdir()))):
        raise Faults([Fault(Spot(str(folder), 0), "is there already; start writes into a new or empty folder")])
    there = next(parent for parent in folder.parents if parent.exists())
    if not there.is_dir():
        raise Faults([Fault(Spot(str(there), 0), "is a file, so that no folder can be made in it")])
    files = skeleton(size)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=f".{folder.name[:80]}-", dir=folder.parent))
    except OSError as error:  # which names a folder that nobody asked for
        raise OSError(error.errno, error.strerror, str(folder)) from None
    try:
        for name, text in files.items():
            path = made / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        made.chmod(0o755)
        with suppress(FileNotFoundError):
            folder.rmdir()
        made.rename(folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    return [folder / name for name in files]
