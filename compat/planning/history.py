"""Where a part stands: builds, kept quotes, factory variants; and the builds themselves in a list."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from compat.shop.build_work import standing_part
from compat.shop.models import Build, Variant
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.trade.filed import Filed, Holds, latest_of, part_in
from compat.trade.wares import Ware, ware
from compat.units import show

if TYPE_CHECKING:
    from compat.checking.session import Session
    from compat.planning.comparing import Side

__all__ = ["History", "Listed", "Stands", "history", "list_builds"]


@dataclass(frozen=True, slots=True)
class Stands:
    """A part in a build."""

    build: str
    name: str
    position: str
    how: str
    """How it comes there: chosen, of a sister variant, out of a box, the engine's own; or in which option."""


@dataclass(frozen=True, slots=True)
class History:
    """Everything that a part stands in."""

    ware: Ware
    builds: tuple[Stands, ...]
    quotes: tuple[Holds, ...]
    """The latest first."""
    factory: tuple[str, ...]
    """Variants that left the factory with it."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A build in a line."""

    build: str
    name: str
    customer: str
    variant: str
    goal: str
    """Power and its speed."""
    quoted: Filed | None = None
    """Its last kept quote."""
    side: Side | None = None
    """Checked and priced, where that was asked for."""


def history(shop: Shop, part: str, quotes: Path, on: date) -> History:
    """Find out where a part stands.

    Parameters
    ----------
    shop : Shop
        The shop.
    part : str
        The part.
    quotes : Path
        Folder of the kept quotes; it need not be there.
    on : date
        The day of its price.

    Returns
    -------
    History
        Builds in the order of their files.

    Raises
    ------
    Faults
        When there is no such part.
    """
    if part not in shop.parts:
        hint = nearest(part, shop.called("part"))
        raise Faults([Fault(Spot("asked", 0), f"part '{part}' is not known{hint}")])
    builds = tuple(one for build in shop.builds.values() for one in _stands(shop, build, part))
    return History(ware(shop, part, on), builds, tuple(part_in(quotes, part)), tuple(shop.homes.get(part, ())))


def _stands(shop: Shop, build: Build, part: str) -> Iterator[Stands]:
    variant = shop.variants[build.variant]
    for position in shop.parts[part].fills:
        if position not in build.leave_out and standing_part(shop, build, variant, position) == part:
            yield Stands(build.build, build.name, position, _how(shop, build, variant, position, part))
    for option in build.options:
        for position, name in option.fit.items():
            if name == part:
                yield Stands(build.build, build.name, position, f"option: {option.name}")


def _how(shop: Shop, build: Build, variant: Variant, position: str, part: str) -> str:
    if build.fit.get(position) == part:
        return "brought by the customer" if position in build.brought else "chosen"
    for taken in build.take_from:
        if position in taken.positions:
            return f"taken from {taken.variant}"
    if variant.parts.get(position) == part:
        return "the engine's own"
    chosen = {*build.fit.values()}
    boxes = (name for name in chosen if part in shop.parts[name].includes)
    return f"comes with {next(boxes, 'another part')}"


def list_builds(
    shop: Shop, quotes: Path, on: date, system: str = "metric", session: Session | None = None
) -> list[Listed]:
    """Give the shop's builds in a list.

    Parameters
    ----------
    shop : Shop
        The shop.
    quotes : Path
        Folder of the kept quotes.
    on : date
        The day of prices.
    system : {"metric", "imperial"}
        Units of the goals.
    session : Session, optional
        Checks and prices each build when given.

    Returns
    -------
    list of Listed
        In the order of their files.
    """
    from compat.library.library import build_of_id
    from compat.planning.comparing import side_of

    last = latest_of(quotes)
    found = []
    for name, build in shop.builds.items():
        goal = build_of_id(shop, name).goal
        aim = f"{show(goal.power.nominal, 'kW', system)} at {show(goal.at.nominal, 'rpm', system)}"
        side = side_of(session.check(build_of_id(shop, name)), on) if session is not None else None
        found.append(Listed(name, build.name, build.customer, build.variant, aim, last.get(name), side))
    return found
