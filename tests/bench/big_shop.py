"""A shop of any size: the demo shop as it is, and copies of its parts that cost more and weigh a little other.

``python -m tests.bench.big_shop DIR N`` writes a shop of N parts into a folder. The same N gives the same
files, byte for byte. Copies cost more than their originals and stand behind them, so what is bought for a need,
and with it every verdict on the demo builds, is that of the demo shop.
"""

from __future__ import annotations

import random
import re
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from compat.library.sources import demo_folder

__all__ = ["A_FILE", "edit_one", "retitle", "write_shop"]

A_FILE = 200
"""Copies in a file: 50 to 350 kB of text and some 10 000 values, well below what a file may hold."""
LOTS = "lots"
"""Folder of the copies, below `catalog/parts`."""
NOT_COPIED = {"consumables.yaml"}
"""Fuels and oils: a hundred grades of one petrol would be no shop."""

_ENTRY = re.compile(r"^- ", re.MULTILINE)
_PART = re.compile(r"^- part: (\S+)", re.MULTILINE)
_PRICE = re.compile(r"\bprice: (\d+(?:\.\d+)?) ([A-Z]{3})\b")
_CODE = re.compile(r"\bcode: ([^,}\s]+)")
_MASS = re.compile(r"\bmass: (\d+(?:\.\d+)?) (k?g)\b")
_NAME = re.compile(r"^  name: (.*?)\s*$", re.MULTILINE)


@dataclass(frozen=True)
class Pattern:
    """The text of a part, cut where a copy says something else."""

    part: str
    pieces: tuple[tuple[str, str], ...]
    """What stands before each change and what is changed: the kind of change, and the text it replaces."""
    rest: str

    def copy(self, number: int, dice: random.Random) -> str:
        """The text of one copy."""
        dearer, heavier = dice.randrange(102, 190), dice.randrange(-20, 21)
        made = [f"- part: {self.part}-lot-{number}\n"]
        for before, change in self.pieces:
            kind, _, value = change.partition(" ")
            made.append(before)
            match kind:
                case "name":
                    made.append(f"{value}, lot {number}")
                case "code":
                    made.append(f"{value}-L{number}")
                case "price":
                    made.append(f"{Decimal(value) * dearer / 100:.2f}")
                case "mass":
                    made.append(str(Decimal(value) * (1000 + heavier) / 1000))
        made.append(self.rest)
        return "".join(made)


def patterns(catalog: Path) -> list[Pattern]:
    """Every part of the demo shop that a supplier sells."""
    found = []
    for path in sorted((catalog / "parts").glob("*.yaml")):
        if path.name in NOT_COPIED:
            continue
        for entry in _ENTRY.split(path.read_text("utf-8"))[1:]:
            head, _, body = entry.partition("\n")
            body = "".join(line for line in body.splitlines(keepends=True) if line[:2] == "  ")
            if head.startswith("part: ") and _PRICE.search(body):
                found.append(_pattern(head.removeprefix("part: ").strip(), body))
    return found


def _pattern(part: str, body: str) -> Pattern:
    changes = [
        (match.start(1), match.end(1), f"{kind} {match[1]}")
        for kind, what in (("name", _NAME), ("code", _CODE), ("price", _PRICE), ("mass", _MASS))
        for match in what.finditer(body)
    ]
    pieces, at = [], 0
    for start, end, change in sorted(changes):
        pieces.append((body[at:start], change))
        at = end
    return Pattern(part, tuple(pieces), body[at:])


def copies(parts: list[Pattern], number: int) -> Iterator[str]:
    """The texts of so many copies: each part once, in another order for each round."""
    dice = random.Random(f"a shop of {number}")
    lot = 0
    while number > 0:
        lot += 1
        order = dice.sample(parts, min(len(parts), number))
        number -= len(order)
        for one in order:
            yield one.copy(lot, dice)


def write_shop(folder: Path, number: int) -> Path:
    """Write a shop of a number of parts into a folder, which is made.

    Raises
    ------
    ValueError
        When the demo shop alone has more parts.
    """
    demo = demo_folder()
    own = sum(len(_PART.findall(path.read_text("utf-8"))) for path in (demo / "catalog").rglob("*.yaml"))
    if number < own:
        raise ValueError(f"the demo shop alone has {own} parts")
    for name in ("catalog", "rules"):
        shutil.copytree(demo / name, folder / name)
    lots = folder / "catalog" / "parts" / LOTS
    lots.mkdir()
    text: list[str] = []
    file = 0
    for copy in copies(patterns(demo / "catalog"), number - own):
        text.append(copy)
        if len(text) == A_FILE:
            file += 1
            _write(lots, file, text)
            text = []
    if text:
        _write(lots, file + 1, text)
    return folder


def _write(lots: Path, file: int, text: list[str]) -> None:
    (lots / f"lot_{file:04}.yaml").write_text("\n".join(text), "utf-8", newline="\n")


def edit_one(folder: Path) -> str:
    """Make one part of one file dearer by one, in its one line; gives the part's id.

    The file is the middle one of the copies, the part the middle one of that file, the same every time.
    """
    files = sorted((folder / "catalog" / "parts" / LOTS).glob("*.yaml"))
    path = files[len(files) // 2]
    text = path.read_text("utf-8")
    places = list(_PRICE.finditer(text))
    place = places[len(places) // 2]
    dearer = f"{Decimal(place[1]) + 1:.2f}"
    path.write_text(text[: place.start(1)] + dearer + text[place.end(1) :], "utf-8", newline="\n")
    return _PART.findall(text[: place.start()])[-1]


def retitle(path: Path, word: str) -> None:
    """Put a full stop behind the first name or title in a file."""
    text = path.read_text("utf-8")
    path.write_text(re.sub(rf"(?m)^(  {word}: .*)$", r"\1.", text, count=1), "utf-8", newline="\n")


if __name__ == "__main__":
    write_shop(Path(sys.argv[1]), int(sys.argv[2]))
