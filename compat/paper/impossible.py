"""Why no build passes, as blocks of a document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from compat.paper.document import Block, Heading, Listed, Text
from compat.planning.told_why import WhyTeller

__all__ = ["impossible_blocks"]


def impossible_blocks(teller: WhyTeller) -> Iterator[Block]:
    """What cannot stand together, because of what, and what giving up each of it would allow.

    Parameters
    ----------
    teller : WhyTeller
        Says it.

    Yields
    ------
    Block
        Paragraphs and lists.
    """
    yield Heading("Why")
    yield from _blocks(teller.sentences())


def _blocks(lines: Iterable[str]) -> Iterator[Block]:
    """Lines that begin with a dash as a list, all others as paragraphs."""
    for listed, own in groupby(lines, lambda line: line.startswith("- ")):
        if listed:
            yield Listed([line.removeprefix("- ") for line in own])
        else:
            yield from map(Text, own)
