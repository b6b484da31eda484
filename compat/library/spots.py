"""Where an entry and everything in it was written, as plain data that is read only when a message asks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from compat.shop.source import Node, Spot

__all__ = ["StoredSpots", "spots_card"]

Card = list[Any]
"""Line, column, how far behind it a text on one line begins (or None), and what lies inside: for a mapping
each key with its line and column and its card, for a list the cards."""


def spots_card(node: Node) -> Card:
    """Give the places of a node and all its children.

    Parameters
    ----------
    node : Node
        An entry of a file.

    Returns
    -------
    list
        What `StoredSpots` reads.
    """
    mark = node.mark
    own: Card = [mark.line + 1, mark.column + 1, node.inset if isinstance(node.data, str) else None]
    if not node.children:
        return own
    if isinstance(node.data, list):
        return [*own, [spots_card(node.children[number]) for number in range(len(node.data))]]
    inside = {}
    for key, child in node.children.items():
        at = node.keys[key]  # type: ignore[index]
        inside[key] = [at.line + 1, at.column + 1, spots_card(child)]
    return [*own, inside]


class StoredSpots:
    """Places inside an entry, as `compat.shop.source.Node` gives them.

    Parameters
    ----------
    file : str
        The file of the entry.
    card : list
        What `spots_card` gave.
    """

    def __init__(self, file: str, card: Card) -> None:
        self._file = file
        self._card = card

    def _at(self, line: int, column: int) -> Spot:
        return Spot(self._file, line, column)

    @property
    def spot(self) -> Spot:
        """Where it begins."""
        return self._at(*self._card[:2])

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """Where the last key of the path stands, or the nearest thing above it."""
        card, at = self._card, self.spot
        for step in path:
            inside = card[3] if len(card) > 3 else None
            if isinstance(step, str) and isinstance(inside, dict) and step in inside:
                line, column, card = inside[step]
                at = self._at(line, column)
            elif isinstance(step, int) and isinstance(inside, list) and step < len(inside):
                card = inside[step]
                at = self._at(*card[:2])
        return at

    def spot_in(self, path: Sequence[str | int], offset: int) -> Spot:
        """Where a character of the text at the path stands; where the text begins when it has several lines."""
        card = self._card
        for step in path:
            inside = card[3] if len(card) > 3 else None
            if isinstance(inside, dict):
                card = inside[step][2] if step in inside else card
            elif isinstance(inside, list) and isinstance(step, int) and step < len(inside):
                card = inside[step]
        line, column, inset = card[:3]
        if len(card) > 3:
            return self.spot_of(path)
        return self._at(line, column + inset + offset) if inset is not None else self._at(line, column)
