"""The table of measured values that a builder fills in, and that `check --measured` reads back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from compat.bench.measures import Gauged
from compat.bench.sheet import BenchSheet
from compat.paper.document import Column, Document, Row, Table
from compat.shop.terms import ShopInfo
from compat.units import preferred, unit

__all__ = ["COLUMNS", "measured_form"]

COLUMNS = ("what", "piece", "place", "value", "unit", "uncertainty", "gauge", "by", "date")
"""Head of the table, word for word as it is read back."""

_SORTS = {"what": "code", "value": "box", "uncertainty": "box", "by": "box", "date": "box"}


def measured_form(
    sheet: BenchSheet, info: ShopInfo | None, system: str = "metric", dated: date | None = None
) -> Document:
    """Make the form for measured values: a row for every piece and place.

    Parameters
    ----------
    sheet : BenchSheet
        The sheet.
    info : ShopInfo or None
        The shop, which knows what its own gauges may be off.
    system : str
        ``metric`` or ``imperial``: the units that are filled in; whoever measures may write others.
    dated : date, optional
        Day on which it is made.

    Returns
    -------
    Document
        One table, named ``Measured``.
    """
    pieces = [piece for step in sheet.steps for piece in step.pieces if piece.unit]
    rows = [row for piece in pieces for row in _rows(piece, sheet, info, system)]
    columns = [Column(title, _SORTS.get(title, "text")) for title in COLUMNS]  # type: ignore[arg-type]  # sorts all
    said = sheet.report
    return Document(
        title="Measured values",
        subject=f"{said.name} ({said.build})",
        blocks=(Table(tuple(columns), rows, "Measured"),),
        dated=dated,
    )


def _rows(piece: Gauged, sheet: BenchSheet, info: ShopInfo | None, system: str) -> Iterator[Row]:
    """A row for each reading there is, and an empty one for each that is still asked."""
    own = preferred(piece.unit, system)
    stated = info.gauges.get(piece.gauge) if info is not None else None
    fits = stated is not None and stated.dimension == unit(own).dimension
    off = _number(stated.nominal, own, 2) if stated is not None and fits else None
    for number in range(1, piece.pieces + 1):
        read = sheet.readings.get((piece.what, number), ())
        shown = number if piece.pieces > 1 else None
        for place in piece.places or ("",):
            here = [reading for reading in read if reading.place.startswith(place)]
            for reading in here:
                value, doubt = _number(reading.value, own, 9), _number(reading.uncertainty, own, 2)
                said = (
                    reading.place or None,
                    value,
                    own,
                    doubt,
                    reading.gauge,
                    reading.by or None,
                    reading.date or None,
                )
                yield Row((piece.what, shown, *said))
            if not here:
                yield Row((piece.what, shown, place or None, None, own, off, piece.gauge, None, None))


def _number(value: float, name: str, digits: int) -> Decimal:
    """A number in a unit to so many digits."""
    return Decimal(f"{unit(name).from_si(value):.{digits}g}")
