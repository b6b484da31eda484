"""One file of sealed entries by key: written once, read lazily, never changed in place.

SQLite keeps the entries and finds them; every entry carries a seal over its key and its bytes, so that a
broken, half-written or foreign file is noticed before anything of it is believed. A new state is a new file put
in the old one's place in one step: whoever has the old one open goes on reading it.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import zlib
from collections.abc import Callable, Collection, Iterable, Mapping
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from threading import RLock
from typing import Any, TypeVar

__all__ = ["Broken", "Draft", "Store", "opened", "sealed"]

T = TypeVar("T")

SEAL = 8
"""Bytes of a seal."""

SMALL = 400
"""Entries of more bytes are packed."""


PAGE = 16_384
"""Bytes of a page of the file: great entries come in few."""

CENSUS = "census"
"""Key of the entry that says how many others there are."""


class Broken(Exception):
    """What was kept cannot be believed."""


def sealed(key: str, text: bytes, pack: bool = True) -> bytes:
    """The bytes of an entry with a seal over them and their key; packed where they are many."""
    packed = b"z" + zlib.compress(text, 1) if pack and len(text) > SMALL else b"-" + text
    return _seal(key, packed) + packed


def _seal(key: str, packed: bytes | memoryview) -> bytes:
    seal = blake2b(b"%d %s " % (len(key), key.encode()), digest_size=SEAL)
    seal.update(packed)  # not joined to the key: it may be a great text
    return seal.digest()


def opened(key: str, blob: object) -> bytes:
    """The bytes that were sealed.

    Raises
    ------
    Broken
        When the seal is another.
    """
    if not isinstance(blob, bytes) or blob[:SEAL] != _seal(key, packed := memoryview(blob)[SEAL:]):
        raise Broken(f"entry '{key}' is broken")
    return zlib.decompress(packed[1:]) if blob[SEAL : SEAL + 1] == b"z" else blob[SEAL + 1 :]


class Store:
    """A file of sealed entries, open for reading. Threads may share it; a forked process opens its own.

    Parameters
    ----------
    path : Path
        The file.
    Raises
    ------
    Broken
        When it is not there, or not such a file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.anew: Callable[[], Store] | None = None
        """Makes the same entries again, when one of these is broken; without it that is an error."""
        self._lock = RLock()
        self._process = os.getpid()
        self._connection = _connected(path)
        self._made = self._get("made")
        self._other: Store | None = None

    # what is asked

    @property
    def made(self) -> str:
        """What the file says of its making; another file never says the same."""
        return self._made.decode()

    def get(self, key: str) -> bytes:
        """Give the bytes of an entry.

        Raises
        ------
        Broken
            When the entry is not what was written, and none makes it again.
        """
        return self._sound(lambda store: store._get(key))

    def find(self, key: str, known: Callable[[], bool]) -> bytes | None:
        """Give the bytes of an entry that need not be there; `known` tells whether it must."""

        def asked(store: Store) -> bytes | None:
            found = store._find(key)
            if found is None and known():
                raise Broken(f"entry '{key}' is lost")
            return found

        return self._sound(asked)

    def below(self, start: str, known: Collection[str]) -> Mapping[str, bytes]:
        """Give every entry whose key begins with ``start/``, by the rest of its key: those that are known."""

        def asked(store: Store) -> Mapping[str, bytes]:
            found = store._below(start)
            if found.keys() != set(known):
                raise Broken(f"an entry below '{start}' is lost")
            return found

        return self._sound(asked)

    def ask(self, question: str, *values: object) -> list[tuple[Any, ...]]:
        """Ask the index of parts (`goods.py`); what it gives carries no seal, and names entries that do."""
        return self._sound(lambda store: store._rows(question, *values))

    def _sound(self, ask: Callable[[Store], T]) -> T:
        """What comes of asking; where that is broken, of asking what was made again."""
        with self._lock:
            if self._other is not None:
                return ask(self._other)
            try:
                return ask(self)
            except Broken:
                if self.anew is None:
                    raise
                self._other = self.anew()
            return ask(self._other)

    # reading

    def _get(self, key: str) -> bytes:
        found = self._find(key)
        if found is None:
            raise Broken(f"entry '{key}' is not there")
        return found

    def _find(self, key: str) -> bytes | None:
        found = self._rows("SELECT key, value FROM entries WHERE key = ?", key)
        return opened(key, found[0][1]) if found else None

    def _below(self, start: str) -> dict[str, bytes]:
        found = self._rows("SELECT key, value FROM entries WHERE key > ? AND key < ?", f"{start}/", f"{start}0")
        return {str(key)[len(start) + 1 :]: opened(str(key), blob) for key, blob in found}

    def _rows(self, question: str, *values: Any) -> list[tuple[Any, ...]]:
        if self._process != os.getpid():
            self._reopen()
        try:
            return self._connection.execute(question, values).fetchall()
        except (sqlite3.Error, UnicodeDecodeError) as error:
            raise Broken(str(error)) from error

    def copy_to(self, connection: sqlite3.Connection) -> None:
        """Copy all of it to another place."""
        with self._lock:
            self._connection.backup(connection)

    def close(self) -> None:
        """Let go of the file; nothing is asked of it after that."""
        self._connection.close()

    def _reopen(self) -> None:
        """Open the file in a forked process; by now another may stand in its place."""
        self._process = os.getpid()
        self._connection = _connected(self.path)
        if self._get("made") != self._made:
            raise Broken("another file stands in its place")


