"""Units as people print them: what a file writes ``N*m``, paper writes N·m."""

from __future__ import annotations

import re
from functools import cache

from compat.units.table import TABLE

__all__ = ["printed"]

_MARKS = (
    (re.compile(r"\bdeg([CF])\b"), r"°\1"),
    (re.compile(r"^deg$"), "°"),
    (re.compile(r"\bu(?=(?:m|in)\b)"), "µ"),
    (re.compile(r"(?<![a-z])(k?)ohm\b"), r"\1Ω"),
    (re.compile(r"\*"), "·"),
    (re.compile(r"\^2"), "²"),
    (re.compile(r"\^3"), "³"),
)


def printed(text: str) -> str:
    """A text with the units of its quantities as people print them.

    Only a unit that the table knows is touched, and only right after a number: a thread, a code and words stay
    as they are.

    Parameters
    ----------
    text : str
        Any text, its quantities as files write them.

    Returns
    -------
    str
        The same text with N·m, cm³, °C, µm, lbf·ft.

    Examples
    --------
    >>> printed("M10*1 stud, 85 lbf*ft and 90 deg; 902 degC (828 to 976)")
    'M10*1 stud, 85 lbf·ft and 90°; 902 °C (828 to 976)'
    """
    # nearly all texts have none, and are not searched
    if not ("*" in text or "^" in text or "deg" in text or " u" in text or "ohm" in text):
        return text
    return _units().sub(lambda found: _set(*found.groups()), text)


def _set(before: str, name: str) -> str:
    said = _as_printed()[name]
    return before.rstrip(" ") + said if said == "°" else before + said


@cache
def _as_printed() -> dict[str, str]:
    """Every unit of the table that is printed otherwise than it is written."""
    found = {}
    for name in TABLE:
        said = name
        for mark, sign in _MARKS:
            said = mark.sub(sign, said)
        if said != name and "_" not in name:
            found[name] = said
    return found


@cache
def _units() -> re.Pattern[str]:
    names = "|".join(re.escape(name) for name in sorted(_as_printed(), key=len, reverse=True))
    return re.compile(rf"(?<=\d)([)\]]?[ \u00a0]?)({names})(?![\w*/^·])")
