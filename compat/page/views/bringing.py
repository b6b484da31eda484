"""Bringing a list in: what would come of it first, then, when told so, into the shop's files."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from hashlib import blake2b
from typing import Annotated, Any, Final

from fastapi import APIRouter, File, Form, HTTPException, Request, UploadFile
from fastapi.responses import Response
from markupsafe import Markup

from compat.lists.bringing import Asked, bring, bring_back
from compat.lists.comparing import Bringing
from compat.lists.maps import keep_map, map_path, maps_of
from compat.lists.memory import FOLDER
from compat.page.desk import Desk
from compat.page.showing import after, show
from compat.page.sittings import AtCounter, Sitting, Unforged, desk_of
from compat.page.uploads import Uploads, Waiting
from compat.shop.source import Fault, Faults, Spot

__all__ = ["router"]

router = APIRouter(prefix="/bring")

OWN: Final = "own"
GUESS: Final = "guess"
"""What is chosen in place of a mapping of the shop, whose names all end in .yaml."""
MOST_ROWS: Final = 200
MOST_MAP: Final = 100_000
ON_THE_PAGE: Final = "mapping"
"""How messages name a mapping that is written on the page."""

DEMO: Final = (
    "The demo shop comes with the program and stays as it is; lists go into your own: compat serve --shop DIR"
)

Word = Annotated[str, Form(max_length=100)]
Day = Annotated[str, Form(max_length=20)]


def _uploads(request: Request) -> Uploads:
    uploads: Uploads = request.app.state.uploads
    return uploads


def _waiting(request: Request, sitting: Sitting) -> Waiting:
    waiting = _uploads(request).of(sitting.key)
    if waiting is None:
        raise HTTPException(404)
    return waiting


def _day(name: str, text: str) -> date | None:
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        told = f"'{text}' is no day; write year-month-day, like 2026-11-30"
        raise Faults([Fault(Spot(name, 0), told)]) from None


@router.get("")
def ask(request: Request, sitting: AtCounter) -> Response:
    """Ask for a list and how it is to be understood."""
    desk = desk_of(request)
    return show(
        request,
        "bring.html",
        maps=maps_of(desk.folder),
        suppliers=list(desk.library.shop.suppliers.values()),
        demo=DEMO if desk.is_demo else "",
        waiting=_uploads(request).of(sitting.key),
    )


@router.post("", dependencies=[Unforged])
def take_up(
    request: Request,
    sitting: AtCounter,
    file: Annotated[UploadFile, File()],
    by: Word,
    supplier: Word = "",
    dated: Day = "",
    until: Day = "",
) -> Response:
    """Keep a list, to be looked at; nothing of the shop changes."""
    from compat.lists.guessing import guessed

    desk, uploads = desk_of(request), _uploads(request)
    days = _day("Day of the list", dated), _day("Holds until", until)
    if not file.filename:
        raise Faults([Fault(Spot("List", 0), "choose a file: CSV or XLSX")])
    if by not in (OWN, GUESS):
        map_path(desk.folder, by)
    waiting = uploads.put(sitting.key, file.filename, file.file.read())
    said = replace(waiting, day=days[0], expires=days[1], own=by == OWN)
    if by == GUESS:
        try:
            text = guessed(waiting.file, supplier, desk.library.shop, waiting.file.name)
        except Faults:
            uploads.drop(sitting.key)
            raise
        said = replace(said, map_text=text)
    elif by != OWN:
        said = replace(said, map_name=by)
    uploads.keep(sitting.key, said)
    return after(request, "/bring/look")


@router.get("/look")
def look(request: Request, sitting: AtCounter) -> Response:
    """What would come of the list that waits."""
    from compat.paper.bringing import bringing_document
    from compat.paper.formats.page import body

    desk, waiting = desk_of(request), _waiting(request, sitting)
    says: dict[str, Any] = {"faults": (), "paper": "", "seen": "", "unread": 0, "changes": False}
    try:
        found, _ = _brought(desk, waiting)
    except Faults as wrong:
        says["faults"] = wrong.faults
    else:
        document = bringing_document(found, most=MOST_ROWS, typed=False)
        says |= {"paper": Markup(body(document)), "seen": _seen(found)}
        says |= {"unread": len(found.unread), "changes": found.changes}
    return show(request, "bring_look.html", waiting=waiting, demo=DEMO if desk.is_demo else "", **says)


@router.post("/look", dependencies=[Unforged])
def say(
    request: Request,
    sitting: AtCounter,
    mapping: Annotated[str, Form(max_length=MOST_MAP)] = "",
    dated: Day = "",
    until: Day = "",
    over: Annotated[bool, Form()] = False,
) -> Response:
    """Say otherwise how the list is to be understood, and look again."""
    waiting = _waiting(request, sitting)
    changed = replace(
        waiting,
        day=_day("Day of the list", dated),
        expires=_day("Holds until", until),
        over=over,
        map_text=mapping.replace("\r\n", "\n") if waiting.map_text and mapping.strip() else waiting.map_text,
    )
    _uploads(request).keep(sitting.key, changed)
    return after(request, "/bring/look")


@router.post("/take", dependencies=[Unforged])
def take(
    request: Request,
    sitting: AtCounter,
    seen: Word,
    despite_unread: Annotated[bool, Form()] = False,
    keep: Annotated[bool, Form()] = False,
) -> Response:
    """Write what comes of the list into the shop's files: all of it, or nothing."""
    from compat.lists.writing import write_bringing

    desk, waiting = desk_of(request), _waiting(request, sitting)
    if desk.is_demo:
        raise HTTPException(403, DEMO)
    found, into = _brought(desk, waiting)
    if _seen(found) != seen:
        told = "the shop or the list is other than when you looked; nothing was written, look again"
        raise Faults([Fault(Spot(waiting.file.name, 0), told)])
    if found.unread and not despite_unread:
        told = "some of it cannot be read; nothing was written, say that the rest is to be brought"
        raise Faults([Fault(Spot(waiting.file.name, 0), told)])
    written = write_bringing(found, desk.library.shop, desk.folder, into)
    if keep and waiting.map_text:
        written += [file for file in [keep_map(desk.folder, found.list, waiting.map_text)] if file]
    desk.look_again()
    _uploads(request).drop(sitting.key)
    sitting.told.append(f"Written: {', '.join(written)}." if written else "There was nothing to write.")
    return after(request, "/bring")


@router.post("/drop", dependencies=[Unforged])
def drop(request: Request, sitting: AtCounter) -> Response:
    """Forget the list that waits."""
    _uploads(request).drop(sitting.key)
    sitting.told.append("The list was put away; nothing was written.")
    return after(request, "/bring")


def _brought(desk: Desk, waiting: Waiting) -> tuple[Bringing, str]:
    shop, shown = desk.library.shop, waiting.file.name
    if waiting.own:
        return bring_back(waiting.file, shop, over=waiting.over, shown=shown)
    if waiting.map_name:
        by, shown_map = map_path(desk.folder, waiting.map_name), f"{FOLDER}/{waiting.map_name}"
    else:
        by, shown_map = waiting.map_file, ON_THE_PAGE
        by.write_text(waiting.map_text, encoding="utf-8")
    asked = Asked(waiting.day, waiting.expires, waiting.over, shown, shown_map)
    return bring(waiting.file, by, shop, desk.folder, asked)


def _seen(found: Bringing) -> str:
    """What was looked at, to be known again when it is taken in."""
    parts = found.new, found.changed, found.gone, found.kept, found.unread, found.day, found.expires
    return blake2b(repr(parts).encode(), digest_size=16).hexdigest()
