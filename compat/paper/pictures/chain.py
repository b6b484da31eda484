"""Why a rule comes out as it does, as a graph: from the verdict through figures to what is stated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from compat.paper.pictures.choosing import finding_of, weightiest
from compat.paper.pictures.layers import Placed, layered
from compat.paper.pictures.numbers import Listing, Nothing, Source
from compat.paper.pictures.style import INK, MARKS, QUIET, blank, folded, head
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
ROWS = 16
"""Boxes that stand one below the other on a page."""
LEVELS = 3
"""Levels below the verdict: as many columns as a page takes in letters that can be read."""
BOX, GAP = (1.43, 0.46), (0.26, 0.06)
"""Width and height of a box, and the room to the next [in]."""

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
        by_name = {step.name: step.title for step in self.steps}
        rows = [
            (
                step.title,
                step.says,
                listed(by_name[name] for name in step.rests_on) if step.rests_on else step.source,
            )
            for step in self.steps
        ]
        return [Listing("WHAT THE VERDICT RESTS ON", ("", "comes to", "rests on, or source"), rows)]


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
        build=source.report.build,
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


def draw(data: Chain) -> Figure:
    """Draw boxes column by column, the verdict to the left, and a curve from each to what it rests on."""
    placed = layered([(step.name, step.rests_on) for step in data.steps])
    columns, rows = placed.columns, placed.rows
    width = columns * BOX[0] + (columns - 1) * GAP[0] + 0.24
    tall = rows * (BOX[1] + GAP[1])
    shown = max(width, 6.7)
    height = tall + 1.25
    drawing = blank(height, shown)
    top = head(drawing, data.title, data.under)
    if height - top < tall + 0.42:
        drawing.set_figheight(tall + top + 0.42)
        for text in list(drawing.texts):
            text.remove()
        top = head(drawing, data.title, data.under)
    height = drawing.get_figheight()
    axes = drawing.add_axes((0, 0.30 / height, 1, (height - top - 0.34) / height))
    axes.set_axis_off()
    axes.set_xlim(0, shown)
    axes.set_ylim(tall, 0)
    by_name = {step.name: step for step in data.steps}
    for step in data.steps:
        for below in step.rests_on:
            _edge(axes, placed, step.name, below)
    for step in data.steps:
        _box(axes, _corner(placed, step.name), by_name[step.name])
    says = "bold frame: verdict; grey: a figure; white: stated by a part; cut frame: the goal; [e]: an estimate"
    drawing.text(0.012, 0.08 / height, says, fontsize=7, color=QUIET)
    return drawing


def _corner(placed: Placed, name: str) -> tuple[float, float]:
    """Left upper corner of a box."""
    column, row = placed.at[name]
    return 0.12 + column * (BOX[0] + GAP[0]), GAP[1] / 2 + row * (BOX[1] + GAP[1])


def _edge(axes: Axes, placed: Placed, name: str, below: str) -> None:
    """A curve from the right of a box to the left of one that it rests on, past the columns between."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    route = placed.routes[name, below]
    column, row = placed.at[name]
    port, ways = placed.ports[name, below]
    points = [(_corner(placed, name)[0] + BOX[0], _corner(placed, name)[1] + BOX[1] * (port + 1) / (ways + 1))]
    for past, height in route:
        left = 0.12 + past * (BOX[0] + GAP[0])
        up = GAP[1] / 2 + height * (BOX[1] + GAP[1]) + BOX[1] / 2
        points += [(left, up), (left + BOX[0], up)]
    points.append((_corner(placed, below)[0], _corner(placed, below)[1] + BOX[1] / 2))
    path: list[tuple[float, float]] = [points[0]]
    codes: list[int] = [int(Path.MOVETO)]
    for number_, ((x, y), (to_x, to_y)) in enumerate(pairwise(points)):
        if number_ % 2:  # straight through a column that it passes
            path.append((to_x, to_y))
            codes.append(int(Path.LINETO))
        else:
            half = (x + to_x) / 2
            path += [(half, y), (half, to_y), (to_x, to_y)]
            codes += [int(Path.CURVE4)] * 3
    # neighbours in a column are told apart by their lines
    turn = sorted(other for where, other in placed.at.values() if where == column).index(row) % len(LINES)
    axes.add_patch(PathPatch(Path(path, codes), facecolor="none", linewidth=0.8, **LINES[turn]))


def _box(axes: Axes, corner: tuple[float, float], step: Step) -> None:
    """A step: its title, and what it comes to."""
    from matplotlib.patches import FancyBboxPatch

    looks: dict[str, dict[str, Any]] = {
        "finding": {"facecolor": "white", "edgecolor": MARKS["second"].colour, "linewidth": 2.4},
        "figure": {"facecolor": "#ebebeb", "edgecolor": INK, "linewidth": 0.8},
        "part": {"facecolor": "white", "edgecolor": INK, "linewidth": 0.8},
        "goal": {"facecolor": "white", "edgecolor": MARKS["first"].colour, "linewidth": 1.2, "linestyle": "--"},
    }
    axes.add_patch(
        FancyBboxPatch(corner, *BOX, boxstyle="round,pad=0,rounding_size=0.05", zorder=2, **looks[step.kind])
    )
    x, y = corner[0] + 0.06, corner[1]
    room = BOX[0] - 0.12
    title, says = folded(step.title, room, 6.0, 3), folded(step.says, room - 0.2 * step.estimate, 6.6, 1, True)
    axes.text(x, y + 0.035, title, fontsize=6.0, va="top", linespacing=1.0, zorder=3)
    axes.text(x, y + BOX[1] - 0.035, says + " [e]" * step.estimate, fontsize=6.6, va="bottom", zorder=3,
              fontweight="bold")  # fmt: skip
