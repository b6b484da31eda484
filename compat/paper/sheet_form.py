"""The table of measured values that a builder fills in, and that `check --measured` reads back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from compat.bench.measures import Gauged
from compat.bench.sheet import BenchSheet
from compat.paper.document import Column, Document, Row, Table
from compat.units import preferred

__all__ = ["COLUMNS", "measured_form"]

COLUMNS = ("what", "piece", "place", "value", "unit", "uncertainty", "gauge", "by", "date")
"""Head of the table, word for word as it is read back."""

_SORTS = {"what": "code", "value": "box", "uncertainty": "box", "by": "box", "date": "box"}


def measured_form(sheet: BenchSheet, system: str = "metric", dated: date | None = None) -> Document:
    """Make the form for measured values: a row for every piece and place.

    Parameters
    ----------
    sheet : BenchSheet
        The sheet.
    system : str
        ``metric`` or ``imperial``: the units that are filled in; whoever measures may write others.
    dated : date, optional
        Day on which it is made.

    Returns
    -------
    Document
        One table, named ``Measured``.
    """
    rows = [row for step in sheet.steps for piece in step.pieces if piece.unit for row in _rows(piece, system)]
    columns = [Column(title, _SORTS.get(title, "text")) for title in COLUMNS]  # type: ignore[arg-type]  # sorts all
    said = sheet.report
    return Document(
        title="Measured values",
        subject=f"{said.name} ({said.build})",
        blocks=(Table(tuple(columns), rows, "Measured"),),
        dated=dated,
    )


def _rows(piece: Gauged, system: str) -> Iterator[Row]:
    for number in range(1, piece.pieces + 1):
        for place in piece.places or ("",):
            yield Row(
                (piece.what, number if piece.pieces > 1 else None, place or None, None,
                 preferred(piece.unit, system), None, piece.gauge, None, None)
            )  # fmt: skip
