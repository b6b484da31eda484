"""Where everything inside an entry was written, as plain data, and asked again without its file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from compat.shop.source import Node, Spot

__all__ = ["StoredSpots", "spots_card"]

Card = list[Any]
"""Line and column; of a mapping or a list also what stands in it, each key with its own line and column."""


def spots_card(node: Node) -> Card:
    """The places of a node and of everything in it, counted from 1."""
    begins = [node.spot.line, node.spot.column]
    if isinstance(node.data, dict):
        held = {
            key: [mark.line + 1, mark.column + 1, spots_card(node.children[key])]
            if _holds(node.children[key])
            else [mark.line + 1, mark.column + 1]
            for key, mark in node.keys.items()
        }
        return [*begins, held]
    if isinstance(node.data, list):
        return [*begins, [spots_card(node.children[number]) for number in range(len(node.data))]]
    return begins


def _holds(node: Node) -> bool:
    return isinstance(node.data, dict | list)


class StoredSpots:
    """Answers as the entry's own node did when its file was read."""

    def __init__(self, file: str, card: Card) -> None:
        self.file = file
        self.card = card

    @property
    def spot(self) -> Spot:
        """Where it begins."""
        return Spot(self.file, self.card[0], self.card[1])

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """Where the last key of the path stands; words that lead nowhere are passed over."""
        line, column, *held = self.card
        for step in path:
            inside = held[0] if held else None
            if isinstance(step, str) and isinstance(inside, dict) and step in inside:
                line, column, *child = inside[step]
                held = child[0][2:] if child else []
            elif isinstance(step, int) and isinstance(inside, list) and 0 <= step < len(inside):
                line, column, *held = inside[step]
        return Spot(self.file, line, column)

    def spot_in(self, path: Sequence[str | int], offset: int) -> Spot:
        """Where the text at the path stands; what was read without fault needs no nearer place."""
        return self.spot_of(path)
