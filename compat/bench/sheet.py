"""The bench sheet of a build as data: every step of its assembly, what is fitted, tightened and measured."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from compat.bench.cautions import cautions_at
from compat.bench.measures import Clearance, Gauged, clearances, gauged
from compat.bench.results import Reading, Results, measured_pieces, results
from compat.bench.sequence import assembled, assembly_order, course_of_work
from compat.bench.tightening import Tightened, tightened
from compat.checking.check import Checked
from compat.rulebook.models import AGAINST
from compat.rulebook.values import Absent, Number
from compat.shop.graph import Key
from compat.words.report import ExtraPart, Finding, MeasuredPieces, Report
from compat.words.reporting import report

__all__ = ["BenchSheet", "SheetFigure", "SheetPart", "Step", "bench_sheet"]

ON_ITS_FACE = (*AGAINST, "unknown")
"""Verdicts that stand on the face of a sheet."""

BEFORE, AROUND, AFTER = "Before assembly", "Around the engine", "On the assembled engine"
"""Groups of steps that belong to no joint."""


@dataclass(frozen=True, slots=True)
class SheetPart:
    """What goes in at a step."""

    part: str
    name: str
    count: int
    position: str
    origin: str
    """``factory``: the part that was there; ``new`` where it is bought; ``sister`` from another variant."""


@dataclass(frozen=True, slots=True)
class SheetFigure:
    """A figure of the build as it is meant to be, SI; half is the worst case of all tolerances."""

    figure: str
    name: str
    unit: str
    value: float
    half: float


@dataclass(frozen=True, slots=True)
class Step:
    """One step, possible once those before it are done."""

    number: int
    kind: str
    """``work``, ``fit`` or ``close``."""
    id: str
    """Work, position or joint."""
    name: str
    group: str
    parts: tuple[SheetPart, ...] = ()
    marks: tuple[str, ...] = ()
    put_on: tuple[str, ...] = ()
    tightening: Tightened | None = None
    pieces: tuple[Gauged, ...] = ()
    clearances: tuple[Clearance, ...] = ()
    cautions: tuple[str, ...] = ()
    look_at: tuple[str, ...] = ()
    """What is looked at while the joint is open."""
    done_by: str = ""
    """Who does work that is not the shop's own."""
    takes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """Everything that goes to the bench."""

    report: Report
    engine: str
    customer: str
    clean: bool
    against: tuple[Finding, ...]
    """Findings that speak against the build, or leave it unproven."""
    cautions: tuple[str, ...]
    """Those that belong to no step."""
    steps: tuple[Step, ...]
    figures: tuple[SheetFigure, ...]
    readings: Mapping[tuple[str, int], tuple[Reading, ...]]
    """What was measured already, by position.spec and number of the piece."""
    results: Results
    """What came of it, SI."""
    measured: MeasuredPieces | None
    """The same as a report has it; None where nothing was measured piece by piece."""
    to_order: tuple[ExtraPart, ...]
    """Parts that the build forces and does not have: ordered before it is assembled."""


def bench_sheet(checked: Checked, system: str = "metric", *, whole: bool = False) -> BenchSheet:
    """Make the sheet of a build.

    Parameters
    ----------
    checked : Checked
        What a check found of it.
    system : str
        ``metric`` or ``imperial``: units of the sentences.
    whole : bool
        Whether the whole engine is put together, whatever the build opens.

    Returns
    -------
    BenchSheet
        The sheet. Its numbers are those of the report.

    Raises
    ------
    Faults
        When what the shop says of the order of assembly goes in a circle for this engine.
    """
    said = report(checked, system)
    made = _Sheet(checked, said, whole)
    found = results(checked)
    readings: dict[tuple[str, int], list[Reading]] = {}
    for reading in found.measured:
        readings.setdefault((reading.what, reading.piece), []).append(reading)
    settled = checked.world.settled
    return BenchSheet(
        report=said,
        engine=settled.variant.name,
        customer=settled.build.customer,
        clean=checked.clean,
        against=tuple(finding for finding in said.findings if finding.verdict in ON_ITS_FACE),
        cautions=made.cautions.pop("", ()),
        steps=tuple(made.steps()),
        figures=tuple(_figures(checked)),
        readings={key: tuple(each) for key, each in readings.items()},
        results=found,
        measured=measured_pieces(found) if found.measured else None,
        to_order=said.extra_parts,
    )


