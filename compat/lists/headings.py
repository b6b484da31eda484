"""Where the headings of a list stand, and which column is which."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from compat.lists.grid import HEAD_WITHIN, Line, Page
from compat.record import record
from compat.shop.measured_files import column_letters
from compat.shop.source import Spot

__all__ = ["Headings", "find_headings", "named", "plain"]

BETWEEN = " / "
"""Between a heading and the one above it."""


@record
class Headings:
    """The columns of a page by what they may be called."""

    row: int
    """Their last row."""
    columns: Mapping[str, tuple[int, ...]]
    """By plain name; several where a name stands over several."""
    names: tuple[str, ...]
    """As they are written, the fullest name of each column."""
    spots: Mapping[int, Spot]

    def lacking(self, wanted: Iterable[str]) -> list[str]:
        """Names that no column has."""
        return [name for name in wanted if plain(name) not in self.columns]


def plain(name: str) -> str:
    """A heading as it is compared: small letters, single spaces.

    >>> plain(" Art.-Nr. \\n neu /Preis")
    'art.-nr. neu / preis'
    """
    return BETWEEN.join(" ".join(part.split()).casefold() for part in name.split("/"))


def find_headings(page: Page, wanted: Sequence[str], row: int | None) -> Headings | None:
    """Find the row of headings.

    Parameters
    ----------
    page : Page
        The page.
    wanted : sequence of str
        Columns that are named.
    row : int or None
        Where it stands, where that is said; 0 for a page without.

    Returns
    -------
    Headings or None
        Of the rows at the top the one that has most of them; None where none has any.
    """
    if row == 0:
        widest = max((max(line.cells, default=0) for line in page.lines), default=0)
        letters = [column_letters(at) for at in range(1, widest + 1)]
        columns = {plain(letter): (at,) for at, letter in enumerate(letters, 1)}
        return Headings(0, MappingProxyType(columns), tuple(letters), MappingProxyType({}))
    best: tuple[int, Headings] | None = None
    above: Line | None = None
    for line in page.lines:
        if line.number > HEAD_WITHIN and row is None:
            break
        if row is None or line.number == row:
            found = named(line, above if above is not None and above.number == line.number - 1 else None)
            score = sum(plain(name) in found.columns for name in wanted)
            if row is not None:
                return found
            if score and (best is None or score > best[0]):
                best = score, found
        above = line
    return best[1] if best is not None else None


def named(line: Line, above: Line | None) -> Headings:
    """The columns of a row of headings; a column may also be called by the heading above it and its own."""
    columns: dict[str, list[int]] = {}
    names = []
    spots = {}
    upper = above.cells if above is not None else {}
    # one text over all columns is the title of the page: it tells no column from another
    titled = line.cells.keys() <= upper.keys() and len({cell.text for cell in upper.values()}) == 1
    for at in sorted({*line.cells, *upper}):
        own, over = line.cells.get(at), upper.get(at)
        if own is None and over is None:
            continue
        said = own.text if own is not None else ""
        full = f"{over.text}{BETWEEN}{said}" if over is not None and said and over.text != said else said
        calls = {plain(said), plain(full)} if said else {plain(over.text)} if over is not None else set()
        for call in calls - {""}:
            columns.setdefault(call, []).append(at)
        names.append((said if titled else full) or (over.text if over is not None else ""))
        spots[at] = (own or over).spot  # type: ignore[union-attr]  # one of them is there
    held = {call: tuple(places) for call, places in columns.items()}
    return Headings(line.number, MappingProxyType(held), tuple(names), MappingProxyType(spots))
