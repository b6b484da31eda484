"""Two builds side by side."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from markupsafe import Markup

from compat.page.handing import inside
from compat.page.showing import show
from compat.page.sittings import AtCounter, desk_of
from compat.paper.comparing import comparison_document

__all__ = ["router"]

router = APIRouter()

Id = Annotated[str, Query(max_length=100)]


@router.get("/compare")
def compare(request: Request, sitting: AtCounter, a: Id = "", b: Id = "") -> Response:
    """Parts, work, findings, loads, price and hours of two builds, each as it stands on the table."""
    from compat.planning.comparing import compare as compared

    desk = desk_of(request)
    shop, session = desk.library.shop, desk.session
    names = {name: build.name for name, build in shop.builds.items()}
    names |= {name: variant.name for name, variant in shop.variants.items()}
    sheet = Markup()
    if a and b:
        first, second = (session.check(sitting.draft(desk, name).now) for name in (a, b))
        today = date.today()
        found = compared(first, second, today, sitting.units)
        sheet = inside(comparison_document(found, today, sitting.units))
    return show(request, "compare.html", names=names, a=a, b=b, sheet=sheet)
