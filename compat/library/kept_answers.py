"""Answers of heavy formulas, kept for other runs: a cycle asked again tomorrow need not be computed again.

They hang on nothing but the program and the arguments, so all shops of a user share one file.
"""

from __future__ import annotations

import atexit
import json
import os
import sqlite3
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from threading import RLock
from typing import Any

from compat.library.place import kept_file, kept_folder, program_stamp
from compat.library.store import Broken, opened, sealed

__all__ = ["KeptAnswers", "kept_answers", "write_answers"]

MOST = 50_000
"""So many answers are kept; the oldest go first."""

AT_ONCE = 256
"""So many new ones wait before they are written."""


class KeptAnswers:
    """Answers in a file, by question. Whatever is wrong with the file, it costs time and nothing else.

    Threads may share it, and so may processes.

    Parameters
    ----------
    path : Path
        The file; made when first written to.
    most : int
        How many answers are kept.
    """

    def __init__(self, path: Path, most: int = MOST) -> None:
        self.path = path
        self.most = most
        self._new: dict[str, bytes] = {}
        self._lock = RLock()
        self._connection: sqlite3.Connection | None = None
        self._process = 0
        self._bare = False
        """Whether nothing stood in the file when it was opened; what others put there since is worked out."""
        self._last: tuple[str | None, str] = None, ""
        """The last question, and its key."""

    def _key(self, question: str) -> str:
        last = self._last
        if last[0] is not question:  # what is not there is put next
            key = blake2b(f"{program_stamp()}|{question}".encode(), digest_size=16).hexdigest()
            last = self._last = question, key
        return last[1]

    def _open(self) -> sqlite3.Connection:
        if self._connection is None or self._process != os.getpid():
            with suppress(FileExistsError):  # nobody else may write to it, whatever the user's mask says
                os.close(os.open(self.path, os.O_CREAT | os.O_EXCL, 0o600))
            self._connection = sqlite3.connect(
                self.path, timeout=0.2, isolation_level=None, check_same_thread=False
            )
            self._process = os.getpid()
            self._connection.execute("PRAGMA synchronous = OFF")
            self._connection.execute("CREATE TABLE IF NOT EXISTS answers (key TEXT UNIQUE, value BLOB)")
            self._bare = self._connection.execute("SELECT 1 FROM answers LIMIT 1").fetchone() is None
        return self._connection

    def get(self, question: str) -> Any | None:
        """Plain data that was put for a question, or None."""
        key = self._key(question)
        with self._lock:
            try:
                connection = self._open()
                if self._bare:
                    return None
                found = connection.execute("SELECT value FROM answers WHERE key = ?", (key,)).fetchone()
                return json.loads(opened(key, found[0])) if found else None
            except (sqlite3.OperationalError, OSError):  # another process writes just now, or nobody may
                return None
            except (sqlite3.Error, Broken, ValueError):
                self._drop()
                return None

    def put(self, question: str, answer: Any) -> None:
        """Keep plain data for a question."""
        key = self._key(question)
        with self._lock:
            self._new[key] = sealed(key, json.dumps(answer).encode())
            if len(self._new) >= AT_ONCE:
                self.write()

    def write(self) -> None:
        """Write what is new."""
        with self._lock:
            new, self._new = self._new, {}
            if not new:
                return
            try:
                connection = self._open()
                connection.execute("BEGIN IMMEDIATE")
                connection.executemany("INSERT OR REPLACE INTO answers VALUES (?, ?)", new.items())
                connection.execute(
                    "DELETE FROM answers WHERE rowid <= (SELECT max(rowid) FROM answers) - ?", (self.most,)
                )
                connection.execute("COMMIT")
                self._bare = False
            except (sqlite3.OperationalError, OSError):
                if self._connection is not None:
                    with suppress(sqlite3.Error):
                        self._connection.execute("ROLLBACK")
            except sqlite3.Error:
                self._drop()

    def _drop(self) -> None:
        """Give up a file that is no good; the next answer begins another."""
        if self._connection is not None:
            with suppress(sqlite3.Error):
                self._connection.close()
        self._connection = None
        with suppress(OSError):
            self.path.unlink()


_opened: dict[Path, KeptAnswers] = {}
"""One for all shops that a program opens: each holds its file open until the program ends."""


def kept_answers() -> KeptAnswers | None:
    """The user's answers; None where nothing is to be kept."""
    folder = kept_folder()
    path = kept_file(folder, "answers", ".answers") if folder is not None else None
    return _opened.setdefault(path, KeptAnswers(path)) if path is not None else None


@atexit.register
def write_answers() -> None:
    """Write what is new, of all that this program opened.

    A program that ends with its exit handlers does so by itself; one that ends without them calls this.
    """
    for kept in list(_opened.values()):
        kept.write()
