"""The keys of file entries put in one order, so that two people's files differ only where they say otherwise.

Lines move, and nothing in them changes: a comment goes with the key below it, one at the end of a line with its
line. What does not stand in lines, an entry in braces, stays as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from compat.shop.entry import Entry
from compat.shop.source import tree_of

__all__ = ["keys_of", "tidied"]


def keys_of(model: type[Entry]) -> list[str]:
    """The keys of a kind of entry, in the order in which a tidy file has them."""
    return [str(one.metadata.get("written", one.name)) for one in fields(model)]


def tidied(text: str, orders: Mapping[str, Sequence[str]]) -> str:
    """Give a file with the keys of its entries in order.

    Parameters
    ----------
    text : str
        A YAML file that reads: one entry, or several in a list.
    orders : mapping
        For each word that an entry begins with, the order of its keys. A key that is not among them comes last.

    Returns
    -------
    str
        The same lines, and the same data; as it was where an alias would come before what it names.

    Examples
    --------
    >>> text = "- part: a\\n  # ours\\n  fills: rod   # or not\\n  name: A\\n"
    >>> print(tidied(text, {"part": ["part", "name", "fills"]}), end="")
    - part: a
      name: A
      # ours
      fills: rod   # or not
    """
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    root: Any = yaml.compose(text, Loader=loader)
    if root is None:
        return text
    lines = text.splitlines(keepends=True)
    entries = root.value if root.id == "sequence" else [root]
    for entry in reversed(entries):
        _sort(lines, entry, text, orders)
    made = "".join(lines)
    return made if made == text or _alike(text, made) else text


def _alike(text: str, made: str) -> bool:
    """Whether both say the same, in the same lines."""
    from compat.shop.source import Faults

    if sorted(text.splitlines()) != sorted(made.splitlines()):
        return False
    try:
        return bool(tree_of(text.encode(), "was").data == tree_of(made.encode(), "is").data)
    except Faults:
        return False


def _sort(lines: list[str], entry: Any, text: str, orders: Mapping[str, Sequence[str]]) -> None:
    if entry.id != "mapping" or entry.flow_style or len(entry.value) < 3:
        return
    (head, _), *rest = entry.value
    order = orders.get(head.value)
    starts = [key.start_mark.line for key, _ in rest]
    if order is None or len({head.start_mark.line, *starts}) <= len(starts):
        return  # two keys in one line
    ends = [_last_line(text, key, value) + 1 for key, value in entry.value]
    # what stands between the end of one and the next key, comments and empty lines, goes with that key
    chunks = [
        (order.index(key.value) if key.value in order else len(order), lines[start:end])
        for (key, _), start, end in zip(rest, ends, ends[1:], strict=False)
    ]
    if not all(chunk for _, chunk in chunks):
        return
    last = chunks[-1][1]
    ended = last[-1].endswith(("\n", "\r"))
    if not ended:
        last[-1] += "\n"
    made = [line for _, chunk in sorted(chunks, key=lambda one: one[0]) for line in chunk]
    if not ended:
        made[-1] = made[-1].removesuffix("\n")
    lines[ends[0] : ends[-1]] = made


def _last_line(text: str, key: Any, value: Any) -> int:
    """The line in which the last letter of an entry stands."""
    if value.start_mark.index == value.end_mark.index or value.start_mark.index < key.start_mark.index:
        # nothing is said, or what was said further up
        return int(key.start_mark.line)
    if value.id == "scalar":
        # a text in lines ends where the next thing begins
        return (
            text[: value.end_mark.index].rstrip().count("\n")
            if value.style in ("|", ">")
            else value.end_mark.line
        )
    if value.flow_style:
        return int(value.end_mark.line)
    pairs = value.value if value.id == "mapping" else [(value, item) for item in value.value]
    return max(_last_line(text, *pair) for pair in pairs)
