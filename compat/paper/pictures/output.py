"""Torque and power: the goal's two points, the ceiling of the computed cycle between them, and what limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from compat.engineering import GoalOutOfReach, OutOfRange, find
from compat.paper.pictures.limits import Limit, limits
from compat.paper.pictures.numbers import Amount, Listing, Nothing, Source, axis, percent, written
from compat.paper.pictures.style import INK, MARKS, QUIET, blank, fitted, folded, head, plain_axes
from compat.rulebook.values import refused
from compat.units import preferred, unit
from compat.words.wording import in_sentence, listed, refusal_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Output", "Point", "Step", "compute", "draw"]

STEPS = 7
"""Speeds from peak torque to peak power at which the cycle is computed."""
MOST = 5
"""Limits that the picture names; the table has them all."""
HAD = "full_pressure_at_power"


@dataclass(frozen=True, slots=True)
class Point:
    """One of the goal's two points, with what the cycle wants there."""

    name: str
    speed: Amount
    power: Amount
    torque: Amount
    wanted: Amount
    """Manifold pressure, absolute."""
    retard: Amount
    """How late knock makes the charge burn."""


@dataclass(frozen=True, slots=True)
class Step:
    """The ceiling at one speed: what the cycle gives with the pressure and filling to be had."""

    speed: float
    power: float | None
    torque: float | None
    held_back: bool = False
    """Whether knock holds the burn back."""
    gap: str = ""


@dataclass(frozen=True, slots=True)
class Output:
    """What is drawn."""

    build: str
    subject: str
    speed_unit: str
    power_unit: str
    torque_unit: str
    points: tuple[Point, ...]
    had: Amount
    """Manifold pressure that the goal's boost gives, absolute."""
    rev_limit: Amount
    steps: tuple[Step, ...]
    scatter: float
    """How far the computed line may be off, as a share."""
    limits: tuple[Limit, ...]

    title = "Power and torque at the goal"

    @property
    def under(self) -> str:
        """What stands below the title."""
        gives = [step for step in self.steps if step.power is not None]
        if not gives:
            why = self.steps[0].gap if self.steps else "its figures are not known"
            return f"{self.subject}. No ceiling is drawn: {why}."
        return (
            f"{self.subject}. Ceiling: what the computed cycle gives at the manifold pressure of the goal, "
            f"{self.had}, with what its hardware fills at each speed; an estimate, its band "
            f"±{percent(self.scatter)}. The engine stays below it."
        )

    @property
    def shows(self) -> str:
        """The picture in words."""
        says = [f"Power and torque over engine speed of {self.subject}."]
        says += [
            f"At {point.name}: {point.power} and {point.torque} at {point.speed}." for point in self.points
        ]
        gives = [step for step in self.steps if step.power is not None]
        if gives:
            ends = (f"{written(s.torque or 0.0, self.torque_unit)} at {written(s.speed, self.speed_unit)}"
                    for s in (gives[0], *gives[-1:]))  # fmt: skip
            says.append(f"The ceiling by the computed cycle, an estimate: {listed(ends)}.")
        if any(held := [step.held_back for step in self.steps]):
            where = "all along it" if all(held) else "over part of it"
            says.append(f"Knock holds the burn back {where}.")
        if self.limits:
            says.append(f"Nearest limits: {listed(limit.title for limit in self.limits[:3])}.")
        return " ".join(says)

    def listings(self) -> Sequence[Listing]:
        """The numbers."""
        points = [(p.name.capitalize(), str(p.speed), str(p.power), str(p.torque)) for p in self.points]
        steps = [
            (
                f"Ceiling at {written(step.speed, self.speed_unit)}{', held back by knock' * step.held_back}",
                "",
                written(step.power, self.power_unit) if step.power is not None else f"not known: {step.gap}",
                written(step.torque, self.torque_unit) if step.torque is not None else "",
            )
            for step in self.steps
        ]
        wanted = [(f"Manifold pressure wanted at {p.name}", str(p.wanted)) for p in self.points]
        wanted += [(f"Earliest burn without knock at {p.name}", str(p.retard)) for p in self.points]
        limits = [(limit.title, limit.value, limit.limit, limit.verdict) for limit in self.limits]
        return [
            Listing("POWER AND TORQUE", ("", "speed", "power", "torque"), [*points, *steps]),
            Listing("WHAT THE CYCLE WANTS", ("", ""), [(self.had.name, str(self.had)), *wanted]),
            Listing("WHAT LIMITS", ("", "value", "limit", ""), limits),
        ]


