"""What must be in before what when an engine goes together: joints the way back, and what positions say.

A joint is opened to reach what lies behind it, and those that it opens come first. Assembly goes the other way:
what lies behind a joint goes in, the joint is closed, and only then is there anything of the joints before it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

from compat.shop.graph import Key
from compat.shop.models import Joint, Position, Work

__all__ = ["Before", "assembly_edges", "circle", "circle_told", "in_assembly"]


class Before(NamedTuple):
    """That one step comes before another, and the entry that says so."""

    first: Key
    then: Key
    said: Key
    path: tuple[str | int, ...]


def in_assembly(work: Work) -> bool:
    """Whether a piece of work is done while the engine goes together, rather than before or after it."""
    return bool(work.fitted or work.before)


def assembly_edges(
    positions: Mapping[str, Position],
    joints: Mapping[str, Joint],
    works: Mapping[str, Work],
    filled: Collection[str],
) -> Iterator[Before]:
    """Give what must come before what.

    Parameters
    ----------
    positions, joints, works : mapping
        Of a shop.
    filled : collection of str
        Positions that this engine has a part in; of the others nothing is said. A chain puts its joint behind
        the front cover, a belt before it.

    Yields
    ------
    Before
        Steps are (kind, id): a position is filled, a joint closed, work done.
    """
    for name in positions:
        if name not in filled:
            continue
        for number, other in enumerate(positions[name].fitting.after):
            if other in filled:
                path = ("fitting", "after", number)
                yield Before(("position", other), ("position", name), ("position", name), path)
        for number, other in enumerate(positions[name].fitting.before):
            if other in filled:
                path = ("fitting", "before", number)
                yield Before(("position", name), ("position", other), ("position", name), path)
    for joint in joints.values():
        yield from _of_joint(positions, joints, joint, filled)
    for work in works.values():
        if not in_assembly(work):
            continue
        own = ("work", work.work)
        for number, other in enumerate(work.fitted):
            if other in filled:
                yield Before(("position", other), own, own, ("fitted", number))
        for number, other in enumerate(work.before):
            if other in filled:
                yield Before(own, ("position", other), own, ("before", number))
        for number, other in enumerate(work.after):
            if other in works and in_assembly(works[other]):
                yield Before(("work", other), own, own, ("after", number))


def _of_joint(
    positions: Mapping[str, Position], joints: Mapping[str, Joint], joint: Joint, filled: Collection[str]
) -> Iterator[Before]:
    closed = ("joint", joint.joint)
    behind = [position for position in joint.behind if position in filled and position in positions]
    for position in behind:
        yield Before(("position", position), closed, closed, ("behind", joint.behind.index(position)))
    for number, name in enumerate(joint.opens):
        other = joints.get(name)
        if other is None:
            continue
        path = ("opens", number)
        outer = ("joint", name)
        beyond = [position for position in other.behind if position in filled and position in positions]
        within = {cover for position in beyond for cover in positions[position].fitting.within}
        shut = [position for position in behind if position in within]
        if not shut:
            yield Before(closed, outer, closed, path)
            yield from (Before(closed, ("position", position), closed, path) for position in beyond)
            continue
        yield from (Before(outer, ("position", cover), closed, path) for cover in shut)
        for first in behind:
            if first not in within:
                yield from (Before(("position", first), ("position", then), closed, path) for then in beyond)


def circle(edges: Sequence[Before]) -> tuple[Before, ...]:
    """Find steps that each come before the next, and the last before the first; none where there are none."""
    after: dict[Key, list[Before]] = {}
    for each in edges:
        after.setdefault(each.first, []).append(each)
    done: set[Key] = set()
    for start in after:
        trail: list[Before] = []
        on_trail = {start: 0}
        stack = [iter(after[start])] if start not in done else []
        while stack:
            edge: Before | None = next(stack[-1], None)
            if edge is None:
                stack.pop()
                last = trail.pop().then if trail else start
                del on_trail[last]
                done.add(last)
            elif edge.then in on_trail:
                return (*trail[on_trail[edge.then] :], edge)
            elif edge.then not in done:
                trail.append(edge)
                on_trail[edge.then] = len(trail)
                stack.append(iter(after.get(edge.then, ())))
    return ()


def circle_told(found: Sequence[Before]) -> tuple[Before, str]:
    """Say a circle: what is told of it, and the edge whose entry is to blame.

    Somebody wrote that order down; what follows from a joint is seldom at fault.
    """
    start = next((n for n, edge in enumerate(found) if edge.path[0] not in ("behind", "opens")), 0)
    turned = (*found[start:], *found[:start])
    names = [" ".join(edge.first) for edge in (*turned, turned[0])]
    return turned[0], f"the order of assembly goes in a circle: {' -> '.join(names)}"
