"""Reading YAML so that every fault can name file, line and column.

All scalars stay text: what a text means is for the model that takes it. That also makes
the differences between YAML 1.1 and 1.2 (``no``, ``1:30``) disappear. Nothing in a file can
run code, and a file cannot grow in memory through its anchors.
"""

from __future__ import annotations

import os
import re
import stat
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from heapq import nlargest
from pathlib import Path
from typing import Any

from compat.record import record
from compat.shop.merged import left_by_a_merge

__all__ = [
    "COMING",
    "Fault",
    "Faults",
    "Node",
    "Spot",
    "nearest",
    "read_bytes",
    "read_tree",
    "tree_of",
    "yaml_files",
]

COMING = ".coming"
"""Folder of a shop with texts that are being put in their places (`compat.shop.together`)."""
MOST_BYTES = 2_000_000
MOST_NODES = 120_000
MOST_DEPTH = 60
MOST_MESSAGE = 500


@record(slots=True)
class Spot:
    """A place in a file; line and column count from 1. Line 0 is no file: a name or a folder."""

    file: str
    line: int = 1
    column: int = 1

    def __lt__(self, other: Spot) -> bool:
        return (self.file, self.line, self.column) < (other.file, other.line, other.column)

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@record(slots=True)
class Fault:
    """One thing wrong at one place."""

    spot: Spot
    message: str
    unread: bool = False
    """The file could not be read at all: what it holds is not known, and others may name it."""

    def __lt__(self, other: Fault) -> bool:
        if self.spot != other.spot:
            return self.spot < other.spot
        return (self.message, self.unread) < (other.message, other.unread)

    def __str__(self) -> str:
        plain = " ".join(f"{self.spot}: {self.message}".split())
        if len(plain) > MOST_MESSAGE:
            plain = f"{plain[: MOST_MESSAGE - 150]} … {plain[-150:]}"
        return plain


