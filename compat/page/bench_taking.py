"""Values that a bench sends, held against its sheet before they are kept; each that is refused is told."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final
from uuid import uuid4

from compat.bench.journal import ID, Entry, Key, Kind, Standing, standing
from compat.bench.kept import as_measured
from compat.bench.sheet import Step
from compat.page.at_bench import AtBench, parts_at
from compat.page.bench_fields import Asked, Field, asked_at, in_unit
from compat.shop.source import Fault, Faults
from compat.units import UnitFault, read_band, unfit

__all__ = ["Sent", "Taken", "take"]

MOST_WORDS: Final = 2000
MOST_NAME: Final = 60
MARKS: Final[Mapping[str, Kind]] = {"done": "done", "remark": "remark"}
"""What is kept of a step itself."""


@dataclass(frozen=True)
class Sent:
    """A value as it came."""

    kind: str
    what: str
    value: str
    piece: int = 0
    place: str = ""
    off: str = ""
    """What the gauge may be off; empty for what the shop says of it."""
    gauge: str = ""
    by: str = ""
    over: str = ""
    id: str = field(default_factory=lambda: f"form-{uuid4().hex}")


@dataclass(frozen=True)
class Taken:
    """What became of what was sent."""

    kept: tuple[str, ...]
    """Ids that the server has now; also those that it had."""
    refused: Mapping[str, str]
    """Why others are not kept, by id."""
    faults: tuple[Fault, ...] = ()
    """Why the measured file stays as it is, though the lines are kept."""


def take(bench: AtBench, sent: Iterable[Sent]) -> Taken:
    """Keep what a bench sends.

    Parameters
    ----------
    bench : AtBench
        The build.
    sent : iterable of Sent
        Values, marks and remarks. One that came before under the same id is kept already.

    Returns
    -------
    Taken
        What is kept, and why the rest is not.

    Raises
    ------
    Faults
        When nothing can be kept at all: the folder cannot be written.
    """
    known = {entry.id for entry in bench.entries}
    asked = _asked(bench)
    lines = list(bench.entries)
    new: list[Entry] = []
    kept: list[str] = []
    refused: dict[str, str] = {}
    for one in sent:
        if one.id in known:
            kept.append(one.id)
            continue
        try:
            entry = _entry(bench, asked, one)
        except ValueError as wrong:
            refused[one.id] = str(wrong)
            continue
        if (
            entry.kind == "reading"
            and entry.value
            and (why := _impossible(bench, standing([*lines, entry]), entry))
        ):
            refused[one.id] = why
            continue
        lines.append(entry)
        new.append(entry)
        kept.append(entry.id)
        known.add(entry.id)
    faults = bench.kept.add(bench.ready, new) if new else ()
    return Taken(tuple(kept), refused, faults)


Known = Mapping[tuple[str, str, int, str], tuple[Asked, Field]]


def _asked(bench: AtBench) -> Known:
    """Every value that the sheet asks."""
    return {
        (one.kind, one.what, one.piece, one.place): (asked, one)
        for step in bench.sheet.steps
        for asked in asked_at(bench, step)
        for one in asked.fields
        if not asked.closed or (asked.what in bench.left_out and asked.what not in bench.ready.build.measured)
    }


def _entry(bench: AtBench, asked: Known, sent: Sent) -> Entry:
    """A line of what was sent.

    Raises
    ------
    ValueError
        Why it is not kept.
    """
    if not ID.fullmatch(sent.id):
        raise ValueError("the value came without an id of its own")
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    by, over = _line(sent.by), " ".join(word for word in sent.over.split()[:8] if ID.fullmatch(word))
    if mark := MARKS.get(sent.kind):
        step = _step(bench, sent.what)
        value = sent.value.strip()[:MOST_WORDS]
        if mark == "done":
            value = "done" if value else ""
        of = parts_at(bench.ready, step) if mark == "done" else ""
        return Entry(sent.id, mark, sent.what, value, of, by=by, at=now, over=over)
    found = asked.get((sent.kind, sent.what, sent.piece, sent.place))
    if found is None:
        raise ValueError("the sheet does not ask for this any more; open the step again")
    wanted, place = found
    value = in_unit(sent.value, wanted.unit)
    off = in_unit(sent.off or wanted.off, wanted.unit)
    if value:
        value, off = _held(value, off, wanted)
    return Entry(
        sent.id, place.kind, sent.what, value, place.of, sent.piece, sent.place,
        off, _line(sent.gauge) or wanted.gauge, by, now, over,
    )  # fmt: skip


def _step(bench: AtBench, what: str) -> Step:
    step = bench.by_step.get(what)
    if step is None:
        raise ValueError("the sheet has no such step any more; open the overview again")
    return step


def _line(text: str) -> str:
    """A name on one line, with nothing that a file would read otherwise."""
    return " ".join(re.sub(r"[^\w .,'&/()+-]", " ", text).split())[:MOST_NAME]


def _held(value: str, off: str, wanted: Asked) -> tuple[str, str]:
    """A value and what its gauge may be off, looked at before the shop's own reader does."""
    try:
        for text in filter(None, (value, off)):
            band = read_band(text)
            if wrong := unfit(text, band, wanted.unit):
                raise ValueError(wrong)
            if band.low != band.high:
                raise ValueError(
                    f"'{text}' has a tolerance; a reading has none, and its gauge has the uncertainty"
                )
    except UnitFault as wrong_unit:
        raise ValueError(f"{wrong_unit}; write a number in {wanted.unit}") from None
    if off and read_band(off).nominal <= 0:
        raise ValueError(f"an uncertainty of '{off}': no gauge is exact")
    if not off and wanted.kind == "reading":
        raise ValueError(
            f"the shop does not say what its {wanted.gauge} may be off: write it beside, expanded (k = 2)"
        )
    return value, off


def _impossible(bench: AtBench, held: Mapping[Key, Standing], entry: Entry) -> str:
    """Why the shop's reader refuses what would then be measured of this; empty where it takes it."""
    said: dict[str, Any] = as_measured(
        bench.ready, {key: one for key, one in held.items() if key.what == entry.what}
    )
    alone = as_measured(bench.ready, {entry.key: Standing(replace(entry, over=""))})
    for each in (alone, said):
        try:
            bench.ready.measuring(each)
        except Faults as wrong:
            return "; ".join(fault.message for fault in wrong.faults)
    return ""
