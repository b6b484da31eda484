"""What a list said when it was brought the last time: kept in the shop's folder `lists`, under the list's name.

It is what tells an edit of the shop's own from what the list said, and goes under git with the rest.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from compat.lists.comparing import Remembered
from compat.shop.source import Fault, Faults, Spot, read_bytes

__all__ = ["FOLDER", "remembered", "remembering"]

FOLDER = "lists"
MOST_BYTES = 60_000_000


def remembered(folder: Path, name: str) -> Mapping[str, Remembered]:
    """What a list said the last time, by code.

    Parameters
    ----------
    folder : Path
        Folder of the shop.
    name : str
        Name of the list.

    Returns
    -------
    mapping
        Empty where it was never brought.

    Raises
    ------
    Faults
        When the file is not what this program writes.
    """
    path = folder / FOLDER / f"{name}.jsonl"
    if not path.exists():
        return {}
    shown = f"{FOLDER}/{name}.jsonl"
    found: dict[str, Remembered] = {}
    for number, line in enumerate(read_bytes(path, shown, MOST_BYTES).splitlines(), 1):
        try:
            entry = json.loads(line)
            code, part, says = entry["code"], entry["part"], entry["says"]
            if (
                not (isinstance(code, str) and isinstance(part, str) and isinstance(says, dict))
                or code in found
            ):
                raise ValueError
        except (ValueError, KeyError, TypeError, RecursionError):
            told = "is not what was written here: put the file back as it was, or take it away to begin anew"
            raise Faults([Fault(Spot(shown, number), told)]) from None
        found[code] = Remembered(part, says)
    return found


def remembering(said: Mapping[str, Remembered]) -> str:
    """The file that remembers it: a line for each code, in their order."""
    lines = [
        json.dumps({"code": code, "part": one.part, "says": dict(one.says)}, ensure_ascii=False)
        for code, one in sorted(said.items())
    ]
    return "".join(f"{line}\n" for line in lines)
