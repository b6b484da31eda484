"""One build: what stands in each position, what speaks against it, and changing it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Request
from fastapi.responses import Response

from compat.page.showing import after, show
from compat.page.sittings import AtCounter, Unforged, desk_of
from compat.words.reporting import report

__all__ = ["router"]

router = APIRouter(prefix="/build")

Name = Annotated[str, Path(max_length=100)]
Id = Annotated[str, Form(max_length=100)]


@router.get("/{name}")
def build(request: Request, sitting: AtCounter, name: Name) -> Response:
    """The build as it stands, checked."""
    desk = desk_of(request)
    draft = sitting.draft(desk, name)
    checked = desk.session.check(draft.now)
    said = report(checked, sitting.units, fine=False)
    return show(request, "build.html", draft=draft, checked=checked, said=said)


@router.post("/{name}/fit", dependencies=[Unforged])
def fit(request: Request, sitting: AtCounter, name: Name, position: Id, part: Id = "") -> Response:
    """Put another part into a position; without a part it is left empty."""
    desk = desk_of(request)
    draft = sitting.draft(desk, name)
    shop = desk.library.shop
    with draft.lock:
        changed = draft.now.fitting(**{position: part or None})
        place = shop.positions[position].name
        draft.take(f"{place}: {shop.parts[part].name if part else 'left out'}", changed)
    return after(request, f"/build/{name}#{position}")


@router.post("/{name}/undo", dependencies=[Unforged])
def undo(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Take the last step back."""
    said = sitting.draft(desk_of(request), name).undo()
    sitting.told.append(f"Taken back: {said}" if said else "There is nothing to take back.")
    return after(request, f"/build/{name}")


@router.post("/{name}/redo", dependencies=[Unforged])
def redo(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Do again what was taken back."""
    said = sitting.draft(desk_of(request), name).redo()
    sitting.told.append(f"Done again: {said}" if said else "There is nothing to do again.")
    return after(request, f"/build/{name}")