class _Sheet:
    def __init__(self, checked: Checked, said: Report, whole: bool) -> None:
        self.world = checked.world
        self.settled = self.world.settled
        self.shop = self.settled.shop
        self.course = course_of_work(self.settled)
        self.again = assembled(self.settled, self.world.joints, whole=whole)
        self.order = assembly_order(self.shop, self.settled.fitted, self.course.among)
        place = {key[1]: number for number, key in enumerate(self.order) if key[0] == "position"}
        self.clearances = clearances(self.world, said.findings, place, self.again)
        self.cautions = cautions_at(self.world, said.findings, place, self.again)
        self.asked = frozenset(unknown.spec for unknown in said.unknown)
        done = {*self.course.before, *self.course.among, *self.course.after}
        self.in_work = {spec for name in done for spec in self.shop.works[name].measures}
        self.groups = self._groups()
        self.begun: set[str] = set()
        consumed = checked.renewed if checked.ahead is None else checked.ahead.renewed
        self.consumed = {entry.position for entry in consumed}

    def _groups(self) -> dict[str, str]:
        """Under which joint each position is told; what stands behind none goes with what stands on it."""
        home = {
            position: name
            for name, joint in self.shop.joints.items()
            for position in joint.behind
            if position in self.again
        }
        found = {position: self.shop.joints[name].name for position, name in home.items()}
        fitting = {position: self.shop.positions[position].fitting for position in self.again}
        for kind, position in self.order:
            if kind != "position" or position not in home:
                continue
            others = (*fitting[position].after, *(p for p in self.again if position in fitting[p].before))
            for other in others:
                if other in self.again and not fitting[position].last:
                    found.setdefault(other, found[position])
        return found

    def steps(self) -> Iterable[Step]:
        """Every step in its order: work before, the assembly, work after."""
        number = 0
        for name in self.course.before:
            yield self.work(number := number + 1, name, BEFORE)
        group = AROUND
        for key in self.order:
            if key[0] == "position" and key[1] in self.again:
                group = self.groups.get(key[1], AROUND)
                yield self.fit(number := number + 1, key[1], group)
            elif key[0] == "joint" and self.again.intersection(self.shop.joints[key[1]].behind):
                yield self.close(number := number + 1, key[1])
            elif key[0] == "work":
                yield self.work(number := number + 1, key[1], group)
        for name in self.course.after:
            yield self.work(number := number + 1, name, AFTER)

    def work(self, number: int, name: str, group: str) -> Step:
        work = self.shop.works[name]
        taken = next((values for each, values in self.settled.sequence if each.work == name), {})
        pieces = [
            piece
            for position in dict.fromkeys(spec.partition(".")[0] for spec in work.measures)
            if position in self.settled.fitted
            for piece in gauged(self.world, position, self.asked)
            if piece.what in work.measures
        ]
        return Step(
            number, "work", name, work.name, group,
            cautions=tuple(text for text in (work.caution,) if text),
            look_at=tuple(text for text in (work.note,) if text),
            pieces=tuple(pieces),
            done_by="" if work.done_by == "shop" else self.shop.suppliers[work.done_by].name,
            takes={name: band.text() for name, band in taken.items()},
        )  # fmt: skip

    def fit(self, number: int, position: str, group: str) -> Step:
        place, entry = self.shop.positions[position], self.settled.fitted[position]
        origin = "new" if entry.bought or position in self.consumed else entry.origin
        part = SheetPart(entry.part.part, entry.part.name, self.settled.count(position), position, origin)
        cautions = list(self.cautions.get(position, ()))
        look_at: list[str] = []
        for joint in (self.shop.joints[name] for name in self.shop.joints_before.get(position, ())):
            if joint.joint not in self.begun:
                self.begun.add(joint.joint)
                cautions += [joint.note] if joint.note else []
                look_at += joint.inspect
        pieces = [p for p in gauged(self.world, position, self.asked) if p.what not in self.in_work]
        return Step(
            number, "fit", position, place.name, group,
            parts=(part,),
            marks=place.fitting.marks,
            put_on=place.fitting.put_on,
            tightening=tightened(self.settled, position),
            pieces=tuple(pieces),
            clearances=tuple(self.clearances.get(position, ())),
            cautions=tuple(dict.fromkeys(cautions)),
            look_at=tuple(look_at),
        )  # fmt: skip

    def close(self, number: int, name: str) -> Step:
        joint = self.shop.joints[name]
        return Step(number, "close", name, joint.name, joint.name)


def _figures(checked: Checked) -> Iterable[SheetFigure]:
    """Figures that the rulebook wants on the sheet, where this build has them."""
    world = checked.world
    for name, bound in world.settled.book.figures.items():
        if not bound.figure.sheet:
            continue
        try:
            value = world.figure(name)
        except Absent:
            continue
        if isinstance(value, Number):
            unit = "" if bound.figure.unit == "number" else bound.figure.unit
            yield SheetFigure(name, bound.figure.name or name, unit, value.x, world.worst(value))


def keys(steps: Iterable[Step]) -> list[Key]:
    """Steps as the graph names them."""
    kinds = {"fit": "position", "close": "joint", "work": "work"}
    return [(kinds[step.kind], step.id) for step in steps]
