"""What is measured, as tables of a bench sheet: pieces with a box for each, clearances with their limits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from compat.bench.measures import Clearance, Gauged
from compat.bench.results import Reading
from compat.bench.sheet import SheetFigure
from compat.paper.document import Column, Row, Table
from compat.shop.entry import NOTHING
from compat.units import Band, preferred, show, unit
from compat.words.report import Finding, MeasuredFit
from compat.words.wording import half_width, told

__all__ = [
    "clearance_table",
    "figure_table",
    "limits_text",
    "piece_table",
    "proven_text",
    "stated_text",
    "value_text",
]

WIDE = 6
"""So many boxes stand in a row at most."""
FOLDED = 4
"""So many, where there are more and they go over several rows."""


Readings = Mapping[tuple[str, int], Sequence[Reading]]
"""What was measured, by position.spec and number of the piece."""


def piece_table(pieces: Sequence[Gauged], name: str, system: str, readings: Readings = NOTHING) -> Table:
    """A box for every piece and place, with what was measured in it."""
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
                if head and any(readings.get((piece.what, number)) for number in range(1, piece.pieces + 1)):
                    stated = f"measured: {stated}"
                filled = [
                    _read(piece, number, place, readings, system) for number in range(first + 1, last + 1)
                ]
                filled += ["–"] * (boxes - len(filled))
                rows.append(Row((_head(piece) if head else None, stated, label or None, *filled)))
    columns = [Column(name, share=3.4), Column("To come to", share=2.2), Column("Of", share=1.2)]
    return Table((*columns, *(Column(str(number), "box", 0.8) for number in range(1, boxes + 1))), rows)


def _read(piece: Gauged, number: int, place: str, readings: Readings, system: str) -> str | None:
    """What was read on one piece at a place, and on its way across it."""
    found = [
        show(reading.value, piece.unit, system, bare=True)
        for reading in readings.get((piece.what, number), ())
        if not place or reading.place.startswith(place)
    ]
    return ", ".join(found) or None


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


def clearance_table(
    clearances: Sequence[Clearance], name: str, system: str, fits: Sequence[MeasuredFit] = ()
) -> Table:
    """Clearances with the band that they are to come to, and boxes for what is found, or with it."""
    return Table(
        (
            Column(name, share=3.4),
            Column("As computed, worst case", share=2.6),
            Column("Limits", share=2.2),
            Column("Proven within", share=2.2),
            Column("Least", "box", 0.9),
            Column("Most", "box", 0.9),
        ),
        [_row(each, system, [fit for fit in fits if fit.rule == each.finding.rule]) for each in clearances],
    )


def _row(clearance: Clearance, system: str, fits: Sequence[MeasuredFit]) -> Row:
    finding = clearance.finding
    value, limits = value_text(finding, system), limits_text(finding, system)
    least, most = None, None
    if fits:
        own = unit(fits[0].unit)
        least, most = (
            show(own.to_si(end(fit.value for fit in fits)), fits[0].unit, system, bare=True)
            for end in (min, max)
        )
    note = _note(clearance, fits)
    return Row((finding.title, value, limits, proven_text(clearance, system), least, most), note=note)


DECIDED = {"in": "measured, proven in", "undecided": "measured, not decided", "out": "measured, proven out"}
"""What is said of measured pieces, the best first."""


def _note(clearance: Clearance, fits: Sequence[MeasuredFit]) -> str:
    verdict = clearance.finding.verdict
    worst = max((list(DECIDED).index(fit.decision) for fit in fits), default=None)
    says = (
        clearance.gauge if clearance.direct else "from the pieces",
        "" if verdict in ("ok", "caution") else f"verdict: {verdict}",
        "" if worst is None else list(DECIDED.values())[worst],
    )
    return "; ".join(text for text in says if text)


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
    return _band_text(finding, finding.at_least, finding.at_most, system)


def proven_text(clearance: Clearance, system: str = "metric") -> str:
    """The limits that a measured value must keep to be proven within those of the rule."""
    if clearance.proven is None:
        return "not known"
    least, most = clearance.proven
    if least is not None and most is not None and least > most:
        return "nothing: the gauges are too coarse"
    name = clearance.finding.unit
    label = show(0.0, name, system).partition(" ")[2]
    lower, upper = (
        None if number is None else _inward(unit(name).to_si(number), name, system, up)
        for number, up in ((least, True), (most, False))
    )
    if lower is not None and upper is not None:
        return f"{lower} to {upper} {label}".rstrip()
    return (f"at least {lower} {label}" if lower is not None else f"at most {upper} {label}").rstrip()


def _inward(value: float, name: str, system: str, up: bool) -> str:
    """A limit that proves, rounded so that it proves no more than it may.

    >>> _inward(0.0450e-3, "mm", "imperial", True), _inward(0.0650e-3, "mm", "imperial", False)
    ('0.0018', '0.0025')
    """
    text = show(value, name, system, bare=True)
    number = unit(preferred(name, system)).from_si(value)
    if "e" in text:
        return text
    digits = len(text.partition(".")[2])
    steps = number * 10**digits
    whole = math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6)
    return f"{whole / 10**digits + 0.0:.{digits}f}"


def _band_text(finding: Finding, lower: float | None, upper: float | None, system: str) -> str:
    own = unit(finding.unit)
    least, most = (None if number is None else own.to_si(number) for number in (lower, upper))
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
