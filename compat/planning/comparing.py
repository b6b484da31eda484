"""Two builds side by side: parts, work, what the check found, loads at the goal, price, hours."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compat.checking.check import Checked
from compat.checking.settle import Settled
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.shop.models import Goal
from compat.shop.source import Faults
from compat.shop.writing import as_said
from compat.trade.lead import lead
from compat.trade.priced import Priced, price
from compat.trade.pricing import Pricer, final_works
from compat.trade.reuse import final_world
from compat.units import Band
from compat.words.loads import loads_table
from compat.words.report import Finding
from compat.words.reporting import report

__all__ = ["Compared", "Differing", "Load", "Side", "Told", "compare", "side_of"]


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two builds."""

    build: str
    name: str
    variant: str
    verdict: Verdict
    counts: Mapping[Verdict, int]
    proven: bool
    hours: Decimal
    """Of all work, the shop's own and outwork."""
    days: int | None
    """Until it can be handed over; None where it cannot be priced."""
    net: Decimal | None
    """Before tax, in the shop's currency; None where it cannot be priced."""
    total: Decimal | None
    """With tax."""
    unpriced: tuple[str, ...] = ()
    """Why it has no price."""


@dataclass(frozen=True, slots=True)
class Differing:
    """Something that the builds have differently; an empty text is not at all."""

    what: str
    """Name of the position, work, or entry."""
    id: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Told:
    """A rule on both builds; a verdict of None is that it does not apply there."""

    rule: str
    title: str
    a: Verdict | None
    b: Verdict | None
    because_a: str = ""
    because_b: str = ""

    @property
    def moved(self) -> int:
        """Whether the second build fares worse by this rule, -1, better, 1, or alike, 0."""
        rank = {verdict: number for number, verdict in enumerate(VERDICTS)}
        fine = rank["ok"]
        a, b = (rank[one] if one is not None else fine for one in (self.a, self.b))
        return (b > a) - (b < a)


@dataclass(frozen=True, slots=True)
class Load:
    """A figure at the goal of both builds, in `unit`; None where it does not apply or is not known."""

    figure: str
    name: str
    unit: str
    a: float | None
    b: float | None
    half_a: float = 0.0
    """Half width of the band of all tolerances."""
    half_b: float = 0.0

    @property
    def apart(self) -> bool:
        """Whether the two values lie further apart than a rounding."""
        if self.a is None or self.b is None:
            return self.a is not self.b
        return abs(self.a - self.b) > 1e-6 * max(abs(self.a), abs(self.b))


@dataclass(frozen=True, slots=True)
class Compared:
    """Two builds side by side."""

    a: Side
    b: Side
    currency: str
    entries: tuple[Differing, ...]
    """What differs of goal and setup."""
    parts: tuple[Differing, ...]
    work: tuple[Differing, ...]
    findings: tuple[Told, ...]
    """Rules that come out otherwise, those on which the second fares worse first; then what is against both."""
    loads: tuple[Load, ...]
    """Every figure of the loads table that applies to either."""

    @property
    def alike(self) -> bool:
        """Whether nothing differs: parts, work, entries, verdicts."""
        return not (self.entries or self.parts or self.work or any(told.moved for told in self.findings))


def compare(a: Checked, b: Checked, on: date, system: str = "metric") -> Compared:
    """Put two checked builds side by side.

    Both are taken with all that they must have beside their own: parts that needs and opened joints add, work
    that is forced. They may be of different variants and families.

    Parameters
    ----------
    a, b : Checked
        What checking them found, by one shop.
    on : date
        The day that prices are of.
    system : {"metric", "imperial"}
        Units of the sentences.

    Returns
    -------
    Compared
        What differs, and what is against either.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> a, b = shop.check("tarn-20-base"), shop.check("tarn-20-phase")
    >>> found = compare(a.checked, b.checked, date(2026, 3, 2))
    >>> any(one.id == "cam_phaser" for one in found.parts)
    True
    """
    info = a.world.settled.shop.info
    return Compared(
        a=side_of(a, on),
        b=side_of(b, on),
        currency=info.currency if info is not None else "",
        entries=tuple(_entries(a, b)),
        parts=tuple(_parts(a, b)),
        work=tuple(_work(a, b)),
        findings=tuple(_findings(a, b, system)),
        loads=tuple(_loads(a, b)),
    )


def side_of(checked: Checked, on: date) -> Side:
    """One checked build in short: verdict, price and days, as a quote of that day would have them."""
    settled = final_world(checked).settled
    family = settled.shop.families[settled.variant.family]
    priced: Priced | None = None
    unpriced: tuple[str, ...] = ()
    try:
        pricer = Pricer(settled.shop)
        priced = price(pricer, checked, on)
        days = lead(pricer.info, priced.plan, final_works(checked), family, settled.shop.suppliers).days
    except Faults as found:
        days, unpriced = None, tuple(fault.message for fault in found.faults)
    return Side(
        build=settled.build.build,
        name=settled.build.name,
        variant=settled.variant.name,
        verdict=checked.verdict,
        counts=checked.counts,
        proven=checked.proven,
        hours=sum((work.hours_on(family) for work in final_works(checked)), Decimal(0)),
        days=days,
        net=priced.sums.net if priced is not None else None,
        total=priced.sums.total if priced is not None else None,
        unpriced=unpriced,
    )


