"""Two builds side by side, as a document."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from decimal import Decimal

from compat.paper.document import Block, Column, Document, Heading, Row, Table, Text
from compat.planning.comparing import Compared, Differing, Load, Side, Told
from compat.rulebook.models import VERDICTS
from compat.shop.money import Money
from compat.trade.plain import as_plain
from compat.units import unit
from compat.words.wording import told

__all__ = ["comparison_document"]

NONE = "—"
"""Where one of the builds has nothing."""


def comparison_document(found: Compared, on: date, system: str = "metric") -> Document:
    """Two builds side by side.

    Parameters
    ----------
    found : Compared
        What `compat.planning.comparing.compare` gives.
    on : date
        The day that prices are of.
    system : {"metric", "imperial"}
        Units of the loads.

    Returns
    -------
    Document
        What any format writes.
    """
    a, b = _names(found)
    sides = (Column("", "text", 2), Column(a, "text", 2), Column(b, "text", 2))
    blocks: list[Block] = [Table(sides, list(_heads(found)), "builds")]
    if found.alike:
        blocks.append(Text("The two builds are the same in parts, work, goal and setup.", "strong"))
    for title, entries in (
        ("Goal and setup", found.entries),
        ("Parts", found.parts),
        ("Work", found.work),
    ):
        if entries:
            blocks += [Heading(f"{title} ({len(entries)} differ)"), Table(sides, _rows(entries), title)]
    blocks += _findings(found, a, b)
    if loads := [load for load in found.loads if load.apart]:
        blocks += [Heading("Loads at the goal"), Table(sides, [_load(load, system) for load in loads], "Loads")]
    for side in (found.a, found.b):
        blocks += [Text(f"{side.build} has no price: {why}.", "caution") for why in side.unpriced]
    return Document(
        title="Two builds compared",
        blocks=blocks,
        subject=f"{found.a.name} ({found.a.build}); {found.b.name} ({found.b.build})",
        dated=on,
        data=as_plain(found, measures=True),
    )


def _names(found: Compared) -> tuple[str, str]:
    if found.a.build == found.b.build:
        return f"{found.a.build} (first)", f"{found.b.build} (second)"
    return found.a.build, found.b.build


def _heads(found: Compared) -> Iterator[Row]:
    def row(title: str, of: Callable[[Side], str]) -> Row:
        return Row((title, of(found.a), of(found.b)))

    def money(amount: Decimal | None) -> str:
        return "not known" if amount is None else str(Money(amount, found.currency))

    yield row("Name", lambda side: side.name)
    yield row("Engine", lambda side: side.variant)
    yield row("Worst verdict", lambda side: side.verdict)
    for verdict in VERDICTS:
        if verdict != "ok" and (found.a.counts[verdict] or found.b.counts[verdict]):
            yield row(f"  {verdict}", lambda side, v=verdict: str(side.counts[v]))  # type: ignore[misc]
    yield row("Before tax", lambda side: money(side.net))
    yield row("With tax", lambda side: money(side.total))
    yield row("Hours of work", lambda side: str(side.hours))
    yield row("Days until handed over", lambda side: "not known" if side.days is None else str(side.days))


def _rows(entries: Sequence[Differing]) -> list[Row]:
    return [Row((one.what, one.a or NONE, one.b or NONE)) for one in entries]


def _findings(found: Compared, a: str, b: str) -> Iterator[Block]:
    columns = (Column("Rule", "text", 3), Column(a, "text", 1), Column(b, "text", 1))
    for title, move in ((f"Worse in {b}", -1), (f"Better in {b}", 1), ("Against both alike", 0)):
        own = [one for one in found.findings if one.moved == move]
        if own:
            yield Heading(f"{title} ({len(own)})")
            yield Table(columns, [_told(one) for one in own], title)


def _told(one: Told) -> Row:
    # what tells most is why the worse of the two is no better
    says = one.because_a if one.moved > 0 else one.because_b
    return Row((one.title, one.a or NONE, one.b or NONE), note=says)


def _load(load: Load, system: str) -> Row:
    own = unit(load.unit)

    def cell(value: float | None, half: float) -> str:
        return NONE if value is None else told(own.to_si(value), load.unit, half * own.factor, system)

    return Row((load.name, cell(load.a, load.half_a), cell(load.b, load.half_b)))
