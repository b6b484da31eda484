"""How one person wants the page: units and theme."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from compat.page.showing import after, own_path
from compat.page.sittings import AtBench, Unforged

__all__ = ["router"]

router = APIRouter()


@router.post("/own", dependencies=[Unforged])
def choose(
    request: Request,
    sitting: AtBench,
    units: Annotated[Literal["metric", "imperial", ""], Form()] = "",
    theme: Annotated[Literal["dark", "light", "as the browser", ""], Form()] = "",
    back: Annotated[str, Form(max_length=300)] = "/",
) -> Response:
    """Choose units or theme, and go on where one was."""
    sitting.units = units or sitting.units
    if theme:
        sitting.theme = "" if theme == "as the browser" else theme
    return after(request, own_path(back))