def compute(source: Source) -> Output:
    """The goal's points, the line of the cycle, and the findings on what limits."""
    world = source.world
    torque = source.figure("torque")
    power = source.goal("power", "kW", "Power of the goal")
    points = (
        Point(
            "peak torque", source.figure("torque_speed"), source.figure("power_at_torque"), torque,
            source.figure("cycle_pressure_at_torque"), source.figure("knock_retard_at_torque"),
        ),
        Point(
            "peak power", source.goal("speed", "rpm", "Speed of peak power"), power,
            source.figure("torque_at_power"),
            source.figure("cycle_pressure_at_power"), source.figure("knock_retard_at_power"),
        ),
    )  # fmt: skip
    if power.value is None and torque.value is None:
        raise Nothing(f"the goal says neither power nor torque: {power.gap or torque.gap}")
    scatter = 0.0
    formula = find("output_at_manifold_pressure")
    if formula is not None:
        scatter = formula.scatter.get("power", 0.0)
    return Output(
        build=source.build,
        subject=source.subject,
        speed_unit=preferred("rpm", source.system),
        power_unit=preferred("kW", source.system),
        torque_unit=preferred("N*m", source.system),
        points=points,
        had=source.figure(HAD),
        rev_limit=source.amount(world.goal("rev_limit"), "rpm", "Rev limit"),
        steps=tuple(_steps(source)),
        scatter=scatter,
        limits=limits(source),
    )


def _steps(source: Source) -> Iterator[Step]:
    """What the cycle gives at full load from peak torque to peak power, as the rulebook's own point is set up.

    Surroundings are those of the point of peak power; filling and inlet closing are worked out at each speed.
    What inlet and exhaust hold back goes with the square of speed; so does the rulebook at peak torque.
    """
    formula = find("output_at_manifold_pressure")
    manifold, first = source.si("map_absolute"), source.si("torque_speed")
    try:
        given = source.arguments("cycle_pressure_at_power")
    except Nothing as why:
        yield Step(0.0, None, None, gap=str(why))
        return
    last = given["speed"]
    if formula is None or manifold is None or first is None or first >= last:
        return
    given.pop("power")
    taken, power_speed = source.si("nose_power") or 0.0, given["speed"]
    losses = given.pop("exhaust_back_pressure", 0.0)
    inlet_loss = source.si("inlet_loss") or 0.0
    own = {name: unit(preferred(name, source.system)) for name in ("rpm", "kW", "N*m")}
    for number in range(STEPS):
        speed = first + (last - first) * number / (STEPS - 1)
        share = speed / power_speed
        asked = {
            **given,
            "speed": speed,
            "exhaust_back_pressure": losses * share**2,
            "manifold_pressure": manifold - inlet_loss * share**2,
            **_filled(source, speed, losses, share),
        }
        told_speed = own["rpm"].from_si(speed)
        try:
            gross = source.world.answers.ask(formula, asked, "power")
            late = source.world.answers.ask(formula, asked, "knock_retard")
        except OutOfRange as refusal:
            says = refusal_text(refused(formula, refusal)._replace(formula=""), source.system)
            yield Step(told_speed, None, None, isinstance(refusal, GoalOutOfReach), says)
        else:
            power = gross - taken * share
            yield Step(
                told_speed,
                own["kW"].from_si(power),
                own["N*m"].from_si(power / speed),
                late > math.radians(0.05),
            )


def _filled(source: Source, speed: float, losses: float, share: float) -> dict[str, float]:
    """Filling and inlet closing at a speed; none where the rulebook takes the usual for want of a spec."""
    formula = find("volumetric_efficiency")
    try:
        breath = source.arguments("filling_at_power")
    except Nothing:
        return {}
    if formula is None:
        return {}
    inlet_loss = source.si("inlet_loss") or 0.0
    asked = {
        **breath,
        "speed": speed,
        "exhaust_pressure": breath["exhaust_pressure"] - losses * (1.0 - share**2),
        "manifold_pressure": breath["manifold_pressure"] + inlet_loss * (1.0 - share**2),
    }
    return {
        "volumetric_efficiency": source.world.answers.ask(formula, asked, "volumetric_efficiency"),
        "inlet_closes": source.world.answers.ask(formula, asked, "closes_at"),
    }


def draw(data: Output) -> Figure:
    """Draw power over torque over the limits."""
    rows = [limit for limit in data.limits if limit.used != 0][:MOST]  # one that is not used limits nothing
    under = 0.55 + 0.30 * len(rows) if rows else 0.0
    height = 5.2 + under
    drawing = blank(height)
    top = head(drawing, data.title, data.under)
    tall = (height - top - under - 0.72) / 2
    for number, (quantity, name) in enumerate((("power", "Power"), ("torque", "Torque"))):
        foot = under + 0.48 + (1 - number) * (tall + 0.17)
        axes = drawing.add_axes((0.105, foot / height, 0.865, tall / height))
        _panel(axes, data, quantity, name)
        if number == 0:
            axes.tick_params(labelbottom=False)
            axes.set_xlabel("")
        elif (told := axes.get_legend_handles_labels())[0]:
            axes.legend(*told, loc="lower left", ncols=2, handlelength=3.2)
    if rows:
        drawing.text(
            0.012,
            (under - 0.22) / height,
            "What limits, nearest first: share of the limit that is used",
            fontsize=8.5,
            fontweight="bold",
            va="bottom",
        )
        _shares(drawing.add_axes((0.44, 0.22 / height, 0.32, (under - 0.52) / height)), rows)
    return drawing


