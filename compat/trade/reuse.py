"""What of the engine stays, and on what condition that was priced: what it carries, where it is looked at."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.check import Checked
from compat.checking.outcome import Borne
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.shop.words import SYSTEMS
from compat.trade.quoted import Inspected, Reused

__all__ = ["bearing", "final_world", "inspected", "reused"]


def final_world(checked: Checked) -> BuildWorld:
    """The build with all that it must have."""
    return checked.world if checked.ahead is None else checked.ahead.world


def reused(checked: Checked) -> tuple[Reused, ...]:
    """Parts of the variant that stay and that a load at the goal goes through, or that an opened joint bares.

    Parameters
    ----------
    checked : Checked
        What checking the build found.

    Returns
    -------
    tuple of Reused
        By system of the engine.
    """
    world = final_world(checked)
    settled = world.settled
    judged = checked.judged if checked.ahead is None else checked.ahead.judged
    carries: dict[str, list[str]] = {}
    for name, bound in settled.book.rules.items():
        outcome = judged.outcomes.get(name)
        if bound.rule.sort == "load" and outcome is not None and isinstance(outcome.seen, Borne):
            for position in bearing(settled.book, bound):
                carries.setdefault(position, []).append(bound.rule.title)
    renewed = {
        entry.position for entry in (checked.renewed if checked.ahead is None else checked.ahead.renewed)
    }
    bared: dict[str, list[str]] = {}
    for joint in world.joints:
        for position in settled.shop.joints[joint].behind:
            bared.setdefault(position, []).append(settled.shop.joints[joint].name)
    found = [
        Reused(
            entry.part.part,
            entry.part.name,
            settled.shop.positions[position].system,
            position,
            settled.count(position),
            tuple(dict.fromkeys(carries.get(position, ()))),
            tuple(dict.fromkeys(bared.get(position, ()))),
        )
        for position, entry in settled.fitted.items()
        if entry.origin == "factory"
        and position not in ("fuel", "setup")
        and position not in renewed
        and position not in settled.build.brought
        and (position in carries or position in bared)
    ]
    order = {system: number for number, system in enumerate(SYSTEMS)}
    return tuple(sorted(found, key=lambda one: order.get(one.system, len(order))))


FEW = 6


def bearing(book: Rulebook, rule: BoundRule) -> Iterator[str]:
    """Positions whose parts bear the load of a rule: those that its capacity is worked out from.

    A capacity that rests on the whole engine is of the part its figure is named after (``rod_fatigue_factor``).
    """
    if rule.capacity is None:
        return
    named = dict.fromkeys(position for position, _ in book.gather([rule.capacity]).specs)
    if len(named) > FEW:
        yield from (position for position in named if rule.capacity.text.startswith(f"{position}_"))
    else:
        yield from named


def inspected(checked: Checked) -> Iterator[Inspected]:
    """What is looked at where the build opens joints."""
    world = final_world(checked)
    for joint in world.joints:
        found = world.settled.shop.joints[joint]
        if found.inspect:
            yield Inspected(found.name, found.inspect)
