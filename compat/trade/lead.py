"""How long a build takes: the longest path over suppliers, outwork and the shop's own work, not their sum."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from compat.shop.models import Family, Supplier, Work
from compat.shop.terms import ShopInfo
from compat.trade.plans import Plan
from compat.trade.quoted import Lead, Step
from compat.units import DAY, Band

__all__ = ["lead", "longest"]


@dataclass(frozen=True, slots=True)
class Task:
    """Something that takes its time, and what must be over before it begins."""

    what: str
    days: Fraction
    after: tuple[str, ...] = ()


def longest(tasks: Mapping[str, Task]) -> tuple[Fraction, tuple[str, ...]]:
    """The longest path through tasks that follow each other.

    Parameters
    ----------
    tasks : mapping
        Task by name; those that it follows and that are not there are over already.

    Returns
    -------
    tuple of Fraction and tuple of str
        Its length, and the names along it, first to last; those that take no time are left out.

    Examples
    --------
    >>> days, path = longest({
    ...     "a": Task("A", Fraction(3)),
    ...     "b": Task("B", Fraction(1), ("a",)),
    ...     "c": Task("C", Fraction(2)),
    ... })
    >>> int(days), path
    (4, ('a', 'b'))
    """
    ends: dict[str, Fraction] = {}
    before: dict[str, str] = {}
    for start in tasks:
        stack = [start]
        while stack:
            name = stack[-1]
            waiting = [other for other in tasks[name].after if other in tasks and other not in ends]
            if name in ends or not waiting:
                stack.pop()
                if name not in ends:
                    known = [other for other in tasks[name].after if other in tasks]
                    latest = max(known, key=ends.__getitem__, default="")
                    before[name] = latest
                    ends[name] = tasks[name].days + (ends[latest] if latest else 0)
            else:
                stack.append(waiting[0])
    last = max(ends, key=ends.__getitem__, default="")
    days, path = ends.get(last, Fraction(0)), []
    while last:
        if tasks[last].days:
            path.append(last)
        last = before[last]
    return days, tuple(reversed(path))


def lead(
    info: ShopInfo,
    plan: Plan,
    works: Sequence[Work],
    family: Family,
    suppliers: Mapping[str, Supplier],
) -> Lead:
    """When a build can be ready, counted in days from the order.

    Parts are under way from the first day. A piece of work begins when all that it comes after is done and the
    parts that it awaits are in: those of its own position and those that its card names; the assembly awaits
    all. The shop's own work takes its hours on working days, outwork as long as it is away.

    Parameters
    ----------
    info : ShopInfo
        The shop, for its hours a day and days a week.
    plan : Plan
        What is bought, with the lead of each part.
    works : sequence of Work
        All work that is done.
    family : Family
        The engine, which says how long work takes.
    suppliers : mapping
        Supplier by id, for how long their work is away.

    Returns
    -------
    Lead
        Whole days, the path that decides, and what nobody states the lead of.
    """
    tasks: dict[str, Task] = {}
    unknown: list[str] = []
    at: dict[str, list[str]] = {}
    for line in plan.lines:
        if line.days is None:
            unknown.append(line.name)
        name = f"part:{line.part}:{line.offer.supplier}"
        tasks[name] = Task(f"{line.name} from the supplier", Fraction(line.days or 0))
        for want in line.wants:
            at.setdefault(want.position, []).append(name)
    arrivals = [*tasks]
    done = {work.work for work in works}
    for work in works:
        places = dict.fromkeys([work.on, *work.awaits])
        awaited = arrivals if work.assembles else [name for place in places for name in at.get(place, ())]
        days = _days(info, work, family, suppliers)
        if days is None:
            unknown.append(work.name)
        after = [f"work:{other}" for other in work.after if other in done]
        tasks[f"work:{work.work}"] = Task(work.name, days or Fraction(0), (*after, *awaited))
    total, path = longest(tasks)
    steps = tuple(Step(tasks[name].what, _told(tasks[name].days)) for name in path)
    return Lead(ceil(total), steps, tuple(dict.fromkeys(unknown)))


def _days(info: ShopInfo, work: Work, family: Family, suppliers: Mapping[str, Supplier]) -> Fraction | None:
    """Days that a piece of work takes; None where a supplier does it and nobody says how long it is away."""
    if work.done_by != "shop":
        away = work.lead or suppliers[work.done_by].work_lead
        return None if away is None else _of(away)
    of_work = Fraction(work.hours_on(family)) / Fraction(info.hours_a_day)
    return of_work * Fraction(7, info.days_a_week)


def _of(lead: Band) -> Fraction:
    return Fraction(lead.nominal / DAY).limit_denominator(1000)


def _told(days: Fraction) -> Decimal:
    """Days with one decimal, and none where they are whole."""
    tenths = Decimal(round(days * 10)) / 10
    return tenths.quantize(Decimal(1)) if tenths == tenths.to_integral_value() else tenths
