"""What a merge left in a file: both versions between marks, told as such and not as bad YAML."""

from __future__ import annotations

import re
from collections.abc import Iterator

__all__ = ["left_by_a_merge"]

_MARK = re.compile(r"(<{7}|\|{7}|={7}|>{7})(?: (.*?))?\s*")


def left_by_a_merge(text: str) -> Iterator[tuple[int, str]]:
    """Find the places of a file that a merge left open.

    Parameters
    ----------
    text : str
        The file.

    Yields
    ------
    tuple of int and str
        Line, and what is the matter there: which lines are whose.

    Examples
    --------
    >>> for line, says in left_by_a_merge("a: 1\\n<<<<<<< HEAD\\nb: 2\\n=======\\nb: 3\\n>>>>>>> prices\\n"):
    ...     print(line, says)
    2 a merge left two versions here: line 3 is of HEAD, line 5 of prices; keep one and take out the three marks
    """
    if "<<<<<<<" not in text and ">>>>>>>" not in text:
        return
    began: tuple[int, str] | None = None
    middle = base = 0
    for number, line in enumerate(text.splitlines(), 1):
        match = _MARK.fullmatch(line)
        if match is None:
            continue
        mark, name = match[1][0], match[2] or ""
        if mark == "<":
            if began is not None:
                yield began[0], _alone("<<<<<<<", ">>>>>>>")
            began, middle, base = (number, name or "one side"), 0, 0
        elif began is None:
            if mark == ">":
                yield number, _alone(">>>>>>>", "<<<<<<<")
        elif mark == "|":
            base = number
        elif mark == "=":
            middle = middle or number
        else:
            yield began[0], _both(began, base, middle, number, name or "the other")
            began = None
    if began is not None:
        yield began[0], _alone("<<<<<<<", ">>>>>>>")


def _alone(mark: str, other: str) -> str:
    return f"a mark of a merge, '{mark}', stands here without its '{other}': look at both versions, keep one"


def _both(began: tuple[int, str], base: int, middle: int, end: int, theirs: str) -> str:
    if not middle:
        return f"a merge left marks here, lines {began[0]} to {end}, without the '=======' between two versions"
    marks = "four marks and what was before" if base else "three marks"
    ours = _lines(began[0] + 1, (base or middle) - 1)
    return (
        f"a merge left two versions here: {ours} of {began[1]}, {_lines(middle + 1, end - 1, verb='')} of "
        f"{theirs}; keep one and take out the {marks}"
    )


def _lines(first: int, last: int, verb: str = "is") -> str:
    if last < first:
        return f"nothing{f' {verb}' * bool(verb)}"
    if first == last:
        return f"line {first}{f' {verb}' * bool(verb)}"
    return f"lines {first} to {last}{' are' * bool(verb)}"
