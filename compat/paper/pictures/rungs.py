"""A ladder drawn: at which power one part after the other runs out, and from where on it may."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compat.paper.pictures.style import (
    HAIR,
    INK,
    MARKS,
    QUIET,
    blank,
    file_of,
    fitted,
    folded,
    head,
    house_style,
)
from compat.planning.ladder import Ladder
from compat.units import preferred, show, unit
from compat.words.wording import listed

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["ladder_picture", "shows"]

ROW, NAMES = 0.32, 2.55
"""Height of a row, and width of the names beside it [in]."""


def shows(found: Ladder, system: str = "metric") -> str:
    """The picture in words."""
    first = listed(f"{rung.title} at {show(rung.power, 'kW', system)}" for rung in found.rungs[:3])
    count = len(found.rungs)
    if not count:
        return f"Nothing of {found.name} runs out up to {show(found.end, 'kW', system)}."
    return f"Bars of power for {count} rules that {found.name} comes to fail as its goal rises, first: {first}."


def ladder_picture(found: Ladder, ending: str = ".svg", system: str = "metric") -> bytes:
    """Draw a ladder; the same ladder gives the same bytes.

    Parameters
    ----------
    found : Ladder
        The ladder.
    ending : str
        ``.svg``, ``.png`` or ``.pdf``.
    system : {"metric", "imperial"}
        Units of the axis.

    Returns
    -------
    bytes
        The file.
    """
    with house_style():
        return file_of(_draw(found, system), ending, f"What runs out first: {found.name}", shows(found, system))


def _draw(found: Ladder, system: str) -> Figure:
    from matplotlib.patches import Patch

    wanted = preferred("kW", system)
    own = unit(wanted)
    rungs = found.rungs
    height = 1.35 + ROW * max(len(rungs), 3)
    drawing = blank(height)
    under = (
        f"{found.name}, duty {found.duty}. Torque and manifold pressure rise with the power. Plain: holds; "
        "hatched: may fail, by tolerances and by what the models may be off; at its end: fails."
    )
    top = head(drawing, "What runs out first as the goal rises", under)
    axes = drawing.add_axes((0.40, 0.62 / height, 0.48, (height - top - 0.72) / height))
    start, end = own.from_si(found.start), own.from_si(found.end)
    left = start - 0.04 * (end - start)
    for row, rung in enumerate(rungs):
        may, power = own.from_si(rung.may), own.from_si(rung.power)
        first, doubt = MARKS["first"], MARKS["second"]
        axes.barh(row, may - left, 0.6, left=left, color=first.colour, edgecolor=INK, linewidth=0.6)
        axes.barh(
            row, power - may, 0.6, left=may, color=doubt.colour, hatch=doubt.hatch, edgecolor=INK, linewidth=0.6
        )
        axes.text(1.02, row, show(rung.power, "kW", system), transform=axes.get_yaxis_transform(), va="center",
                  fontsize=7.5)  # fmt: skip
        across = axes.get_yaxis_transform()
        title, size = fitted(rung.title, NAMES, 7.2, 5.8)
        axes.text(-0.02, row - 0.03, title, transform=across, ha="right", va="bottom", fontsize=size)
        part = folded(rung.part, NAMES, 5.8)
        axes.text(-0.02, row + 0.06, part, transform=across, ha="right", va="top", fontsize=5.8, color=QUIET)
    axes.set_xlim(left, end)
    axes.set_ylim(max(len(rungs), 1) - 0.4, -0.6)
    axes.set_yticks([])
    axes.axvline(start, color=INK, linewidth=1.2)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.grid(axis="x", color=HAIR, linewidth=0.5)
    axes.set_axisbelow(True)
    axes.set_xlabel(f"Power [{wanted}]; the stroke is the goal as it is")
    keys = [
        Patch(facecolor=mark.colour, hatch=mark.hatch, edgecolor=INK, linewidth=0.6, label=words)
        for words, mark in (("holds", MARKS["first"]), ("may fail", MARKS["second"]))
    ]
    drawing.legend(handles=keys, loc="lower left", ncols=2, bbox_to_anchor=(0.0, 0.0), handlelength=2.2)
    return drawing
