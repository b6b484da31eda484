"""A file with some of its entries said otherwise: every other line stays as a person wrote it.

Only the letters of what changes are touched. A comment stays where it is, also beside an entry that goes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from compat.shop.entry_lines import WIDTH, block, flow, short

__all__ = ["reworded", "rewritten"]


@dataclass(frozen=True, slots=True)
class _Edit:
    """Letters from one place to another become others."""

    start: int
    end: int
    text: str


_Piece = tuple[int, int, list[_Edit]]
"""From where to where an entry stands, and what changes in it."""


def rewritten(text: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    """Give the entry of a build file with what differs between two states of it.

    Parameters
    ----------
    text : str
        A file with one build, or several in a list; the one with the id of `before` is taken.
    before, after : mapping
        The build as its file says it, as it is and as it is to be (`as_said`).

    Returns
    -------
    str
        The file with that build alone. Letters of entries that do not change are those of `text`.

    Raises
    ------
    ValueError
        When there is no such build in the text.

    Examples
    --------
    >>> text = "- build: a   # mine\\n  fit:\\n    rod: x    # the old ones\\n    piston: y\\n"
    >>> was, becomes = {"build": "a", "fit": {"rod": "x", "piston": "y"}}, {"build": "b", "fit": {"rod": "z"}}
    >>> print(rewritten(text, was, becomes), end="")
    - build: b   # mine
      fit:
        rod: z    # the old ones
    """
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    root = yaml.compose(text, Loader=loader)
    (node,), outer = _entries_in(root, "build", [str(before["build"])])
    edits = list(_Writer(text).mapping(node, before, after))
    for other in outer:
        edits += _without(text, other)
    return _applied(text, edits)


def reworded(
    text: str, kind: str, changes: Mapping[str, tuple[Mapping[str, Any], Mapping[str, Any]]], new: str = ""
) -> str:
    """Give a file with some of its entries said otherwise, and others after its last.

    Parameters
    ----------
    text : str
        A file of entries.
    kind : str
        The word that each of these starts with.
    changes : mapping
        By id what its file says of an entry, and what it is to say.
    new : str
        Lines of entries that come at the end (`as_lines`).

    Returns
    -------
    str
        The file. Letters of what does not change are those of `text`.

    Raises
    ------
    ValueError
        When an entry is not in the text, or stands so that no lines of its own can be changed.

    Examples
    --------
    >>> text = "- part: a   # mine\\n  name: A\\n- part: b\\n  name: B\\n"
    >>> print(reworded(text, "part", {"b": ({"part": "b", "name": "B"}, {"part": "b", "name": "C"})}), end="")
    - part: a   # mine
      name: A
    - part: b
      name: C
    """
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found, _ = _entries_in(yaml.compose(text, Loader=loader), kind, list(changes))
    pieces, done = [], 0
    writer = _Writer(text)
    for node in sorted(found, key=lambda one: int(one.start_mark.index)):
        edits = list(writer.mapping(node, *changes[_said(node)[kind]]))
        if not edits:
            continue
        first, last = min(edit.start for edit in edits), max(edit.end for edit in edits)
        if first < done:
            raise ValueError(f"{kind} '{_said(node)[kind]}' shares its lines with another")
        pieces += [text[done:first], _applied(text[first:last], edits, first)]
        done = last
    pieces.append(text[done:])
    made = "".join(pieces)
    if not new:
        return made
    gap = "" if not made or made.endswith("\n\n") else "\n" if made.endswith("\n") else "\n\n"
    return f"{made}{gap}{new}"


def _entries_in(root: Any, kind: str, names: Sequence[str]) -> tuple[list[Any], list[Any]]:
    """The nodes of some entries of a kind, and those of all others in the file."""
    entries = root.value if root is not None and root.id == "sequence" else [root] if root is not None else []
    by_name = {_said(entry).get(kind): entry for entry in entries if entry.id == "mapping"}
    if lacking := [name for name in names if name not in by_name]:
        raise ValueError(f"no {kind} '{lacking[0]}' in it")
    own = [by_name[name] for name in names]
    taken = set(map(id, own))
    return own, [entry for entry in entries if id(entry) not in taken]


def _said(node: Any) -> dict[str, str]:
    return {key.value: value.value for key, value in node.value if value.id == "scalar"}


def _without(text: str, node: Any) -> Iterator[_Edit]:
    """Another build of the same file, from its dash on, with the comment that stands right above it."""
    start = text.rfind("\n", 0, node.start_mark.index) + 1
    above = text[:start].splitlines(keepends=True)
    while above and above[-1].lstrip().startswith("#"):
        start -= len(above.pop())
    yield _Edit(start, _end(text, node), "")


def _end(text: str, node: Any) -> int:
    """Where the last line of a node ends, without what is empty or a comment after it."""
    last = _last(node)
    stop = text.find("\n", last)
    return len(text) if stop < 0 else stop + 1


def _last(node: Any) -> int:
    """Where the last letter of a node stands: the end of a block lies beyond its comments."""
    if node.id == "scalar" or node.flow_style:
        return int(node.end_mark.index)
    children = [part for pair in node.value for part in (pair if isinstance(pair, tuple) else (pair,))]
    return max([int(node.start_mark.index), *map(_last, children)])


class _Writer:
    def __init__(self, text: str) -> None:
        self.text = text

    # mappings

    def mapping(self, node: Any, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[_Edit]:
        """What makes a mapping say what it is to say."""
        there = {key.value: (key, value) for key, value in node.value}
        new = {key: value for key, value in after.items() if key not in there and before.get(key) != value}
        gone = {key for key in there if key in before and key not in after}
        inner: dict[str, list[_Edit]] = {}
        for key, (name, value) in there.items():
            if key not in gone and before.get(key) != after.get(key):
                inner[key] = list(self.value(value, before.get(key), after.get(key), name))
        if node.flow_style and (gone or new):
            pieces = [
                None if key in gone else (name.start_mark.index, value.end_mark.index, inner.get(key, []))
                for key, (name, value) in there.items()
            ]
            yield self.braces(node, pieces, [f"{key}: {flow(value)}" for key, value in new.items()])
            return
        for edits in inner.values():
            yield from edits
        for key in gone:
            name, value = there[key]
            yield from self.lines(name.start_mark.index, _last(value))
        if new:
            yield self.appended(node, new)

    def braces(self, node: Any, pieces: Sequence[_Piece | None], new: Sequence[str]) -> _Edit:
        """What stands in braces or brackets, anew: what stays in its own letters, with what stood before it."""
        start, end = node.start_mark.index + 1, node.end_mark.index - 1
        parts: list[str] = []
        spans = self.spans(node)
        for number, piece in enumerate(pieces):
            if piece is not None:
                first, last, edits = piece
                before = self.text[spans[number - 1][1] : first] if parts else self.text[start : spans[0][0]]
                parts.append(before + _applied(self.text[first:last], edits, first))
        tail = self.text[spans[-1][1] : end] if spans else self.text[start:end]
        inside = "".join(parts)
        for one in new:
            long = len((inside + one).rsplit("\n", 1)[-1]) + node.start_mark.column > WIDTH
            space = f",\n{' ' * (node.start_mark.column + 1)}" if long else ", "
            inside += (space if inside.strip() else "") + one
        return _Edit(start, end, inside + (tail if "," not in tail else ""))

    def spans(self, node: Any) -> list[tuple[int, int]]:
        if node.id == "mapping":
            return [(key.start_mark.index, value.end_mark.index) for key, value in node.value]
        return [(item.start_mark.index, item.end_mark.index) for item in node.value]

    def value(self, node: Any, was: Any, becomes: Any, key: Any = None) -> Iterator[_Edit]:
        if node.id == "mapping" and isinstance(was, Mapping) and isinstance(becomes, Mapping) and becomes:
            yield from self.mapping(node, was, becomes)
        elif node.id == "sequence" and isinstance(was, list) and isinstance(becomes, list) and becomes:
            yield from self.sequence(node, was, becomes)
        elif node.id == "scalar":
            yield _Edit(node.start_mark.index, node.end_mark.index, flow(becomes))
        else:
            start = node.start_mark.index if key is None or node.flow_style else key.end_mark.index + 1
            lead = "" if start == node.start_mark.index else " "
            yield _Edit(start, _last(node), lead + flow(becomes))

    def lines(self, start: int, end: int) -> Iterator[_Edit]:
        """Whole lines go, but for their comments."""
        first = self.text.rfind("\n", 0, start) + 1
        stop = self.text.find("\n", end)
        stop = len(self.text) if stop < 0 else stop + 1
        kept = "".join(
            f"{self.text[first:start]}{comment}\n"
            for line in self.text[start:stop].splitlines()
            if (comment := _comment(line))
        )
        # what stands before it in its line is a dash or a brace of something that stays
        if self.text[first:start].strip():
            yield _Edit(start, end, "")
        else:
            yield _Edit(first, stop, kept)

    def appended(self, node: Any, new: Mapping[str, Any]) -> _Edit:
        """New entries below the last one of a mapping that stands in lines."""
        indent = " " * node.start_mark.column
        at = _end(self.text, node)
        lead = "" if at == 0 or self.text[at - 1] == "\n" else "\n"
        lines = "".join(f"{line}\n" for key, value in new.items() for line in block(key, value, indent))
        return _Edit(at, at, lead + lines)

    # lists

    def sequence(self, node: Any, was: Sequence[Any], becomes: Sequence[Any]) -> Iterator[_Edit]:
        """What makes a list say what it is to say: entries that stay keep their letters."""
        items = node.value
        if len(items) != len(was):
            yield _Edit(node.start_mark.index, _last(node), flow(list(becomes)))
            return
        keys = [[flow(one) for one in side] for side in (was, becomes)]
        steps = SequenceMatcher(None, keys[0], keys[1], autojunk=False).get_opcodes()
        if node.flow_style:
            kept = {a + n: c + n for how, a, b, c, _ in steps if how == "equal" for n in range(b - a)}
            if list(kept.values()) == list(range(len(kept))):
                spans = self.spans(node)
                pieces: list[_Piece | None] = [
                    (*spans[n], []) if n in kept else None for n in range(len(items))
                ]
                yield self.braces(node, pieces, keys[1][len(kept) :])
            else:  # new ones among the old: no order of commas is worth keeping
                yield _Edit(node.start_mark.index, node.end_mark.index, flow(list(becomes)))
            return
        for how, a, b, c, d in steps:
            if how == "equal":
                continue
            if how == "replace" and b - a == d - c:
                for number in range(b - a):
                    yield from self.item(items[a + number], was[a + number], becomes[c + number])
                continue
            for item in items[a:b]:
                yield from self.lines(self.text.rfind("-", 0, item.start_mark.index), _last(item))
            if c < d:
                yield self.put_in(items, a, becomes[c:d])

    def item(self, node: Any, was: Any, becomes: Any) -> Iterator[_Edit]:
        if node.id == "mapping" and isinstance(was, Mapping) and isinstance(becomes, Mapping):
            yield from self.mapping(node, was, becomes)
        else:
            yield _Edit(node.start_mark.index, _last(node), flow(short(becomes)))

    def put_in(self, items: Sequence[Any], place: int, new: Sequence[Any]) -> _Edit:
        dash = self.text.rfind("-", 0, items[0].start_mark.index)
        indent = self.text[self.text.rfind("\n", 0, dash) + 1 : dash]
        at = _end(self.text, items[place - 1]) if place else self.text.rfind("\n", 0, dash) + 1
        lead = "" if at == 0 or self.text[at - 1] == "\n" else "\n"
        return _Edit(at, at, lead + "".join(f"{indent}- {flow(short(one))}\n" for one in new))


def _applied(text: str, edits: Sequence[_Edit], offset: int = 0) -> str:
    """A text with edits; those at one place come in their order."""
    for edit in sorted(edits, key=lambda one: (one.start, one.end), reverse=True):
        text = text[: edit.start - offset] + edit.text + text[edit.end - offset :]
    return text


def _comment(line: str) -> str:
    """The comment at the end of a line; one that stands in quotes is none."""
    quote = ""
    for number, letter in enumerate(line):
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter == "#" and (number == 0 or line[number - 1] in " \t"):
            return line[number:].rstrip()
    return ""
