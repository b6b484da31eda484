"""What the options of a space mean to whoever bounds rules over them."""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.world import BuildWorld
from compat.planning.cells import Cells
from compat.planning.grounds import Ground
from compat.planning.readings import Option, Readings
from compat.planning.space import Space

__all__ = ["SpaceScene", "readings_of"]


class SpaceScene:
    """Options by their number in their decision.

    Parameters
    ----------
    space : Space
        The space.
    cells : Cells
        What puts few decisions in place.
    """

    def __init__(self, space: Space, cells: Cells) -> None:
        self.space = space
        self.cells = cells
        self._grounds: dict[tuple[str, ...], Ground] = {}
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
        """The build with these options, as far as what hangs on these decisions alone can be read in it."""
        if not chosen:
            return self.space.settled(self.space.start)[1]
        choice = list(self.space.start)
        for decision, option in chosen.items():
            choice[self.space.number[decision]] = int(str(option))
        return self.cells.world(self._ground(tuple(chosen)), choice)

    def _ground(self, keys: tuple[str, ...]) -> Ground:
        if keys not in self._grounds:
            decisions = {self.space.number[key]: self.space.decisions[self.space.number[key]] for key in keys}
            places = {d.name for d in decisions.values() if d.kind == "position"}
            places |= {place for number in decisions for place in self.space.brings[number]}
            works = frozenset(d.name for d in decisions.values() if d.kind == "work")
            self._grounds[keys] = Ground(tuple(sorted(decisions)), (), frozenset(places), works)
        return self._grounds[keys]


def readings_of(space: Space, cells: Cells) -> Readings:
    """What rules read, over all options of a space."""
    domains = {decision.key: tuple(range(len(decision.options))) for decision in space.decisions}
    return Readings(SpaceScene(space, cells), domains)
