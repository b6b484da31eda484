"""One build: what is found of it, the engine, and each step of changing it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from markupsafe import Markup

from compat.checking.check import Checked
from compat.page.acts import completed, done, from_form, saying, to_put_in, told
from compat.page.engine import System, systems
from compat.page.forms import not_taken
from compat.page.saving import moved_on
from compat.page.showing import after, module_of, show
from compat.page.sittings import AtCounter, Sitting, Unforged
from compat.page.stating import goal_fields, setup_fields, works_done
from compat.page.steps import Moved, moved
from compat.page.table import Name, Table, Typed, change, table_of
from compat.paper.causes import Background, Section, background_of, by_weight, sections
from compat.paper.findings import in_short, sentence
from compat.paper.terminal import answer, circumstances, section_text
from compat.shop.builds import ReadyBuild
from compat.shop.money import Money
from compat.shop.source import Fault, Faults
from compat.shop.terms import ShopInfo
from compat.trade.least import Least, least
from compat.trade.money import round_money
from compat.units import printed
from compat.words.report import Finding

__all__ = ["Id", "build_view", "money", "refused_by", "router", "stepping"]

router = APIRouter(prefix="/build")

DRAWN: Final = 512
"""So many systems of engines are kept as they are drawn, some 6 kB each."""

Id = Annotated[str, Form(max_length=100)]
Word = Annotated[str, Form(max_length=300)]


@dataclass(frozen=True)
class Shown:
    """What the view of a build shows of one check."""

    background: Background
    findings: Sequence[Finding]
    """What is told at once, in order."""
    notes: Sequence[Finding]
    sections: Sequence[Section]
    systems: Sequence[System]
    least: Least


def shown(table: Table, checked: Checked) -> Shown:
    """What is shown of a check, found once."""

    def find() -> Shown:
        said = table.report(checked)
        world = checked.world
        background = table.desk.known.of(world.settled.book, "background", lambda: background_of(world))
        spoken = by_weight([one for one in said.findings if one.verdict != "ok"], background)
        findings = [one for one in spoken if not background.is_note(one)]
        notes = [one for one in spoken if background.is_note(one)]
        return Shown(
            background, findings, notes, sections(said, findings, background), systems(checked, findings),
            least(checked),
        )  # fmt: skip

    return table.desk.known.of(checked, ("shown", table.sitting.units), find)


def money(table: Table, amount: Decimal | None) -> str:
    """An amount in the shop's currency, as it is written on its papers; empty where there is none."""
    return _written(table.now.shop.info, amount)


def _written(info: ShopInfo | None, amount: Decimal | None) -> str:
    return "" if amount is None or info is None else Money(round_money(info, amount), info.currency).figure


def drawn(table: Table) -> Callable[..., Markup]:
    """Draws a system of the engine. A step leaves most of them as they were, and many look at one build."""
    shop = table.now.shop
    info = shop.info

    def draw(path: str, number: int, system: System, touched: bool, wide: bool) -> Markup:
        found: Markup = module_of("build_system.html").drawn(
            path, number, system, touched, wide, lambda amount: _written(info, amount)
        )
        return found

    return table.desk.known.of(shop, "systems", lambda: lru_cache(maxsize=DRAWN)(draw))


def turned(table: Table, checked: Checked) -> Moved | None:
    """What the last step did; None where there was none, or the build before it is no build any more."""
    if not table.draft.at:
        return None
    try:
        before = table.checked(table.draft.before)
    except Faults:
        return None
    key = ("moved", id(before), table.sitting.units)
    return table.desk.known.of(
        checked, key, lambda: moved(before, checked, table.report(before), table.report(checked))
    )


