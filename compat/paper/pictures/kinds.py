"""Every picture by its name, and the two steps to it: its numbers, and a file of the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Protocol

from compat.checking.check import Checked
from compat.paper.pictures.numbers import Listing, Source

if TYPE_CHECKING:
    from compat.paper.document import Picture

__all__ = ["PICTURES", "Data", "Kind", "computed", "drawn", "picture"]


class Data(Protocol):
    """What every picture's record says of itself."""

    title: str

    @property
    def subject(self) -> str:
        """The build by its name."""

    @property
    def shows(self) -> str:
        """The picture in words, for one who cannot see it."""

    def listings(self) -> Sequence[Listing]:
        """Its numbers as tables."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of picture."""

    module: str
    record: str
    """The class of its record."""
    shows: str
    of_a_rule: bool = False
    """Whether it is about one rule of the build."""

    @property
    def rooms(self) -> Any:
        """The module, imported when first asked for."""
        return import_module(f"{__package__}.{self.module}")


PICTURES: Mapping[str, Kind] = {
    "headroom": Kind("headroom", "Headroom", "headroom of every part that bears a load, least to spare first"),
    "output": Kind("output", "Output", "power and torque at the goal's points, and what limits them"),
    "compressor": Kind("compressor", "Compressor", "compressor map with the operating line, surge and choke"),
    "cycle": Kind("cycle", "Cycle", "cylinder pressure and rod force over crank angle"),
    "tolerance": Kind("tolerance", "Stack", "what a rule measures and which tolerance brings how much", True),
    "reasons": Kind("chain", "Chain", "what a verdict rests on, as a graph", True),
}


def computed(name: str, checked: Checked, system: str = "metric", rule: str = "") -> Data:
    """The numbers of a picture.

    Parameters
    ----------
    name : str
        One of `PICTURES`.
    checked : Checked
        The build, checked.
    system : str
        ``metric`` or ``imperial``.
    rule : str, optional
        Id of the rule that a picture of a rule is about; else the finding that weighs most.

    Returns
    -------
    Data
        The picture's own record.

    Raises
    ------
    Nothing
        When there is nothing to draw; the message says why.
    """
    kind = PICTURES[name]
    source = Source(checked, system)
    found: Data = kind.rooms.compute(source, rule) if kind.of_a_rule else kind.rooms.compute(source)
    return found


def drawn(name: str, data: Data, ending: str = ".svg") -> bytes:
    """A picture's numbers as a drawing; the same numbers give the same bytes.

    Parameters
    ----------
    name : str
        One of `PICTURES`.
    data : Data
        What `computed` gave for it.
    ending : str
        ``.svg``, ``.png`` or ``.pdf``.

    Returns
    -------
    bytes
        The file.
    """
    from compat.paper.pictures.style import file_of, house_style

    with house_style():
        return file_of(PICTURES[name].rooms.draw(data), ending, f"{data.title}: {data.subject}", data.shows)


def picture(name: str, checked: Checked, system: str = "metric", rule: str = "", share: float = 1.0) -> Picture:
    """A picture as a block of a document.

    Parameters
    ----------
    name, checked, system, rule
        As `computed`.
    share : float, optional
        Part of the width that it takes.

    Returns
    -------
    compat.paper.document.Picture
        The drawing as SVG, with what it shows in words.

    Raises
    ------
    Nothing
        When there is nothing to draw; who makes a document leaves the picture out then.
    """
    from compat.paper.document import Picture

    data = computed(name, checked, system, rule)
    return Picture(drawn(name, data), data.shows, share)
