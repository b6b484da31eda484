"""Ink, marks and letters of all pictures, and how a drawing becomes a file.

matplotlib is imported inside these functions and those of the pictures, and nowhere else in the house; its
`pyplot`, which keeps state of its own, never.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from textwrap import TextWrapper
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from compat.paper.visible import visible

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "ENDINGS",
    "HAIR",
    "INK",
    "MARKS",
    "QUIET",
    "WIDTH",
    "Mark",
    "blank",
    "file_of",
    "folded",
    "head",
    "house_style",
    "plain_axes",
]

INK, QUIET, HAIR = "#1a1a1a", "#5c5c5c", "#d4d4d4"
WIDTH = 6.7
"""Width of a picture [in], that of the text on A4 paper: letters print as large as they are said to be."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How one kind of thing is drawn. Each of its signs is enough to tell it by."""

    colour: str
    hatch: str
    marker: str
    line: Any


MARKS = {
    "first": Mark("#0072B2", "", "o", "-"),
    "second": Mark("#E69F00", "////", "s", (0, (6, 2))),
    "third": Mark("#F0E442", "....", "^", (0, (1, 1.2))),
    "fourth": Mark("#000000", "xxxx", "D", (0, (5, 1.5, 1, 1.5))),
}
"""Four of the eight colours of M. Okabe and K. Ito, Color Universal Design, 2008 (from memory): blue, orange,
yellow and black, the four that lie furthest apart in lightness, so that a grey print keeps them apart too."""

_SETTINGS: dict[Any, Any] = {
    "font.family": ["DejaVu Sans"],  # comes with matplotlib: the same letters on every machine
    "font.size": 8.0,
    "axes.titlesize": 9.0,
    "axes.labelsize": 8.0,
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
    "legend.fontsize": 7.5,
    "text.parse_math": False,  # a part may have a dollar in its name
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "axes.linewidth": 0.8,
    "axes.unicode_minus": False,
    "hatch.linewidth": 0.5,
    "legend.frameon": False,
    "figure.facecolor": "white",
    "savefig.facecolor": "white",
    "svg.fonttype": "path",  # typst has not these letters, and others would be of another width
    "svg.hashsalt": "compat",
    "pdf.fonttype": 42,
}
ENDINGS = (".svg", ".png", ".pdf")
_BLANK: dict[str, dict[str, Any]] = {
    # what else would tell the day or the machine
    ".svg": {"metadata": {"Date": None, "Creator": None}},
    ".png": {"metadata": {"Software": None}, "dpi": 200},
    ".pdf": {"metadata": {"CreationDate": None, "Creator": None, "Producer": None}},
}


@contextmanager
def house_style() -> Iterator[None]:
    """Draw inside this as the house does, whatever the reader's own settings of matplotlib say."""
    import logging

    import matplotlib

    # a letter that no font has is drawn as a box, and a folder that cannot be written costs time: no news
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        yield


def blank(height: float, width: float = WIDTH) -> Figure:
    """An empty picture of some size [in]."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width, height))


def file_of(drawing: Figure, ending: str, title: str, shows: str) -> bytes:
    """A drawing as a file; the same drawing gives the same bytes.

    Parameters
    ----------
    drawing : matplotlib.figure.Figure
        The drawing, made inside `house_style`; call this inside it too.
    ending : str
        One of `ENDINGS`.
    title, shows : str
        What it is called, and what it shows for one who cannot see it.

    Returns
    -------
    bytes
        The file.
    """
    import warnings

    into = BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # of letters that the font lacks
        drawing.savefig(into, format=ending.removeprefix("."), **_BLANK[ending])
    made = into.getvalue()
    return _described(made, title, shows) if ending == ".svg" else made


def _described(svg: bytes, title: str, shows: str) -> bytes:
    """Put title and description where a browser reads them aloud."""
    before, start, rest = svg.partition(b"<svg ")
    attributes, end, rest = rest.partition(b">")
    told = f"\n <title>{escape(visible(title))}</title>\n <desc>{escape(visible(shows))}</desc>"
    return before + start + b'role="img" ' + attributes + end + told.encode() + rest


def folded(text: str, width: int, most: int = 2) -> str:
    """A text in lines of so many letters, at most so many lines; what is cut off shows as a dash of dots.

    >>> folded("Exhaust spring seat load under back-pressure", 24)
    'Exhaust spring seat load\\nunder back-pressure'
    >>> folded("Ab" * 40, 20)
    'AbAbAbAbAbAbAbAbAbAb\\nAbAbAbAbAbAbAbAbAbA…'
    """
    folder = TextWrapper(width, max_lines=most, placeholder="…", break_on_hyphens=False)
    lines = TextWrapper(width, break_on_hyphens=False).wrap(visible(text))
    if len(lines) <= most:
        return "\n".join(lines)
    kept = folder.wrap(visible(text))
    if len(kept) < most or len(kept[-1]) < width // 2:  # one long word: cut where it stands
        kept = [*lines[: most - 1], lines[most - 1][: width - 1].rstrip() + "…"]
    return "\n".join(kept)


def head(drawing: Figure, title: str, under: str) -> float:
    """Set title and what stands below it; gives how much height they take [in]."""
    height = drawing.get_figheight()
    title, under = folded(title, 78), folded(under, 112, 3)
    drawing.text(0.012, 1 - 0.08 / height, title, fontsize=11, fontweight="bold", va="top")
    low = 0.10 + 0.19 * (title.count("\n") + 1)
    drawing.text(0.012, 1 - low / height, under, fontsize=7.5, color=QUIET, va="top", linespacing=1.25)
    return low + 0.15 * (under.count("\n") + 1) + 0.04


def plain_axes(axes: Axes, across: str, upward: str) -> None:
    """Two axes with their names, hair lines behind, nothing else."""
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(color=HAIR, linewidth=0.5)
    axes.set_axisbelow(True)
    axes.set_xlabel(across)
    axes.set_ylabel(upward)
