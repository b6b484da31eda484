"""The first view: the shop's builds, and where to go from here."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response

from compat.page.showing import show
from compat.page.sittings import AtCounter, desk_of
from compat.paper.entries import goal_said

__all__ = ["router"]

router = APIRouter()


@router.get("/")
def first(request: Request, sitting: AtCounter) -> Response:
    """The shop's builds and variants."""
    shop = desk_of(request).library.shop
    return show(
        request, "first.html", builds=list(shop.builds.values()), variants=list(shop.variants.values()),
        goal_said=goal_said,
    )  # fmt: skip
