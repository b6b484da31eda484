"""Headroom by part at the goal: what each part can take over what it bears, against what the duty asks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from compat.paper.pictures.numbers import Amount, Listing, Nothing, Source, percent
from compat.paper.pictures.style import HAIR, INK, MARKS, QUIET, Mark, blank, fitted, folded, head
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.units import unit
from compat.words.report import Finding
from compat.words.wording import listed

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Bar", "Headroom", "compute", "draw"]

MOST = 26
"""Bars that one picture holds; those with the most to spare are left to the table."""
FROM, TO = -0.6, 1.5
"""Headroom where the scale ends, further out where more is asked; a number says how far a cut bar goes."""
ROW, NAMES = 0.25, 2.55
"""Height of a row, and width of the names beside it [in]."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One load and its capacity."""

    rule: str
    title: str
    part: str
    """The part that bears it, by its position; with its id."""
    verdict: Verdict
    load: Amount
    capacity: Amount
    headroom: float | None
    """Capacity / load - 1; none where there is no load."""
    asked: float
    low: float | None
    """Headroom at the worst of all tolerances."""

    @property
    def spare(self) -> float:
        """Headroom beyond what is asked."""
        return (99.0 if self.headroom is None else self.headroom) - self.asked

    @property
    def kind(self) -> str:
        """Whether it falls short, may do so within its uncertainty, or holds."""
        if self.headroom is None:
            return "no load"
        if self.spare < -1e-9:
            return "short"
        return "open" if self.low is not None and self.low < self.asked - 1e-9 else "holds"


@dataclass(frozen=True, slots=True)
class Headroom:
    """What is drawn: bars, the least to spare first."""

    build: str
    subject: str
    duty: str
    bars: tuple[Bar, ...]

    title = "Headroom by part at the goal"

    @property
    def under(self) -> str:
        """What stands below the title."""
        left = len(self.bars) - MOST
        rest = f" {left} more have more to spare." if left > 0 else ""
        return (
            f"{self.subject}, duty {self.duty}. Bar: capacity over load, less one. Stroke across it: what the "
            f"duty asks. Thin line: down to the worst of all tolerances.{rest}"
        )

    @property
    def shows(self) -> str:
        """The picture in words."""
        kinds = [bar.kind for bar in self.bars]
        short = [bar for bar in self.bars if bar.kind == "short"]
        says = (
            f"Bars of headroom for {len(self.bars)} loads of {self.subject}: {len(short)} below what is asked"
        )
        says += f", {kinds.count('open')} that may be so within their uncertainty."
        worst = (
            f"{bar.title} {percent(bar.headroom)} where {percent(bar.asked)} is asked" for bar in self.bars[:3]
        )
        return f"{says} Least to spare: {listed(worst)}."

    def listings(self) -> Sequence[Listing]:
        """The numbers."""
        titles = ("", "load", "capacity", "headroom", "asked", "at worst")
        rows = [
            (
                f"{bar.title} ({bar.part})" if bar.part else bar.title,
                str(bar.load),
                str(bar.capacity),
                percent(bar.headroom),
                percent(bar.asked),
                percent(bar.low),
            )
            for bar in self.bars
        ]
        return [Listing("HEADROOM AT THE GOAL", titles, rows)]


def compute(source: Source) -> Headroom:
    """The load findings of the report as bars.

    Raises
    ------
    Nothing
        When no load was judged.
    """
    found = [each for each in source.loads if each.load is not None and each.capacity is not None]
    if not found:
        raise Nothing(
            "no load of this build was held against a capacity; the rulebook has no load rule that applies"
        )
    bars = [_bar(source, finding) for finding in found]
    bars.sort(key=lambda bar: (round(bar.spare, 6), bar.title))
    return Headroom(source.build, source.subject, source.world.settled.goal.duty, tuple(bars))


def _bar(source: Source, finding: Finding) -> Bar:
    own = unit(finding.unit)
    return Bar(
        rule=finding.rule,
        title=finding.title,
        part=_part(source, source.book.rules[finding.rule]),
        verdict=finding.verdict,
        load=source.amount(own.to_si(finding.load or 0.0), finding.unit, "load"),
        capacity=source.amount(own.to_si(finding.capacity or 0.0), finding.unit, "capacity"),
        headroom=finding.headroom,
        asked=finding.headroom_asked or 0.0,
        low=finding.low,
    )


