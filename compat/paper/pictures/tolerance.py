"""A tolerance stack: what a rule measures, how far off it may lie, and which tolerance brings how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from compat.checking.outcome import Borne, Held
from compat.checking.spread import MODEL, shares_of
from compat.checking.world import BuildWorld
from compat.paper.pictures.choosing import finding_of, outcome_of, weightiest
from compat.paper.pictures.numbers import Listing, Nothing, Source, axis, label, percent, written
from compat.paper.pictures.style import HAIR, INK, MARKS, QUIET, blank, fitted, folded, head
from compat.paper.sentences import leaf_name
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Number
from compat.units import preferred, unit
from compat.words.wording import goal_unit, half_width, listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Share", "Stack", "compute", "draw"]

MOST = 14
"""Contributors that one picture names; the rest are taken together."""
ROW, NAMES = 0.27, 2.78
"""Height of a row, and width of the names beside it [in]."""
COLUMNS = (1.44, 1.78, 2.13)
"""Where the columns of numbers end, in widths of the bars."""


@dataclass(frozen=True, slots=True)
class Share:
    """One toleranced dimension of the stack, or a model."""

    leaf: str
    name: str
    part: str
    tolerance: str
    """Its own half width, with its unit."""
    brings: float
    """What that moves the measured value, in the value's unit: above nought where both grow together."""
    of_worst: float
    """Share of the worst case."""
    of_likely: float
    """Share of the square of the root-sum-square."""
    model: bool


@dataclass(frozen=True, slots=True)
class Stack:
    """What is drawn."""

    build: str
    subject: str
    rule: str
    measured: str
    verdict: Verdict
    unit: str
    value: float
    worst: float
    """Half width, all tolerances at their ends together."""
    likely: float
    """Half width, root-sum-square."""
    at_least: float | None
    at_most: float | None
    shares: tuple[Share, ...]

    title = "Tolerance stack"

    def says(self, value: float) -> str:
        """A value with the digits that its tolerance leaves."""
        return written(value, self.unit, self.worst)

    def bare(self, value: float) -> str:
        """The same without its unit, beside a scale that names it."""
        return self.says(value).removesuffix(f" {label(self.unit)}")

    def size(self, value: float) -> str:
        """A half width to two digits, without its unit."""
        return half_width(abs(value) * unit(self.unit).factor, self.unit)

    def width(self, value: float) -> str:
        """A half width to two digits."""
        return f"{self.size(value)} {label(self.unit)}".rstrip()

    @property
    def under(self) -> str:
        """What stands below the title."""
        return (
            f"{self.measured} ({self.rule}); {self.subject}. {self.says(self.value)}: worst case ±"
            f"{self.width(self.worst)}, root-sum-square ±{self.width(self.likely)}."
        )

    @property
    def limits(self) -> str:
        """What is allowed, in words."""
        if self.at_least is not None and self.at_most is not None:
            return f"{self.says(self.at_least)} to {self.says(self.at_most)} is asked"
        if self.at_least is not None:
            return f"at least {self.says(self.at_least)} is asked"
        return f"at most {self.says(self.at_most)} is asked" if self.at_most is not None else "nothing is asked"

    @property
    def shows(self) -> str:
        """The picture in words."""
        most = [f"{share.name} {percent(share.of_worst)}" for share in self.shares[:3]]
        return (
            f"Tolerance stack of {self.measured} on {self.subject}: {self.says(self.value)}, "
            f"{self.says(self.value - self.worst)} to {self.says(self.value + self.worst)} at worst, "
            f"{self.says(self.value - self.likely)} to {self.says(self.value + self.likely)} by root-sum-square"
            f"; {self.limits}. Greatest shares of the worst case: {listed(most)}."
        )

    def listings(self) -> Sequence[Listing]:
        """The numbers."""
        whole = [
            ("Value in the middle of all tolerances", self.says(self.value)),
            ("Worst case", f"{self.says(self.value - self.worst)} to {self.says(self.value + self.worst)}"),
            (
                "Root-sum-square",
                f"{self.says(self.value - self.likely)} to {self.says(self.value + self.likely)}",
            ),
            ("Asked", self.limits),
        ]
        titles = ("", "tolerance", "brings", "of worst case", "of root-sum-square")
        rows = [
            (
                f"{share.name} ({share.part})" if share.part else share.name,
                f"±{share.tolerance}",
                f"{'±' if share.brings >= 0 else '∓'}{self.width(share.brings)}",
                percent(share.of_worst),
                percent(share.of_likely),
            )
            for share in self.shares
        ]
        return [
            Listing(f"{self.measured}: {self.verdict}", ("", ""), whole),
            Listing("WHAT BRINGS IT", titles, rows),
        ]


