"""Why a rule comes out as it does, as a graph: from the verdict through figures to what is stated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from compat.paper.pictures.choosing import finding_of, weightiest
from compat.paper.pictures.layers import Placed, layered
from compat.paper.pictures.numbers import Listing, Nothing, Source
from compat.paper.pictures.style import INK, MARKS, QUIET, WIDTH, blank, folded, head
from compat.paper.sentences import number
from compat.paper.why import explained
from compat.rulebook.models import Verdict
from compat.words.reasons import Reason
from compat.words.wording import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Chain", "Step", "compute", "draw"]

MOST = 30
"""Steps that one picture holds; the chain is opened level by level while it has no more."""
ROWS, TALL = 20, 8.4
"""Boxes that stand one below the other on a page, and what they take of its height [in]."""
LEVELS = 3
"""Levels below the verdict: as many columns as a page takes in letters that can be read."""
BOX, GAP = (1.43, 0.46), (0.26, 0.06)
"""Width and height of a box where there is room, and the room to the next [in]."""
LINES: tuple[dict[str, Any], ...] = (
    {"edgecolor": QUIET},
    {"edgecolor": MARKS["first"].colour, "linestyle": (0, (5, 1.5))},
    {"edgecolor": INK, "linestyle": (0, (1.5, 1.2))},
)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that the verdict rests on."""

    name: str
    title: str
    says: str
    """What it comes to, or why it comes to nothing."""
    kind: str
    """``finding``, ``figure``, ``part`` for what a part states, ``goal``."""
    source: str
    estimate: bool
    rests_on: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """What is drawn: the verdict first, and every step once."""

    build: str
    subject: str
    rule: str
    verdict: Verdict
    because: str
    steps: tuple[Step, ...]
    hidden: int
    """Steps of the whole chain that are not among them."""

    title = "What the verdict rests on"

    @property
    def under(self) -> str:
        """What stands below the title."""
        left = (
            f" {self.hidden} more steps: compat why {self.build} {self.rule} --depth all."
            if self.hidden
            else ""
        )
        return f"{self.subject}. {self.verdict.capitalize()}: {self.because}.{left}"

    @property
    def shows(self) -> str:
        """The picture in words."""
        by_name = {step.name: step for step in self.steps}
        first = self.steps[0]
        below = listed(f"{by_name[name].title} ({by_name[name].says})" for name in first.rests_on)
        figures = sum(step.kind == "figure" for step in self.steps)
        stated = sum(step.kind in ("part", "goal") for step in self.steps)
        return (
            f"A graph from the verdict on {first.title}, {self.verdict}, of {self.subject} to what it rests "
            f"on: {figures} figures and {stated} stated values. It rests first on {below}."
        )

    def listings(self) -> Sequence[Listing]:
        """The steps, each with what it rests on."""
        place = {step.name: f"{number}" for number, step in enumerate(self.steps, 1)}
        rows = [
            (f"{place[step.name]}. {step.title}", step.says, ", ".join(place[name] for name in step.rests_on))
            for step in self.steps
        ]
        return [Listing("WHAT THE VERDICT RESTS ON", ("", "comes to", "rests on"), rows)]


def compute(source: Source, rule: str = "") -> Chain:
    """The chain behind a rule, as deep as the picture stays readable; else behind the weightiest finding.

    Raises
    ------
    Nothing
        When the rule does not apply, or rests on nothing that could be drawn.
    """
    if rule:
        found = finding_of(source, rule)
    else:
        # a need of a part, or what stands where, has no chain of figures
        found = weightiest(
            source,
            lambda each: (
                each.rule in source.book.rules and bool(each.value is not None or each.load is not None)
            ),
            "has a chain of figures; name one with --rule",
        )
    if found.rule not in source.book.rules:
        raise Nothing(f"'{found.rule}' is a need that a part brings: it rests on that part alone")
    steps, hidden = _deepest(source, found.rule)
    if len(steps) < 1:
        raise Nothing(f"rule '{found.rule}' names no figure and no spec that it could be drawn to rest on")
    top = Step(
        "", found.title, found.verdict, "finding", found.source, False,
        tuple(dict.fromkeys(reason.name for reason in _first(source, found.rule))),
    )  # fmt: skip
    return Chain(
        build=source.build,
        subject=source.subject,
        rule=found.rule,
        verdict=found.verdict,
        because=found.because.rstrip("."),
        steps=(top, *steps),
        hidden=hidden,
    )


def _first(source: Source, rule: str) -> Sequence[Reason]:
    return explained(source.report, source.world, rule, source.system, 1).chain


def _deepest(source: Source, rule: str) -> tuple[list[Step], int]:
    """Steps to as many levels as give no more than fit, and how many are left."""
    kept: tuple[list[Step], int] = ([], 0)
    for depth in range(1, LEVELS + 1):
        told = explained(source.report, source.world, rule, source.system, depth)
        steps = _steps(source, told.chain)
        if kept[0] and (len(steps) > MOST or _rows(steps) > ROWS):
            break
        kept = steps, told.hidden
        if not told.deeper:
            break
    return kept


def _steps(source: Source, found: Sequence[Reason]) -> list[Step]:
    """Every step of a chain once, with all that it rests on wherever it comes up."""
    opened: dict[str, Reason] = {}
    for reason in _walk(found):
        if reason.name not in opened or (reason.rests_on and not opened[reason.name].rests_on):
            opened[reason.name] = reason
    return [
        Step(
            name=name,
            title=reason.title[:1].upper() + reason.title[1:],
            says=_says(reason, source.system),
            kind="goal" if name.startswith("goal.") else "part" if "." in name else "figure",
            source=reason.source,
            estimate=reason.estimate,
            rests_on=tuple(dict.fromkeys(below.name for below in reason.rests_on)),
        )
        for name, reason in opened.items()
    ]


