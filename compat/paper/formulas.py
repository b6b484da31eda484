"""What a formula takes, as its docstring says it."""

from __future__ import annotations

import re
from inspect import cleandoc

from compat.engineering import Formula, Table, find

__all__ = ["meanings", "written"]

_AS_THERE = re.compile(r"As (?:for )?`(\w+)`")
_NAMES = re.compile(r"([a-z]\w*(?:, [a-z]\w*)*) :")


def written(takes: object) -> str:
    """How a value is typed.

    >>> written("mm"), written("number"), written(("natural", "boosted"))
    ('in mm', 'a plain number', 'one of natural, boosted')
    """
    if isinstance(takes, Table):
        row = ", ".join("1" if name == "number" else f"1 {name}" for name in takes.units)
        return f"rows like '{row}; {row}; ...'"
    if isinstance(takes, tuple):
        return f"one of {', '.join(takes)}" if takes else "a word"
    return "a plain number" if takes == "number" else f"in {takes}"


def meanings(formula: Formula) -> dict[str, str]:
    """Give what each argument of a formula means.

    Parameters
    ----------
    formula : Formula
        The formula.

    Returns
    -------
    dict
        Words of the docstring by argument, without its SI units; empty where docstrings are stripped.

    Examples
    --------
    >>> from compat.engineering import find
    >>> meanings(find("compression_ratio"))["chamber_volume"]
    'Chamber in the head, valves and plug in place'
    """
    text = cleandoc(formula.function.__doc__ or "")
    section = text.partition("Parameters\n----------\n")[2].split("\n\n")[0]
    found: dict[str, str] = {}
    names: list[str] = []
    said: dict[tuple[str, ...], list[str]] = {}
    for line in section.splitlines():
        if line[:1].isspace():
            said.setdefault(tuple(names), []).append(line.strip())
        elif match := _NAMES.match(line):
            names = match[1].split(", ")
    for group, lines in said.items():
        words = re.sub(r",? ?\[[^\]]*\]", "", " ".join(lines)).rstrip(".,; ")
        parts = re.split(r", (?:and )?| and ", words)
        # "Bore, stroke" for two arguments is a meaning for each
        each = parts if len(parts) == len(group) else [words] * len(group)
        found |= {name: part[:1].upper() + part[1:] for name, part in zip(group, each, strict=True)}
    return {name: _said_there(name, found[name]) for name in formula.takes if found.get(name)}


def _said_there(name: str, words: str) -> str:
    """What another formula's docstring says of an argument, where this one only points there."""
    match = _AS_THERE.match(words)
    other = find(match[1]) if match else None
    return meanings(other).get(name, words) if other is not None and name in other.takes else words