def compute(source: Source, rule: str = "") -> Stack:
    """The stack of a rule that measures something; where none is named, that of the weightiest finding.

    Raises
    ------
    Nothing
        When the rule does not apply, comes to no number, or rests on nothing with a tolerance.
    """
    if rule:
        found = finding_of(source, rule)
    else:
        found = weightiest(
            source,
            lambda each: bool(each.contributor) and each.value is not None and each.rule in source.book.rules,
            "has a tolerance in it that matters; name one with --rule",
        )
    bound = source.book.rules.get(found.rule)
    if bound is None:
        raise Nothing(f"'{found.rule}' is a need that a part brings, and comes to no number")
    outcome, world = outcome_of(source, found.rule)
    number, metric = _number(bound, world, outcome.seen)
    shares = shares_of(number, world.half)
    spread = world.spread(number)
    if not shares or not spread.worst:
        raise Nothing(f"nothing that rule '{found.rule}' rests on has a tolerance")
    own = unit(preferred(metric, source.system))
    factor = own.factor
    assert isinstance(outcome.seen, Held)
    least, most = outcome.seen.least, outcome.seen.most
    return Stack(
        build=source.build,
        subject=source.subject,
        rule=found.rule,
        measured=bound.rule.title,
        verdict=found.verdict,
        unit=preferred(metric, source.system),
        value=own.from_si(number.x),
        worst=spread.worst / factor,
        likely=spread.likely / factor,
        at_least=None if least is None else own.from_si(least),
        at_most=None if most is None else own.from_si(most),
        shares=tuple(
            Share(
                leaf=leaf,
                name=leaf_name(leaf, source.shop),
                part=_part(world, leaf),
                tolerance=_tolerance(source, leaf, world.half[leaf]),
                brings=brought / factor,
                of_worst=abs(brought) / spread.worst,
                of_likely=brought**2 / spread.likely**2,
                model=leaf.startswith(MODEL),
            )
            for leaf, brought in shares.items()
            if brought
        ),
    )


def _number(rule: BoundRule, world: BuildWorld, seen: object) -> tuple[Number, str]:
    """What a rule comes to, with its sensitivities, and its metric unit."""
    if isinstance(seen, Held) and rule.measure is not None:
        value = rule.measure.run(world)
        if isinstance(value, Number):
            return value, "" if rule.unit == "number" else rule.unit
    if isinstance(seen, Borne):
        raise Nothing(f"rule '{rule.rule.rule}' holds a load against a capacity; the picture headroom shows it")
    raise Nothing(
        f"rule '{rule.rule.rule}' comes to no number on this build; a stack wants one that is measured"
    )


def _part(world: BuildWorld, leaf: str) -> str:
    entry = world.settled.fitted.get(leaf.partition(".")[0])
    return entry.part.part if entry is not None else ""


def _tolerance(source: Source, leaf: str, half: float) -> str:
    """Half width of a leaf in its own unit; a model's is a share."""
    if leaf.startswith(MODEL):
        return percent(half)
    position, _, spec = leaf.partition(".")
    kind = source.shop.kinds.get(position, {}).get(spec)
    metric = goal_unit(spec) if position == "goal" else (kind.unit if kind is not None else "")
    metric = "K" if metric == "degC" else "" if metric == "number" else metric
    return f"{half_width(half, metric, source.system)} {label(preferred(metric, source.system))}".rstrip()


def draw(data: Stack) -> Figure:
    """Draw the value on its scale over the bars of what brings its spread."""
    rows = list(data.shares[:MOST])
    rest = data.shares[MOST:]
    height = 3.4 + ROW * (len(rows) + bool(rest))
    drawing = blank(height)
    top = head(drawing, data.title, data.under)
    bars = ROW * (len(rows) + bool(rest)) + 0.12
    _scale(drawing.add_axes((0.06, (bars + 1.12) / height, 0.88, (height - top - bars - 1.42) / height)), data)
    _shares(drawing.add_axes((0.435, 0.50 / height, 0.26, bars / height)), data, rows, rest)
    return drawing


