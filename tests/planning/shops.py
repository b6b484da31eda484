"""What may stand in every position of a build of the demo shop."""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.check import Checked
from compat.checking.session import Session
from compat.planning.readings import FittingScene, Readings
from compat.shop.shop import Shop

__all__ = ["Choice", "choices_of", "readings_of"]

Choice = dict[str, str]


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
