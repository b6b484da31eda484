"""The bench: a build step by step in the order of its sheet, what is measured at each, no price anywhere."""

from __future__ import annotations

import json
from hashlib import blake2b
from itertools import groupby
from pathlib import Path as File
from time import time
from typing import TYPE_CHECKING, Annotated, Any, Final

from fastapi import APIRouter, Depends, Form, HTTPException, Path, Query, Request
from fastapi.responses import FileResponse, JSONResponse, Response
from starlette.datastructures import FormData, UploadFile

from compat.page.at_bench import AtBench as Bench
from compat.page.at_bench import bench_of, step_key
from compat.page.bench_fields import Field, Piece, asked_at, name_of
from compat.page.bench_photos import keep_photo, photo_at, photos_of
from compat.page.bench_taking import Sent, Taken, take
from compat.page.showing import after, show, with_cookie
from compat.page.sittings import AtBench, Sitting, Unforged, desk_of
from compat.page.table import Name
from compat.paper.measured import advice, decided_words
from compat.paper.sequence_drawing import drawing, told_in_order
from compat.paper.sheet import SAFETY
from compat.paper.sheet_tightening import pass_texts, says_of
from compat.shop.source import Fault, Faults, Spot

if TYPE_CHECKING:
    from compat.bench.sheet import Step

__all__ = ["router"]

router = APIRouter()

Number = Annotated[int, Path(ge=1, le=9999)]
MOST_SENT: Final = 300
SHIPPED: Final = File(__file__).parent.parent / "static"


async def _form(request: Request) -> FormData:
    return await request.form()


AnyForm = Annotated[FormData, Depends(_form)]
"""All fields of a form, whatever they are called."""


@router.get("/bench")
def benches(request: Request, sitting: AtBench) -> Response:
    """The builds of the shop, to be taken to the bench."""
    return show(request, "benches.html", builds=list(desk_of(request).library.shop.builds.values()))


@router.get("/bench-worker.js")
def worker() -> Response:
    """What keeps the steps of a build at hand without a connection; it may speak for the whole bench."""
    return FileResponse(SHIPPED / "bench-worker.js", media_type="text/javascript")


@router.get("/bench/{name}")
def overview(request: Request, sitting: AtBench, name: Name) -> Response:
    """The steps of a build in the order of the sheet, with what is done and what was measured."""
    bench = bench_of(desk_of(request), name, sitting.units)
    lines = [_line(bench, step) for step in bench.sheet.steps]
    following = next((line for line in lines if not line["done"]), None)
    return show(
        request, "bench.html", bench=bench, name=name, lines=lines, following=following,
        groups=[(group, list(each)) for group, each in groupby(lines, lambda line: line["step"].group)],
        done=sum(line["done"] for line in lines), words=decided_words, made=_now(), safety=SAFETY,
        follows=[] if bench.sheet.measured is None else list(advice(bench.sheet.measured)),
    )  # fmt: skip


def _line(bench: Bench, step: Step) -> dict[str, Any]:
    asked = [one for one in asked_at(bench, step) if not one.closed]
    fields = [field for one in asked for field in one.fields]
    decided = [piece.decision for one in asked for piece in one.pieces if piece.decision]
    return {
        "step": step,
        "done": bench.is_done(step) is not None,
        "asked": len(fields),
        "kept": sum(field.entry is not None for field in fields),
        "apart": sum(bool(field.beside) for field in fields),
        "worst": max(decided, key=("in", "undecided", "out").index, default=""),
    }


def _now() -> int:
    """Now, by the server's clock [ms]."""
    return int(time() * 1000)


def _at(bench: Bench, number: int) -> Step:
    if number > len(bench.sheet.steps):
        raise HTTPException(404)
    return bench.sheet.steps[number - 1]


# for the script of the bench: the same, as data


@router.post("/bench/{name}/keep", dependencies=[Unforged])
def keep(
    request: Request,
    sitting: AtBench,
    name: Name,
    entries: Annotated[str, Form(max_length=400_000)],
    step: Annotated[int, Form(ge=0, le=9999)] = 0,
) -> Response:
    """Keep what a tablet kept while there was no connection, and tell what became of it."""
    bench = bench_of(desk_of(request), name, sitting.units)
    sent = _read(entries)
    sitting.by = next((one.by[:60] for one in reversed(sent) if one.by), sitting.by)
    taken = take(bench, sent)
    return _stands(request, sitting, name, step, taken)


