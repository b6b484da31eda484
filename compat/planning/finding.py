"""Parts found at the counter: by words, sizes, supplier and shelf, and by what goes into a build."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from compat.library.search import Goods, goods_of
from compat.library.wanted import Matches, Wanted
from compat.planning.search_words import Meant, read_words
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.trade.wares import Ware, rates, ware
from compat.units import DAY

if TYPE_CHECKING:
    from compat.checking.session import Session
    from compat.planning.fitting import Candidate
    from compat.shop.builds import ReadyBuild

__all__ = ["ORDERS", "TRIED", "Asked", "Fillers", "Found", "Hit", "fillers", "find", "parts_of"]

ORDERS = ("price", "lead", "headroom")
TRIED = 60
"""So many parts are tried on a build at most; each is a check of the whole."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody looks for."""

    words: tuple[str, ...]
    on: date
    order: str = "price"
    """One of `ORDERS`."""
    most: int = 20
    """So many are given at most."""
    supplier: str = ""
    stock: bool = False
    """Only what is on the shelf."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A part that was found; on a build, with how it goes in."""

    ware: Ware
    fit: Candidate | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What was found."""

    meant: Meant
    count: int
    """How many parts there are; of these the first are told."""
    more: bool
    """Whether there are at least so many: what nearly every part has is not counted to the end."""
    hits: tuple[Hit, ...]
    tried: int = 0
    """How many were tried on the build."""
    fitting: int = 0
    """How many of these go in."""


def find(
    shop: Shop,
    asked: Asked,
    session: Session | None = None,
    build: ReadyBuild | None = None,
    system: str = "metric",
) -> Found:
    """Find parts.

    Parameters
    ----------
    shop : Shop
        The shop.
    asked : Asked
        What is looked for.
    session : Session, optional
        Checks the build.
    build : ReadyBuild, optional
        Only parts that go into it are told: directly, with more beside them, or not known.
    system : {"metric", "imperial"}
        Units of what is said of how they go in.

    Returns
    -------
    Found
        In the order that was asked for.

    Raises
    ------
    Faults
        When a supplier is not known, a size is none of its spec, or headroom is asked for without a build.
    """
    faults = list(_faults(shop, asked, build))
    goods = goods_of(shop)
    meant = read_words(shop, goods, asked.words)
    if faults or meant.faults:
        raise Faults([*faults, *meant.faults])
    family = build.variant.family if build is not None else ""
    told = _search(shop, goods, asked, meant, family)
    if (
        not told.count and meant.position and not meant.sizes
    ):  # a word of a position may stand in a name all the same
        other = read_words(shop, goods, asked.words, places=False)
        if not other.unknown and (again := _search(shop, goods, asked, other, family)).count:
            meant, told = other, again
    wares = [
        ware(shop, part, asked.on, soonest=asked.order == "lead", supplier=asked.supplier)
        for part in told.parts
    ]
    found = Found(meant, told.count, told.more, tuple(map(Hit, wares)))
    return found if session is None or build is None else _fitting(session, build, asked, found, system)


def _faults(shop: Shop, asked: Asked, build: ReadyBuild | None) -> Iterator[Fault]:
    if asked.order not in ORDERS:
        hint = nearest(asked.order, ORDERS) or f"; it is one of {', '.join(ORDERS)}"
        yield Fault(Spot("--order", 0), f"'{asked.order}' is no order{hint}")
    elif asked.order == "headroom" and build is None:
        yield Fault(Spot("--order", 0), "headroom is that of a build; say which: `--for BUILD`")
    if asked.supplier and asked.supplier not in shop.suppliers:
        hint = nearest(asked.supplier, shop.suppliers) or f"; suppliers: {', '.join(shop.suppliers) or 'none'}"
        yield Fault(Spot("--supplier", 0), f"supplier '{asked.supplier}' is not known{hint}")


def _search(shop: Shop, goods: Goods, asked: Asked, meant: Meant, family: str) -> Matches:
    if meant.unknown:
        return Matches((), 0)
    shelf = tuple(name for name, one in shop.stock.items() if any(entry.count for entry in one.shelf))
    new = tuple(
        name
        for name in shelf
        if any(entry.condition == "new" and entry.count for entry in shop.stock[name].shelf)
    )
    wanted = Wanted(
        words=meant.words,
        sizes=meant.sizes,
        supplier=asked.supplier,
        family=family,
        among=shelf if asked.stock else None,
        rates=rates(shop),
        leads={name: one.lead.nominal / DAY for name, one in shop.suppliers.items() if one.lead is not None},
        here=new,
    )
    most = max(asked.most, TRIED) if family else asked.most
    return goods.search(wanted, "lead" if asked.order == "lead" else "price", most)


def _fitting(
    session: Session,
    build: ReadyBuild,
    asked: Asked,
    found: Found,
    system: str,
) -> Found:
    from compat.planning.fitting import FITS, fits

    hits: list[Hit] = []
    tried = 0
    for one in (hit.ware for hit in found.hits):
        if tried == TRIED or (len(hits) == asked.most and asked.order != "headroom"):
            break
        tried += 1
        places = [place for place in one.fills if found.meant.position in ("", place)]
        ways = [fits(session, build, place, system, [one.part]).candidates[0] for place in places]
        best = min(ways, key=lambda each: FITS.index(each.way))
        if best.way != "not":
            hits.append(Hit(one, best))
    if asked.order == "headroom":
        hits.sort(key=_by_headroom)
    return replace(found, hits=tuple(hits[: asked.most]), tried=tried, fitting=len(hits))


def _by_headroom(hit: Hit) -> tuple[bool, Decimal]:
    """The most first; a part that no load rule looks at comes last."""
    room = hit.fit.headroom if hit.fit is not None else None
    return room is None, -(room or Decimal(0))


def parts_of(shop: Shop, position: str, on: date) -> list[Ware]:
    """Every part made for a position, the cheapest first; what nobody sells comes last.

    Raises
    ------
    Faults
        When there is no such position.
    """
    if position not in shop.positions:
        hint = nearest(position, shop.positions)
        raise Faults([Fault(Spot("asked", 0), f"position '{position}' is not known{hint}")])
    found = [ware(shop, part, on) for part in shop.fillers[position]]
    return sorted(found, key=lambda one: (one.price is None, one.price or 0, one.part))


@dataclass(frozen=True, slots=True)
class Fillers:
    """Parts made for a position, those of some words alone."""

    parts: tuple[str, ...]
    """The cheapest first."""
    count: int
    """How many there are; of these the first are told."""
    more: bool = False
    """Whether there are at least so many."""
    meant: Meant = field(default_factory=Meant)
    """How the words were read."""


def fillers(shop: Shop, position: str, words: Sequence[str], most: int, goods: Goods | None = None) -> Fillers:
    """Find what is made for a position, by words.

    Parameters
    ----------
    shop : Shop
        The shop.
    position : str
        One of its positions.
    words : sequence of str
        As typed: names, makers, sizes; all of them must hold. None gives every part.
    most : int
        So many are given at most.
    goods : Goods, optional
        The shop's index, where it was made already.

    Returns
    -------
    Fillers
        The cheapest first; what nobody sells comes last. How they go in is not looked at.

    Raises
    ------
    Faults
        When a size is none of its spec.
    """
    goods = goods_of(shop) if goods is None else goods
    meant = read_words(shop, goods, words, places=False, begun=True) if words else Meant()
    if meant.faults:
        raise Faults(meant.faults)
    if meant.unknown:
        return Fillers((), 0, meant=meant)
    wanted = Wanted(words=(f"fills : {position}", *meant.words), sizes=meant.sizes, rates=rates(shop))
    told = goods.search(wanted, "price", most)
    return Fillers(told.parts, told.count, told.more, meant)
