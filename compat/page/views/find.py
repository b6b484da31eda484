"""Parts: found by words and sizes, listed by position and shelf, and each with what is said of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Final, Literal

from fastapi import APIRouter, HTTPException, Path, Query, Request
from fastapi.responses import Response

from compat.library.search import goods_of
from compat.page.showing import show
from compat.page.sittings import AtCounter, desk_of
from compat.page.slowly import Slowly, found_for
from compat.paper.counter import here_text, price_text
from compat.planning.finding import Asked, Found, Hit, fillers, find
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.trade.wares import Ware, ware

if TYPE_CHECKING:
    from compat.shop.models import Price

__all__ = ["router"]

router = APIRouter()

MOST: Final = 1000
FIRST: Final = 50
LISTED: Final = 100
"""So many parts of a position are listed, until more are asked for."""

Id = Annotated[str, Path(max_length=100)]


@dataclass(frozen=True, slots=True)
class Line:
    """A part in a line."""

    ware: Ware
    price: str
    here: str
    way: str = ""
    """On a build: how it goes in."""
    with_: tuple[str, ...] = ()
    headroom: str = ""


@dataclass(frozen=True, slots=True)
class Said:
    """A spec of a part: what it says, and who says it."""

    name: str
    value: str
    basis: str
    note: str


@dataclass(frozen=True, slots=True)
class Offered:
    """An offer of a part."""

    offer: Price
    days: int | None
    each: str


def _currency(shop: Shop) -> str:
    return shop.info.currency if shop.info is not None else ""


def _lines(shop: Shop, hits: Sequence[Hit]) -> Iterator[Line]:
    currency = _currency(shop)
    for hit in hits:
        line = price_text(hit.ware, currency), here_text(hit.ware)
        if hit.fit is None:
            yield Line(hit.ware, *line)
            continue
        from compat.paper.fitting import says

        room = "" if hit.fit.headroom is None else f"{hit.fit.headroom:.0%}"
        yield Line(hit.ware, *line, hit.fit.way, tuple(says(hit.fit)), room)


def _gone_by(wares: Sequence[Ware]) -> dict[str, date]:
    """Suppliers whose prices held until a day that is gone by."""
    return {one.supplier: one.expired for one in wares if one.expired is not None}


@router.get("/find")
def search(
    request: Request,
    sitting: AtCounter,
    words: Annotated[str, Query(max_length=300)] = "",
    build: Annotated[str, Query(max_length=100, alias="for")] = "",
    order: Annotated[Literal["price", "lead", "headroom"], Query()] = "price",
    supplier: Annotated[str, Query(max_length=100)] = "",
    stock: Annotated[bool, Query()] = False,
    most: Annotated[int, Query(ge=1, le=MOST)] = FIRST,
) -> Response:
    """Parts by words, codes, sizes, supplier and shelf, and by what goes into a build."""
    desk = desk_of(request)
    shop = desk.library.shop
    asked = Asked(tuple(words.split()), date.today(), order, most, supplier, stock)
    found: Found | None = None
    looked = bool(words.strip() or build or supplier or stock)
    if build:
        ready = sitting.draft(desk, build).now
        slowly: Slowly = request.app.state.slowly
        found = slowly.look(sitting.key, found_for, desk.session, ready, asked, sitting.units)
    elif looked:
        found = find(shop, asked)
    hits = found.hits if found is not None else ()
    return show(
        request,
        "find.html",
        asked=asked,
        words=words,
        build=build,
        looked=looked,
        found=found,
        lines=list(_lines(shop, hits)),
        gone_by=_gone_by([hit.ware for hit in hits]),
        shop=shop,
    )


@router.get("/parts")
def positions(request: Request, sitting: AtCounter) -> Response:
    """Every position, by its system, with how many parts are made for it."""
    shop = desk_of(request).library.shop
    systems: dict[str, list[tuple[str, str, int]]] = {}
    for name, position in shop.positions.items():
        count = len(shop.indexes.fillers.get(name, ()))
        systems.setdefault(position.system, []).append((name, position.name, count))
    return show(request, "positions.html", systems=systems)


@router.get("/parts/{position}")
def parts(
    request: Request, sitting: AtCounter, position: Id, most: Annotated[int, Query(ge=1, le=MOST)] = LISTED
) -> Response:
    """The parts made for a position, the cheapest first; a large shop has thousands, so the first ones."""
    desk = desk_of(request)
    shop = desk.library.shop
    if position not in shop.positions:
        raise HTTPException(404)
    goods = desk.known.of(shop, "goods", lambda: goods_of(shop))
    found = fillers(shop, position, (), most, goods)
    wares = [ware(shop, part, date.today()) for part in found.parts]
    return show(
        request,
        "parts.html",
        position=shop.positions[position],
        lines=list(_lines(shop, [Hit(one) for one in wares])),
        gone_by=_gone_by(wares),
        count=found.count,
        more=MOST if most < MOST and found.count > most else 0,
    )


@router.get("/stock")
def stock(request: Request, sitting: AtCounter) -> Response:
    """What lies on the shelf, piece by piece, with its place."""
    shop = desk_of(request).library.shop
    entries = [(name, shop.parts[name].name, piece) for name, one in shop.stock.items() for piece in one.shelf]
    return show(request, "stock.html", entries=sorted(entries, key=lambda entry: entry[0]))


@router.get("/part/{part}")
def one_part(request: Request, sitting: AtCounter, part: Id) -> Response:
    """A part: what it states and who says so, what it costs, and where it stands."""
    from compat.paper.entries import part_ties, unstated
    from compat.planning.history import history
    from compat.trade.numbered import kept_quotes

    library = desk_of(request).library
    shop = library.shop
    if part not in shop.parts:
        raise HTTPException(404)
    found = history(shop, part, kept_quotes(library), date.today())
    return show(
        request,
        "part.html",
        part=shop.parts[part],
        spot=shop.spot("part", part),
        ware=found.ware,
        price=price_text(found.ware, _currency(shop)),
        here=here_text(found.ware),
        offers=list(_offers(shop, part)),
        gone_by=_gone_by([found.ware]),
        shelf=shop.stock[part].shelf if part in shop.stock else (),
        specs=list(_specs(shop, part, sitting.units)),
        unstated=unstated(shop, shop.parts[part]),
        ties=list(part_ties(shop.parts[part])),
        history=found,
        positions={name: shop.positions[name].name for name in shop.parts[part].fills},
        money=Money,
    )


def _specs(shop: Shop, part: str, system: str) -> Iterator[Said]:
    from compat.paper.entries import stated, value_text
    from compat.words.wording import plain

    for name, kind, spec in stated(shop, shop.parts[part]):
        yield Said(plain(name), value_text(kind, spec, system), spec.basis, spec.note)


def _offers(shop: Shop, part: str) -> Iterator[Offered]:
    from compat.trade.money import round_money
    from compat.trade.wares import days_of, each_in_own

    info = shop.info
    for offer in shop.parts[part].sold_by:
        each, said = each_in_own(shop, offer), ""
        if info is not None and each is not None and offer.price.currency != info.currency:
            said = str(Money(round_money(info, each), info.currency))
        yield Offered(offer, days_of(shop, offer), said)
