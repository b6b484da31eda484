"""The files a shop is read from: which there are, and whether they are what they were when they were read."""

from __future__ import annotations

import stat
import time
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

__all__ = ["TREES", "Source", "digest_of", "now", "same", "sources"]

TREES = ("catalog", "rules")
"""Folders of a shop that hold files."""

SETTLED = 2_000_000_000
"""A file changed less than this before it was read may be changed again within one tick of the clock [ns]."""


@dataclass(frozen=True, slots=True)
class Source:
    """What the file system says of a file; with the digest of its bytes, and when these were read."""

    path: str
    """Below the shop's folder, as messages name it."""
    size: int
    modified: int
    changed: int
    inode: int
    digest: str = ""
    read: int = 0

    def card(self) -> list[Any]:
        """As plain data."""
        return [self.path, self.size, self.modified, self.changed, self.inode, self.digest, self.read]


def sources(folder: Path) -> dict[str, Source]:
    """Every YAML file of a shop as it stands, in the order in which they are read."""
    from compat.shop.source import yaml_files

    found = {}
    for tree in TREES:
        for path in yaml_files(folder / tree):
            shown = f"{tree}/{path.relative_to(folder / tree).as_posix()}"
            state = path.stat()
            size = state.st_size if stat.S_ISREG(state.st_mode) else -1
            found[shown] = Source(shown, size, state.st_mtime_ns, state.st_ctime_ns, state.st_ino)
    return found


def digest_of(raw: bytes) -> str:
    """Digest of the bytes of a file."""
    return blake2b(raw, digest_size=16).hexdigest()


def same(now: Source, then: Source, folder: Path) -> bool:
    """Whether a file holds what it held when it was read."""
    if (now.size, now.modified, now.changed, now.inode) != (then.size, then.modified, then.changed, then.inode):
        return False
    if max(now.modified, now.changed) < then.read - SETTLED:
        return True
    try:
        return digest_of((folder / now.path).read_bytes()) == then.digest
    except OSError:
        return False


def now() -> int:
    """The time that files are stamped with [ns]."""
    return time.time_ns()
