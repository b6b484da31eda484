"""Entries of a shop's files as a person would write them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

__all__ = ["flow", "noted"]

WIDTH = 46
"""Column of a comment behind a line."""

_QUOTED = re.compile(r"^$|^[\s\-?:,\[\]{}#&*!|>'\"%@`]|[,\[\]{}]|: | #|:$|\s$")


def flow(value: Any) -> str:
    """A value on one line.

    >>> flow({"value": "21.012 mm ±0.003", "basis": "measured"})
    '{value: 21.012 mm ±0.003, basis: measured}'
    >>> flow(["bus, slow", "-"])
    '["bus, slow", "-"]'
    """
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {flow(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(flow, value)) + "]"
    text = str(value)
    if not _QUOTED.search(text) or re.fullmatch(r"-\d[^,\[\]{}]*", text):
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def noted(line: str, note: str) -> str:
    """A line with a comment behind it, where there is something to say."""
    return f"{line:<{WIDTH}} # {note}" if note else line