@router.get("/bench/{name}/stands")
def stands(
    request: Request, sitting: AtBench, name: Name, step: Annotated[int, Query(ge=0, le=9999)] = 0
) -> Response:
    """What the server has of a step, and a token for a sitting that begins anew."""
    return _stands(request, sitting, name, step, Taken((), {}))


def _stands(request: Request, sitting: Sitting, name: str, number: int, taken: Taken) -> Response:
    bench = bench_of(desk_of(request), name, sitting.units)
    steps = bench.sheet.steps
    asked = asked_at(bench, steps[number - 1]) if 0 < number <= len(steps) else ()
    told = {
        "token": sitting.token(),
        "made": _now(),
        "kept": list(taken.kept),
        "refused": dict(taken.refused),
        "faults": [str(fault) for fault in taken.faults],
        "fields": {field.name: _field(field) for one in asked for field in one.fields},
        "pieces": {piece.name: _piece(piece) for one in asked for piece in one.pieces},
        "now": {one.what: one.now for one in asked if one.now},
    }
    return with_cookie(request, JSONResponse(told))


def _field(field: Field) -> dict[str, Any]:
    return {
        "value": field.value,
        "saw": field.saw,
        "beside": [{"value": one.value, "by": one.by, "at": one.at} for one in field.beside],
        "by": field.entry.by if field.entry is not None else "",
        "at": field.entry.at if field.entry is not None else "",
    }


def _piece(piece: Piece) -> dict[str, Any]:
    word = decided_words(piece.decision) if piece.decision else ""
    return {"decision": piece.decision, "word": word, "says": list(piece.says)}


_TEXTS: Final = ("kind", "what", "value", "place", "off", "gauge", "by", "over", "id")


def _read(entries: str) -> list[Sent]:
    """The list that a tablet sends.

    Raises
    ------
    HTTPException
        When it is none.
    """
    try:
        said = json.loads(entries)
    except (ValueError, RecursionError):
        raise HTTPException(422, "the list of values is no JSON") from None
    if not isinstance(said, list) or len(said) > MOST_SENT or not all(isinstance(one, dict) for one in said):
        raise HTTPException(422, f"a list of {MOST_SENT} values at most is wanted")
    found = []
    for one in said:
        texts = {name: one.get(name, "") for name in _TEXTS}
        piece = one.get("piece", 0)
        sound = all(isinstance(text, str) and len(text) <= 4000 for text in texts.values())
        if not sound or type(piece) is not int or not 0 <= piece <= 9999:
            raise HTTPException(422, "a value of the list is not as it should be")
        found.append(Sent(piece=piece, **texts))
    return found


# one step


@router.get("/bench/{name}/{number}")
def one_step(request: Request, sitting: AtBench, name: Name, number: Number) -> Response:
    """One step: cautions, what is done, how it is tightened, what is measured."""
    return _step_view(request, sitting, name, number)


def _step_view(
    request: Request, sitting: Sitting, name: str, number: int, refused: dict[str, str] | None = None,
    typed: dict[str, str] | None = None,
) -> Response:  # fmt: skip
    bench = bench_of(desk_of(request), name, sitting.units)
    step = _at(bench, number)
    held = step.tightening
    key = step_key(step)
    return show(
        request, "bench_step.html", 422 if refused else 200,
        bench=bench, name=name, step=step, key=key, asked=asked_at(bench, step),
        steps=len(bench.sheet.steps), done=bench.is_done(step), remark=bench.of("remark", key),
        photos=photos_of(bench, step),
        passes=pass_texts(held) if held is not None else (), says=says_of(held) if held is not None else "",
        order=told_in_order(held.pattern) if held is not None and held.pattern is not None else "",
        refused=refused or {}, typed=typed or {}, made=_now(), words=decided_words,
        shop=bench.ready.shop.info.shop if bench.ready.shop.info is not None else "shop",
    )  # fmt: skip


@router.get("/bench/{name}/{number}/pattern.svg")
def pattern(request: Request, sitting: AtBench, name: Name, number: Number) -> Response:
    """In which order the fasteners of a step are tightened, drawn."""
    held = _at(bench_of(desk_of(request), name, sitting.units), number).tightening
    if held is None or held.pattern is None:
        raise HTTPException(404)
    return with_cookie(request, Response(drawing(held.pattern), media_type="image/svg+xml"))


