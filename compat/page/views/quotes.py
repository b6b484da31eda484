"""Quotes: looked at as drafts, kept under a number, printed again, held against today."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Final

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import Response

from compat.page.desk import Desk
from compat.page.handing import As, Number, as_file, inside
from compat.page.showing import after, show
from compat.page.sittings import AtCounter, Sitting, Unforged, desk_of
from compat.page.slowly import Slowly, doubted
from compat.page.table import Name, table_of
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from compat.paper.document import Document
    from compat.trade.quote import Quoted
    from compat.trade.quoted import Quote

__all__ = ["router"]

router = APIRouter()

PATIENCE: Final = 30.0
"""How long a file, or a number, is waited for that hangs on what is still being worked out [s]."""


def _planned(request: Request, sitting: Sitting, name: str) -> Quoted:
    """The quote of a build as it stands in a sitting, but for what is in doubt."""
    from compat.trade.quote import quote_without_doubts

    table = table_of(request, sitting, name)
    desk, today = table.desk, date.today()
    # looked at, saved in several formats and kept: made once
    return desk.known.of(
        table.now, ("quote", today), lambda: quote_without_doubts(desk.session, table.now, today)
    )


def _whole(request: Request, sitting: Sitting, planned: Quoted, patience: float | None = None) -> Quoted | None:
    """A quote with what is in doubt; None while that is being worked out: many parts are tried for it."""
    if not planned.in_doubt:
        return planned
    desk, ready = desk_of(request), planned.checked.world.settled.ready
    slowly: Slowly = request.app.state.slowly
    doubts = slowly.look(sitting.key, doubted, desk.session, ready, patience=patience)
    return None if doubts is None else planned.doubting(*doubts)


def _waited_for(request: Request, sitting: Sitting, planned: Quoted) -> Quoted:
    """A quote with what is in doubt, for who cannot be told to look again."""
    whole = _whole(request, sitting, planned, PATIENCE)
    if whole is None:
        told = "is still being worked out; ask again in a moment"
        raise Faults([Fault(Spot(f"quote of {planned.quote.build}", 0), told)])
    return whole


def _still(request: Request, planned: Quoted) -> Response:
    """What is shown while a quote is being worked out: it asks again by itself."""
    address = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return show(request, "quote_waits.html", quote=planned.quote, address=address)


def _quote_paper(quote: Quote, *, own: bool) -> tuple[Document, str]:
    """A quote as a document, and what a file of it is called."""
    from compat.paper.quoting import quote_document

    named = quote.number or f"{quote.build}-draft"
    return quote_document(quote, own=own), f"quote-{named}{'-own-copy' * own}"


@router.get("/quote/{name}")
def quote(request: Request, sitting: AtCounter, name: Name, despite: bool = False, ending: As = "") -> Response:
    """The quote of a build as it stands in this sitting, a draft."""
    return _draft(request, sitting, name, despite, ending, own=False)


@router.get("/quote/{name}/own")
def own_copy(
    request: Request, sitting: AtCounter, name: Name, despite: bool = False, ending: As = ""
) -> Response:
    """The shop's own copy of it: cost, supplier, what else could be had. Never for the customer's eyes."""
    return _draft(request, sitting, name, despite, ending, own=True)


def _draft(request: Request, sitting: Sitting, name: str, despite: bool, ending: str, *, own: bool) -> Response:
    planned = _planned(request, sitting, name)
    made = planned.quote
    if made.against and not despite:
        if ending:
            raise HTTPException(403, _refusal(made))
        return show(
            request, "quote.html", quote=made, paper=None, own=own, despite=False, refusal=_refusal(made)
        )
    if ending:
        document, called = _quote_paper(_waited_for(request, sitting, planned).quote, own=own)
        return as_file(request, document, _own_format(ending), called)
    whole = _whole(request, sitting, planned)
    if whole is None:
        return _still(request, planned)
    made = whole.quote
    document, _ = _quote_paper(made, own=own)
    return show(request, "quote.html", quote=made, paper=inside(document), own=own, despite=despite, refusal="")


def _refusal(quote: Quote) -> str:
    count = len(quote.against)
    found = f"{count} finding{'s' * (count != 1)} against it"
    return f"{quote.build} does not go together: {found}, so no quote is given"


def _own_format(ending: str) -> str:
    if ending == "xml":
        raise HTTPException(404)
    return ending


@router.post("/quote/{name}", dependencies=[Unforged])
def keep_quote(
    request: Request, sitting: AtCounter, name: Name, despite: Annotated[bool, Form()] = False
) -> Response:
    """Keep the quote under a number of its own."""
    from compat.trade.numbered import numbered_quote

    desk = desk_of(request)
    planned = _planned(request, sitting, name)
    if planned.quote.against and not despite:
        raise Faults([Fault(Spot("", 0), _refusal(planned.quote))])
    number = numbered_quote(desk.library, _waited_for(request, sitting, planned)).number
    sitting.told.append(f"Kept as {number}.")
    return after(request, f"/quotes/{number}")


@router.get("/quotes")
def quotes(request: Request, sitting: AtCounter, build: Annotated[str, Query(max_length=100)] = "") -> Response:
    """The kept quotes."""
    from compat.trade.filed import filed, records
    from compat.trade.numbered import kept_quotes

    kept, faults = records(kept_quotes(desk_of(request).library))
    found = sorted(map(filed, kept), key=lambda one: (one.on, one.number), reverse=True)
    listed = [one for one in found if build in ("", one.build)]
    return show(request, "quotes.html", quotes=listed, faults=faults, build=build, today=date.today())


@router.get("/quotes/{number}")
def kept_quote(request: Request, sitting: AtCounter, number: Number, ending: As = "") -> Response:
    """A kept quote, as it was given."""
    return _kept(request, number, ending, own=False)


@router.get("/quotes/{number}/own")
def kept_own_copy(request: Request, sitting: AtCounter, number: Number, ending: As = "") -> Response:
    """The shop's own copy of a kept quote."""
    return _kept(request, number, ending, own=True)


def _kept(request: Request, number: str, ending: str, *, own: bool) -> Response:
    from compat.trade.snapshot import quote_of

    desk = desk_of(request)
    given = quote_of(_record(desk, number)["quote"])
    document, called = _quote_paper(given, own=own)
    if ending:
        return as_file(request, document, _own_format(ending), called)
    shop = desk.library.shop
    stands = given.build in shop.builds or given.build in shop.variants
    return show(request, "quote.html", quote=given, paper=inside(document), own=own, stands=stands, refusal="")


def _record(desk: Desk, number: str) -> dict[str, Any]:
    from compat.trade.frozen import kept
    from compat.trade.numbered import kept_quotes

    return kept(kept_quotes(desk.library), number)


@router.get("/quotes/{number}/since")
def since(request: Request, sitting: AtCounter, number: Number, ending: As = "") -> Response:
    """What has changed since a quote was given, by the build as it stands in this sitting."""
    from compat.paper.changed import changes_document
    from compat.trade.against import changes
    from compat.trade.numbered import quote_record

    desk = desk_of(request)
    before = _record(desk, number)
    planned = _planned(request, sitting, before["quote"]["build"])
    whole = _waited_for(request, sitting, planned) if ending else _whole(request, sitting, planned)
    if whole is None:
        return _still(request, planned)
    now = quote_record(whole)
    document = changes_document(changes(before, now), now["quote"], before["quote"])
    if ending:
        return as_file(request, document, _own_format(ending), f"since-{number}")
    build = before["quote"]["build"]
    return show(request, "since.html", number=number, build=build, paper=inside(document))
