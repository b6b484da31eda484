"""Signing in and out, where the page has passwords."""

from __future__ import annotations

import asyncio
from time import monotonic
from typing import Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from compat.page.guesses import Guesses
from compat.page.passwords import MOST, is_right
from compat.page.settings import Role
from compat.page.showing import after, own_path, show
from compat.page.sittings import AnySitting, Sittings, Unforged, desk_of

__all__ = ["router"]

router = APIRouter()

AT_LEAST: Final = 0.4
"""How long an answer takes, right or wrong [s]: it is not told by the time."""

FIRST_VIEW: Final[dict[Role, str]] = {"counter": "/", "bench": "/bench"}


@router.get("/sign-in")
def ask(request: Request, sitting: AnySitting, back: Annotated[str, Query(max_length=300)] = "") -> Response:
    """Ask who it is."""
    passwords = request.app.state.settings.passwords
    if not passwords:
        return after(request, "/")
    return show(request, "sign_in.html", roles=list(passwords), role="counter", back=back, wrong="")


@router.post("/sign-in", dependencies=[Unforged])
async def sign_in(
    request: Request,
    sitting: AnySitting,
    role: Annotated[Role, Form()],
    password: Annotated[str, Form(max_length=MOST)],
    back: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """Hold a password against its hash; right, it begins a new sitting."""
    passwords = request.app.state.settings.passwords
    if not passwords:
        return after(request, "/")
    guesses: Guesses = request.app.state.guesses
    address = request.client.host if request.client else ""
    wait = guesses.take(address)
    if wait:
        told = (
            f"Too many passwords were tried. Wait {wait / 60:.0f} minutes."
            if wait >= 90
            else ("Too many passwords were tried. Wait a minute.")
        )
        return show(request, "sign_in.html", 429, roles=list(passwords), role=role, back=back, wrong=told)
    began = monotonic()
    right = await asyncio.to_thread(is_right, passwords.get(role), password)
    await asyncio.sleep(max(0.0, AT_LEAST - (monotonic() - began)))
    if not right:
        told = "That is not the password. Nothing was changed."
        return show(request, "sign_in.html", 403, roles=list(passwords), role=role, back=back, wrong=told)
    guesses.was_right(address)
    sittings: Sittings = request.app.state.sittings
    sittings.end(sitting)
    new = sittings.begin(role, signed_in=True)
    new.units, new.theme = sitting.units, sitting.theme
    if sittings.keeping is not None:  # what was on the table when the page was started again
        new.drafts = sittings.keeping.given_back(sitting.key, new.key, desk_of(request).library.shop)
    request.state.sitting = request.state.new_sitting = new
    return after(request, own_path(back) if back and role == "counter" else FIRST_VIEW[role])


@router.post("/sign-out", dependencies=[Unforged])
def sign_out(request: Request, sitting: AnySitting) -> Response:
    """End the sitting; the builds on its table go with it."""
    request.app.state.sittings.end(sitting)
    answer = after(request, "/sign-in")
    answer.delete_cookie(
        request.app.state.sittings.cookie,
        path="/",
        secure=request.app.state.settings.secure,
        httponly=True,
        samesite="strict",
    )
    return answer
