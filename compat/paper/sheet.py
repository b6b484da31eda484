"""The bench sheet as a document: what a builder takes to the engine, fills in and signs."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby

from compat.bench.sheet import BenchSheet, Step
from compat.paper.document import (
    Block,
    Column,
    Document,
    Entries,
    Heading,
    Listed,
    Row,
    Signatures,
    Table,
    Text,
    Together,
)
from compat.paper.measured import measured_blocks
from compat.paper.sheet_data import sheet_data
from compat.paper.sheet_measures import clearance_table, figure_table, piece_table
from compat.paper.sheet_tightening import tightening_blocks
from compat.paper.terminal import CAUTION
from compat.shop.terms import ShopInfo
from compat.words.house import judged_by
from compat.words.report import Finding

__all__ = ["SAFETY", "sheet_document"]

SAFETY = (
    "The instructions of the makers of engine, parts and fasteners come first; where they differ from this "
    "sheet they hold. What is customary here is marked so.",
    "Eyes and hands protected; no loose sleeve near what turns; the stand rated for this engine, dressed.",
    "Lift with rated gear, never under a load that only a jack or a hoist holds.",
    "Compressed air only into holes that are covered with a cloth; springs compressed are never faced.",
    "Solvents, sealants and burnt seals by their safety data; used oil and coolant to where they belong.",
    "Every torque wrench and gauge within its date of calibration, and zeroed before the measure is taken.",
    "A value outside its limits stops the step: whoever answers for the build is told before any more is done.",
)
"""Common practice, no source."""

FEW = 5
"""So many steps stay on a page with what is read before them."""

PROVEN = (
    "Proven within: the limits narrowed by what the shop's own gauges may be off (expanded uncertainty, k = 2) "
    "by the decision rule of ISO 14253-1. A value inside these is proven in; one outside the limits by as much "
    "is proven out; between the two nothing is decided until a finer gauge has measured."
)


def sheet_document(
    sheet: BenchSheet, info: ShopInfo | None, system: str = "metric", dated: date | None = None
) -> Document:
    """Set a bench sheet.

    Parameters
    ----------
    sheet : BenchSheet
        The sheet.
    info : ShopInfo or None
        The shop, for its name, paper and language.
    system : str
        ``metric`` or ``imperial``. Torques and angles are always told in both.
    dated : date, optional
        Day on which it is made.

    Returns
    -------
    Document
        The document; its `data` is by the published schema `sheet`.
    """
    said = sheet.report
    return Document(
        title="Bench sheet",
        subject=f"{said.name} ({said.build}), {sheet.engine}",
        blocks=tuple(_blocks(sheet, system, info)),
        sender=(info.address or (info.name,)) if info is not None else (),
        receiver=(),
        dated=dated,
        foot=f"{said.build}: {CAUTION}",
        across="" if sheet.clean else "DESPITE FINDINGS",
        paper=info.paper if info is not None else "A4",
        language=info.language if info is not None else "en_GB",
        data=sheet_data(sheet),
    )


def _blocks(sheet: BenchSheet, system: str, info: ShopInfo | None) -> Iterator[Block]:
    goal = sheet.report.goal
    yield Entries(
        (
            ("Engine", sheet.engine),
            ("Customer", sheet.customer or None),
            (
                "Goal",
                f"{goal['power']} at {goal['speed']}, {goal['duty']}, {goal['fuel'] or 'fuel not stated'}",
            ),
            ("Steps", len(sheet.steps)),
            ("Engine number", None),
            ("Built by", None),
        )
    )
    if sheet.against:
        yield Heading("What stands against this build")
        if not sheet.clean:
            yield Text(
                "This build does not go together as it is written. The sheet is given despite that, for "
                "planning; nothing is assembled by it until the findings below are settled.",
                "against",
            )
        yield Listed([_finding(finding) for finding in sheet.against], tone="against")
    yield Heading("Before you begin")
    yield Listed(list(SAFETY))
    if sheet.cautions:
        yield Listed(list(sheet.cautions), tone="caution")
    yield Text(PROVEN)
    if judged := judged_by(sheet.report):
        yield Heading("How far it was checked", 2)
        yield Listed(judged)
    if sheet.to_order:
        yield Heading("To have at hand beside what the build names", 2)
        yield Listed([
            f"{extra.count} x {extra.part}, {extra.name}{f': {extra.held_back}' if extra.held_back else ''}"
            for extra in sheet.to_order
        ])  # fmt: skip
    if sheet.measured is not None and (found := measured_blocks(sheet.measured, system)):
        yield Heading("What was measured")
        yield from found
    if sheet.figures:
        yield Heading("Figures that the build is meant to come to", 2)
        yield figure_table(sheet.figures, system)
    for group, steps in groupby(sheet.steps, lambda step: step.group):
        yield from _group(group, list(steps), sheet, system)
    yield Heading("Signed")
    yield Text(
        "Whoever signs has measured what this sheet asks, found it within its limits or told what is not, and "
        "answers for it."
    )
    yield Signatures(
        ("Measured by", "Assembled by", "Checked and released by", *(info.signature[:1] if info else ()))
    )


def _finding(finding: Finding) -> str:
    return f"{finding.verdict.capitalize()}: {finding.title}: {finding.because}."


def _group(group: str, steps: Sequence[Step], sheet: BenchSheet, system: str) -> Iterator[Block]:
    """The steps of a joint: rows of a table, broken where something is tightened, measured or to be heeded."""
    pending: list[Block] = [Heading(group)]
    rows: list[Step] = []

    def flush() -> Iterator[Block]:
        # cautions stay with the steps that they are for
        blocks = [*pending, *_table(rows)]
        if any(isinstance(block, Listed) for block in pending) and 0 < len(rows) <= FEW:
            yield Together(tuple(blocks))
        else:
            yield from blocks
        pending.clear()
        rows.clear()

    for step in steps:
        if step.kind == "close":
            yield from flush()
            yield _closed(step)
            continue
        if before := _before(step):
            if rows:
                yield from flush()
            pending += before
        rows.append(step)
        if after := list(_after(step, sheet, system)):
            yield from flush()
            yield from after
    yield from flush()


def _before(step: Step) -> list[Block]:
    """What is read before a step is begun."""
    found: list[Block] = []
    if step.look_at:
        found.append(Text(f"Look at, while it is open: {'; '.join(step.look_at)}."))
    if step.cautions:
        found.append(Listed(list(step.cautions), tone="caution"))
    return found


def _after(step: Step, sheet: BenchSheet, system: str) -> Iterator[Block]:
    """What is measured and tightened at a step."""
    if step.pieces:
        yield piece_table(step.pieces, f"{step.number}: measure the pieces", system, sheet.readings)
    if step.tightening is not None:
        yield from tightening_blocks(step)
    if step.clearances:
        fits = sheet.measured.fits if sheet.measured is not None else ()
        yield clearance_table(step.clearances, f"{step.number}: within these limits", system, fits)


def _table(steps: Sequence[Step]) -> Iterator[Block]:
    if steps:
        yield _steps(steps)


def _steps(steps: Sequence[Step]) -> Block:
    if all(step.kind == "work" for step in steps):
        columns = (
            Column("No.", "number", 0.5),
            Column("Work", share=6),
            Column("By", "box", 1),
            Column("Date", "box", 1),
        )
        return Table(columns, [Row((step.number, _work(step), None, None)) for step in steps])
    return Table(
        (
            Column("No.", "number", 0.5),
            Column("Step and part", share=3.2),
            Column("Pieces", "number", 0.7),
            Column("Which way round, and marks", share=3.6),
            Column("Put on", share=2.4),
            Column("Done", "box", 0.7),
        ),
        [_row(step) for step in steps],
    )


def _work(step: Step) -> str:
    takes = ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in step.takes.items())
    return f"{step.name}{f' ({takes})' if takes else ''}{f', by {step.done_by}' if step.done_by else ''}"


def _row(step: Step) -> Row:
    if step.kind == "work":
        return Row((step.number, _work(step), None, None, None, None))
    part = step.parts[0]
    new = {"new": "new", "sister": "from a sister engine"}.get(part.origin, "")
    note = f"{part.part}{f', {new}' if new else ''}"
    marks = ". ".join(step.marks) or None
    return Row(
        (step.number, _named(step.name, part.name), part.count, marks, ". ".join(step.put_on) or None, None),
        note=note,
    )


def _named(place: str, part: str) -> str:
    """Where a part goes, and which it is; once where the part is called by its place.

    >>> _named("Front cover", "Front cover 20"), _named("Piston", "Harrowgill forged piston")
    ('Front cover 20', 'Piston: Harrowgill forged piston')
    """
    return part if re.match(rf"{re.escape(place)}\b", part, re.IGNORECASE) else f"{place}: {part}"


def _closed(step: Step) -> Block:
    columns = (
        Column("No.", "number", 0.5),
        Column("Closed", share=6),
        Column("By", "box", 1),
        Column("Date", "box", 1),
    )
    return Table(
        columns, [Row((step.number, f"{step.name}: all of it is in, tightened and measured", None, None))]
    )
