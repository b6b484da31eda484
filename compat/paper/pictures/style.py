"""Ink, marks and letters of all pictures, and how a drawing becomes a file.

matplotlib is imported inside these functions and those of the pictures, and nowhere else in the house; its
`pyplot`, which keeps state of its own, never.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from io import BytesIO
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
    "fitted",
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
    "third": Mark("#F0E442", "||||", "^", (0, (1, 1.2))),
    "fourth": Mark("#000000", "xxxx", "D", (0, (5, 1.5, 1, 1.5))),
}
"""Four of the eight colours of M. Okabe and K. Ito, Color Universal Design, 2008 (from memory): blue, orange,
yellow and black, the four that lie furthest apart in lightness, so that a grey print keeps them apart too.
Hatches are of strokes: dots would make an SVG ten times as large."""

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
    "axes.formatter.limits": (-7, 7),  # no power of ten beside an axis, which names lie on
    "axes.formatter.useoffset": False,
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
    import warnings

    import matplotlib

    # a letter that the font lacks is drawn as a box, and a folder that cannot be written costs time: no news
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    with matplotlib.rc_context(), warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
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
    into = BytesIO()
    drawing.savefig(into, format=ending.removeprefix("."), **_BLANK[ending])
    made = into.getvalue()
    return _described(made, title, shows) if ending == ".svg" else made


def _described(svg: bytes, title: str, shows: str) -> bytes:
    """Put title and description where a browser reads them aloud."""
    before, start, rest = svg.partition(b"<svg ")
    attributes, end, rest = rest.partition(b">")
    told = f"\n <title>{escape(visible(title))}</title>\n <desc>{escape(visible(shows))}</desc>"
    return before + start + b'role="img" ' + attributes + end + told.encode() + rest


@cache
def _advance(letter: str, bold: bool) -> float:
    """Width of a letter in letters of one point [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    letters = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal", size=100)
    width, _, _ = text_to_path.get_text_width_height_descent(letter, letters, ismath=False)
    return float(width) / 100


def _long(text: str, size: float, bold: bool) -> float:
    """Width of a text [in]."""
    return sum(_advance(letter, bold) for letter in text) * size / 72


def folded(text: str, room: float, size: float, most: int = 1, bold: bool = False) -> str:
    r"""A text in lines that fit.

    Parameters
    ----------
    text : str
        The text.
    room : float
        Width of a line [in].
    size : float
        Size of the letters [pt].
    most : int
        How many lines there may be; what is cut off shows as three dots.
    bold : bool
        Whether the letters are bold.

    Returns
    -------
    str
        The lines.

    Examples
    --------
    >>> folded("Exhaust spring seat load under back-pressure", 1.4, 7.0, 2)
    'Exhaust spring seat load\nunder back-pressure'
    >>> folded("Ab" * 40, 1.2, 7.0, 2)
    'AbAbAbAbAbAbAbAbAb\nAbAbAbAbAbAbAbAbA…'
    """
    lines: list[str] = []
    line = ""
    for word in visible(text).split():
        if _long(joined := f"{line} {word}".strip(), size, bold) <= room:
            line = joined
            continue
        if line and _long(word, size, bold) <= room:
            lines, line = [*lines, line], word
            continue
        line = joined  # longer than a line: cut where that ends
        while len(line) > 1 and _long(line, size, bold) > room:
            end = next(n for n in range(len(line) - 1, 0, -1) if n == 1 or _long(line[:n], size, bold) <= room)
            lines, line = [*lines, line[:end].rstrip()], line[end:].lstrip()
    lines = [*lines, line] if line else lines
    if len(lines) <= most:
        return "\n".join(lines)
    last = " ".join(lines[most - 1 :])
    while last and _long(last + "…", size, bold) > room:
        last = last[:-1].rstrip()
    return "\n".join([*lines[: most - 1], last + "…"])


def fitted(text: str, room: float, size: float, least: float) -> tuple[str, float]:
    """A text on one line, in smaller letters before any of it is cut off; gives the size too [pt]."""
    text = visible(text)
    size = max(min(size, size * room / max(_long(text, size, False), 1e-9)), least)
    return folded(text, room + 1e-6, size), size


def head(drawing: Figure, title: str, under: str) -> float:
    """Set title and what stands below it; gives how much height they take [in]."""
    height = drawing.get_figheight()
    room = drawing.get_figwidth() - 0.2
    title, under = folded(title, room, 11, 2, True), folded(under, room, 7.5, 4)
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