class Faults(Exception):
    """Everything found wrong, in one go."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = sorted(set(faults))
        super().__init__("\n".join(map(str, self.faults)))

    def __reduce__(self) -> tuple[type[Faults], tuple[list[Fault]]]:
        return Faults, (self.faults,)  # they reach other processes as what they are, and not as their text


def nearest(word: str, known: Iterable[str]) -> str:
    """Suggest the known word closest to a wrong one, as the end of a message.

    >>> nearest("strok", ["stroke", "bore"])
    "; did you mean 'stroke'?"
    """
    from difflib import get_close_matches

    word, words = str(word)[:80], list(known)
    if len(words) > 40:
        # comparing letter by letter is slow: look only at the words that share most pairs of letters
        table = _by_pair(tuple(words))
        shared = Counter(other for pair in _pairs(word) for other in table.get(pair, ()))
        words = nlargest(12, shared, lambda other: shared[other] / (len(word) + len(other)))
    close = get_close_matches(word, words, 1, 0.6)
    return f"; did you mean '{close[0]}'?" if close else ""


def _pairs(word: str) -> set[str]:
    """Pairs of neighbouring letters, the ends marked."""
    return set(map("".join, zip(f"^{word}", f"{word}$", strict=True)))


@lru_cache(maxsize=16)
def _by_pair(words: tuple[str, ...]) -> dict[str, list[str]]:
    table: dict[str, list[str]] = {}
    for word in words:
        for pair in _pairs(word):
            table.setdefault(pair, []).append(word)
    return table


class Node:
    """A piece of a YAML file: plain data, and where it and its children stand."""

    __slots__ = ("children", "data", "file", "inset", "keys", "mark", "size")

    def __init__(self, data: Any, file: str, mark: Any = None) -> None:
        self.data = data
        self.file = file
        self.mark = mark
        self.keys: dict[str, Any] = {}
        self.children: dict[str | int, Node] = {}
        self.size = 1
        self.inset: int | None = None
        """For a text on one line: how far behind the mark it begins."""

    @property
    def spot(self) -> Spot:
        """Where it begins."""
        return _spot(self.file, self.mark)

    def saying(self, data: Any) -> Node:
        """A piece that stands at the same places and says something else."""
        other = Node(data, self.file, self.mark)
        other.keys, other.children, other.size = self.keys, self.children, self.size
        return other

    def without(self, key: str) -> Node:
        """The same entry without what stands under a key."""
        return self.saying({name: value for name, value in self.data.items() if name != key})

    def with_(self, **more: Any) -> Node:
        """The same entry with more said."""
        return self.saying({**self.data, **more})

    def spot_in(self, path: Sequence[str | int], offset: int) -> Spot:
        """Where a character of the text at the path stands; where the text begins when it has several lines."""
        node = self
        for step in path:
            node = node.children.get(step, node)
        if not isinstance(node.data, str):
            return self.spot_of(path)
        spot = node.spot
        return spot if node.inset is None else Spot(spot.file, spot.line, spot.column + node.inset + offset)

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """Where the last key of the path stands (or, failing that, the nearest thing above it)."""
        node, mark = self, self.mark
        for step in path:
            mark = node.keys.get(step, mark) if isinstance(step, str) else mark
            if step in node.children:
                node = node.children[step]
                if not isinstance(step, str):
                    mark = node.mark
        return _spot(self.file, mark)


def _spot(file: str, mark: Any) -> Spot:
    return Spot(file, mark.line + 1, mark.column + 1) if mark is not None else Spot(file)


def read_tree(path: Path, shown: str) -> Node:
    """Read one YAML file.

    Parameters
    ----------
    path : Path
        The file.
    shown : str
        How messages name it.

    Returns
    -------
    Node
        The document; an empty file gives an empty list.

    Raises
    ------
    Faults
        When the file cannot be read as one YAML document of sane size.
    """
    return tree_of(read_bytes(path, shown), shown)


def _unread(spot: Spot, message: str) -> Faults:
    return Faults([Fault(spot, message, unread=True)])


def read_bytes(path: Path, shown: str, most: int = MOST_BYTES) -> bytes:
    """Read the bytes of a file of sane size, of so many at most.

    Raises
    ------
    Faults
        When there is no such file, or too much of it.
    """
    start = Spot(shown)
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            what = "folder" if stat.S_ISDIR(found.st_mode) else "device or pipe"
            raise _unread(start, f"is no file but a {what}")
        if found.st_size > most:
            raise _unread(start, f"file of {found.st_size / 1e6:.0f} MB; the most is {most / 1e6:.0f} MB")
        return path.read_bytes()
    except OSError as error:
        raise _unread(start, f"cannot be read: {error.strerror or error}") from None


def tree_of(raw: bytes, shown: str) -> Node:
    """Give the document that the bytes of a file hold.

    Raises
    ------
    Faults
        When they are no YAML document of sane size.
    """
    import yaml  # costs more than opening a shop that was read before

    start = Spot(shown)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # the decoder counts from behind a byte order mark
        at = error.start + len(raw) - len(error.object)
        before = raw[:at].decode("utf-8-sig", "replace")
        message = f"byte 0x{raw[at]:02x} is not UTF-8; save the file as UTF-8"
        raise _unread(_after(before, shown), message) from None
    if match := _CONTROL.search(text):
        spot = _after(text[: match.start()], shown)
        raise _unread(spot, "holds a control character; this is not a text file")
    if open_places := list(left_by_a_merge(text)):
        raise Faults(Fault(Spot(shown, line), says, unread=True) for line, says in open_places)
    try:
        return _build(text, shown)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        spot = Spot(shown, mark.line + 1, mark.column + 1) if mark else start
        problem = (error.problem or "is not YAML").strip()
        if "\t" in _line(text, spot.line):
            problem += " (the line holds a tab: indent with spaces)"
        raise _unread(spot, f"is not valid YAML: {problem}") from None
    except yaml.YAMLError as error:
        raise _unread(start, f"is not valid YAML: {' '.join(str(error).split())[:200]}") from None


_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
"""What YAML 1.2 does not hold to be printable (section 5.1)."""


def _after(text: str, shown: str) -> Spot:
    """Where the character after a piece of a file stands."""
    return Spot(shown, text.count("\n") + 1, len(text) - text.rfind("\n"))


def _line(text: str, number: int) -> str:
    lines = text.splitlines()
    return lines[number - 1] if 0 < number <= len(lines) else ""


def _cut_at_a_comma(parent: Node, key: str) -> str:
    """The number that a comma cut in two: ``{bore: 86,00 mm}`` reads as a bore of 86 and an empty ``00 mm``."""
    before = next(reversed(parent.data), None)
    value = parent.data.get(before)
    if isinstance(value, str) and value[-1:].isdigit() and re.match(r"\d+(\s|\D|$)", key):
        return f"{value},{key}"
    return ""


_NULLS = frozenset(("", "~", "null", "Null", "NULL"))


def _build(text: str, shown: str) -> Node:
    """Build the tree from parser events with a stack of our own, so that depth and size are ours to limit."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    anchors: dict[str, Node] = {}
    stack: list[tuple[Node, list[Any]]] = []  # node and, for a mapping, [pending key node]
    root: Node | None = None

    def stop(mark: Any, message: str) -> Faults:
        return Faults([Fault(_spot(shown, mark), message, unread=True)])

    def place(node: Node) -> None:
        nonlocal root
        if not stack:
            if root is not None:
                raise stop(node.mark, "a second document starts here; keep one document in a file")
            root = node
            return
        parent, pending = stack[-1]
        if isinstance(parent.data, list):
            parent.children[len(parent.data)] = node
            parent.data.append(node.data)
        elif not pending:
            if not isinstance(node.data, str):
                raise stop(node.mark, "a key must be a plain word")
            if node.data in parent.keys:
                first = parent.keys[node.data].line + 1
                raise stop(node.mark, f"'{node.data}' is given twice; first at line {first}")
            if len(node.data) > 200:
                raise stop(node.mark, f"key of {len(node.data)} characters")
            parent.keys[node.data] = node.mark
            pending.append(node.data)
            return
        else:
            key = pending.pop()
            if node.data is None and (whole := _cut_at_a_comma(parent, key)):
                mark = parent.keys[key]
                raise stop(mark, f"'{whole}' has a comma in a number; write a decimal point")
            parent.children[key] = node
            parent.data[key] = node.data
        parent.size += node.size
        if parent.size > MOST_NODES:
            why = "grows too large through its aliases" if anchors else "holds too many entries"
            raise stop(node.mark, why)

    event: Any
    for event in iter(loader(text).get_event, None):
        kind = type(event)
        if kind is yaml.ScalarEvent:
            value = event.value
            if event.tag is not None:
                raise stop(event.start_mark, f"tag '{event.tag}' has no meaning here; write plain text")
            if event.style == '"' and _CONTROL.search(value):  # escaped: the text itself holds none
                raise stop(event.start_mark, "holds a control character")
            if event.implicit[0] and value in _NULLS:
                value = None
            node = Node(value, shown, event.start_mark)
            if event.start_mark.line == event.end_mark.line:
                node.inset = 1 if event.style in ("'", '"') else 0
            if event.anchor:
                anchors[event.anchor] = node
            place(node)
        elif kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            if event.tag is not None:
                raise stop(event.start_mark, f"tag '{event.tag}' has no meaning here; write plain text")
            if len(stack) >= MOST_DEPTH:
                raise stop(event.start_mark, f"is nested more than {MOST_DEPTH} deep")
            node = Node({} if kind is yaml.MappingStartEvent else [], shown, event.start_mark)
            if event.anchor:
                anchors[event.anchor] = node
            stack.append((node, []))
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            node, _ = stack.pop()
            place(node)
        elif kind is yaml.AliasEvent:
            target = anchors.get(event.anchor)
            if target is None:
                raise stop(event.start_mark, f"alias '*{event.anchor}' names no anchor before it")
            if any(target is node for node, _ in stack):
                raise stop(event.start_mark, f"alias '*{event.anchor}' stands inside the thing it names")
            place(target)
    return root if root is not None and root.data is not None else Node([], shown)


def yaml_files(folder: Path) -> Iterator[Path]:
    """Give every YAML file below a folder in a settled order, never following a link to a folder.

    Raises
    ------
    Faults
        When a folder may not be looked into: what lies in it would be missed without a word.
    """
    for parent, folders, files in os.walk(folder, onerror=_not_looked_into, followlinks=False):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        here = Path(parent)
        for name in sorted(files):
            if name.endswith((".yaml", ".yml")) and not name.startswith("."):
                yield here / name


def _not_looked_into(error: OSError) -> None:
    if not isinstance(error, FileNotFoundError | NotADirectoryError):
        raise _unread(Spot(str(error.filename), 0), f"cannot be looked into: {error.strerror or error}")