def _part(source: Source, rule: BoundRule) -> str:
    """The part that the capacity is of: the first that it names, itself or through its figures."""
    for position in source.book.loaded(rule):
        entry = source.world.settled.fitted.get(position)
        if entry is not None:
            return f"{source.shop.positions[position].name}, {entry.part.part}"
    return ""


KINDS: dict[str, tuple[str, Mark]] = {
    "short": ("below what is asked", MARKS["second"]),
    "open": ("enough, but not at the worst of its tolerances", MARKS["third"]),
    "holds": ("enough at the worst too", MARKS["first"]),
}


def draw(data: Headroom) -> Figure:
    """Draw the bars."""
    from matplotlib.patches import Patch

    bars = [bar for bar in data.bars if bar.headroom is not None][:MOST]
    end = max(TO, math.ceil(2 * max((bar.asked for bar in bars), default=0.0) + 0.5) / 2)
    height = 1.25 + ROW * max(len(bars), 3)
    drawing = blank(height)
    top = head(drawing, data.title, data.under)
    axes = drawing.add_axes((0.40, 0.62 / height, 0.405, (height - top - 0.78) / height))
    for row, bar in enumerate(bars):
        assert bar.headroom is not None
        mark = KINDS[bar.kind][1]
        length = min(max(bar.headroom, FROM), end)
        axes.barh(row, length, 0.62, color=mark.colour, hatch=mark.hatch, edgecolor=INK, linewidth=0.6)
        if bar.low is not None and bar.low < bar.headroom - 1e-9 and bar.low < end:
            axes.plot([max(bar.low, FROM), length], [row, row], color=INK, linewidth=1.1, solid_capstyle="butt")
            axes.plot([max(bar.low, FROM)] * 2, [row - 0.18, row + 0.18], color=INK, linewidth=1.1)
        if FROM < bar.asked <= end:
            # set off from a bar that it stands in, and not hiding one that ends beside it
            for colour, width in (("white", 3.2), (INK, 2.2))[bar.asked < 0.05 :]:
                axes.plot([bar.asked] * 2, [row - 0.46, row + 0.46], color=colour, linewidth=width,
                          solid_capstyle="butt")  # fmt: skip
        asks = f"{percent(bar.headroom)}{' ▸' if bar.headroom > end else ''}"
        axes.text(1.03, row, asks, transform=axes.get_yaxis_transform(), va="center", fontsize=7.5,
                  fontweight="bold" if bar.kind == "short" else "normal")  # fmt: skip
        axes.text(
            1.24,
            row,
            percent(bar.asked),
            transform=axes.get_yaxis_transform(),
            va="center",
            fontsize=7.5,
            color=QUIET,
        )
        _name(axes, row, bar)
    for place, words in ((1.03, "headroom"), (1.24, "asked")):
        axes.text(place, -0.95, words, transform=axes.get_yaxis_transform(), fontsize=7, color=QUIET)
    axes.set_xlim(FROM, end)
    axes.set_ylim(len(bars) - 0.5, -0.6)
    ticks = [half / 2 for half in range(-1, int(2 * end) + 1)]
    axes.set_xticks(ticks, [percent(tick) for tick in ticks])
    axes.set_yticks([])
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.axvline(0, color=INK, linewidth=0.9)
    axes.grid(axis="x", color=HAIR, linewidth=0.5)
    axes.set_axisbelow(True)
    axes.set_xlabel("Headroom: capacity over load, less one")
    keys = [
        Patch(facecolor=mark.colour, hatch=mark.hatch, edgecolor=INK, linewidth=0.6, label=words)
        for words, mark in KINDS.values()
    ]
    drawing.legend(handles=keys, loc="lower left", ncols=3, bbox_to_anchor=(0.0, 0.0), handlelength=2.2)
    return drawing


def _name(axes: object, row: int, bar: Bar) -> None:
    """What bears what, in two lines to the left of the bar."""
    from matplotlib.axes import Axes

    assert isinstance(axes, Axes)
    across = axes.get_yaxis_transform()
    title, size = fitted(bar.title, NAMES, 7.2, 5.8)
    axes.text(-0.02, row - 0.03, title, transform=across, ha="right", va="bottom", fontsize=size)
    part = folded(bar.part, NAMES, 5.8)
    axes.text(-0.02, row + 0.06, part, transform=across, ha="right", va="top", fontsize=5.8, color=QUIET)