def _connected(path: Path) -> sqlite3.Connection:
    try:
        return sqlite3.connect(
            f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True, check_same_thread=False
        )
    except sqlite3.Error as error:
        raise Broken(str(error)) from error


class Draft(Store):
    """New entries in the making, perhaps begun with those of an old file. It reads what it holds so far.

    Parameters
    ----------
    folder : Path, optional
        Where the file will stand; else the entries are held in memory, and stay there.
    old : Store, optional
        What it begins with.

    Raises
    ------
    OSError
        When it cannot be written there.
    """

    def __init__(self, folder: Path | None = None, old: Store | None = None) -> None:
        self.anew, self._other, self._lock, self._process = None, None, RLock(), os.getpid()
        self.begun = old is not None
        """Whether it holds the entries of an old file."""
        self._complete = False
        self._temporary = _temporary(folder) if folder is not None else None
        try:
            if old is not None and self._temporary is not None:
                shutil.copyfile(old.path, self._temporary)
            self._connection = sqlite3.connect(
                self._temporary or ":memory:", isolation_level=None, check_same_thread=False
            )
            if old is not None and self._temporary is None:
                old.copy_to(self._connection)
            self._connection.execute(f"PRAGMA page_size = {PAGE}")
            self._connection.execute("PRAGMA journal_mode = OFF")
            self._connection.execute("PRAGMA synchronous = OFF")
            self._connection.execute(
                "CREATE TABLE IF NOT EXISTS entries (key TEXT PRIMARY KEY, value BLOB NOT NULL)"
            )
            self._connection.execute("BEGIN")
            if old is not None and self._get("made") != old._made:
                raise OSError("another file stands in the place of the old one")
        except (sqlite3.Error, OSError, Broken) as error:
            self.drop()
            raise OSError(f"nothing can be kept: {error}") from error

    def find(self, key: str, known: Callable[[], bool] = lambda: False) -> bytes | None:
        """Give the bytes of an entry; what is not there is not there yet, unless all is said to be."""
        return super().find(key, known) if self._complete else self._find(key)

    def hold_census(self) -> None:
        """Hold that no entry of the old file is lost: one that is not there would be taken for new.

        Raises
        ------
        Broken
            When there are more or fewer than it says.
        """
        if self._get(CENSUS) != b"%d" % self._others():
            raise Broken("an entry is lost")

    def _others(self) -> int:
        """How many entries there are beside the one that says so."""
        return int(self._rows("SELECT count(*) FROM entries")[0][0]) - self.holds(CENSUS)

    def complete(self, anew: Callable[[], Store]) -> None:
        """Say that all is there, to be read from memory; `anew` makes it again where some of it is broken."""
        self._complete = True
        self.anew = anew

    def _reopen(self) -> None:
        """Go on in a forked process, whose memory holds all of it."""
        self._process = os.getpid()

    def put(self, key: str, text: bytes | str, pack: bool = True) -> None:
        """Write an entry, in place of one that is there; what every check reads is better not packed."""
        raw = text.encode() if isinstance(text, str) else text
        self._change("INSERT OR REPLACE INTO entries VALUES (?, ?)", key, sealed(key, raw, pack))

    def renew(self, key: str, text: bytes | str) -> bool:
        """Write an entry, where it does not say so already; tells whether it did not."""
        raw = text.encode() if isinstance(text, str) else text
        if self._find(key) == raw:
            return False
        self.put(key, raw)
        return True

    def holds(self, key: str) -> bool:
        """Whether there is such an entry, whatever it says."""
        return bool(self._rows("SELECT 1 FROM entries WHERE key = ?", key))

    def remove(self, key: str) -> None:
        """Take an entry out."""
        self._change("DELETE FROM entries WHERE key = ?", key)

    def remove_below(self, start: str) -> None:
        """Take out every entry whose key begins with ``start/``."""
        self._change("DELETE FROM entries WHERE key > ? AND key < ?", f"{start}/", f"{start}0")

    def run(self, statement: str, *values: Any) -> int | None:
        """Change the index of parts; gives the row that was put in."""
        return self._change(statement, *values)

    def run_each(self, statement: str, rows: Iterable[tuple[Any, ...]]) -> None:
        """Change the index of parts by one statement for each of some rows."""
        try:
            self._connection.executemany(statement, rows)
        except sqlite3.Error as error:
            raise OSError(f"nothing can be kept: {error}") from error

    def _change(self, statement: str, *values: Any) -> int | None:
        try:
            return self._connection.execute(statement, values).lastrowid
        except sqlite3.Error as error:
            raise OSError(f"nothing can be kept: {error}") from error

    def finish(self, path: Path) -> None:
        """Close the file and put it in its place, in one step.

        Raises
        ------
        OSError
            When it cannot be put there.
        """
        assert self._temporary is not None
        try:
            self.put(CENSUS, str(self._others()))
            self._connection.execute("COMMIT")
            self._connection.close()
            self._temporary.replace(path)
        except (sqlite3.Error, OSError, Broken) as error:
            self.drop()
            raise OSError(f"nothing can be kept: {error}") from error

    def drop(self) -> None:
        """Give it up."""
        with suppress(AttributeError, sqlite3.Error):
            self._connection.close()
        if self._temporary is not None:
            with suppress(OSError):
                self._temporary.unlink()


def _temporary(folder: Path) -> Path:
    import tempfile

    handle, name = tempfile.mkstemp(dir=folder, prefix=".", suffix=".draft")
    os.close(handle)
    return Path(name)