def _shares(axes: Axes, rows: Sequence[Limit]) -> None:
    """How much of each limit is used, as bars up to the limit or past it."""
    across = axes.get_yaxis_transform()
    for row, limit in enumerate(rows):
        against = not limit.holds
        mark = MARKS["second"] if against else MARKS["first"]
        length = min(1.5 if limit.used is None else max(limit.used, 0.0), 1.5)
        axes.barh(row, length, 0.5, color=mark.colour, hatch=mark.hatch, edgecolor=INK, linewidth=0.6)
        title, size = fitted(limit.title, 2.8, 7.2, 5.8)
        axes.text(-0.03, row, title, transform=across, ha="right", va="center", fontsize=size)
        says = f"{limit.value}; {limit.limit}" if limit.limit else f"{limit.verdict}: {limit.value}"
        axes.text(1.03, row, folded(says, 1.45, 6.5, 2), transform=across, va="center", fontsize=6.5,
                  color=INK if against else QUIET)  # fmt: skip
    axes.axvline(1.0, color=INK, linewidth=2.0)
    axes.set_xlim(0, 1.5)
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks([])
    axes.set_xticks([0, 0.5, 1.0, 1.5], [percent(tick) for tick in (0, 0.5, 1.0, 1.5)])
    axes.tick_params(labelsize=6.5)
    axes.spines[["top", "right"]].set_visible(False)


def _panel(axes: Axes, data: Output, quantity: str, name: str) -> None:
    """One quantity over speed."""
    wanted = data.power_unit if quantity == "power" else data.torque_unit
    plain_axes(axes, axis("Engine speed", data.speed_unit), axis(name, wanted))
    line, knock = MARKS["first"], MARKS["second"]
    steps = [(step.speed, getattr(step, quantity), step.held_back) for step in data.steps]
    known = [(speed, value, late) for speed, value, late in steps if value is not None]
    highest = [value for _, value, _ in known]
    if known:
        speeds = [speed for speed, *_ in known]
        axes.fill_between(
            speeds, [v * (1 - data.scatter) for v in highest], [v * (1 + data.scatter) for v in highest],
            color=line.colour, alpha=0.16, linewidth=0,
        )  # fmt: skip
        axes.plot(speeds, highest, color=line.colour, linestyle=line.line, linewidth=1.6,
                  label="ceiling by the computed cycle")  # fmt: skip
        late = [(speed, value) for speed, value, held in known if held]
        if late:
            axes.plot(
                *zip(*late, strict=True),
                linestyle="none",
                marker=knock.marker,
                markersize=5.5,
                markerfacecolor=knock.colour,
                markeredgecolor=INK,
                label="knock holds the burn back",
            )
    marks = (("peak torque", MARKS["third"]), ("peak power", MARKS["fourth"]))
    for point, (_, mark) in zip(data.points, marks, strict=True):
        value = getattr(point, quantity)
        if value.value is None or point.speed.value is None:
            continue
        highest.append(value.value)
        axes.plot(
            [point.speed.value],
            [value.value],
            linestyle="none",
            marker=mark.marker,
            markersize=8,
            markerfacecolor=mark.colour,
            markeredgecolor=INK,
            label=f"the goal at {point.name}",
            zorder=5,
        )
        left = point is data.points[0]
        axes.annotate(
            f"{value} at {point.speed}",
            (point.speed.value, value.value),
            (-6 if left else 0, -8),
            ha="left" if left else "center",
            va="top",
            textcoords="offset points",
            fontsize=7.5,
            zorder=6,
            bbox={"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.8},
        )
    if data.rev_limit.value is not None:
        axes.axvline(data.rev_limit.value, color=INK, linewidth=1.0, linestyle=(0, (2, 2)))
        axes.text(
            data.rev_limit.value,
            0.02,
            f"{in_sentence(data.rev_limit.name)} {data.rev_limit} ",
            ha="right",
            transform=axes.get_xaxis_transform(),
            fontsize=7.2,
        )
    ends = [point.speed.value for point in data.points if point.speed.value is not None]
    ends += [data.rev_limit.value] if data.rev_limit.value is not None else []
    if ends:
        room = 0.12 * (max(ends) - min(ends) or max(ends))
        axes.set_xlim(min(ends) - room, max(ends) + room)
    if highest:
        axes.set_ylim(0, 1.18 * max(highest))
