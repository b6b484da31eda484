"""An entry of a file as lines, the way a person writes it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

__all__ = ["WIDTH", "as_lines", "block", "flow", "short"]

WIDTH = 110
"""Beyond that a mapping in braces is not made longer; the entry comes on a line of its own."""
PLAIN = re.compile(r"-?[^\W_][\w .*/+°%±×^()'-]*")
"""Words that need no quotes: files are read as texts, so that nothing else comes of them."""


def as_lines(entry: Mapping[str, Any]) -> str:
    """An entry of a file, as a person writes it.

    >>> print(as_lines({"part": "a", "fills": "rod", "specs": {"mass": "500 g"}, "families": ["tarn"]}), end="")
    - part: a
      fills: rod
      specs:
        mass: 500 g
      families: [tarn]
    """
    lines: list[str] = []
    for key, value in entry.items():
        line = f"  {key}: {flow(value)}"
        short_list = isinstance(value, list) and len(line) <= WIDTH
        lines += [line] if short_list else block(key, value, "  ")
    return "".join(f"{line}\n" for line in ["- " + lines[0][2:], *lines[1:]])


def short(entry: Any) -> Any:
    """An entry of which only its id is said, as that id."""
    if isinstance(entry, Mapping) and set(entry) == {"work"}:
        return entry["work"]
    return entry


def block(key: str, value: Any, indent: str) -> Iterator[str]:
    """An entry as lines: mappings and lists below their key, what they hold in braces."""
    if isinstance(value, Mapping) and value:
        yield f"{indent}{key}:"
        for name, inner in value.items():
            yield f"{indent}  {name}: {flow(inner)}"
    elif isinstance(value, list) and value:
        yield f"{indent}{key}:"
        for inner in value:
            yield f"{indent}  - {flow(short(inner))}"
    else:
        yield f"{indent}{key}: {flow(value)}"


def flow(value: Any) -> str:
    """A value in one line.

    >>> flow({"work": "hone", "bore": "86.5 mm"}), flow("a: b"), flow(["x", True])
    ('{work: hone, bore: 86.5 mm}', '"a: b"', '[x, yes]')
    """
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(flow, value)) + "]"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return "null"
    text = str(value)
    if PLAIN.fullmatch(text) and text == text.strip() and text.lower() != "null":
        return text
    import json

    return json.dumps(text, ensure_ascii=False)
