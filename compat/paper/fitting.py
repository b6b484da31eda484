"""What goes in where, as a document."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from compat.paper.document import Block, Column, Document, Heading, Row, Table, Text
from compat.planning.fitting import FITS, Beside, Candidate, Fits
from compat.shop.money import Money
from compat.trade.plain import as_plain
from compat.words.wording import in_sentence, listed

__all__ = ["fits_document", "places_document", "says"]

CLEARED = 3
"""So many rules that a part clears are named; of the others the number is told."""
TITLES = {
    "directly": "Goes in directly",
    "with more": "Goes in with more beside it",
    "not known": "Not known",
    "not": "Does not go in",
}


def fits_document(found: Fits, position: str, build: str, reasons: bool = False) -> Document:
    """What goes into a position of a build.

    Parameters
    ----------
    found : Fits
        What `compat.planning.fitting.fits` gives.
    position : str
        Name of the position.
    build : str
        Name of the build.
    reasons : bool
        Whether each reason is told in full, with its figures.

    Returns
    -------
    Document
        What any format writes.
    """
    blocks = _blocks(found, "Part", lambda one: one.part, reasons)
    if not found.candidates:
        blocks = [Text("The shop has no part that is made for this position.", "strong")]
    return Document(title=f"{position}: what goes in", blocks=blocks, subject=build, data=as_plain(found))


def places_document(found: Fits, part: str, reasons: bool = False) -> Document:
    """Where a part goes in, on each variant as it left the factory.

    Parameters
    ----------
    found : Fits
        What `compat.planning.fitting.where_it_fits` gives.
    part : str
        Name of the part.
    reasons : bool
        Whether each reason is told in full, with its figures.

    Returns
    -------
    Document
        What any format writes.
    """

    def place(one: Candidate) -> str:
        return f"{one.build}: {one.position.replace('_', ' ')}"

    return Document(
        title=f"{part}: where it goes in",
        blocks=_blocks(found, "Variant and position", place, reasons),
        subject="on each variant as it left the factory, at its own rating",
        data=as_plain(found),
    )


def _blocks(found: Fits, head: str, called: Callable[[Candidate], str], reasons: bool) -> list[Block]:
    columns = (
        Column(head, "code", 2),
        Column("Price of one", "text", 1),
        Column("", "text", 4),
    )
    blocks: list[Block] = []
    for way in FITS:
        own = [one for one in found.candidates if one.way == way]
        if own:
            rows = [_row(one, called(one), found.currency, reasons) for one in own]
            blocks += [Heading(f"{TITLES[way]} ({len(own)})"), Table(columns, rows, TITLES[way])]
    return blocks


def _row(one: Candidate, called: str, currency: str, reasons: bool) -> Row:
    price = str(Money(one.price, currency)) if one.price is not None else "nobody sells it"
    said = "; ".join(says(one))
    told = [f"{reason.title}: {reason.because}" for reason in (*one.against, *one.unknown)]
    told += [f"{_beside(each)}: {each.because}" for each in one.beside]
    return Row((called, price, said), note=". ".join(told) if reasons else "")


def says(one: Candidate) -> Iterator[str]:
    """What is said of how a part goes in, briefly."""
    if one.stands:
        yield "stands there now"
    if one.beside and one.way == "with more":
        yield "with " + ", ".join(map(_beside, one.beside))
    yield from _titles(one.against or one.unknown)
    if one.clears and one.way != "not":
        titles = [in_sentence(title) for title in _titles(one.clears)]
        rest = len(titles) - CLEARED
        yield f"clears {listed([*titles[:CLEARED], *([f'{rest} more'] if rest > 0 else [])])}"


def _beside(each: Beside) -> str:
    size = "".join(f" {name} {value}" for name, value in each.values)
    return f"{each.count} x {each.id}" if each.count > 1 else f"{each.id}{size}"


def _titles(reasons: Sequence[Any]) -> list[str]:
    return list(dict.fromkeys(reason.title for reason in reasons))