def _rows(steps: Sequence[Step]) -> float:
    """How many rows the steps take when they are laid out."""
    return layered([(step.name, step.rests_on) for step in steps]).rows


def _walk(found: Sequence[Reason]) -> Iterator[Reason]:
    for reason in found:
        yield reason
        yield from _walk(reason.rests_on)


def _says(reason: Reason, system: str) -> str:
    if reason.gap:
        return reason.gap
    return (
        number(reason.value, reason.half, reason.unit, system)
        if isinstance(reason.value, float)
        else str(reason.value)
    )


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where everything stands [in]."""

    placed: Placed

    @property
    def box(self) -> float:
        """Height of a box: less where many stand in one column."""
        return min(BOX[1], TALL / self.placed.rows - GAP[1])

    @property
    def size(self) -> tuple[float, float]:
        columns = self.placed.columns
        return columns * (BOX[0] + GAP[0]) - GAP[0] + 0.24, self.placed.rows * (self.box + GAP[1])

    def place(self, column: int, row: float) -> tuple[float, float]:
        """Left upper corner of a box."""
        return 0.12 + column * (BOX[0] + GAP[0]), GAP[1] / 2 + row * (self.box + GAP[1])

    def corner(self, name: str) -> tuple[float, float]:
        return self.place(*self.placed.at[name])

    def way(self, name: str, below: str) -> list[tuple[float, float]]:
        """Points from the right of a box to the left of one that it rests on, two for each column between."""
        x, y = self.corner(name)
        port, ways = self.placed.ports[name, below]
        points = [(x + BOX[0], y + self.box * (port + 1) / (ways + 1))]
        for column, row in self.placed.routes[name, below]:
            x, y = self.place(column, row)
            points += [(x, y + self.box / 2), (x + BOX[0], y + self.box / 2)]
        x, y = self.corner(below)
        return [*points, (x, y + self.box / 2)]


def draw(data: Chain) -> Figure:
    """Draw boxes column by column, the verdict to the left, and a curve from each to what it rests on."""
    sheet = _Sheet(layered([(step.name, step.rests_on) for step in data.steps]))
    width, tall = sheet.size
    width = max(width, WIDTH)
    height = tall + 0.45 + head(blank(1.0, width), data.title, data.under)
    drawing = blank(height, width)
    top = head(drawing, data.title, data.under)
    axes = drawing.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    # an inch of the axes is an inch of the paper, counted down from below the head
    axes.set_xlim(0, width)
    axes.set_ylim(height - top - 0.08, -top - 0.08)
    for step in data.steps:
        for below in step.rests_on:
            _edge(axes, sheet, step.name, below)
    for step in data.steps:
        _box(axes, sheet, step)
    says = "bold frame: verdict; grey: a figure; white: stated by a part; cut frame: the goal; [e]: an estimate"
    drawing.text(0.012, 0.1 / height, says, fontsize=7, color=QUIET)
    return drawing


def _edge(axes: Axes, sheet: _Sheet, name: str, below: str) -> None:
    """A curve from a box to one that it rests on, straight past the columns between."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    points = sheet.way(name, below)
    path: list[tuple[float, float]] = [points[0]]
    codes: list[int] = [int(Path.MOVETO)]
    for number_, ((x, y), (to_x, to_y)) in enumerate(pairwise(points)):
        if number_ % 2:
            path.append((to_x, to_y))
            codes.append(int(Path.LINETO))
        else:
            half = (x + to_x) / 2
            path += [(half, y), (half, to_y), (to_x, to_y)]
            codes += [int(Path.CURVE4)] * 3
    # neighbours in a column are told apart by their lines
    column, row = sheet.placed.at[name]
    beside = sorted(other for where, other in sheet.placed.at.values() if where == column)
    looks = LINES[beside.index(row) % len(LINES)]
    axes.add_patch(PathPatch(Path(path, codes), facecolor="none", linewidth=0.8, **looks))


def _box(axes: Axes, sheet: _Sheet, step: Step) -> None:
    """A step: its title, and what it comes to."""
    from matplotlib.patches import FancyBboxPatch

    looks: dict[str, dict[str, Any]] = {
        "finding": {"facecolor": "white", "edgecolor": MARKS["second"].colour, "linewidth": 2.4},
        "figure": {"facecolor": "#ebebeb", "edgecolor": INK, "linewidth": 0.8},
        "part": {"facecolor": "white", "edgecolor": INK, "linewidth": 0.8},
        "goal": {"facecolor": "white", "edgecolor": MARKS["first"].colour, "linewidth": 1.2, "linestyle": "--"},
    }
    x, y = sheet.corner(step.name)
    axes.add_patch(
        FancyBboxPatch(
            (x, y), BOX[0], sheet.box, boxstyle="round,pad=0,rounding_size=0.05", zorder=2, **looks[step.kind]
        )
    )
    room = BOX[0] - 0.12
    title = folded(step.title, room, 6.0, 3 if sheet.box > 0.43 else 2)
    says = folded(step.says, room - 0.2 * step.estimate, 6.6, 1, bold=True) + " [e]" * step.estimate
    axes.text(x + 0.06, y + 0.03, title, fontsize=6.0, va="top", linespacing=1.0, zorder=3)
    axes.text(x + 0.06, y + sheet.box - 0.03, says, fontsize=6.6, va="bottom", fontweight="bold", zorder=3)
