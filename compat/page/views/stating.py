"""What is said of a build: its goal, its setup, its work, and the head of its paper."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import Response

from compat.page.acts import done
from compat.page.forms import Fields, fields_of
from compat.page.showing import show
from compat.page.sittings import AtCounter, Unforged
from compat.page.stating import said_goal, said_setup, said_values, work_fields
from compat.page.table import Name, Table, change, table_of
from compat.page.views.builds import refused_by, stepping
from compat.shop.builds import ReadyBuild
from compat.shop.models import Work
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.writing import as_said
from compat.words.wording import hours_text, plain

__all__ = ["router"]

router = APIRouter(prefix="/build")

Typed = Annotated[Fields, Depends(fields_of)]
HEAD = ("name", "customer", "note", "scope")
"""Entries of a build that say nothing of the engine, and how much of the car it is."""


@router.post("/{name}/aim", dependencies=[Unforged])
def aim(request: Request, sitting: AtCounter, name: Name, fields: Typed) -> Response:
    """Say another goal."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        before, goal = as_said(table.now.build.goal), said_goal(fields)
        changed = table.now.changed(goal=goal)
        new = as_said(changed.build.goal)
        return f"Goal: {_what_changed(before, new)}", changed

    return change(request, sitting, name, make, refused_by(request, fields), "the-goal")


@router.post("/{name}/setup", dependencies=[Unforged])
def set_up(request: Request, sitting: AtCounter, name: Name, fields: Typed) -> Response:
    """Say another setup."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        before, setup = as_said(table.now.build.setup), said_setup(table.now, fields)
        changed = table.now.changed(setup=setup)
        return f"Setup: {_what_changed(before, as_said(changed.build.setup))}", changed

    return change(request, sitting, name, make, refused_by(request, fields), "the-setup")


def _what_changed(before: dict[str, Any], now: dict[str, Any]) -> str:
    """Entries that differ, each as it is now."""
    words = [
        f"{plain(key)} {now[key]}" if key in now else f"{plain(key)} no longer said"
        for key in {**before, **now}
        if before.get(key) != now.get(key)
    ]
    return ", ".join(words) or "as it was"


@router.post("/{name}/head", dependencies=[Unforged])
def head(request: Request, sitting: AtCounter, name: Name, fields: Typed) -> Response:
    """Say for whom it is, what it is called, and how much of the car it is."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        said = {entry: fields[entry].strip() for entry in HEAD if entry in fields}
        if not said.get("name", "x"):
            raise Faults([Fault(Spot("name", 0), "is empty; a build has a name")])
        changed = table.now.changed(**said)
        return f"Head: {_what_changed(as_said(table.now.build), as_said(changed.build))}", changed

    return change(request, sitting, name, make, refused_by(request, fields), "the-head")


@router.post("/{name}/renew", dependencies=[Unforged])
def renew(
    request: Request, sitting: AtCounter, name: Name, everything: Annotated[str, Form(max_length=10)] = ""
) -> Response:
    """Say whether everything that opened joints consume is renewed."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        if everything:
            return "Renew all that opened joints consume", table.now.changed(renew="all")
        return "Renew nothing beside what is named", table.now.changed(renew=[])

    return stepping(request, sitting, name, make)


@router.get("/{name}/work")
def one_work(
    request: Request, sitting: AtCounter, name: Name, work: Annotated[str, Query(max_length=100)] = ""
) -> Response:
    """A piece of work: what it does, and what must be stated for it."""
    table = table_of(request, sitting, name)
    return _one_work(request, table, work)


def _one_work(
    request: Request, table: Table, work: str, status: int = 200, faults: Any = (), typed: Fields | None = None
) -> Response:
    works = table.now.shop.works
    if work not in works:
        raise Faults([Fault(Spot("work", 0), f"'{work}' is not known{nearest(work, works)}")])
    found = works[work]
    family = table.now.shop.families[table.now.variant.family]
    says: dict[str, Any] = {
        "table": table,
        "path": table.path,
        "work": found,
        "hours": hours_text(found, family),
        "fields": list(work_fields(found, {}, typed or {})),
        "on": table.now.shop.positions[found.on].name,
        "forces": [works[other].name for other in found.forces],
        "faults": faults,
        "bad": _unread(found, typed or {}) if faults else (),
    }
    return show(request, "build_work.html", status, **says)


def _unread(work: Work, fields: Fields) -> set[str]:
    """Fields of a piece of work that hold nothing it could take."""
    bad = set()
    for name, parameter in work.takes.items():
        try:
            parameter.read(fields.get(f"work-{name}", "").strip() or parameter.default)
        except ValueError:
            bad.add(f"work-{name}")
    return bad


@router.post("/{name}/do", dependencies=[Unforged])
def do(
    request: Request,
    sitting: AtCounter,
    name: Name,
    work: Annotated[str, Form(max_length=100)],
    fields: Typed,
) -> Response:
    """Do a piece of work more, where what it follows allows."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        works = table.now.shop.works
        if work not in works:
            raise Faults([Fault(Spot("work", 0), f"'{work}' is not known{nearest(work, works)}")])
        values = said_values(works[work], fields, "work-")
        changed = done(table.now, [{"work": work, **values}])
        said = "".join(f", {plain(key)} {value}" for key, value in values.items())
        return f"Work: {works[work].name}{said}", changed

    def refused(table: Table, faults: Any) -> Response:
        return _one_work(request, table, work, 400, faults, fields)

    return change(request, sitting, name, make, refused, "the-work")


@router.post("/{name}/works", dependencies=[Unforged])
def works(request: Request, sitting: AtCounter, name: Name, fields: Typed) -> Response:
    """Say other values for the work that is done, or strike a piece of it."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        build, shop = table.now.build, table.now.shop
        order = [dict(as_said(one)) for one in build.work]
        says = "Work: values"
        for number, done_ in enumerate(build.work):
            work = shop.works[done_.work]
            if any(f"work-{number}-{key}" in fields for key in work.takes):
                order[number] = {"work": done_.work, **said_values(work, fields, f"work-{number}-")}
        out = fields.get("out", "")
        if out:
            if not out.isdecimal() or int(out) >= len(order):
                raise Faults([Fault(Spot("work", 0), "there is no such piece of work in the build")])
            struck = order.pop(int(out))
            says = f"Work: not {shop.works[struck['work']].name}"
        return says, table.now.changed(work=order)

    return change(request, sitting, name, make, refused_by(request, fields), "the-work")
