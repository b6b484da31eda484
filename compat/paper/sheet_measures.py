"""What is measured, as tables of a bench sheet: pieces with a box for each, clearances with their limits."""

from __future__ import annotations

from collections.abc import Sequence

from compat.bench.measures import Clearance, Gauged
from compat.bench.sheet import SheetFigure
from compat.paper.document import Column, Row, Table
from compat.units import Band, show, unit
from compat.words.report import Finding
from compat.words.wording import half_width, told

__all__ = ["clearance_table", "figure_table", "limits_text", "piece_table", "stated_text", "value_text"]

WIDE = 6
"""So many boxes stand in a row at most."""
FOLDED = 4
"""So many, where there are more and they go over several rows."""


def piece_table(pieces: Sequence[Gauged], name: str, system: str) -> Table:
    """A box for every piece and place."""
    most = max(piece.pieces for piece in pieces)
    boxes = most if most <= WIDE else FOLDED
    rows = []
    for piece in pieces:
        for place in piece.places or ("",):
            for first in range(0, piece.pieces, boxes):
                last = min(first + boxes, piece.pieces)
                numbers = (
                    "" if piece.pieces == 1 else f"{first + 1} to {last}" if last > first + 1 else f"{last}"
                )
                label = ", ".join(text for text in (place, numbers) if text)
                head = not first and place == (piece.places or ("",))[0]
                stated = stated_text(piece, system) if head else None
                empty = [None] * (last - first) + ["–"] * (boxes - last + first)
                rows.append(Row((_head(piece) if head else None, stated, label or None, *empty)))
    columns = [Column(name, share=3.4), Column("As stated", share=2.2), Column("Of", share=1.2)]
    return Table((*columns, *(Column(str(number), "box", 0.8) for number in range(1, boxes + 1))), rows)


def _head(piece: Gauged) -> str:
    return f"{piece.name[:1].upper()}{piece.name[1:]}, {piece.gauge}"


def stated_text(piece: Gauged, system: str = "metric") -> str:
    """What the card or the work makes of a spec, with its tolerance."""
    if piece.stated is None:
        return "not stated"
    value = piece.stated.value
    if not isinstance(value, Band):
        return str(value)
    if value.low == value.high:
        return show(value.nominal, piece.unit, system)
    low, high = show(value.low, piece.unit, system, bare=True), show(value.high, piece.unit, system)
    return f"{low} to {high}"


def clearance_table(clearances: Sequence[Clearance], name: str, system: str) -> Table:
    """Clearances with the band that they are to come to, and boxes for what is found."""
    return Table(
        (
            Column(name, share=3.4),
            Column("As computed, worst case", share=2.6),
            Column("Limits", share=2.4),
            Column("Least", "box", 0.9),
            Column("Most", "box", 0.9),
        ),
        [
            Row((clearance.finding.title, value_text(clearance.finding, system),
                 limits_text(clearance.finding, system), None, None), note=_note(clearance))
            for clearance in clearances
        ],
    )  # fmt: skip


def _note(clearance: Clearance) -> str:
    how = "" if clearance.direct else "worked out from the pieces measured"
    verdict = clearance.finding.verdict
    return "; ".join(
        text for text in (how, "" if verdict in ("ok", "caution") else f"verdict: {verdict}") if text
    )


def value_text(finding: Finding, system: str = "metric") -> str:
    """A finding's value with its worst case, as its report tells them."""
    if finding.value is None or finding.low is None or finding.high is None:
        return "not stated: measure it" if finding.unstated else "not known"
    own = unit(finding.unit)
    value, low, high = (own.to_si(number) for number in (finding.value, finding.low, finding.high))
    half = (high - low) / 2
    text = told(value, finding.unit, half, system)
    if half > 0:
        least, most = (told(number, finding.unit, half, system, bare=True) for number in (low, high))
        if least != most:
            text += f" ({least} to {most})"
    return text


def limits_text(finding: Finding, system: str = "metric") -> str:
    """A finding's limits."""
    own = unit(finding.unit)
    least, most = (
        None if number is None else own.to_si(number) for number in (finding.at_least, finding.at_most)
    )
    if least is not None and most is not None:
        return f"{show(least, finding.unit, system, bare=True)} to {show(most, finding.unit, system)}"
    if least is not None:
        return f"at least {show(least, finding.unit, system)}"
    return f"at most {show(most, finding.unit, system)}" if most is not None else ""


def figure_table(figures: Sequence[SheetFigure], system: str) -> Table:
    """Figures of the build as it is meant to be, with a box for what it came to."""
    rows = []
    for figure in figures:
        half = f"± {half_width(figure.half, figure.unit, system)}" if figure.half > 1e-12 else None
        rows.append(Row((figure.name, told(figure.value, figure.unit, figure.half, system), half, None)))
    columns = (
        Column("Figure", share=4),
        Column("Meant", share=1.6),
        Column("Worst case", share=1.4),
        Column("Found", "box", 1),
    )
    return Table(columns, rows, "Figures")
