"""One position: what stands in it, and what else goes in, judged part by part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Path, Query, Request
from fastapi.responses import Response

from compat.library.search import goods_of
from compat.page.acts import Act, done, from_sister, saying
from compat.page.engine import concerned, origin
from compat.page.showing import show
from compat.page.sittings import AtCounter, Unforged
from compat.page.table import Table, change, table_of
from compat.page.views.builds import Id, Name, Word, money, stepping
from compat.planning.finding import Fillers, fillers
from compat.planning.fitting import FITS, Candidate, Way, best_first, fits
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Do, Fit, as_entry
from compat.shop.saying_less import from_factory, left_out
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.trade.wares import least_price
from compat.words.wording import listed

__all__ = ["router"]

router = APIRouter(prefix="/build")

MOST: Final = 24
"""So many parts are listed at once."""
MORE: Final = 600
"""So many at the most, asked for again and again."""
AT_ONCE: Final = 0.15
"""So long one answer goes on judging parts [s]; what is not judged by then is asked for by the next."""
GROUPS: Final[Mapping[Way, str]] = {
    "directly": "Goes in",
    "with more": "Goes in with more beside it",
    "not known": "Not known: what decides is not stated",
    "not": "Does not go in",
}


@dataclass(frozen=True)
class Judged:
    """Parts of a position, as far as they were looked at."""

    groups: Mapping[Way, Sequence[Candidate]]
    open: Sequence[str]
    """Parts that were not looked at yet."""


def judged(table: Table, position: str, parts: Sequence[str]) -> Judged:
    """Judge parts for as long as one answer may take; what was judged before is remembered."""
    checked = table.checked()
    known: dict[str, Candidate] = table.desk.known.of(checked, ("fits", position, table.sitting.units), dict)
    until, longest = monotonic() + AT_ONCE, 0.0
    waiting: list[str] = []
    for part in parts:
        if part in known:
            continue
        began = monotonic()
        if waiting or began + longest > until:  # the next may take as long as the longest before it
            waiting.append(part)
            continue
        found = fits(table.desk.session, table.now, position, table.sitting.units, [part])
        known[part] = found.candidates[0]
        longest = max(longest, monotonic() - began)
    candidates = sorted((known[part] for part in parts if part in known), key=best_first)
    groups = {way: [one for one in candidates if one.way == way] for way in FITS}
    return Judged(groups, waiting)


@router.get("/{name}/at/{position}")
def chooser(
    request: Request,
    sitting: AtCounter,
    name: Name,
    position: Annotated[str, Path(max_length=100)],
    q: Annotated[str, Query(max_length=200)] = "",
    most: Annotated[int, Query(ge=1, le=MORE)] = MOST,
) -> Response:
    """What stands in a position, and what else can."""
    return chooser_view(request, table_of(request, sitting, name), position, q, most)


def chooser_view(
    request: Request,
    table: Table,
    position: str,
    q: str = "",
    most: int = MOST,
    status: int = 200,
    faults: Sequence[Fault] = (),
    typed: Mapping[str, str] | None = None,
) -> Response:
    """The view of a position."""
    shop = table.now.shop
    _hold_position(table, position)
    checked = table.checked()
    settled = checked.world.settled
    here = settled.fitted.get(position)
    wrong = list(faults)
    try:
        goods = table.desk.known.of(shop, "goods", lambda: goods_of(shop))
        found = fillers(shop, position, q.split(), most, goods)
    except Faults as unread:  # a size that is none of its spec
        found = Fillers((), 0)
        wrong += unread.faults
    there = (here.part.part,) if here is not None and not q.strip() else ()
    parts = tuple(dict.fromkeys([*(part for part in there if part in shop.fillers[position]), *found.parts]))
    result = judged(table, position, parts)
    said = table.report(checked)
    own = table.now.variant.parts.get(position, "")
    sisters = [
        (variant.variant, variant.name, variant.parts[position])
        for variant in shop.variants.values()
        if position in variant.parts and variant.variant != table.now.variant.variant
    ]
    says: dict[str, Any] = {
        "table": table,
        "path": table.path,
        "draft": table.draft,
        "position": shop.positions[position],
        "here": here,
        "origin": origin(here) if here is not None else "",
        "count": settled.count(position, here.part.part) if here is not None else 0,
        "findings": [
            one for one in said.findings if one.verdict != "ok" and position in concerned(settled.book, one)
        ],
        "found": found,
        "judged": result,
        "headings": GROUPS,
        "beside": beside,
        "price": lambda part: money(table, least_price(shop, part)),
        "name_of": lambda part: shop.parts[part].name,
        "own": own,
        "sisters": sisters,
        "measurable": [(f"{position}.{name}", kind) for name, kind in shop.kinds[position].items()],
        "q": q,
        "most": most,
        "more": min(most + MOST, MORE) if found.count > most else 0,
        "faults": wrong,
        "typed": typed or {},
    }
    return show(request, "build_position.html", status, **says)


def _hold_position(table: Table, position: str) -> None:
    positions = table.now.shop.positions
    if position not in positions or position == "setup":
        hint = nearest(position, positions)
        raise Faults([Fault(Spot("position", 0), f"'{position}' is not known{hint}")])


def beside(candidate: Candidate) -> str:
    """What a candidate brings with it, in words."""
    return listed([f"{one.count} x {one.name}" if one.count > 1 else one.name for one in candidate.beside])


@router.post("/{name}/fit", dependencies=[Unforged])
def fit(
    request: Request,
    sitting: AtCounter,
    name: Name,
    position: Id,
    part: Id = "",
    extras: Annotated[str, Form(max_length=10)] = "",
    why: Word = "",
) -> Response:
    """Put another part into a position, with what it brings if that is wanted; without one it is left empty."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        shop = table.now.shop
        _hold_position(table, position)
        place = shop.positions[position].name
        if not part:
            return f"{place}: left empty", left_out(table.now, position, why.strip())
        acts: list[Act] = [as_entry(Fit(position, part))]
        told = f"{place}: {shop.parts[part].name if part in shop.parts else part}"
        if extras:
            table.now.fitting(**{position: part})  # that both are known is told before anything is tried
            candidate = judged_one(table, position, part)
            acts += [
                as_entry(Fit(one.position, one.id) if one.position else Do(one.id, one.values))
                for one in candidate.beside
            ]
            told += f", with {beside(candidate)}" if candidate.beside else ""
        return told, done(table.now, acts)

    return stepping(request, sitting, name, make, position)


