"""Orders: looked at as drafts, kept under a number, printed again, a letter to each supplier."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.responses import Response

from compat.page.handing import As, Number, as_file, inside
from compat.page.showing import after, show
from compat.page.sittings import AtCounter, Sitting, Unforged, desk_of
from compat.page.table import Name, table_of
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from compat.paper.document import Document
    from compat.trade.ordered import Order
    from compat.trade.refused import Refused

__all__ = ["router"]

router = APIRouter()

Id = Annotated[str, Query(max_length=100)]
Also = Annotated[list[Id], Query(max_length=50)]
AlsoForm = Annotated[list[Annotated[str, Form(max_length=100)]], Form(max_length=50)]


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
    also: AlsoForm = [],  # noqa: B006  FastAPI copies it
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
