"""The compressor's map with the engine's operating line on it, surge and choke."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from compat.engineering import OutOfRange, find
from compat.engineering.air.compressor_lines import speed_lines
from compat.engineering.air.full_load import full_load_points
from compat.paper.pictures.numbers import Amount, Listing, Nothing, Source, axis, percent, written
from compat.paper.pictures.style import INK, MARKS, QUIET, blank, head, plain_axes
from compat.rulebook.values import Absent, Missing, Number, refused
from compat.words.wording import listed, refusal_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Along", "Compressor", "Place", "SpeedLine", "compute", "draw"]


@dataclass(frozen=True, slots=True)
class SpeedLine:
    """A line of one shaft speed, surge edge to choke edge."""

    speed: float
    flow: tuple[float, ...]
    ratio: tuple[float, ...]
    efficiency: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """One of the goal's points on the map."""

    name: str
    flow: Amount
    ratio: Amount
    margins: tuple[Amount, ...]
    """What the check knows of it: efficiency, and how far surge or choke is."""


@dataclass(frozen=True, slots=True)
class Along:
    """A point of the operating line."""

    speed: float
    """Of the engine."""
    flow: float
    ratio: float
    efficiency: float
    surge_margin: float
    choke_margin: float


@dataclass(frozen=True, slots=True)
class Compressor:
    """What is drawn."""

    build: str
    subject: str
    turbocharger: str
    speed_unit: str
    flow_unit: str
    lines: tuple[SpeedLine, ...]
    places: tuple[Place, ...]
    along: tuple[Along, ...]
    stops: str
    """Why the operating line ends early, or is missing; empty where it does not."""

    title = "Compressor map with the engine on it"

    @property
    def under(self) -> str:
        """What stands below the title."""
        says = f"{self.subject}; {self.turbocharger}."
        if self.along:
            first, last = self.along[0].speed, self.along[-1].speed
            says += (
                f" Operating line: full load from {written(first, self.speed_unit)} of the engine to "
                f"{written(last, self.speed_unit)}, boost and filling of the goal; an estimate."
            )
        return f"{says} The line ends there: {self.stops}." if self.stops else says

    @property
    def shows(self) -> str:
        """The picture in words."""
        says = [f"Compressor map of {self.turbocharger}, with the operating line of {self.subject}."]
        for place in self.places:
            margins = listed(f"{amount.name[:1].lower()}{amount.name[1:]} {amount}" for amount in place.margins)
            says.append(f"At {place.name}: flow {place.flow}, pressure ratio {place.ratio}; {margins}.")
        if self.along:
            surge = min(self.along, key=lambda point: point.surge_margin)
            choke = min(self.along, key=lambda point: point.choke_margin)
            says.append(
                f"Along the line surge is nearest at {written(surge.speed, self.speed_unit)}, "
                f"{percent(surge.surge_margin)} more flow than there, and choke at "
                f"{written(choke.speed, self.speed_unit)}, {percent(choke.choke_margin)} away."
            )
        return " ".join(says)

    def listings(self) -> Sequence[Listing]:
        """The numbers."""
        places = [(place.name.capitalize(), str(place.flow), str(place.ratio)) for place in self.places]
        margins = [(amount.name, str(amount)) for place in self.places for amount in place.margins]
        along = [
            (
                written(point.speed, self.speed_unit),
                written(point.flow, self.flow_unit),
                written(point.ratio),
                written(point.efficiency),
                percent(point.surge_margin),
                percent(point.choke_margin),
            )
            for point in self.along
        ]
        lines = [
            (
                written(line.speed, self.speed_unit),
                *(
                    f"{written(line.flow[end], self.flow_unit)} at {written(line.ratio[end])}"
                    for end in (0, -1)
                ),
                written(max(line.efficiency)),
            )
            for line in self.lines
        ]
        line = ("engine speed", "flow", "pressure ratio", "efficiency", "over surge", "to choke")
        return [
            Listing("ON THE MAP", ("", "flow", "pressure ratio"), places),
            Listing("MARGINS", ("", ""), margins),
            Listing("OPERATING LINE", line, along),
            Listing(
                "SPEED LINES OF THE MAP", ("shaft speed", "surge edge", "choke edge", "best efficiency"), lines
            ),
        ]


