"""Quote, order and sheet: looked at as drafts, kept under a number, printed again."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Form, HTTPException, Path, Query, Request
from fastapi.responses import Response

from compat.page.at_bench import bench_of
from compat.page.desk import Desk
from compat.page.handing import NUMBER, As, as_file, inside
from compat.page.showing import after, show
from compat.page.sittings import AtBench, AtCounter, Sitting, Unforged, desk_of
from compat.page.slowly import Slowly, doubted
from compat.page.table import table_of
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from compat.paper.document import Document
    from compat.trade.ordered import Order
    from compat.trade.quote import Quoted
    from compat.trade.quoted import Quote
    from compat.trade.refused import Refused

__all__ = ["router"]

router = APIRouter()

Name = Annotated[str, Path(max_length=100)]
Number = Annotated[str, Path(pattern=NUMBER)]
Also = Annotated[list[Annotated[str, Query(max_length=100)]], Query(max_length=50)]
AlsoForm = Annotated[list[Annotated[str, Form(max_length=100)]], Form(max_length=50)]
Id = Annotated[str, Query(max_length=100)]

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


# quotes


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
def quotes(request: Request, sitting: AtCounter, build: Id = "") -> Response:
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


# orders


def _ordered(
    request: Request, sitting: Sitting, names: list[str], soonest: bool, despite: bool, unknown: bool, old: bool
) -> tuple[Order | None, list[Refused]]:
    """The order of some builds; none where something stands against one of them."""
    from compat.trade.order import make_order
    from compat.trade.refused import refused
    from compat.words.reporting import report

    tables = [table_of(request, sitting, name) for name in dict.fromkeys(names)]
    checked = [table.checked() for table in tables]
    builds = [(each, report(each, sitting.units)) for each in checked]
    against = refused(builds, accept_unknown=unknown)
    if against and not despite:
        return None, against
    return make_order(builds, "soonest" if soonest else "cost", on=date.today(), old_prices=old), against


@router.get("/order/{name}")
def order(
    request: Request,
    sitting: AtCounter,
    name: Name,
    also: Also = [],  # noqa: B006  FastAPI copies it
    soonest: bool = False,
    despite: bool = False,
    unknown: bool = False,
    old: bool = False,
    supplier: Id = "",
    ending: As = "",
) -> Response:
    """What one build or several buy, as a draft."""
    desk = desk_of(request)
    made, against = _ordered(request, sitting, [name, *also], soonest, despite, unknown, old)
    if ending and made is None:
        raise HTTPException(403, f"{against[0].why}, so nothing is ordered")
    if ending and made is not None:
        return _order_file(request, made, supplier, ending, f"order-{name}-draft")
    chosen = {"also": also, "soonest": soonest, "despite": despite, "unknown": unknown, "old": old}
    others = [build for build in desk.library.shop.builds.values() if build.build != name]
    paper = inside(_order_paper(made, supplier)) if made is not None else None
    return show(
        request, "order.html", name=name, order=made, paper=paper, against=against, others=others,
        chosen=chosen, supplier=supplier, again=_again(chosen),
    )  # fmt: skip


def _again(chosen: dict[str, Any]) -> str:
    """What was chosen, as it stands in an address."""
    from urllib.parse import urlencode

    said = [("also", one) for one in chosen["also"]]
    said += [(key, "yes") for key in ("soonest", "despite", "unknown", "old") if chosen[key]]
    return urlencode(said)


@router.post("/order/{name}", dependencies=[Unforged])
def keep_order(
    request: Request,
    sitting: AtCounter,
    name: Name,
    also: AlsoForm = [],  # noqa: B006
    soonest: Annotated[bool, Form()] = False,
    despite: Annotated[bool, Form()] = False,
    unknown: Annotated[bool, Form()] = False,
    old: Annotated[bool, Form()] = False,
) -> Response:
    """Keep the order under a number of its own."""
    from compat.trade.numbered import numbered_order

    desk = desk_of(request)
    made, against = _ordered(request, sitting, [name, *also], soonest, despite, unknown, old)
    if made is None:
        raise Faults([Fault(Spot("", 0), f"{one.why}, so nothing is ordered") for one in against])
    if not made.suppliers:
        raise Faults([Fault(Spot("", 0), "nothing is bought for this, so there is no order to keep")])
    number = numbered_order(desk.library, made).number
    sitting.told.append(f"Kept as {number}.")
    return after(request, f"/orders/{number}")


@router.get("/orders")
def orders(request: Request, sitting: AtCounter) -> Response:
    """The kept orders."""
    from compat.trade.frozen import numbers
    from compat.trade.numbered import kept_order, kept_orders

    library = desk_of(request).library
    where, found, faults = kept_orders(library), [], []
    for number in reversed(numbers(where)) if where.is_dir() else ():
        try:
            found.append(kept_order(library, number))
        except Faults as wrong:
            faults += wrong.faults
    return show(request, "orders.html", orders=found, faults=faults)


@router.get("/orders/{number}")
def one_order(
    request: Request, sitting: AtCounter, number: Number, supplier: Id = "", ending: As = ""
) -> Response:
    """A kept order, as it was given; with a supplier the letter to it alone."""
    from compat.trade.numbered import kept_order

    given = kept_order(desk_of(request).library, number)
    if ending:
        return _order_file(request, given, supplier, ending, f"order-{number}")
    return show(
        request, "order.html", name="", order=given, paper=inside(_order_paper(given, supplier)), against=[],
        others=[], chosen={}, supplier=supplier, again="",
    )  # fmt: skip


def _order_paper(order: Order, supplier: str) -> Document:
    from compat.paper.ordering import letter_document, order_document

    if not supplier:
        return order_document(order)
    if supplier not in [one.supplier for one in order.suppliers]:
        raise HTTPException(404)
    return letter_document(order, supplier)


def _order_file(request: Request, order: Order, supplier: str, ending: str, called: str) -> Response:
    from compat.paper.order_x import order_xml

    document = _order_paper(order, supplier)
    if ending == "xml" and not supplier:
        raise HTTPException(403, "an XML order goes to one supplier: choose its letter first")
    also = {".xml": lambda _: order_xml(order, supplier)} if supplier else {}
    return as_file(request, document, ending, f"{called}-{supplier}" if supplier else called, also)


# the sheet


@router.get("/sheet/{name}")
def sheet(
    request: Request,
    sitting: AtBench,
    name: Name,
    despite: bool = False,
    whole: bool = False,
    ending: As = "",
    form: Literal["xlsx", "csv", ""] = "",
) -> Response:
    """The bench sheet, to look at, save and print; with a form the table of what is to be measured."""
    from compat.bench.sheet import bench_sheet
    from compat.paper.sheet import sheet_document
    from compat.paper.sheet_form import measured_form

    desk = desk_of(request)
    if sitting.role == "counter":
        checked = table_of(request, sitting, name).checked()
    else:
        # the bench builds what is saved, whatever lies on the counter
        checked = bench_of(desk, name, sitting.units).checked
    made = bench_sheet(checked, sitting.units, whole=whole)
    against = [finding for finding in made.against if finding.verdict != "unknown"]
    count = f"{len(against)} finding{'s' * (len(against) != 1)} against it"
    why = f"{made.report.build} does not go together: {count}, so no sheet is given"
    refused = not made.clean and not despite
    if refused and (ending or form):
        raise HTTPException(403, why)
    info, today = desk.library.shop.info, date.today()
    if form:
        document = measured_form(made, info, sitting.units, today)
        return as_file(request, document, form, f"measured-{made.report.build}")
    document = sheet_document(made, info, sitting.units, today)
    if ending == "xml":
        raise HTTPException(404)
    if ending:
        return as_file(request, document, ending, f"sheet-{made.report.build}")
    return show(
        request, "sheet.html", name=name, made=made, against=against, why=why if refused else "", whole=whole,
        despite=despite, paper=None if refused else inside(document),
    )  # fmt: skip
