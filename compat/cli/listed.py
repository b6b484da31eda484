"""The commands about suppliers' lists, as they are typed; what they do stands in `compat.cli.bringing`."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli.options import choose_folder, stop
from compat.cli.typed import JsonOption, KeepOption, OutOption, ShopOption

__all__ = ["bring"]


def _day(option: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        stop(f"{option}: '{text}' is no day; write year-month-day, like 2026-11-30")


def _dated(text: str) -> date:
    return _day("--dated", text)


def _until(text: str) -> date:
    return _day("--until", text)


def bring(
    file: Annotated[Path, typer.Argument(metavar="FILE", parser=Path, help="The list: CSV or XLSX.")],
    by: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option(
            "--by",
            metavar="MAP.yaml",
            parser=Path,
            help="How the list is understood. A workbook of `compat parts` needs none.",
        ),
    ] = None,
    guess: Annotated[
        bool,
        typer.Option(
            "--guess", help="Make a first mapping of the list, into the file of --by, else to the terminal."
        ),
    ] = False,
    supplier: Annotated[
        str, typer.Option("--supplier", metavar="ID", help="Whose list it is; with --guess.")
    ] = "",
    dated: Annotated[
        Optional[date],  # noqa: UP045
        typer.Option("--dated", metavar="YEAR-MONTH-DAY", parser=_dated, help="Day of the list."),
    ] = None,
    until: Annotated[
        Optional[date],  # noqa: UP045
        typer.Option(
            "--until", metavar="YEAR-MONTH-DAY", parser=_until, help="Last day on which its prices hold."
        ),
    ] = None,
    write: Annotated[
        bool, typer.Option("--write", help="Write it into the shop; else it is only told.")
    ] = False,
    despite_unread: Annotated[
        bool, typer.Option("--despite-unread", help="Bring what can be read, and leave the rest as it is.")
    ] = False,
    over: Annotated[
        bool, typer.Option("--over", help="Take the list's word also where the shop has one of its own.")
    ] = False,
    everything: Annotated[bool, typer.Option("--all", help="Tell every row, not only the first ones.")] = False,
    shop: ShopOption = None,
    out: OutOption = None,
    no_cache: KeepOption = False,
    as_json: JsonOption = False,
) -> None:
    """Bring a supplier's list into the shop: what is new, changed, no longer listed, or cannot be read.

    Nothing is written without --write.

    Exit status 0: all of it was read. 1: something was not; nothing is written unless told so. 2: bad input.
    """
    from compat.cli.bringing import AskedList, run_bring

    asked = AskedList(
        file, by, guess, supplier, dated, until, write, despite_unread, over, everything, out or (), as_json
    )
    raise typer.Exit(run_bring(choose_folder(shop), not no_cache, asked))
