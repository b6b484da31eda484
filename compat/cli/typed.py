"""Arguments and options that several commands take, said once."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Optional

import typer

from compat.cli import complete
from compat.cli.options import UnitSystem, stop

__all__ = [
    "BuildArgument",
    "CoresOption",
    "DateOption",
    "DraftOption",
    "JsonOption",
    "KeepOption",
    "MeasuredOption",
    "OutOption",
    "ShopOption",
    "UnitsOption",
]

ShopOption = Annotated[
    Optional[Path],  # noqa: UP045  typer reads the annotation at run time
    typer.Option(
        "--shop",
        metavar="DIR",
        parser=Path,
        envvar="COMPAT_SHOP",
        help="Shop folder, with catalog and rules in it; else the working folder where it is one, else the "
        "demo shop.",
    ),
]


def _units(text: str) -> UnitSystem:
    if text.lower() not in list(UnitSystem):
        stop(f"--units: '{text}' is neither metric nor imperial")
    return UnitSystem(text.lower())


UnitsOption = Annotated[
    UnitSystem,
    typer.Option("--units", metavar="metric|imperial", parser=_units, help="Units of the output."),
]
KeepOption = Annotated[
    bool,
    typer.Option(
        "--no-cache",
        help="Read every file anew and keep nothing for the next time; COMPAT_CACHE=off does the same.",
    ),
]
CoresOption = Annotated[
    int,
    typer.Option(
        "--cores",
        metavar="N",
        help="So many processes; else one a core where that is worth it.",
        min=0,
        max=256,
    ),
]
DraftOption = Annotated[
    bool, typer.Option("--draft", help="Only look: take no number, keep nothing, mark every page.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
MeasuredOption = Annotated[
    Optional[list[Path]],  # noqa: UP045
    typer.Option(
        "--measured",
        metavar="FILE",
        help="What was measured, piece by piece: a YAML, CSV or XLSX file, as the sheet has it; may be given "
        "again.",
    ),
]
BuildArgument = Annotated[
    str,
    typer.Argument(
        metavar="BUILD",
        help="Id of a build or variant, a build file, or - to read one from standard input.",
        autocompletion=complete.builds,
    ),
]
OutOption = Annotated[
    Optional[list[Path]],  # noqa: UP045  typer reads the annotation at run time
    typer.Option(
        "--out",
        metavar="FILE",
        help="Write it into a file; its ending says how: .pdf, .xlsx, .csv, .md, .html, .json or .txt. May be "
        "given again. Without it the document goes to the terminal.",
    ),
]


FIRST_YEAR, LAST_YEAR = 2000, 2999
"""Any other year is a slip of the pen; and days are counted on from it, which no calendar ends within."""


def _date(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        stop(f"--date: '{text}' is no day; write year-month-day, like 2026-11-30")
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        stop(f"--date: '{text}' is no day of a paper; wanted is one of the years {FIRST_YEAR} to {LAST_YEAR}")
    return day


DateOption = Annotated[
    Optional[date],  # noqa: UP045
    typer.Option("--date", metavar="YEAR-MONTH-DAY", parser=_date, help="Day of the paper; else today."),
]
