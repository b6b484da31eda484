"""Saving a build: into its file, under another id, as a download; what was changed in the file meanwhile."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import Response

from compat.page.forms import Fields, fields_of
from compat.page.saving import Torn, as_file, meanwhile, read_again, save, save_as
from compat.page.showing import after, show, with_cookie
from compat.page.sittings import AtCounter, Unforged
from compat.page.table import Name, Table, table_of
from compat.page.views.builds import build_view
from compat.shop.joining import Key, Sides
from compat.shop.shop import Shop
from compat.shop.source import Faults

__all__ = ["router"]

router = APIRouter(prefix="/build")


@router.post("/{name}/save", dependencies=[Unforged])
def to_file(
    request: Request, sitting: AtCounter, name: Name, fields: Annotated[Fields, Depends(fields_of)]
) -> Response:
    """Write the build into its file; where both sides changed an entry, ask which counts."""
    table = table_of(request, sitting, name)
    both = {text: value for text, value in fields.items() if text.startswith("keep ")}
    chosen = {tuple(text.split(" ")[1:]): value for text, value in both.items() if value in ("mine", "theirs")}
    try:
        found = save(table.desk, table.draft, name, _keys(table, chosen), fields.get("mark", ""))
    except Faults as wrong:
        return build_view(request, table, 400, wrong.faults)
    if isinstance(found, Torn):
        return after(request, f"{table.path}/meanwhile")
    also = f", with what was changed there meanwhile: {told_keys(found, table.now.shop)}" if found else ""
    sitting.told.append(f"Saved{also}.")
    return after(request, table.path)


def _keys(table: Table, chosen: dict[tuple[str, ...], str]) -> dict[Key, str]:
    """Choices by the entries that they are of, whose names may hold blanks."""
    keys = (one.key for one in meanwhile(table.desk, table.draft, table.name).joined.both) if chosen else ()
    by_words = {tuple(" ".join(key).split(" ")): key for key in keys}
    return {by_words[words]: value for words, value in chosen.items() if words in by_words}


@router.get("/{name}/meanwhile")
def side_by_side(request: Request, sitting: AtCounter, name: Name) -> Response:
    """What was changed in the file since it was read, beside the draft's own changes."""
    table = table_of(request, sitting, name)
    found = meanwhile(table.desk, table.draft, name)
    says: dict[str, Any] = {
        "table": table,
        "draft": table.draft,
        "path": table.path,
        "joined": found.joined,
        "mark": found.mark,
        "told_key": lambda key: told_key(key, table.now.shop),
        "told_value": told_value,
    }
    return show(request, "build_meanwhile.html", **says)


@router.post("/{name}/reread", dependencies=[Unforged])
def reread(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Take the build as its file has it; what was on the table can be had back."""
    desk = request.app.state.desk
    draft = sitting.draft(desk, name)
    taken = read_again(desk, draft, name)
    sitting.told.append("Read again from its file." if taken else "It stands as its file has it.")
    return after(request, f"/build/{name}")


@router.post("/{name}/save-as", dependencies=[Unforged])
def under_another_id(
    request: Request,
    sitting: AtCounter,
    name: Name,
    new: Annotated[str, Form(max_length=100)] = "",
    title: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Write the build as one of its own, and go on with that."""
    table = table_of(request, sitting, name)
    try:
        found = save_as(table.desk, table.draft, name, new.strip(), title)
    except Faults as wrong:
        return build_view(request, table, 400, wrong.faults, {"new": new, "title": title})
    sitting.told.append(f"Saved as {found}.")
    return after(request, f"/build/{found}")


@router.get("/{name}/file")
def download(request: Request, sitting: AtCounter, name: Name) -> Response:
    """The build as a file, to keep elsewhere."""
    table = table_of(request, sitting, name)
    text = as_file(table.desk, table.draft, name)
    names = {"content-disposition": f'attachment; filename="{table.now.build.build}.yaml"'}
    return with_cookie(request, Response(text, media_type="application/yaml", headers=names))


def told_key(key: Key, shop: Shop) -> str:
    """An entry in words."""
    kind, *rest = key
    word = " ".join(rest)
    match kind:
        case "place":
            return shop.positions[word].name if word in shop.positions else word
        case "work" if word in shop.works:
            return shop.works[word].name
        case "goal" | "setup" | "measured" | "work" | "options":
            return f"{kind}: {word}"
    return kind.replace("_", " ")


def told_keys(sides: tuple[Sides, ...], shop: Shop) -> str:
    """Entries in words, the first few by name."""
    few = [told_key(one.key, shop) for one in sides[:4]]
    return ", ".join(few) + (f" and {len(sides) - 4} more" if len(sides) > 4 else "")


def told_value(value: Any) -> str:
    """What is said of an entry, in words; of a place part by part."""
    if value is None:
        return "not said"
    if isinstance(value, dict):
        words = (f"{key.replace('_', ' ')} {told_value(one)}" for key, one in value.items() if one != "")
        return "; ".join(words) or "said without a reason"
    if isinstance(value, list):
        return ", ".join(map(told_value, value))
    return "yes" if value is True else str(value)
