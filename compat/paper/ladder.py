"""A ladder as a document."""

from __future__ import annotations

from datetime import date

from compat.paper.document import Block, Column, Document, Picture, Row, Table, Text
from compat.planning.ladder import Ladder, Rung
from compat.shop.money import Money
from compat.trade.plain import as_plain
from compat.units import show
from compat.words.wording import listed

__all__ = ["ladder_document"]


def ladder_document(
    found: Ladder, on: date, system: str = "metric", drawing: Picture | None = None
) -> Document:
    """What runs out as the goal rises.

    Parameters
    ----------
    found : Ladder
        What `compat.planning.ladder.climb` gives.
    on : date
        The day that prices are of.
    system : {"metric", "imperial"}
        Units.
    drawing : Picture, optional
        The ladder drawn.

    Returns
    -------
    Document
        What any format writes.
    """
    start, end = (show(power, "kW", system) for power in (found.start, found.end))
    blocks: list[Block] = [
        Text(
            f"From {start} upward, looked at to {end}. Torque rises with the power at the same speeds, and the "
            "pressure in the manifold with both; all else stays. Each rung is by itself: what passes one is "
            "not built into the next."
        )
    ]
    if found.fails_already:
        blocks.append(
            Text(
                f"Against the build as it is, and no rungs: {listed(found.fails_already)}.",
                "against",
            )
        )
    if found.rungs:
        columns = (
            Column("From", "text", 1.2),
            Column("It may from", "text", 1.2),
            Column("What runs out", "text", 3),
            Column("What passes it", "text", 4),
            Column(f"Costs [{found.currency}]", "text", 1.2),
        )
        rows = [_row(rung, system, found.currency) for rung in found.rungs]
        blocks.append(Table(columns, rows, "Ladder"))
    else:
        blocks.append(Text(f"Nothing runs out up to {end}.", "strong"))
    if found.more:
        blocks.append(Text(f"{found.more} rules more fail below {end}.", "quiet"))
    if drawing is not None:
        blocks.append(drawing)
    blocks.append(
        Text(
            "A model's figure is no leave to go there: the maker's limits go before it, and what lies near an "
            "edge is measured.",
            "caution",
        )
    )
    return Document(
        title=f"Ladder of {found.build}",
        blocks=blocks,
        subject=f"{found.name}, duty {found.duty}",
        dated=on,
        data=as_plain(found, measures=True),
    )


def _row(rung: Rung, system: str, currency: str) -> Row:
    passing = rung.passing.rstrip(".") or "nothing in this shop"
    return Row(
        (
            show(rung.power, "kW", system),
            show(rung.may, "kW", system) if rung.may < rung.power else "",
            f"{rung.title} ({rung.part})" if rung.part else rung.title,
            passing,
            "" if rung.cost is None else Money(rung.cost, currency).figure,
        )
    )
