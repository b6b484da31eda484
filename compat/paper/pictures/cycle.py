"""Cylinder pressure and force on the rod over a cycle at the goal: what the check holds rods against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import MISSING, dataclass, fields
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from compat.engineering import OutOfRange
from compat.engineering.running_gear.cycle_forces import cycle_forces
from compat.engineering.running_gear.gas_trace import ANGLES
from compat.engineering.running_gear.ways_of_running import CrankTrain, gas_cases
from compat.paper.pictures.numbers import Amount, Listing, Nothing, Source, axis, rough, written
from compat.paper.pictures.style import INK, MARKS, QUIET, Mark, blank, head, plain_axes
from compat.units import preferred
from compat.words.wording import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Cycle", "Trace", "compute", "draw"]

LOADS = "rod_compression"
"""The figure whose formula is given what these traces are made of."""
DRAWN = ("peak torque", "peak power", "overrun")
STROKES = ("induction", "compression", "expansion", "exhaust")


@dataclass(frozen=True, slots=True)
class Trace:
    """One way of running: a value each for every crank angle."""

    name: str
    speed: float
    pressure: tuple[float, ...]
    force: tuple[float, ...]
    """Along the rod, above nought in compression."""

    def most(self, values: Sequence[float]) -> tuple[int, float]:
        """Crank angle of the highest value, and the value."""
        index = max(range(len(values)), key=values.__getitem__)
        return ANGLES[index], values[index]

    def least(self, values: Sequence[float]) -> tuple[int, float]:
        """Crank angle of the lowest value, and the value."""
        index = min(range(len(values)), key=values.__getitem__)
        return ANGLES[index], values[index]


@dataclass(frozen=True, slots=True)
class Cycle:
    """What is drawn."""

    build: str
    subject: str
    speed_unit: str
    pressure_unit: str
    force_unit: str
    angles: tuple[int, ...]
    """Crank angle after firing top dead centre [deg]."""
    traces: tuple[Trace, ...]
    checked: tuple[Amount, ...]
    """Peaks and rod loads as the check has them: the worst over the whole speed range."""
    rests_on: str
    """What stands in for a cycle that could not be computed; empty where it could."""

    title = "Cylinder pressure and rod force at the goal"

    @property
    def under(self) -> str:
        """What stands below the title."""
        says = (
            f"{self.subject}. Pressure absolute, a model's shape through the computed peak; force along "
            "the rod, pressing above nought, pulling below it. Mean cycles; single ones run higher."
        )
        return f"{says} {self.rests_on}" if self.rests_on else says

    @property
    def shows(self) -> str:
        """The picture in words."""
        says = [f"Cylinder pressure and rod force over crank angle of {self.subject}."]
        for trace in self.traces:
            angle, pressure = trace.most(trace.pressure)
            at = f"{trace.name.capitalize()}, {written(trace.speed, self.speed_unit)}"
            _, press = trace.most(trace.force)
            _, pull = trace.least(trace.force)
            says.append(
                f"{at}: peak {rough(pressure, self.pressure_unit)} {angle} degrees after top dead centre, "
                f"rod force {rough(pull, self.force_unit)} to {rough(press, self.force_unit)}."
            )
        known = [f"{amount.name[:1].lower()}{amount.name[1:]} {amount}" for amount in self.checked]
        return " ".join([*says, f"In the check: {listed(known)}."])

    def listings(self) -> Sequence[Listing]:
        """The numbers: peaks, and every tenth degree around firing, every thirtieth elsewhere."""
        peaks = []
        for trace in self.traces:
            angle, pressure = trace.most(trace.pressure)
            pressing, pulling = trace.most(trace.force)[1], trace.least(trace.force)[1]
            peaks.append(
                (
                    trace.name.capitalize(),
                    written(trace.speed, self.speed_unit),
                    rough(pressure, self.pressure_unit),
                    f"{angle} deg",
                    rough(pressing, self.force_unit),
                    rough(pulling, self.force_unit),
                )
            )
        titles = ("", "speed", "peak pressure", "at", "greatest force", "least force")
        checked = [(amount.name, str(amount)) for amount in self.checked]
        wanted = [i for i, angle in enumerate(self.angles) if angle % (10 if -60 <= angle <= 120 else 30) == 0]
        names = ("", *(trace.name for trace in self.traces))

        def by_angle(of: str, name: str) -> list[tuple[str, ...]]:
            return [
                (f"{self.angles[i]} deg", *(rough(getattr(trace, of)[i], name) for trace in self.traces))
                for i in wanted
            ]

        return [
            Listing("EACH WAY OF RUNNING", titles, peaks),
            Listing("IN THE CHECK, WORST OVER THE SPEED RANGE", ("", ""), checked),
            Listing("PRESSURE BY CRANK ANGLE", names, by_angle("pressure", self.pressure_unit)),
            Listing("FORCE ALONG THE ROD BY CRANK ANGLE", names, by_angle("force", self.force_unit)),
        ]


def compute(source: Source) -> Cycle:
    """Traces of the ways of running among which the check finds the worst loads of the rod.

    Raises
    ------
    Nothing
        When something that they rest on is not known, or the model refuses it.
    """
    given = source.arguments(LOADS)
    try:
        taken: dict[str, Any] = {
            each.name: given[each.name]
            for each in fields(CrankTrain)
            if each.name in given or each.default is MISSING
        }
        train = CrankTrain(**taken)
        traces = [
            (case, cycle_forces(case.trace, train.bore, train.stroke, train.centre_length,
                                train.reciprocating_mass, train.rod_rotating_mass, case.speed))
            for case in gas_cases(train)
            if case.name in DRAWN
        ]  # fmt: skip
    except OutOfRange as refusal:
        raise Nothing(f"the crank train cannot be computed: {refusal}") from None
    except KeyError as lacking:
        raise Nothing(f"the figure {LOADS} takes no {lacking.args[0]}, and the picture rests on it") from None
    return Cycle(
        build=source.build,
        subject=source.subject,
        speed_unit=preferred("rpm", source.system),
        pressure_unit=preferred("bar", source.system),
        force_unit=preferred("kN", source.system),
        angles=tuple(ANGLES),
        traces=tuple(
            Trace(
                case.name,
                source.given([case.speed], "rpm")[0],
                source.given(case.trace, "bar"),
                source.given(forces.rod.tolist(), "kN"),
            )
            for case, forces in traces
        ),
        checked=tuple(
            source.figure(name)
            for name in ("design_pressure_at_torque", "design_pressure_at_power", LOADS, "rod_tension")
            if name in source.book.figures
        ),
        rests_on="The peaks that parts are built for: burned at the best timing, with what single cycles add.",
    )


def draw(data: Cycle) -> Figure:
    """Draw pressure over force."""
    height = 6.6
    drawing = blank(height)
    top = head(drawing, data.title, data.under)
    tall = (height - top - 0.98) / 2
    marks = dict(zip(DRAWN, (MARKS["first"], MARKS["second"], MARKS["fourth"]), strict=True))
    upper = drawing.add_axes((0.115, (0.90 + tall) / height, 0.87, (tall - 0.19) / height))
    lower = drawing.add_axes((0.115, 0.73 / height, 0.87, tall / height))
    for trace in data.traces:
        mark = marks[trace.name]
        name = f"{trace.name}, {written(trace.speed, data.speed_unit)}"
        upper.plot(
            data.angles, trace.pressure, color=mark.colour, linestyle=mark.line, linewidth=1.5, label=name
        )
        lower.plot(data.angles, trace.force, color=mark.colour, linestyle=mark.line, linewidth=1.5)
    plain_axes(upper, "", axis("Cylinder pressure", data.pressure_unit))
    plain_axes(
        lower, "Crank angle after firing top dead centre [deg]", axis("Force along the rod", data.force_unit)
    )
    for axes in (upper, lower):
        axes.set_xlim(-360, 360)
        axes.set_xticks(range(-360, 361, 90))
        for angle in (-180, 0, 180):
            axes.axvline(angle, color=QUIET, linewidth=0.6)
    upper.set_ylim(0, 1.16 * max(max(trace.pressure) for trace in data.traces))
    upper.tick_params(labelbottom=False)
    lower.axhline(0, color=INK, linewidth=0.9)
    low, high = lower.get_ylim()
    lower.set_ylim(low - 0.10 * (high - low), high + 0.12 * (high - low))
    for (start, end), stroke in zip(pairwise(range(-360, 361, 180)), STROKES, strict=True):
        upper.text(
            (start + end) / 2,
            1.02,
            stroke,
            transform=upper.get_xaxis_transform(),
            ha="center",
            fontsize=7.2,
            color=QUIET,
        )
    _peaks(upper, lower, data, marks)
    drawing.legend(*upper.get_legend_handles_labels(), loc="lower left", ncols=3, bbox_to_anchor=(0.03, 0.0),
                   handlelength=3.6)  # fmt: skip
    return drawing


def _peaks(upper: Axes, lower: Axes, data: Cycle, marks: dict[str, Mark]) -> None:
    """Name the highest pressure of each full load, the hardest press and the hardest pull on the rod."""
    firing = [trace for trace in data.traces if trace.name != "overrun"]
    firing.sort(key=lambda trace: -max(trace.pressure))
    for number, trace in enumerate(firing):
        angle, value = trace.most(trace.pressure)
        says = f"{rough(value, data.pressure_unit)}, {angle} deg after: {trace.name}"
        upper.plot(
            [angle],
            [value],
            marker=marks[trace.name].marker,
            color=marks[trace.name].colour,
            markersize=5,
            markeredgecolor=INK,
        )
        upper.annotate(
            says,
            (angle, value),
            (75, 0.90 - 0.11 * number),
            textcoords=upper.get_xaxis_transform(),
            fontsize=7.3,
            va="center",
            arrowprops={"arrowstyle": "-", "color": QUIET, "linewidth": 0.6},
        )
    pressed = max(data.traces, key=lambda trace: max(trace.force))
    pulled = min(data.traces, key=lambda trace: min(trace.force))
    for trace, (angle, value), place, word in (
        (pressed, pressed.most(pressed.force), (75, 0.93), "pressed hardest"),
        (pulled, pulled.least(pulled.force), (-300, 0.06), "pulled hardest"),
    ):
        lower.plot(
            [angle],
            [value],
            marker=marks[trace.name].marker,
            color=marks[trace.name].colour,
            markersize=5,
            markeredgecolor=INK,
            clip_on=False,
            zorder=5,
        )
        lower.annotate(f"{word}: {rough(value, data.force_unit)}, {trace.name}", (angle, value), place,
                       textcoords=lower.get_xaxis_transform(), fontsize=7.3, va="center",
                       arrowprops={"arrowstyle": "-", "color": QUIET, "linewidth": 0.6})  # fmt: skip
