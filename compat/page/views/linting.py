"""The whole shop looked over: faults and oversights, each with its file, which is shown at that line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import Response

from compat.page.showing import show
from compat.page.sittings import AtCounter, desk_of
from compat.page.slowly import Slowly, linted

if TYPE_CHECKING:
    from compat.checking.lint import Remark
    from compat.shop.source import Fault

__all__ = ["router"]

router = APIRouter(prefix="/lint")

MOST_SHOWN: Final = 500
AROUND: Final = 60
"""Lines of a file that are shown before and after the one that is asked for."""


@dataclass(frozen=True, slots=True)
class Told:
    """A fault or a remark, and whether its file can be shown."""

    file: str
    line: int
    column: int
    message: str
    linked: bool


def _told(found: list[Fault] | list[Remark], files: frozenset[str]) -> list[Told]:
    return [
        Told(one.spot.file, one.spot.line, one.spot.column, one.message, one.spot.file in files)
        for one in found[:MOST_SHOWN]
    ]


@router.get("")
def lint(request: Request, sitting: AtCounter) -> Response:
    """Everything wrong in the shop's files, and what looks like an oversight."""
    from compat.library.sources import look

    desk = desk_of(request)
    library, faults = desk.library, list(desk.faults)
    slowly: Slowly = request.app.state.slowly
    remarks = slowly.look(sitting.key, linted, desk.session)
    files = frozenset(name for name, _ in look(desk.folder))
    shop, book = library.shop, library.book
    return show(
        request,
        "lint.html",
        faults=_told(faults, files),
        remarks=None if remarks is None else _told(remarks, files),
        count=0 if remarks is None else len(remarks),
        size=[
            (len(shop.variants), "variants"),
            (len(shop.positions), "positions"),
            (len(shop.parts), "parts"),
            (len(shop.works), "kinds of work"),
            (len(shop.joints), "joints"),
            (len(shop.suppliers), "suppliers"),
            (len(shop.builds), "builds"),
            (len(book.rules), "rules"),
            (len(book.figures), "figures"),
        ],
        beyond=dict(shop.beyond),
    )


@router.get("/file")
def file(
    request: Request,
    sitting: AtCounter,
    name: Annotated[str, Query(max_length=300)],
    line: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
) -> Response:
    """A file of the shop as it is, at a line; nothing else is ever read, whatever name is asked for."""
    from compat.library.sources import look
    from compat.shop.source import read_bytes

    # the name is looked for among the shop's files, never made into a path
    path = next((path for known, path in look(desk_of(request).folder) if known == name), None)
    if path is None:
        raise HTTPException(404)
    lines = read_bytes(path, name).decode("utf-8", "replace").splitlines()
    at = min(max(line, 1), max(len(lines), 1))
    start, end = max(at - AROUND, 1), min(at + AROUND, len(lines))
    return show(
        request,
        "lint_file.html",
        name=name,
        at=at if line else 0,
        start=start,
        end=end,
        last=len(lines),
        lines=list(enumerate(lines[start - 1 : end], start)),
        step=AROUND,
    )
