"""One SQLite file of rows, each with a checksum: what does not hold is as good as not there.

Nothing in it is believed that was not written by this very program: the file's name carries the folder it
tells of, every row the stamp of the program and its own key.
"""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path
from threading import Lock
from urllib.parse import quote

from compat import __version__

__all__ = ["Broken", "Store", "cache_folder", "discard", "program_stamp"]

WAIT = 10.0
"""How long to wait for another process to finish writing [s]."""


class Broken(Exception):
    """A row that should be there is not, or is not as it was written."""


@cache
def program_stamp() -> bytes:
    """Stamp of the program's own files: another version reads nothing that this one wrote."""
    package = Path(__file__).resolve().parents[1]
    digest = blake2b(__version__.encode(), digest_size=16)
    for entry in sorted(_python_files(package)):
        digest.update(repr(entry).encode())
    return digest.digest()


def _python_files(folder: Path) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir() and entry.name not in ("__pycache__", "demo"):
                yield from _python_files(Path(entry.path))
            elif entry.name.endswith(".py"):
                found = entry.stat()
                yield entry.path, found.st_size, found.st_mtime_ns


def cache_folder() -> Path | None:
    """The folder for compiled shops, made where it is not there.

    Returns
    -------
    Path or None
        None when there is none that is ours alone: owned by somebody else, open to others for writing, or
        not to be written by us.
    """
    from platformdirs import user_cache_path

    base = user_cache_path()
    folder = base / "compat"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return folder if _ours(folder, stat.S_ISDIR) and os.access(folder, os.W_OK) else None
    except OSError:
        return None


def _ours(path: Path, kind: Callable[[int], bool]) -> bool:
    found = path.lstat()
    if not kind(found.st_mode):
        return False
    if not hasattr(os, "getuid"):
        return True  # where there are no owners, a user's folder is kept by the system
    return found.st_uid == os.getuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


class Store:
    """Rows of one shop by key, all as they were when it was opened. Threads may share it.

    SQLite's write-ahead log lets others write meanwhile: who reads sees what was there at the start, whole.

    Parameters
    ----------
    path : Path
        The file.
    fresh : bool
        Begin a new file, that nobody else can see yet.

    Raises
    ------
    sqlite3.Error, OSError, Broken
        When it cannot be used.
    """

    def __init__(self, path: Path, fresh: bool = False) -> None:
        self.path = path
        self._stamp = program_stamp()
        self._lock = Lock()
        if fresh:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        elif not _ours(path, stat.S_ISREG):
            raise Broken(f"{path} is not ours alone")
        uri = f"file:{quote(str(path))}?mode=rw"
        self._base = sqlite3.connect(uri, uri=True, timeout=WAIT, isolation_level=None, check_same_thread=False)
        try:
            self._base.execute("PRAGMA trusted_schema = OFF")
            if fresh:
                # a file that nobody sees needs no journal: it is put in its place when it is whole
                self._base.execute("PRAGMA journal_mode = OFF")
                self._base.execute("PRAGMA synchronous = OFF")
                self._base.execute(
                    "CREATE TABLE rows (key TEXT PRIMARY KEY, value BLOB, sum BLOB) WITHOUT ROWID"
                )
            else:
                self._base.execute("PRAGMA synchronous = NORMAL")
            self._base.execute("BEGIN")
        except BaseException:
            self._base.close()
            raise

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()

    def get(self, key: str) -> bytes | None:
        """The row of a key, or None where there is none.

        Raises
        ------
        Broken
            When the row is not as this program wrote it.
        """
        with self._lock:
            found = self._base.execute("SELECT value, sum FROM rows WHERE key = ?", (key,)).fetchone()
        if found is None:
            return None
        value, written = found
        if type(value) is not bytes or self._sum(key, value) != written:
            raise Broken(key)
        return value

    def need(self, key: str) -> bytes:
        """The row of a key that must be there."""
        value = self.get(key)
        if value is None:
            raise Broken(key)
        return value

    def under(self, prefix: str) -> Iterator[tuple[str, bytes]]:
        """Every row whose key begins so, in the order of keys."""
        with self._lock:
            found = self._base.execute(
                "SELECT key, value, sum FROM rows WHERE key >= ? AND key < ? ORDER BY key",
                (prefix, prefix + "\U0010ffff"),
            ).fetchall()
        for key, value, written in found:
            if type(value) is not bytes or self._sum(key, value) != written:
                raise Broken(key)
            yield key, value

    @contextmanager
    def writing(self, unless_moved: str = "") -> Iterator[None]:
        """All that is put and dropped within is seen by others whole or not at all.

        Parameters
        ----------
        unless_moved : str
            Key of a row that must still be as this store sees it.

        Raises
        ------
        Broken
            When another process has written that row meanwhile.
        """
        before = self.get(unless_moved) if unless_moved else None
        with self._lock:
            self._base.execute("ROLLBACK")
            self._base.execute("BEGIN IMMEDIATE")
        try:
            if unless_moved and self.get(unless_moved) != before:
                raise Broken(f"{unless_moved} was written by another process")
            yield
        except BaseException:
            with self._lock:
                self._base.execute("ROLLBACK")
                self._base.execute("BEGIN")
            raise
        with self._lock:
            self._base.execute("COMMIT")
            self._base.execute("BEGIN")

    def put(self, rows: Iterable[tuple[str, bytes]]) -> None:
        """Write rows; within `writing`, or into a fresh file."""
        with self._lock:
            self._base.executemany(
                "INSERT OR REPLACE INTO rows VALUES (?, ?, ?)",
                ((key, value, self._sum(key, value)) for key, value in rows),
            )

    def drop(self, keys: Iterable[str]) -> None:
        """Take rows away; within `writing`."""
        with self._lock:
            self._base.executemany("DELETE FROM rows WHERE key = ?", ((key,) for key in keys))

    def finish(self, path: Path) -> None:
        """Put a fresh file in its place, whole, instead of what is there."""
        self._base.execute("COMMIT")
        self._base.execute("PRAGMA journal_mode = WAL")
        self._base.close()
        for ending in ("-wal", "-shm"):
            Path(f"{path}{ending}").unlink(missing_ok=True)
        self.path.replace(path)

    def _sum(self, key: str, value: bytes) -> bytes:
        digest = blake2b(value, digest_size=16, key=self._stamp)
        digest.update(key.encode())
        return digest.digest()


def discard(path: Path) -> None:
    """Take a store's file away, and what SQLite keeps beside it."""
    for ending in ("", "-wal", "-shm"):
        with suppress(OSError):
            Path(f"{path}{ending}").unlink(missing_ok=True)