def _entries(a: Checked, b: Checked) -> Iterator[Differing]:
    """What differs of goal and setup, as their files say it."""
    one, other = a.world.settled, b.world.settled
    if one.variant is not other.variant:
        yield Differing("variant", "variant", one.variant.name, other.variant.name)
    goals, setups = (
        [_aimed(side.goal) for side in (one, other)],
        [{**side.variant.setup, **side.build.setup} for side in (one, other)],
    )
    for at, (left, right) in (("goal", goals), ("setup", setups)):
        for key in dict.fromkeys([*left, *right]):
            was, becomes = (_said(side.get(key)) for side in (left, right))
            if was != becomes:
                yield Differing(f"{at} {key.replace('_', ' ')}", f"{at}.{key}", was, becomes)


def _aimed(goal: Goal) -> dict[str, object]:
    """A goal as its file says it, with what is as usual said too."""
    outside = {"altitude": goal.altitude.text(), "air_temperature": goal.air_temperature.text()}
    return {**as_said(goal), "duty": goal.duty, **outside}


def _said(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _parts(a: Checked, b: Checked) -> Iterator[Differing]:
    one, other = final_world(a).settled, final_world(b).settled
    for position, declared in one.shop.positions.items():
        was, becomes = (_pieces(settled, position) for settled in (one, other))
        if was != becomes and position != "fuel":  # the goal names the fuel
            yield Differing(declared.name, position, was, becomes)


def _pieces(settled: Settled, position: str) -> str:
    entry = settled.fitted.get(position)
    if entry is None:
        return ""
    count = settled.count(position)
    return f"{count} x {entry.part.part}" if count != 1 else entry.part.part


def _work(a: Checked, b: Checked) -> Iterator[Differing]:
    done = [
        {work.work: _values(values) for work, values in final_world(checked).settled.sequence}
        for checked in (a, b)
    ]
    works = a.world.settled.shop.works
    for name in dict.fromkeys([*done[0], *done[1]]):
        was, becomes = (side.get(name, "") for side in done)
        if was != becomes:
            yield Differing(works[name].name, name, was, becomes)


def _values(values: Mapping[str, Band]) -> str:
    return ", ".join(f"{name} {value.text()}" for name, value in values.items()) or "done"


def _findings(a: Checked, b: Checked, system: str) -> Iterator[Told]:
    """Rules whose verdicts differ, worse ones first, and what stands against both alike.

    Not standing notes, which are the same for every engine of their kind.
    """
    rules = a.world.settled.book.rules
    notes = {name for name, bound in rules.items() if bound.rule.sort == "note"}
    sides = [_by_rule(report(c, system).findings, notes) for c in (a, b)]
    found = [
        _on_both(key[0], key[1], *(side.get(key) for side in sides))
        for key in dict.fromkeys([*sides[0], *sides[1]])
    ]
    against = [told for told in found if not told.moved and told.a in AGAINST]
    rank = {verdict: number for number, verdict in enumerate(VERDICTS)}

    def weight(told: Told) -> tuple[int, int]:
        worst = min(rank[one] for one in (told.a, told.b) if one is not None)
        return told.moved, worst

    yield from sorted((told for told in found if told.moved), key=weight)
    yield from against


def _on_both(rule: str, title: str, a: Finding | None, b: Finding | None) -> Told:
    return Told(
        rule,
        title,
        a.verdict if a is not None else None,
        b.verdict if b is not None else None,
        a.because if a is not None else "",
        b.because if b is not None else "",
    )


def _by_rule(findings: Iterable[Finding], without: Container[str]) -> dict[tuple[str, str, int], Finding]:
    """Findings by rule and title; a rule that asks for several things of one title is told apart by number."""
    table: dict[tuple[str, str, int], Finding] = {}
    for finding in findings:
        if finding.rule in without:
            continue
        number = 0
        while (finding.rule, finding.title, number) in table:
            number += 1
        table[finding.rule, finding.title, number] = finding
    return table


def _loads(a: Checked, b: Checked) -> Iterator[Load]:
    one, other = loads_table(a.world), loads_table(b.world)
    for name in a.world.settled.book.figures:
        if name in one or name in other:
            left, right = one.get(name, {}), other.get(name, {})
            entry = left or right
            yield Load(
                name, entry["name"], entry["unit"], left.get("value"), right.get("value"),
                left.get("half_width", 0.0), right.get("half_width", 0.0),
            )  # fmt: skip