def build_view(
    request: Request,
    table: Table,
    status: int = 200,
    faults: Sequence[Fault] = (),
    typed: Typed | None = None,
    *,
    wide: bool = False,
) -> Response:
    """The view of a build: as it stands, and what was wrong with a form where there is a fault."""
    checked = table.checked()
    said, units = table.report(checked), table.sitting.units
    kinds = shown(table, checked).background.kinds

    def short(finding: Finding) -> str:
        return "" if kinds.get(finding.rule) == "renew" else printed(in_short(finding, units))

    says: dict[str, Any] = {
        "table": table,
        "draft": table.draft,
        "checked": checked,
        "said": said,
        "answer": answer(said),
        "circumstances": printed(circumstances(said, units)),
        "shown": shown(table, checked),
        "turned": turned(table, checked),
        "moved_on": moved_on(table.desk, table.draft, table.name),
        "goal": goal_fields(table.now, typed or {}),
        "setup": setup_fields(table.now, typed or {}),
        "works": works_done(table.now, typed or {}),
        "more_work": [
            (one.work, one.name)
            for one in table.now.shop.works.values()
            if one.work not in done_already(table.now)
        ],
        "to_put_in": len(to_put_in(checked)),
        "wide": wide,
        "typed": typed or {},
        "setup_typed": any(name.startswith("setup-") for name in typed or {}),
        "faults": faults,
        "bad": not_taken(faults),
        "short": short,
        "sentence": lambda finding: printed(sentence(finding)),
        "section_text": section_text,
        "money": lambda amount: money(table, amount),
        "drawn": drawn(table),
        "path": table.path,
    }
    return show(request, "build.html", status, **says)


def done_already(ready: ReadyBuild) -> set[str]:
    """Work that the build names."""
    return {one.work for one in ready.build.work}


def refused_by(
    request: Request, typed: Mapping[str, str] | None = None
) -> Callable[[Table, Sequence[Fault]], Response]:
    """What shows the build with what was wrong with a form, and what was typed still in it."""
    return lambda table, faults: build_view(request, table, 400, faults, typed)


def stepping(
    request: Request,
    sitting: Sitting,
    name: str,
    make: Callable[[Table], tuple[str, ReadyBuild]],
    anchor: str = "",
) -> Response:
    """A step whose faults are told above the build."""
    return change(request, sitting, name, make, refused_by(request), anchor)


@router.get("/{name}")
def build(
    request: Request, sitting: AtCounter, name: Name, wide: Annotated[str, Query(max_length=10)] = ""
) -> Response:
    """The build as it stands, checked; `wide` with all its systems open."""
    try:
        table = table_of(request, sitting, name)
    except Faults as wrong:
        if name not in sitting.drafts:
            raise
        draft = sitting.drafts[name]
        return show(request, "build_adrift.html", 400, draft=draft, faults=wrong.faults, path=f"/build/{name}")
    return build_view(request, table, wide=bool(wide))


@router.post("/{name}/undo", dependencies=[Unforged])
def undo(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Take the last step back."""
    draft = sitting.draft(request.app.state.desk, name)
    said = draft.undo()
    sitting.told.append(f"Taken back: {said}" if said else "There is nothing to take back.")
    return after(request, f"/build/{name}")


@router.post("/{name}/redo", dependencies=[Unforged])
def redo(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Do again what was taken back."""
    draft = sitting.draft(request.app.state.desk, name)
    said = draft.redo()
    sitting.told.append(f"Done again: {said}" if said else "There is nothing to do again.")
    return after(request, f"/build/{name}")


@router.post("/{name}/act", dependencies=[Unforged])
def act(
    request: Request, sitting: AtCounter, name: Name, act: Annotated[str, Form(max_length=8000)]
) -> Response:
    """Do what a remedy says."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        acts = from_form(act)
        changed = done(table.now, acts)
        return told(table.checked().world, sitting.units, acts), changed

    return stepping(request, sitting, name, make)


@router.post("/{name}/say", dependencies=[Unforged])
def say(request: Request, sitting: AtCounter, name: Name, entry: Id, word: Id, value: Word = "") -> Response:
    """Say one word of the build: what was measured, why a part fits, why a place is left empty, how many."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        told = value.strip()
        changed = saying(table.now, entry, word, told)
        return f"{entry.replace('_', ' ')}: {word} {told or 'said no more'}", changed

    return stepping(request, sitting, name, make)


@router.post("/{name}/complete", dependencies=[Unforged])
def complete(request: Request, sitting: AtCounter, name: Name) -> Response:
    """Put in all that the check adds and nothing holds back."""

    def make(table: Table) -> tuple[str, ReadyBuild]:
        checked = table.checked()
        return f"Put in what the build must have ({len(to_put_in(checked))})", completed(checked)

    return stepping(request, sitting, name, make)