def _scale(axes: Axes, data: Stack) -> None:
    """Value, worst case and root-sum-square against the limits."""
    low, high = data.value - data.worst, data.value + data.worst
    ends = [low, high, *(limit for limit in (data.at_least, data.at_most) if limit is not None)]
    room = 0.16 * (max(ends) - min(ends) or 1.0)
    left, right = min(ends) - room, max(ends) + room
    bar, mark = MARKS["first"], MARKS["second"]
    for limit, end in ((data.at_least, left), (data.at_most, right)):
        if limit is None:
            continue
        axes.axvspan(
            *sorted((limit, end)), facecolor="white", edgecolor=mark.colour, hatch=mark.hatch, linewidth=0
        )
        axes.axvline(limit, color=INK, linewidth=1.6)
        word = "least" if end == left else "most"
        axes.text(limit, 1.04, f"{word} {data.bare(limit)}", transform=axes.get_xaxis_transform(), fontsize=7.2,
                  ha="right" if end == left else "left")  # fmt: skip
    axes.barh(0.55, 2 * data.worst, 0.16, low, color="white", edgecolor=INK, linewidth=1.0)
    axes.barh(
        0.55, 2 * data.likely, 0.30, data.value - data.likely, color=bar.colour, edgecolor=INK, linewidth=0.8
    )
    axes.plot([data.value], [0.55], marker="D", color="white", markeredgecolor=INK, markersize=6)
    white = {"boxstyle": "square,pad=0.15", "facecolor": "white", "edgecolor": "none"}
    axes.text(
        data.value,
        0.80,
        data.says(data.value),
        ha="center",
        va="bottom",
        fontsize=8,
        fontweight="bold",
        bbox=white,
    )
    middle = min(max(data.value, left + 0.2 * (right - left)), right - 0.2 * (right - left))
    axes.text(
        middle,
        0.30,
        f"{data.bare(low)} to {data.says(high)} at worst",
        ha="center",
        va="top",
        fontsize=7.2,
        bbox=white,
    )
    axes.set_xlim(left, right)
    axes.set_ylim(0, 1.1)
    axes.set_yticks([])
    axes.spines[["top", "left", "right"]].set_visible(False)
    axes.set_xlabel(
        f"{axis('value', data.unit)}; open bar: worst case, full bar: root-sum-square, hatched: not allowed",
        fontsize=7.2,
    )


def _shares(axes: Axes, data: Stack, rows: Sequence[Share], rest: Sequence[Share]) -> None:
    """A bar for each contributor: to the right it adds, to the left it takes away."""
    across = axes.get_yaxis_transform()
    ends = max(abs(share.brings) for share in data.shares)
    for row, share in enumerate(rows):
        mark = MARKS["third"] if share.model else MARKS["first"]
        axes.barh(row, share.brings, 0.6, color=mark.colour, hatch=mark.hatch, edgecolor=INK, linewidth=0.6)
        name, size = fitted(f"{share.name} ±{share.tolerance}", NAMES, 7.2, 5.8)
        axes.text(-0.03, row - (0.04 if share.part else 0), name, transform=across, ha="right",
                  va="bottom" if share.part else "center", fontsize=size)  # fmt: skip
        axes.text(
            -0.03,
            row + 0.05,
            folded(share.part, NAMES, 5.8),
            transform=across,
            ha="right",
            va="top",
            fontsize=5.8,
            color=QUIET,
        )
        texts = data.size(share.brings), percent(share.of_worst), percent(share.of_likely)
        for place, words in zip(COLUMNS, texts, strict=True):
            axes.text(place, row, words, transform=across, va="center", ha="right", fontsize=7.2)
    if rest:
        row = len(rows)
        says = f"{len(rest)} more, together"
        axes.text(-0.03, row, says, transform=across, ha="right", va="center", fontsize=7.2, color=QUIET)
        texts = (
            data.size(math.fsum(abs(share.brings) for share in rest)),
            percent(math.fsum(share.of_worst for share in rest)),
            percent(math.fsum(share.of_likely for share in rest)),
        )
        for place, words in zip(COLUMNS, texts, strict=True):
            axes.text(place, row, words, transform=across, va="center", ha="right", fontsize=7.2, color=QUIET)
    for place, words in zip(COLUMNS, ("brings", "of the\nworst case", "of the root-\nsum-square"), strict=True):
        axes.text(place, -0.65, words, transform=across, fontsize=6.6, color=QUIET, ha="right", va="bottom")
    axes.axvline(0, color=INK, linewidth=0.9)
    axes.set_xlim(-1.08 * ends, 1.08 * ends)
    axes.set_ylim(len(rows) + bool(rest) - 0.45, -0.6)
    axes.set_yticks([])
    axes.grid(axis="x", color=HAIR, linewidth=0.5)
    axes.set_axisbelow(True)
    axes.locator_params(axis="x", nbins=4)
    axes.tick_params(labelsize=6.8)
    axes.spines[["top", "left", "right"]].set_visible(False)
    models = "; striped: what a model may be off" if any(share.model for share in rows) else ""
    axes.set_xlabel(f"{axis('what each brings to the value', data.unit)}{models}", fontsize=7.2)