def compute(source: Source) -> Compressor:
    """The map as it is read, the goal's points, and the full-load line.

    Raises
    ------
    Nothing
        When there is no turbocharger, its card has no map, or the map is not one.
    """
    try:
        rows = source.world.spec("turbocharger", "compressor_map")
    except Absent:
        raise Nothing("no turbocharger is fitted, and only one with a compressor map can be drawn") from None
    part = source.world.settled.fitted["turbocharger"].part
    if isinstance(rows, Missing) or not isinstance(rows, tuple):
        raise Nothing(f"the card of turbocharger {part.part} has no compressor_map")
    try:
        lines = speed_lines(rows)  # type: ignore[arg-type]  # rows of floats, as the spec is declared
    except OutOfRange as refusal:
        raise Nothing(f"the compressor_map of turbocharger {part.part} is none: {refusal}") from None
    along, stops = _along(source, rows)
    return Compressor(
        build=source.build,
        subject=source.subject,
        turbocharger=f"{part.name} ({part.part})",
        speed_unit=source.unit("rpm"),
        flow_unit=source.unit("kg/s"),
        lines=tuple(
            SpeedLine(speed, source.given(line.flow, "kg/s"), line.ratio, line.efficiency)
            for line, speed in zip(lines, source.given((line.speed for line in lines), "rpm"), strict=True)
        ),
        places=(
            Place(
                "peak torque",
                source.figure("compressor_flow_at_torque"),
                source.figure("pressure_ratio_at_torque"),
                (source.figure("compressor_efficiency_at_torque"), source.figure("compressor_surge_margin")),
            ),
            Place(
                "peak power",
                source.figure("compressor_flow"),
                source.figure("pressure_ratio"),
                (source.figure("compressor_efficiency"), source.figure("compressor_choke_margin")),
            ),
        ),
        along=along,
        stops=stops,
    )


def _along(source: Source, rows: object) -> tuple[tuple[Along, ...], str]:
    """The full-load line, peak torque to rev limit, through the point of peak power; and why it ends early."""
    wanted = (
        "displacement",
        "filling",
        "boost",
        "torque_speed",
        "ambient_pressure",
        "charge_loss",
        "filter_loss",
        "air_flow",
    )
    known = {name: source.si(name) for name in wanted}
    air, limit = source.world.goal("air_temperature"), source.world.goal("rev_limit")
    drawn_for = [source.world.spec("turbocharger", name) for name in ("map_pressure", "map_temperature")]
    state = [value.x for value in drawn_for if isinstance(value, Number)]
    if len(state) < len(drawn_for):
        return (), "the state of the air that the map is drawn for is not stated"
    lacking = [name.replace("_", " ") for name, value in known.items() if value is None]
    if lacking or not isinstance(air, Number) or not isinstance(limit, Number):
        return (), f"{listed(lacking or ['rev limit'])} is not known"
    cooled = source.si("intercooler_effectiveness")
    given = {name: value for name, value in known.items() if value is not None}
    points = full_load_points(
        compressor_map=rows,  # type: ignore[arg-type]  # rows of floats, as the spec is declared
        displacement=given["displacement"],
        volumetric_efficiency=given["filling"],
        boost=given["boost"],
        full_boost_speed=given["torque_speed"],
        rev_limit=limit.x,
        ambient_pressure=given["ambient_pressure"],
        ambient_temperature=air.x,
        effectiveness=0.05 if cooled is None else cooled,  # the least that it reads, which stands for none
        rated_flow=given["air_flow"],  # all losses are those of peak power
        charge_loss=given["charge_loss"],
        filter_loss=given["filter_loss"],
        lowest_speed=given["torque_speed"],
        map_pressure=state[0],
        map_temperature=state[1],
    )
    found: list[Along] = []
    try:
        for point in points:
            if not found or point.speed > given["torque_speed"]:  # the first comes twice
                found.append(
                    Along(
                        source.given([point.speed], "rpm")[0],
                        source.given([point.corrected_flow], "kg/s")[0],
                        point.pressure_ratio,
                        point.efficiency,
                        point.surge_margin,
                        point.choke_margin,
                    )
                )
    except OutOfRange as refusal:
        formula = find("full_load_line")
        assert formula is not None
        return tuple(found), refusal_text(refused(formula, refusal)._replace(formula=""), source.system)
    return tuple(found), ""


