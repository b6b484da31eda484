"""The command `ladder`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from compat.cli.builds import named_build
from compat.cli.options import open_chosen, stop
from compat.cli.outs import check_outs, give

if TYPE_CHECKING:
    from compat.paper.document import Document, Picture
    from compat.planning.ladder import Ladder

__all__ = ["run_ladder"]

DRAWN = (".svg", ".png")
"""Endings of files that hold the picture alone."""


def run_ladder(
    folder: Path,
    keep: bool,
    name: str,
    to: str,
    most: int,
    system: str,
    on: date | None,
    out: Sequence[Path],
    as_json: bool,
) -> None:
    """Raise the goal of a build until one part after the other runs out."""
    from compat.checking.session import Session
    from compat.paper.ladder import ladder_document
    from compat.planning.ladder import climb

    found: list[Ladder] = []
    also = {ending: partial(_picture, found, ending, system) for ending in DRAWN}
    check_outs(out, also)
    end = _power(to) if to else None
    library = open_chosen(folder, keep, [name])
    session = Session(library.shop, library.book, behind=library.answers)
    day = on or date.today()
    found.append(climb(session, named_build(library, name), day, to=end, most=most, system=system))
    give(ladder_document(found[0], day, system, _drawing(found[0], system, out)), out, as_json, also)


def _power(text: str) -> float:
    from compat.units import UnitFault, read_band, unfit

    try:
        band = read_band(text)
    except UnitFault as fault:
        stop(f"--to: {fault}")
    if why := unfit(text, band, "kW"):
        stop(f"--to: {why}; wanted is a power, like 200 kW")
    return float(band.nominal)


def _drawing(found: Ladder, system: str, out: Sequence[Path]) -> Picture | None:
    if not any(path.suffix.lower() in (".pdf", ".html") for path in out) or not found.rungs:
        return None
    from compat.paper.document import Picture
    from compat.paper.pictures.rungs import ladder_picture, shows

    return Picture(ladder_picture(found, ".svg", system), shows(found, system))


def _picture(found: list[Ladder], ending: str, system: str, document: Document) -> bytes:
    from compat.paper.pictures.rungs import ladder_picture

    return ladder_picture(found[0], ending, system)
