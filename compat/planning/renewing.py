"""What opened joints renew, as far as few decisions settle it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from compat.planning.cells import Cells
from compat.planning.cuts import cover
from compat.planning.grounds import Ground, Grounds
from compat.planning.pieces import pieces_of
from compat.planning.space import Decision, Option, Space
from compat.planning.tables import EAGER
from compat.rulebook.expressions import Expression
from compat.shop.models import Joint

__all__ = ["Renewing", "opening", "renewing", "within"]

Sides = tuple[tuple[int, frozenset[int]], ...]


@dataclass(frozen=True, slots=True)
class Renewing:
    """Where a joint is opened, and a choice lies in a box, the part of an option is bought new."""

    decision: int
    option: int
    joint: str
    when: Sides
    pieces: tuple[int, int]
    """The fewest and the most."""


def renewing(space: Space, grounds: Grounds, cells: Cells) -> Iterator[Renewing]:
    """Everything that joints renew of what the variant left the factory with."""
    for joint in space.shop.joints.values():
        yield from _of_joint(space, grounds, cells, joint)


def _of_joint(space: Space, grounds: Grounds, cells: Cells, joint: Joint) -> Iterator[Renewing]:
    for which, renewal in enumerate(joint.renews):
        position = renewal.position
        number = space.number.get(position)
        if number is None or position in space.base.build.brought or space.bringers.get(position):
            continue
        condition = space.book.conditions.get(("joint", joint.joint, "renews", which))
        for index, option in enumerate(space.decisions[number].options):
            entry = space.fitted(position, option)
            if option.how != "own" or entry is None:
                continue
            said = renewal.count
            pieces = (said, said) if said else pieces_of(space, position, option)
            for sides in within(space, grounds, cells, number, index, condition):
                yield Renewing(number, index, joint.joint, sides, pieces)


def within(
    space: Space, grounds: Grounds, cells: Cells, number: int, index: int, condition: Expression | None
) -> Iterator[Sides]:
    """Boxes of choices with an option in which a condition holds or is not known; none where many decide it."""
    own = (number, frozenset([index]))
    if condition is None:
        yield (own,)
        return
    ground = grounds.of([condition])
    if ground.joints or ground.cells > EAGER:
        return
    sizes = [len(classes) for classes in ground.classes]
    choice = list(space.start)
    choice[number] = index
    mine = ground.decisions.index(number) if number in ground.decisions else None
    holds: set[tuple[int, ...]] = set()
    for cell in product(*map(range, sizes)):
        if mine is not None and index not in ground.options(mine, cell[mine]):
            continue
        for axis, decision in enumerate(ground.decisions):
            choice[decision] = ground.options(axis, cell[axis])[0]
        choice[number] = index
        if cells.world(ground, choice).decide(condition, undecided=True):
            holds.add(cell)
    for box in cover(holds, sizes):
        sides = dict(sides_of(ground, box))
        sides[number] = own[1]
        yield tuple(sorted(sides.items()))


def sides_of(ground: Ground, box: tuple[frozenset[int], ...]) -> Sides:
    """A box of classes as sides of options; decisions that it leaves open are not named."""
    return tuple(
        (decision, frozenset(o for number in box[index] for o in ground.options(index, number)))
        for index, decision in enumerate(ground.decisions)
        if len(box[index]) < len(ground.classes[index])
    )


def opening(space: Space) -> dict[str, list[tuple[int, frozenset[int]]]]:
    """By joint the options that open it, directly or to reach what lies behind."""
    found: dict[str, dict[int, set[int]]] = {name: {} for name in space.shop.joints}
    for number, decision in enumerate(space.decisions):
        for index, option in enumerate(decision.options):
            for joint in _joints_of(space, decision, option):
                found[joint].setdefault(number, set()).add(index)
    return {joint: [(n, frozenset(options)) for n, options in by.items()] for joint, by in found.items()}


def _joints_of(space: Space, decision: Decision, option: Option) -> set[str]:
    shop = space.shop
    found: set[str] = set()
    if decision.kind == "work" and option.works:
        work = shop.works[decision.name]
        found |= set(work.opens)
        if work.changes or work.offers:
            found |= set(shop.joints_before.get(work.on, ()))
    elif decision.kind == "position":
        entry = space.fitted(decision.name, option)
        own = space.base.variant.parts.get(decision.name)
        part = entry.part.part if entry is not None else None
        boxed = option.how == "own" and space.bringers.get(decision.name)
        if not boxed and (part != own or (entry is not None and entry.bought)):
            found |= set(shop.joints_before.get(decision.name, ()))
    queue = list(found)
    for name in queue:
        for other in shop.joints[name].opens:
            if other not in found:
                found.add(other)
                queue.append(other)
    return found