def judged_one(table: Table, position: str, part: str) -> Candidate:
    """How one part goes into a position."""
    return fits(table.desk.session, table.now, position, table.sitting.units, [part]).candidates[0]


@router.post("/{name}/factory", dependencies=[Unforged])
def factory(request: Request, sitting: AtCounter, name: Name, position: Id) -> Response:
    """Put back what the variant left the factory with."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        _hold_position(table, position)
        place = table.now.shop.positions[position].name
        return f"{place}: as it left the factory", from_factory(table.now, position)

    return stepping(request, sitting, name, make, position)


@router.post("/{name}/take-from", dependencies=[Unforged])
def take_from(request: Request, sitting: AtCounter, name: Name, position: Id, variant: Id) -> Response:
    """Take the part of a sister variant."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        _hold_position(table, position)
        changed = from_sister(table.now, position, variant)
        return f"{table.now.shop.positions[position].name}: from {variant}", changed

    return stepping(request, sitting, name, make, position)


@router.post("/{name}/at/{position}", dependencies=[Unforged])
def say_here(
    request: Request,
    sitting: AtCounter,
    name: Name,
    position: Annotated[str, Path(max_length=100)],
    entry: Id,
    value: Word = "",
    word: Id = "",
) -> Response:
    """Say something of a position: how many, why it fits, who brings it, what was measured on it."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        _hold_position(table, position)
        place = table.now.shop.positions[position].name
        key = word if entry == "measured" else position
        told = value.strip()
        return f"{place}: {entry.replace('_', ' ')} {told or 'said no more'}", saying(
            table.now, entry, key, told
        )

    def refused(table: Table, faults: Sequence[Fault]) -> Response:
        return chooser_view(
            request, table, position, status=400, faults=faults, typed={f"{entry} {word}".strip(): value}
        )

    return change(request, sitting, name, make, refused, position)
