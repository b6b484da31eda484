"""What a worker of a Dask scheduler does: it holds shops that it was sent, and does jobs in them.

A shop comes as the bytes of its files. They are held against the digest that they are asked for by, before
anything is done with them, and are read from a folder of the worker's own, under names of the worker's own: of
what was sent nothing says where anything is written. What is not as it should be is told as plain data.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from hashlib import blake2b
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import Any

from compat.library.kept_answers import kept_answers
from compat.library.library import Library, load
from compat.library.sources import FOLDERS, digest_of, lent_files
from compat.planning.jobs import Job, do_job
from compat.planning.many import files_digest
from compat.version import __version__

__all__ = ["Files", "do", "holds", "program", "take"]

Files = list[tuple[str, bytes]]
"""The files of a shop in the order in which they are read, with the names that messages give them."""

MOST = 4
"""So many shops are held; the one that was asked for longest ago goes first."""

_sent: dict[str, Files] = {}
"""Shops that came and were not opened yet, by digest."""
_open: dict[str, Library] = {}
_turn = Lock()
_lane = ThreadPoolExecutor(1)
"""Jobs of this process, one after the other, whichever thread they are given to: a shop is one thread's."""


@cache
def program() -> str:
    """What stands for this program: its version, and what its own files say, wherever they lie."""
    package = Path(__file__).resolve().parents[1]
    digest = blake2b(digest_size=16)
    sources = ((path.relative_to(package).as_posix(), path) for path in package.rglob("*.py"))
    for shown, path in (*sorted(sources), *lent_files()):
        digest.update(f"{shown}\0{digest_of(path.read_bytes())}\0".encode())
    return f"{__version__} {digest.hexdigest()}"


def holds(digest: str) -> bool:
    """Whether this worker has a shop."""
    with _turn:
        return digest in _sent or digest in _open


def take(digest: str, files: Files) -> str:
    """Take in a shop.

    Parameters
    ----------
    digest : str
        What its files come to.
    files : list
        Its files.

    Returns
    -------
    str
        Why it was not taken; empty when it was.
    """
    if why := _wrong(digest, files):
        return why
    with _turn:
        if digest not in _open:
            _sent[digest] = files
        for held in (_sent, _open):
            while len(held) > MOST:
                del held[next(iter(held))]
    return ""


def _wrong(digest: str, files: Any) -> str:
    """Why something that was sent is not the shop of a digest; empty when it is."""
    match files:
        case [*entries] if all(_is_file(entry) for entry in entries):
            pass
        case _:
            return "what came is no shop"
    return "" if files_digest(files) == digest else "what came is not what was sent"


def _is_file(entry: Any) -> bool:
    match entry:
        case (str(shown), bytes()):
            return shown.split("/")[0] in FOLDERS
    return False


def do(digest: str, asked_of: str, job: Job) -> tuple[str, Any]:
    """Do a job.

    Parameters
    ----------
    digest : str
        Of the shop.
    asked_of : str
        The program that is to do it.
    job : Job
        The job.

    Returns
    -------
    tuple of str and object
        ``done`` and its result; ``absent`` where this worker does not have the shop, ``other`` and the program
        where it is another, ``fault`` and sentences.
    """
    return _lane.submit(_done, digest, asked_of, job).result()


def _done(digest: str, asked_of: str, job: Job) -> tuple[str, Any]:
    from compat.shop.source import Faults

    if program() != asked_of:
        return "other", program()
    try:
        library = _opened(digest)
        return ("absent", None) if library is None else ("done", do_job(library, job))
    except Faults as found:
        return "fault", [str(fault) for fault in found.faults]
    except OSError as error:
        return "fault", [f"{error.filename or 'worker'}: {error.strerror or error}"]


def _opened(digest: str) -> Library | None:
    """A shop that came, read when it is first asked for."""
    with _turn:
        if digest in _open:
            _open[digest] = library = _open.pop(digest)  # the last to go
            return library
        files = _sent.get(digest)
    if files is None:
        return None
    library = _read(files)
    with _turn:
        _sent.pop(digest, None)
        _open[digest] = library
    return library


def _read(files: Sequence[tuple[str, bytes]]) -> Library:
    """Read a shop from a folder that nobody else may look into, gone when it is read."""
    with TemporaryDirectory(prefix="compat-shop-") as private:
        folder = Path(private)
        for name in FOLDERS:
            (folder / name).mkdir(mode=0o700)
        for number, (shown, raw) in enumerate(files):
            # in their order, and in the one of the two folders that they came from: all that names mean here
            path = folder / FOLDERS[FOLDERS.index(shown.split("/")[0])] / f"{number:07}.yaml"
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0), 0o600)
            with os.fdopen(handle, "wb") as file:
                file.write(raw)
        return replace(load(folder), answers=kept_answers())
