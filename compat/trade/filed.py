"""Kept quotes as a list, and which of them hold a part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from compat.shop.source import Fault, Faults
from compat.trade.frozen import kept, numbers

__all__ = ["Filed", "Holds", "filed", "latest_of", "part_in", "records"]


@dataclass(frozen=True, slots=True)
class Filed:
    """A kept quote, in a line."""

    number: str
    on: date
    build: str
    name: str
    customer: str
    total: Decimal
    currency: str
    days: int
    valid_until: date


@dataclass(frozen=True, slots=True)
class Holds:
    """A kept quote that a part stands in."""

    quote: Filed
    positions: tuple[str, ...]
    """Where the part stands in its build."""
    quantity: Decimal | None
    """How many are charged; None where it stands there and costs nothing, as a part that stays."""
    unit_price: Decimal | None


def records(folder: Path) -> tuple[list[Mapping[str, Any]], list[Fault]]:
    """Every kept quote that can be read, by number; and a fault for each that cannot.

    Parameters
    ----------
    folder : Path
        Where quotes are kept; it need not be there.

    Returns
    -------
    tuple of list and list
        Records as they were written, and faults.
    """
    found: list[Mapping[str, Any]] = []
    faults: list[Fault] = []
    for number in numbers(folder) if folder.is_dir() else ():
        try:
            record = kept(folder, number)
            filed(record)
            found.append(record)
        except Faults as told:
            faults += told.faults
        except (
            KeyError,
            TypeError,
            ValueError,
            ArithmeticError,
        ):  # sealed by a program that knew other entries
            faults.append(Fault(_spot(folder, number), "is a quote of another program than this"))
    return found, faults


def _spot(folder: Path, number: str) -> Any:
    from compat.shop.source import Spot

    return Spot(str(folder / f"{number}.json"), 0)


def filed(record: Mapping[str, Any]) -> Filed:
    """A record in a line."""
    quote = record["quote"]
    return Filed(
        number=str(quote["number"]),
        on=date.fromisoformat(quote["date"]),
        build=str(quote["build"]),
        name=str(quote["name"]),
        customer=str(quote.get("customer") or ""),
        total=Decimal(quote["total"]),
        currency=str(quote["currency"]),
        days=int(quote["lead"]["days"]),
        valid_until=date.fromisoformat(quote["valid_until"]),
    )


def latest_of(folder: Path) -> dict[str, Filed]:
    """For each build its last kept quote."""
    found = [filed(record) for record in records(folder)[0]]
    return {one.build: one for one in sorted(found, key=lambda one: (one.on, one.number))}


def part_in(folder: Path, part: str) -> Iterator[Holds]:
    """Kept quotes that a part stands in, the latest first."""
    found = []
    for record in records(folder)[0]:
        places = tuple(place for place, name in record["rests_on"]["fitted"].items() if name == part)
        lines = [line for line in record["quote"]["lines"] if line["kind"] == "part" and line["id"] == part]
        if not places and not lines:
            continue
        quantity = sum((Decimal(line["quantity"]) for line in lines), Decimal(0)) if lines else None
        price = Decimal(lines[0]["unit_price"]) if lines else None
        found.append(Holds(filed(record), places, quantity, price))
    yield from sorted(found, key=lambda one: (one.quote.on, one.quote.number), reverse=True)
