"""The goal: what each part has in hand at a power, and the power at which each runs out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response

from compat.checking.check import Checked
from compat.page.showing import after, show
from compat.page.sittings import AtCounter, Unforged, desk_of
from compat.page.slowly import Slowly, ladder_of
from compat.page.table import Name
from compat.paper.pictures.headroom import Bar
from compat.planning.ladder import Ladder, Rung, raised
from compat.shop.builds import ReadyBuild
from compat.units import preferred, printed, unit
from compat.units import show as written

__all__ = ["router"]

router = APIRouter(prefix="/build")


LEAST: Final = 0.5
MOST: Final = 2.0
"""How far the power can be dragged, of that of the goal."""

FROM: Final = -0.6
TO: Final = 1.5
"""Headroom at the ends of the scale."""
WIDE: Final = 240.0
"""Width of the scale as drawn."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A bar with where its parts lie on the scale."""

    bar: Bar
    part: str
    position: str
    start: float
    wide: float
    asked: float
    low: float | None


@dataclass(frozen=True, slots=True)
class DrawnRung:
    """A rung with where it lies between the ends of the ladder."""

    rung: Rung
    power: str
    may: str
    at: float
    may_at: float


def _on_scale(headroom: float) -> float:
    return round((min(max(headroom, FROM), TO) - FROM) / (TO - FROM) * WIDE, 1)


def _drawn(checked: Checked, bars: tuple[Bar, ...]) -> Iterator[Drawn]:
    fitted, book = checked.world.settled.fitted, checked.world.settled.book
    for bar in bars:
        zero, end = _on_scale(0.0), _on_scale(TO if bar.headroom is None else bar.headroom)
        position = next((place for place in book.loaded(book.rules[bar.rule]) if place in fitted), "")
        yield Drawn(
            bar,
            fitted[position].part.name if position else "",
            position,
            min(zero, end),
            round(abs(end - zero), 1),
            _on_scale(bar.asked),
            None if bar.low is None else _on_scale(bar.low),
        )


def _at(ready: ReadyBuild, power: float | None, system: str) -> tuple[ReadyBuild, float]:
    """The build at a power in the reader's unit, kept between the ends; and that power."""
    own = unit(preferred("kW", system))
    goal = ready.goal.power.nominal
    if power is None or abs(own.to_si(power) - goal) < own.to_si(0.5):
        return ready, round(own.from_si(goal), 1)
    factor = min(max(own.to_si(power) / goal, LEAST), MOST)
    return ready.aiming(**raised(ready.goal, factor)), round(own.from_si(goal * factor), 1)


def _beside(ready: ReadyBuild, system: str) -> Iterator[str]:
    """What goes up and down with the power."""
    goal = ready.goal
    if goal.torque is not None:
        yield printed(f"torque {written(goal.torque.nominal, 'N*m', system)}")
    if goal.boost is not None:
        yield f"boost {written(goal.boost.nominal, 'kPa', system)}"


@router.get("/{name}/goal")
def goal(
    request: Request,
    sitting: AtCounter,
    name: Name,
    power: Annotated[float | None, Query(gt=0, lt=1e5, allow_inf_nan=False)] = None,
) -> Response:
    """What each part has in hand at the goal, or at another power."""
    from compat.paper.pictures.headroom import Headroom
    from compat.paper.pictures.kinds import computed
    from compat.paper.pictures.numbers import Nothing

    desk = desk_of(request)
    draft = sitting.draft(desk, name)
    session, ready = desk.session, draft.now
    base = session.check(ready)
    there, at = _at(ready, power, sitting.units)
    checked = session.check(there, base)
    own = unit(preferred("kW", sitting.units))
    goal_power = own.from_si(ready.goal.power.nominal)
    try:
        first = computed("headroom", base, sitting.units)
        found = first if checked is base else computed("headroom", checked, sitting.units)
        assert isinstance(first, Headroom)
        assert isinstance(found, Headroom)
        order = {bar.rule: number for number, bar in enumerate(first.bars)}
        bars = found.bars
    except Nothing as nothing:
        order, bars, why = {}, (), str(nothing)
    else:
        why = ""
    # rows stay where they are while the power is dragged
    bars = tuple(sorted(bars, key=lambda bar: order.get(bar.rule, len(order))))
    return show(
        request,
        "goal.html",
        draft=draft,
        name=name,
        base=base,
        checked=checked,
        bars=list(_drawn(checked, bars)),
        why=why,
        unit=preferred("kW", sitting.units),
        at=at,
        goal_power=round(goal_power, 1),
        least=round(goal_power * LEAST),
        most=round(goal_power * MOST),
        zero=_on_scale(0.0),
        beside=list(_beside(there, sitting.units)),
    )


@router.post("/{name}/goal", dependencies=[Unforged])
def aim(
    request: Request,
    sitting: AtCounter,
    name: Name,
    power: Annotated[float, Form(gt=0, lt=1e5, allow_inf_nan=False)],
) -> Response:
    """Make a power the goal; torque rises with it at the same speeds, and boost with both."""
    draft = sitting.draft(desk_of(request), name)
    with draft.lock:
        changed, at = _at(draft.now, power, sitting.units)
        draft.take(f"goal of {at:g} {preferred('kW', sitting.units)}", changed)
    return after(request, f"/build/{name}/goal")


@router.get("/{name}/ladder")
def ladder(request: Request, sitting: AtCounter, name: Name) -> Response:
    """What runs out first as the goal rises, and next; it takes some seconds and is told when it is there."""
    desk = desk_of(request)
    draft = sitting.draft(desk, name)
    slowly: Slowly = request.app.state.slowly
    found = slowly.look(sitting.key, ladder_of, desk.session, draft.now, date.today(), sitting.units)
    rungs = list(_rungs(found, sitting.units)) if found is not None else []
    start, end = (
        (written(found.start, "kW", sitting.units), written(found.end, "kW", sitting.units))
        if found
        else ("", "")
    )
    return show(
        request,
        "ladder.html",
        draft=draft,
        name=name,
        found=found,
        rungs=rungs,
        wide=WIDE,
        start=start,
        end=end,
    )


def _rungs(found: Ladder, system: str) -> Iterator[DrawnRung]:
    for rung in found.rungs:
        span = found.end - found.start
        yield DrawnRung(
            rung,
            written(rung.power, "kW", system),
            written(rung.may, "kW", system) if rung.may < rung.power else "",
            round((rung.power - found.start) / span * WIDE, 1),
            round((min(rung.may, rung.power) - found.start) / span * WIDE, 1),
        )