def draw(data: Compressor) -> Figure:
    """Draw the map."""
    height = 6.1
    drawing = blank(height)
    top = head(drawing, data.title, data.under)
    axes = drawing.add_axes((0.095, 1.02 / height, 0.875, (height - top - 1.12) / height))
    plain_axes(axes, axis("Flow corrected to the map's reference state", data.flow_unit),
               "Pressure ratio, outlet over inlet")  # fmt: skip
    for line in data.lines:
        axes.plot(line.flow, line.ratio, color=QUIET, linewidth=0.9)
        axes.annotate(f"{round(line.speed, -2):.0f}", (line.flow[-1], line.ratio[-1]), (4, -3), fontsize=6.8,
                      textcoords="offset points", va="top", color=QUIET)  # fmt: skip
        best = max(range(len(line.flow)), key=lambda i: line.efficiency[i])
        axes.plot([line.flow[best]], [line.ratio[best]], marker=".", color=QUIET, markersize=4)
        axes.annotate(percent(line.efficiency[best]), (line.flow[best], line.ratio[best]), (0, 3), fontsize=6.2,
                      textcoords="offset points", ha="center", color=QUIET)  # fmt: skip
    for end, mark, name in ((0, MARKS["second"], "surge"), (-1, MARKS["fourth"], "choke")):
        axes.plot(
            [line.flow[end] for line in data.lines],
            [line.ratio[end] for line in data.lines],
            color=mark.colour,
            linestyle=mark.line,
            linewidth=2.0,
            label=f"{name} edge of the map",
        )
    if data.along:
        mark = MARKS["first"]
        axes.plot(
            [point.flow for point in data.along],
            [point.ratio for point in data.along],
            color=mark.colour,
            linewidth=2.2,
            marker=mark.marker,
            markersize=3.2,
            label="operating line, full load",
        )
        last = data.along[-1]
        axes.annotate(
            f"engine at {written(last.speed, data.speed_unit)}",
            (last.flow, last.ratio),
            (0, 6),
            textcoords="offset points",
            ha="center",
            fontsize=7,
            color=mark.colour,
            bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.8},
        )
    _places(axes, data)
    flows = [flow for line in data.lines for flow in line.flow] + [point.flow for point in data.along]
    ratios = [ratio for line in data.lines for ratio in line.ratio] + [point.ratio for point in data.along]
    flows += [place.flow.value for place in data.places if place.flow.value is not None]
    ratios += [place.ratio.value for place in data.places if place.ratio.value is not None]
    axes.set_xlim(0, 1.14 * max(flows))
    axes.set_ylim(1.0, 1.0 + 1.08 * (max(ratios) - 1.0))
    drawing.legend(*axes.get_legend_handles_labels(), loc="lower left", ncols=2, bbox_to_anchor=(0.01, 0.0),
                   handlelength=3.0)  # fmt: skip
    axes.text(
        0.995,
        0.975,
        f"numbers at line ends: corrected shaft speed [{data.speed_unit}]; dots: best efficiency",
        transform=axes.transAxes,
        ha="right",
        fontsize=6.8,
        color=QUIET,
    )
    return drawing


def _places(axes: Axes, data: Compressor) -> None:
    """The goal's two points, with what the check says of them."""
    marks = {
        "peak torque": (MARKS["third"], "more flow than surge"),
        "peak power": (MARKS["fourth"], "to choke"),
    }
    for place in data.places:
        if place.flow.value is None or place.ratio.value is None:
            continue
        mark, away = marks[place.name]
        says = f"the goal at {place.name}: {place.flow} at {place.ratio}"
        if place.margins[-1].value is not None:
            says += f", {percent(place.margins[-1].value)} {away}"
        axes.plot(
            [place.flow.value],
            [place.ratio.value],
            linestyle="none",
            marker=mark.marker,
            markersize=9,
            zorder=6,
            markerfacecolor=mark.colour,
            markeredgecolor=INK,
            label=says,
        )
