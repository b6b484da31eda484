"""The files that a shop is read from: which there are, and whether they still hold what was read."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import astuple, replace
from functools import cache, lru_cache
from hashlib import blake2b
from pathlib import Path
from time import time_ns
from typing import Any

from compat.record import record
from compat.shop.source import Faults, read_bytes, yaml_files

__all__ = [
    "FOLDERS",
    "LENT",
    "Stamp",
    "changed_files",
    "demo_folder",
    "digest_of",
    "draft_name",
    "lent_files",
    "lent_stamp",
    "look",
    "looks_like_more",
    "stamp_of",
]

FOLDERS = ("catalog", "rules")
"""Folders of a shop, in the order in which they are read."""

LENT = "compat/"
"""How messages name the program's own files, which a shop may use and nobody there can mend."""

SETTLED = 2_000_000_000
"""A file changed less than so long before it was looked at [ns] may change again and show the same times."""


@record(slots=True)
class Stamp:
    """What the file system says of a file, and what it held when it was read."""

    size: int
    changed: int
    """Time of the last change of content or of the entry itself, whichever is later [ns]."""
    node: int
    looked: int
    """When it was looked at [ns]."""
    digest: str = ""
    more: bool = True
    """Whether it holds more than what is read apart: parts, stock and builds."""
    parts: bool = False
    """Whether it holds parts."""

    @property
    def settled(self) -> bool:
        """Whether a later change is sure to show in the times."""
        return self.looked - self.changed > SETTLED

    def agrees(self, now: Stamp) -> bool:
        """Whether the file is sure to be the one that was read."""
        same = (self.size, self.changed, self.node) == (now.size, now.changed, now.node)
        return same and self.settled

    def at(self, now: Stamp) -> Stamp:
        """The same content, with what the file system says of it now."""
        return replace(self, size=now.size, changed=now.changed, node=now.node, looked=now.looked)

    def card(self) -> list[Any]:
        """As plain data."""
        return list(astuple(self))


def stamp_of(found: os.stat_result, looked: int, digest: str = "") -> Stamp:
    """The stamp of a file."""
    return Stamp(found.st_size, max(found.st_mtime_ns, found.st_ctime_ns), found.st_ino, looked, digest)


def digest_of(raw: bytes) -> str:
    """A short name for the bytes of a file, never the same for others."""
    return blake2b(raw, digest_size=16).hexdigest()


@cache
def demo_folder() -> Path:
    """Where the demo shop lies: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parents[1]
    inside = package / "demo"
    return inside if (inside / "catalog").is_dir() else package.parent


def is_demo(folder: Path) -> bool:
    """Whether a shop is the demo, which comes with the program and is not written to."""
    return _resolved(folder.absolute()) == demo_folder()


@lru_cache(maxsize=64)
def _resolved(folder: Path) -> Path:
    """A folder without links; the page asks with every view."""
    return folder.resolve()


def lent_files() -> Iterator[tuple[str, Path]]:
    """The files that hold what the program lends, with the names that messages give them."""
    folder = demo_folder()
    catalogue = folder / "catalog"
    words = [*yaml_files(catalogue / "vocabulary"), catalogue / "joints.yaml", catalogue / "work.yaml"]
    for path in (*words, *yaml_files(folder / "rules")):
        yield f"{LENT}{path.relative_to(folder).as_posix()}", path


def lent_stamp() -> str:
    """What stands for everything that the program lends to shops: an edit of it has another.

    Returns
    -------
    str
        A digest of sizes and times.
    """
    digest = blake2b(digest_size=16)
    for shown, path in lent_files():
        found = path.stat()
        digest.update(f"{shown}|{found.st_size}|{found.st_mtime_ns}|{found.st_ctime_ns}".encode())
    return digest.hexdigest()


def draft_name(path: Path) -> str:
    """How messages name a build file that is not in the shop, never as one that is."""
    name = str(path)
    return f"./{name}" if name.startswith(tuple(f"{folder}/" for folder in FOLDERS)) else name


def look(folder: Path) -> Iterator[tuple[str, Path]]:
    """Every file of a shop in the order in which they are read, with the name that messages give it."""
    for name in FOLDERS:
        root = folder / name
        start = len(root.as_posix()) + 1
        for path in yaml_files(root):  # `relative_to` would take as long as all else
            yield f"{name}/{path.as_posix()[start:]}", path


def changed_files(
    known: Mapping[str, Stamp], folder: Path, drafts: Mapping[str, Path] | None = None
) -> tuple[dict[str, Path], list[str], dict[str, Stamp]]:
    """Compare the files of a shop with what was read of them.

    Parameters
    ----------
    known : mapping
        Stamps by the name that messages give a file.
    folder : Path
        The shop.
    drafts : mapping, optional
        Files outside of it that were read with it.

    Returns
    -------
    dict, list and dict
        Files there are, the names of those that hold something else or are not known, and stamps of those
        that had to be read to know that they do not.

    Raises
    ------
    OSError
        When a file cannot be looked at.
    """
    there: dict[str, Path] = {}
    changed: list[str] = []
    read: dict[str, Stamp] = {}
    now = time_ns()
    for shown, path in (*look(folder), *(drafts or {}).items()):
        there[shown] = path
        stamp = known.get(shown)
        if stamp is None:
            changed.append(shown)
        elif not stamp.agrees(found := stamp_of(path.stat(), now)):
            if _holds(stamp, path):
                read[shown] = stamp.at(found)
            else:
                changed.append(shown)
    return there, changed, read


def _holds(stamp: Stamp, path: Path) -> bool:
    """Whether a file whose times do not tell holds what was read of it."""
    try:
        return digest_of(read_bytes(path, "")) == stamp.digest
    except Faults:  # a pipe, a folder or too much: reading it says which
        return False


_OTHER = re.compile(rb"^(?:- *\{? *|\xef\xbb\xbf)?(?!(?:part|stock|build)\b)[a-z_]+ *:", re.MULTILINE)


def looks_like_more(path: Path) -> bool:
    """Whether a file seems to hold an entry of the frame, told from how its lines begin."""
    try:
        return _OTHER.search(read_bytes(path, "")) is not None
    except Faults:
        return True