@router.post("/bench/{name}/{number}", dependencies=[Unforged])
def keep_step(request: Request, sitting: AtBench, name: Name, number: Number, form: AnyForm) -> Response:
    """Keep what a form of a step says, without any script."""
    bench = bench_of(desk_of(request), name, sitting.units)
    step = _at(bench, number)
    sitting.by = _text(form, "by")[:60] or sitting.by
    sent = _sent(bench, step, form, sitting.by)
    taken = take(bench, sent)
    photo = form.get("photo")
    if isinstance(photo, UploadFile) and photo.filename:
        keep_photo(bench, step, photo.file.read(), sitting.by)
    _tell(sitting, taken)
    if taken.refused:
        typed = {key: str(value) for key, value in form.items() if isinstance(value, str)}
        refused = {
            name_of(one.kind, one.what, one.piece, one.place): taken.refused.get(one.id, "") for one in sent
        }
        return _step_view(request, sitting, name, number, refused, typed)
    forward = _text(form, "then") in ("next", "on") and number < len(bench.sheet.steps)
    return after(request, f"/bench/{name}/{number + forward}")


def _text(form: FormData, name: str) -> str:
    value = form.get(name)
    return value if isinstance(value, str) else ""


def _sent(bench: Bench, step: Step, form: FormData, by: str) -> list[Sent]:
    """What a form says that is not kept so already. A refused value is found by the name of its field."""
    key = step_key(step)
    found = []
    for asked in asked_at(bench, step):
        off, gauge = (
            _text(form, f"{name}/{asked.kind}/{asked.what}")[:60].strip() for name in ("off", "gauge")
        )
        other = off not in ("", asked.off) or gauge not in ("", asked.gauge)
        for field in asked.fields:
            typed = form.get(field.name)
            if not isinstance(typed, str) or (typed.strip() == field.value and not (other and typed.strip())):
                continue
            over = _text(form, f"saw/{field.name}")[:600]
            said = field.kind, field.what, typed[:100], field.piece, field.place, off, gauge, by, over
            found.append(Sent(*said, id=_form_id(bench, field.name, typed, off, gauge, over)))
    remark, held = form.get("remark"), bench.of("remark", key)
    if isinstance(remark, str) and remark.strip() != (held.entry.value if held is not None else ""):
        found.append(Sent("remark", key, remark, by=by, over=_text(form, "saw/remark")))
    if _text(form, "then") in ("next", "done") or _text(form, "undo"):
        found.append(Sent("done", key, "" if _text(form, "undo") else "done", by=by))
    return found


def _form_id(bench: Bench, *said: str) -> str:
    """The same for a form that is sent twice."""
    return f"form-{blake2b(repr((bench.ready.build.build, *said)).encode(), digest_size=16).hexdigest()}"


def _tell(sitting: Sitting, taken: Taken) -> None:
    if taken.kept:
        sitting.told.append("Kept by the server.")
    sitting.told += [str(fault) for fault in taken.faults]


# photos


@router.post("/bench/{name}/{number}/photo", dependencies=[Unforged])
def send_photo(request: Request, sitting: AtBench, name: Name, number: Number, form: AnyForm) -> Response:
    """Keep a photo of a step."""
    bench = bench_of(desk_of(request), name, sitting.units)
    photo = form.get("photo")
    if not isinstance(photo, UploadFile):
        raise Faults([Fault(Spot("photo", 0), "no photo was chosen")])
    keep_photo(bench, _at(bench, number), photo.file.read(), _text(form, "by")[:60] or sitting.by)
    sitting.told.append("Photo kept by the server.")
    return after(request, f"/bench/{name}/{number}")


@router.get("/bench/{name}/photo/{file}")
def photo(
    request: Request,
    sitting: AtBench,
    name: Name,
    file: Annotated[str, Path(pattern=r"^[0-9a-f]{32}\.(jpg|png)$")],
) -> Response:
    """A photo of a build, and nothing else."""
    path, media = photo_at(bench_of(desk_of(request), name, sitting.units), file)
    return with_cookie(request, FileResponse(path, media_type=media, content_disposition_type="inline"))
