"""What may stand in every position of a build of the demo shop."""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.built import settle
from compat.checking.check import Checked
from compat.checking.session import Session
from compat.checking.world import BuildWorld
from compat.planning.readings import Option, Readings
from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop

__all__ = ["Choice", "FittingScene", "choices_of", "readings_of"]

Choice = dict[str, str]


class FittingScene:
    """Options that are parts: an empty text leaves the position empty.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    base : ReadyBuild
        The build.
    """

    def __init__(self, session: Session, base: ReadyBuild) -> None:
        self.session = session
        self.base = base

    def part(self, decision: str, option: Option) -> str | None:
        """The option itself."""
        return str(option)

    def build(self, chosen: Mapping[str, Option]) -> ReadyBuild:
        """The build with parts in place."""
        return self.base.fitting(**{position: str(part) or None for position, part in chosen.items()})

    def world(self, chosen: Mapping[str, Option]) -> BuildWorld:
        """The build settled with parts in place."""
        return settle(self.session.shop, self.session.book, self.build(chosen), self.session.answers)


def choices_of(shop: Shop, base: Checked) -> Mapping[str, tuple[str, ...]]:
    """By position the part that stands there, first, and all others that suit the family, or nothing."""
    settled = base.world.settled
    found = {}
    for position, place in shop.positions.items():
        if position in ("fuel", "setup"):
            continue
        entry = settled.fitted.get(position)
        others = [
            name
            for name in shop.fillers[position]
            if not shop.parts[name].families or settled.variant.family in shop.parts[name].families
        ]
        nothing = [""] if not place.required and position in settled.variant.parts else []
        found[position] = tuple(dict.fromkeys([entry.part.part if entry else "", *others, *nothing]))
    return found


def readings_of(session: Session, base: Checked) -> Readings:
    """Readings of a build over every part that suits its family."""
    return Readings(FittingScene(session, base.world.settled.ready), choices_of(session.shop, base))
