"""What a bench tells while a build is put together, line by line, in the order in which it came.

A line is added whole and synced before anybody is told that it is kept; whoever is stopped at any moment
leaves it or does not, and one that broke off half way is passed over. The same line sent twice is one line:
each has an id of whoever typed it. Nothing is ever taken out: what is told anew stands for what was told
before, if whoever tells it had seen that; what two tell of one thing without having seen each other stands
side by side.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from threading import Lock
from typing import Final, Literal, NamedTuple, TypeAlias

from compat.shop.source import Fault, Faults, Spot

__all__ = ["ID", "Entry", "Journal", "Key", "Kind", "Standing", "standing"]

Kind: TypeAlias = Literal["reading", "found", "done", "remark", "photo"]
"""What is told: a reading of a piece, what a clearance came to, that a step is done, words, a picture."""

ID: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")
"""What the id of a line may look like."""

MOST_BYTES: Final = 20_000_000
"""More is no journal of one build."""


class Key(NamedTuple):
    """What a line is about."""

    kind: Kind
    what: str
    """position.spec of a reading, rule of a clearance, kind:id of a step."""
    of: str
    """The parts that it was measured on: on another part it is another matter."""
    piece: int
    place: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A line: one thing told."""

    id: str
    kind: Kind
    what: str
    value: str
    """With its unit; empty takes back what was told."""
    of: str = ""
    piece: int = 0
    place: str = ""
    uncertainty: str = ""
    """Expanded, k = 2, with its unit."""
    gauge: str = ""
    by: str = ""
    at: str = ""
    """When it came in, as ISO 8601 has it."""
    over: str = ""
    """Ids of what whoever told it had seen, the ones that it stands for; separated by blanks."""

    @property
    def key(self) -> Key:
        """What it is about."""
        return Key(self.kind, self.what, self.of, self.piece, self.place)


@dataclass(frozen=True, slots=True)
class Standing:
    """What holds of one thing, and what others told of it without having seen that."""

    entry: Entry
    beside: tuple[Entry, ...] = ()

    @property
    def latest(self) -> str:
        """What whoever reads all of it has seen."""
        return (self.beside or (self.entry,))[-1].id


def standing(entries: Iterable[Entry]) -> dict[Key, Standing]:
    """What holds after all lines. Who had not seen a value takes none back.

    Examples
    --------
    Two tell of one bore; the second had not seen the first. A third has seen both.

    >>> first = Entry("tablet-a-1", "reading", "block.bore_diameter", "86.01 mm", "block-20", 1)
    >>> other = Entry("tablet-b-1", "reading", "block.bore_diameter", "86.02 mm", "block-20", 1)
    >>> [one.value for one in standing([first, other])[first.key].beside]
    ['86.02 mm']
    >>> from dataclasses import replace
    >>> last = replace(other, id="tablet-a-2", over="tablet-b-1")
    >>> held = standing([first, other, last])[first.key]
    >>> held.entry.value, held.beside
    ('86.02 mm', ())
    """
    found: dict[Key, Standing] = {}
    for entry in entries:
        held = found.get(entry.key)
        seen = held is not None and (entry.kind == "done" or held.latest in entry.over.split())
        if held is None or seen or not held.entry.value:
            found[entry.key] = Standing(entry)
        elif entry.value and entry.value not in (held.entry.value, *(one.value for one in held.beside)):
            found[entry.key] = Standing(held.entry, (*held.beside, entry))
    return {key: held for key, held in found.items() if held.entry.value}


@dataclass
class Journal:
    """The lines told of one build, in a file of their own.

    Parameters
    ----------
    path : Path
        The file; it need not be there yet.
    """

    path: Path
    _lock: Lock = field(default_factory=Lock, repr=False)
    _read: tuple[int, tuple[Entry, ...]] = field(default=(0, ()), repr=False)
    """How much of the file was read, and what it held."""

    def entries(self) -> tuple[Entry, ...]:
        """Every line that was kept whole, in the order in which they came.

        Raises
        ------
        Faults
            When the file cannot be read.
        """
        with self._lock:
            return self._entries()

    def _entries(self) -> tuple[Entry, ...]:
        read, found = self._read
        try:
            size = self.path.stat().st_size
            if size == read:
                return found
            if size < read:  # another file of that name
                read, found = 0, ()
            with self.path.open("rb") as file:
                file.seek(read)
                fresh = file.read(MOST_BYTES)
        except FileNotFoundError:
            self._read = 0, ()
            return ()
        except OSError as error:
            raise self._unkept(error) from error
        whole = fresh[: fresh.rfind(b"\n") + 1]
        seen = {entry.id for entry in found}
        more = []
        for line in whole.splitlines():
            entry = _entry(line)
            if entry is not None and entry.id not in seen:
                seen.add(entry.id)
                more.append(entry)
        self._read = read + len(whole), (*found, *more)
        return self._read[1]

    def add(self, entries: Iterable[Entry]) -> tuple[Entry, ...]:
        """Keep lines; those whose id is known already are kept already.

        Returns
        -------
        tuple of Entry
            The lines that were new.

        Raises
        ------
        Faults
            When they cannot be kept: then none is.
        """
        with self._lock:
            known = {entry.id for entry in self._entries()}
            new = []
            for entry in entries:
                if entry.id not in known:
                    known.add(entry.id)
                    new.append(entry)
            if new:
                self._append("".join(f"{json.dumps(_plain(entry), ensure_ascii=False)}\n" for entry in new))
                self._entries()
            return tuple(new)

    def _append(self, text: str) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle = os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o644)
            try:
                size = os.fstat(handle).st_size
                if size > MOST_BYTES:
                    raise OSError(0, f"holds more than {MOST_BYTES / 1e6:.0f} MB")
                # what broke off half way ends here
                broken = size and os.pread(handle, 1, size - 1) != b"\n"
                raw = ("\n" * bool(broken) + text).encode()
                if os.write(handle, raw) != len(raw):
                    raise OSError(0, "the disk is full")
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError as error:
            raise self._unkept(error) from error

    def _unkept(self, error: OSError) -> Faults:
        told = f"what is measured cannot be kept here: {error.strerror or error}"
        return Faults([Fault(Spot(str(self.path), 0), told)])


def _plain(entry: Entry) -> dict[str, object]:
    return {name: value for name, value in asdict(entry).items() if value not in ("", 0) or name == "value"}


_SORTS: Final[Mapping[str, type]] = {one.name: int if one.name == "piece" else str for one in fields(Entry)}
_KINDS: Final = ("reading", "found", "done", "remark", "photo")


def _entry(line: bytes) -> Entry | None:
    """A line as it was kept; None where it broke off."""
    with suppress(ValueError, TypeError):
        said = json.loads(line)
        sound = isinstance(said, dict) and all(
            name in _SORTS and type(value) is _SORTS[name] for name, value in said.items()
        )
        if sound and said.get("kind") in _KINDS:
            return Entry(**said)
    return None
