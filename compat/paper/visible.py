"""What must not reach a terminal as it is: shown in letters that anyone can read."""

from __future__ import annotations

import re

__all__ = ["json_safe", "visible"]

_HIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u206f\ud800-\udfff]")
"""Control characters but for tab and line end (Unicode category Cc), line separators, the marks that turn
the direction of writing (Unicode annex 9, section 2), and halves of letters that are no letter."""


def visible(text: str) -> str:
    r"""A text without anything that a terminal would obey: each such character as its escape.

    >>> visible("pist\x1b[31mon"), visible("rod\u202edor"), visible("one\n\ttwo")
    ('pist\\x1b[31mon', 'rod\\u202edor', 'one\n\ttwo')
    """
    return _HIDDEN.sub(lambda found: _escape(ord(found[0])), text)


def _escape(code: int) -> str:
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def json_safe(text: str) -> str:
    r"""The same for a text that is JSON: the escapes are those of JSON, so it reads back unchanged.

    >>> import json
    >>> json_safe('"rod\x9b"'), json.loads(json_safe('"rod\x9b"')) == "rod\x9b"
    ('"rod\\u009b"', True)
    """
    return _HIDDEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
