"""What `bring` does."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give
from compat.record import record

if TYPE_CHECKING:
    from compat.library.library import Library
    from compat.lists.comparing import Bringing

__all__ = ["AskedList", "give_parts", "run_bring"]


@record
class AskedList:
    """What was typed."""

    file: Path
    by: Path | None = None
    guess: bool = False
    supplier: str = ""
    day: date | None = None
    expires: date | None = None
    write: bool = False
    despite_unread: bool = False
    over: bool = False
    everything: bool = False
    outs: Sequence[Path] = ()
    as_json: bool = False


def run_bring(folder: Path, keep: bool, asked: AskedList) -> int:
    """Tell what comes of a list, and write it where asked to; gives the exit status."""
    _look_at(asked)
    check_outs(asked.outs)
    library = open_chosen(folder, keep)
    return _guess(library, asked) if asked.guess else _brought(library, folder, asked)


def _brought(library: Library, folder: Path, asked: AskedList) -> int:
    found, into = _held(library, folder, asked)
    written = None
    if asked.write and (asked.despite_unread or not found.unread):
        from compat.library.sources import is_demo
        from compat.lists.writing import write_bringing

        if is_demo(folder):
            stop("the demo shop comes with the program and stays as it is; lists go into your own: --shop DIR")
        written = write_bringing(found, library.shop, folder, into)
    from compat.paper.bringing import bringing_document

    give(bringing_document(found, everything=asked.everything, written=written), asked.outs, asked.as_json)
    return 1 if found.unread else 0


def _look_at(asked: AskedList) -> None:
    """Hold what was typed against itself."""
    wrong = []
    if asked.guess:
        given = {
            "--dated": asked.day, "--until": asked.expires, "--write": asked.write, "--over": asked.over,
            "--despite-unread": asked.despite_unread, "--all": asked.everything, "--out": asked.outs,
            "--json": asked.as_json,
        }  # fmt: skip
        wrong += [
            f"{option}: goes with bringing a list; --guess only makes its mapping"
            for option, one in given.items()
            if one
        ]
        if not asked.supplier:
            wrong.append("--guess: say whose list it is: --supplier ID")
        if asked.by is not None and asked.by.exists():
            wrong.append(f"{asked.by}: is there already, and --guess writes over no mapping; name another file")
    elif asked.supplier:
        wrong.append("--supplier: goes with --guess; else the mapping says it")
    if wrong:
        stop(*wrong)


def _held(library: Library, folder: Path, asked: AskedList) -> tuple[Bringing, str]:
    from compat.lists.bringing import Asked, bring, bring_back

    if asked.by is None:
        if asked.day or asked.expires:
            stop("--dated, --until: a workbook of the shop's own parts is no list; a list wants --by MAP.yaml")
        return bring_back(asked.file, library.shop, over=asked.over)
    return bring(asked.file, asked.by, library.shop, folder, Asked(asked.day, asked.expires, asked.over))


def give_parts(folder: Path, keep: bool, position: str, out: Path) -> None:
    """Write the parts of a shop, or of one position, into a workbook that can be edited and brought back."""
    from compat.lists.giving import parts_workbook
    from compat.paper.out import check_files, write_files
    from compat.shop.source import nearest

    check_files([out], [".xlsx"])
    shop = open_chosen(folder, keep).shop
    if position and position not in shop.positions:
        stop(f"--of: '{position}' is no position of this shop{nearest(position, shop.positions)}")
    parts = shop.indexes.fillers[position] if position else list(shop.parts)
    write_files([(out, parts_workbook(shop, parts))])
    print(f"wrote {out}: {len(parts)} parts; edit it and bring it back: compat bring {out}")


def _guess(library: Library, asked: AskedList) -> int:
    from compat.lists.guessing import guessed
    from compat.shop.writing import write_whole

    text = guessed(asked.file, asked.supplier, library.shop)
    if asked.by is None:
        print(text, end="")
        return 0
    try:
        write_whole(asked.by, text, over=False)
    except OSError as error:
        stop(f"{asked.by}: cannot be written: {error.strerror or error}")
    print(f"wrote {asked.by}; look at each line, then: compat bring {asked.file} --by {asked.by} --dated DAY")
    return 0
