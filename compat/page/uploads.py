"""Lists that were brought to the page and not yet taken in: in a folder that ends with the program."""

from __future__ import annotations

import re
import unicodedata
from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp
from threading import Lock
from typing import Final
from weakref import finalize

__all__ = ["Uploads", "Waiting", "safe_name"]

MOST: Final = 20
"""Lists that wait at once; the longest untouched is dropped for the next."""
_WORDS: Final = re.compile(r"[^A-Za-z0-9._-]+")


def safe_name(name: str) -> str:
    """The name of a file as it may stand in a folder of ours: its last part, in plain letters, not hidden.

    Examples
    --------
    >>> safe_name("C:\\\\lists\\\\Preise März.csv"), safe_name("../../etc/passwd"), safe_name("..")
    ('Preise-Marz.csv', 'passwd', 'list')
    """
    last = re.split(r"[\\\\/]", name)[-1]
    plain = unicodedata.normalize("NFKD", last).encode("ascii", "ignore").decode()
    bare = _WORDS.sub("-", plain).strip("-.")
    stem, point, ending = bare.rpartition(".")
    return f"{stem[:80]}{point}{ending[:8]}" if stem else bare[:80] or "list"


@dataclass(frozen=True, slots=True)
class Waiting:
    """A list that waits to be taken in, with how it is to be understood."""

    file: Path
    """The list, in a folder of its own."""
    map_name: str = ""
    """Name of the shop's mapping; empty where the mapping is written on the page, or none is needed."""
    map_text: str = ""
    """The mapping as it is written on the page."""
    day: date | None = None
    expires: date | None = None
    over: bool = False
    own: bool = False
    """Whether it is a workbook of the shop's own parts, which needs no mapping."""

    @property
    def map_file(self) -> Path:
        """Where the mapping that is written on the page lies for reading."""
        return self.file.with_name("mapping.yaml")


class Uploads:
    """The lists that wait, one for each sitting at most."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._folder: Path | None = None
        self._waiting: OrderedDict[str, Waiting] = OrderedDict()
        self._count = 0

    def put(self, key: str, name: str, content: bytes) -> Waiting:
        """Keep a list for a sitting, in the place of the one before."""
        with self._lock:
            if self._folder is None:
                self._folder = Path(mkdtemp(prefix="compat-"))
                finalize(self, rmtree, self._folder, ignore_errors=True)
            self._count += 1
            folder = self._folder / str(self._count)
            folder.mkdir(mode=0o700)
            file = folder / safe_name(name)
            file.write_bytes(content)
            self._drop(key)
            self._waiting[key] = Waiting(file)
            while len(self._waiting) > MOST:
                self._drop(next(iter(self._waiting)))
            return self._waiting[key]

    def of(self, key: str) -> Waiting | None:
        """The list that waits for a sitting."""
        with self._lock:
            if key in self._waiting:
                self._waiting.move_to_end(key)
            return self._waiting.get(key)

    def keep(self, key: str, waiting: Waiting) -> None:
        """Keep what was said of a list, while it waits."""
        with self._lock:
            if key in self._waiting and self._waiting[key].file == waiting.file:
                self._waiting[key] = waiting

    def drop(self, key: str) -> None:
        """Forget the list of a sitting."""
        with self._lock:
            self._drop(key)

    def _drop(self, key: str) -> None:
        gone = self._waiting.pop(key, None)
        if gone is not None:
            for path in (gone.file, gone.map_file):
                path.unlink(missing_ok=True)
            gone.file.parent.rmdir()
