"""What the options of a space mean to whoever bounds rules over them."""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.world import BuildWorld
from compat.planning.readings import Option, Readings
from compat.planning.space import Space

__all__ = ["SpaceScene", "readings_of"]


class SpaceScene:
    """Options by their number in their decision.

    Parameters
    ----------
    space : Space
        The space.
    """

    def __init__(self, space: Space) -> None:
        self.space = space
        self.session = space.session
        self.base = space.base

    def part(self, decision: str, option: Option) -> str | None:
        """Part that an option puts in its position, an empty text for none; None where it is no such thing."""
        its = self.space.decisions[self.space.number[decision]]
        if its.kind != "position":
            return None
        entry = self.space.fitted(its.name, its.options[int(str(option))])
        return "" if entry is None else entry.part.part

    def world(self, chosen: Mapping[str, Option]) -> BuildWorld:
        """The build settled with these options, all else as it stands."""
        choice = list(self.space.start)
        for decision, option in chosen.items():
            choice[self.space.number[decision]] = int(str(option))
        return self.space.settled(tuple(choice))[1]


def readings_of(space: Space) -> Readings:
    """What rules read, over all options of a space."""
    domains = {decision.key: tuple(range(len(decision.options))) for decision in space.decisions}
    return Readings(SpaceScene(space), domains)
