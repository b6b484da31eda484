"""The order in which an engine goes together, from the graph of joints, positions and work."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from compat.checking.settle import Settled
from compat.shop.assembly import Before, assembly_edges, circle, circle_told, in_assembly
from compat.shop.graph import Key
from compat.shop.models import Joint, Work
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults

__all__ = ["Course", "assembled", "assembly_order", "course_of_work", "ordered"]

Rank = tuple[int, int, int]


def assembly_order(shop: Shop, filled: Collection[str], works: Sequence[str] = ()) -> tuple[Key, ...]:
    """Order everything that can be done while an engine goes together.

    Parameters
    ----------
    shop : Shop
        The shop.
    filled : collection of str
        Positions that the engine has a part in.
    works : sequence of str
        Work that is done in the course of it, in the build's own order.

    Returns
    -------
    tuple
        (kind, id): a position filled, a joint closed, work done. Each is possible after those before it; where
        the graph leaves a choice the deeper joint comes first, then the order of the files.

    Raises
    ------
    Faults
        When what the shop says of this engine goes in a circle.
    """
    done = {name: shop.works[name] for name in works}
    edges = list(assembly_edges(shop.positions, shop.joints, done, filled))
    if found := circle(edges):
        edge, message = circle_told(found)
        raise Faults([Fault(shop.spot(*edge.said, *edge.path), message)])
    return ordered(_ranks(shop, filled, works), edges)


def ordered(ranks: Mapping[Key, Rank], edges: Iterable[Before]) -> tuple[Key, ...]:
    """Order steps so that each comes after all that it must follow, where there is a choice by rank.

    A step takes the rank of what waits for it where that is lower, so that nothing waits for a loose end.

    Examples
    --------
    >>> key = lambda name: ("position", name)
    >>> first = Before(key("rod"), key("bolt"), key("bolt"), ("fitting", "after", 0))
    >>> ranks = {key("bolt"): (0, 0, 0), key("pump"): (1, 0, 0), key("rod"): (2, 0, 0)}
    >>> [name for _, name in ordered(ranks, [first])]
    ['rod', 'bolt', 'pump']
    """
    then: dict[Key, set[Key]] = {key: set() for key in ranks}
    waits: dict[Key, int] = dict.fromkeys(ranks, 0)
    for edge in edges:
        if edge.first in then and edge.then in then and edge.then not in then[edge.first]:
            then[edge.first].add(edge.then)
            waits[edge.then] += 1
    plain = _by_rank(ranks, then, waits)
    urgent = dict(ranks)
    for key in reversed(plain):
        urgent[key] = min([urgent[key], *(urgent[other] for other in then[key])])
    # a joint is closed as soon as it can be
    pressing = {key: (key[0] != "joint", urgent[key], ranks[key]) for key in ranks}
    return tuple(_by_rank(pressing, then, waits))


def _by_rank(ranks: Mapping[Key, Any], then: Mapping[Key, set[Key]], waits: Mapping[Key, int]) -> list[Key]:
    left = dict(waits)
    ready = [(ranks[key], key) for key, count in left.items() if not count]
    heapq.heapify(ready)
    found: list[Key] = []
    while ready:
        _, key = heapq.heappop(ready)
        found.append(key)
        for other in then[key]:
            left[other] -= 1
            if not left[other]:
                heapq.heappush(ready, (ranks[other], other))
    return found


LOOSE = 90
"""Depth of what stands behind no joint: it goes on when the rest is closed, then what is poured in"""


def _ranks(shop: Shop, filled: Collection[str], works: Sequence[str]) -> dict[Key, Rank]:
    """Rank of every step: depth of its joint, how much waits for that joint, place in the files."""
    depth, height = _depths(shop), _heights(shop.joints)
    ranks: dict[Key, Rank] = {}
    files = {name: number for number, name in enumerate(shop.joints)}
    for name, joint in shop.joints.items():
        own = (depth[name], -height[name], files[name] * 1000)
        for number, position in enumerate(joint.behind):
            if position in filled:
                ranks.setdefault(("position", position), (own[0], own[1], own[2] + number))
        if any(position in filled for position in joint.behind):  # what is empty is not closed
            ranks["joint", name] = (own[0], own[1], own[2] + 999)
    for number, (name, place) in enumerate(shop.positions.items()):
        if name in filled:
            poured = place.system == "consumable"
            ranks.setdefault(("position", name), (LOOSE + poured, 0, number))
    for name in shop.positions:
        if name in filled and shop.positions[name].fitting.last:
            _, _, number = ranks["position", name]
            ranks["position", name] = (LOOSE + 2, 0, number)
            for before in shop.joints_before.get(name, ()):
                ranks["joint", before] = (LOOSE + 2, 0, ranks["joint", before][2])
    for number, name in enumerate(works):
        ranks["work", name] = (LOOSE, 1, number)
    return ranks


def _depths(shop: Shop) -> dict[str, int]:
    """Steps from a joint that nothing lies behind to each joint, the fewest.

    One that no other opens, and whose parts stand on those of others, is as far out as the furthest of them.
    """
    joints = shop.joints
    opened = {name for joint in joints.values() for name in joint.opens}
    roots = [name for name in joints if name not in opened]
    depth = dict.fromkeys(roots, 0)
    queue = list(roots)
    for name in queue:
        for other in joints[name].opens:
            if other in joints and other not in depth:
                depth[other] = depth[name] + 1
                queue.append(other)
    home = {position: name for name, joint in joints.items() for position in joint.behind}
    for name in roots:
        stands_on = {
            home[other]
            for position in joints[name].behind
            if position in shop.positions
            for other in shop.positions[position].fitting.after
            if other in home
        }
        depth[name] = max((depth.get(other, 0) for other in stands_on - {name}), default=0)
    return {name: depth.get(name, 0) for name in joints}


def _heights(joints: Mapping[str, Joint]) -> dict[str, int]:
    """How many joints are closed one after the other once each is, the most."""
    found: dict[str, int] = {}

    def of(name: str, trail: tuple[str, ...]) -> int:
        if name not in found:
            beyond = [other for other in joints[name].opens if other in joints and other not in trail]
            found[name] = max((1 + of(other, (*trail, name)) for other in beyond), default=0)
        return found[name]

    return {name: of(name, ()) for name in joints}


def assembled(settled: Settled, opened: Collection[str], *, whole: bool = False) -> frozenset[str]:
    """Positions whose parts go in again.

    Parameters
    ----------
    settled : Settled
        The build.
    opened : collection of str
        Joints that it opens.
    whole : bool
        Whether the whole engine is put together, whatever is opened.

    Returns
    -------
    frozenset of str
        What lies behind an opened joint, what is changed, worked on or bought, and what had to come off because
        it goes on after one of these. The whole engine where nothing is opened or touched.
    """
    fitted, places = settled.fitted, settled.shop.positions
    every = frozenset(
        position for position in fitted if position in places and position not in ("fuel", "setup")
    )
    found = {
        position for joint in opened for position in settled.shop.joints[joint].behind if position in every
    }
    found |= {position for position, touch in settled.touched() if position in every}
    if whole or not found:
        return every
    waiting: dict[str, list[str]] = {}
    for position in every:
        for other in places[position].fitting.after:
            waiting.setdefault(other, []).append(position)
    queue = list(found)
    for position in queue:
        for other in waiting.get(position, ()):
            if other not in found:
                found.add(other)
                queue.append(other)
    return frozenset(found)


class Course(NamedTuple):
    """Work of a build, each list in the order it is done."""

    before: tuple[str, ...]
    among: tuple[str, ...]
    """In the course of the assembly."""
    after: tuple[str, ...]


def course_of_work(settled: Settled) -> Course:
    """Tell which work of a build comes before its assembly, in the course of it, and after it."""
    works = settled.shop.works
    assembling = {name for name, work in works.items() if work.assembles}
    before: list[str] = []
    among: list[str] = []
    after: list[str] = []
    for work, _ in settled.sequence:
        if work.work in assembling:
            continue
        if in_assembly(work):
            among.append(work.work)
        else:
            (after if _follows(work.work, assembling, works) else before).append(work.work)
    return Course(tuple(before), tuple(among), tuple(after))


def _follows(name: str, others: Collection[str], works: Mapping[str, Work]) -> bool:
    """Whether work comes after one of others, through all that it is to follow."""
    queue, seen = [name], {name}
    for each in queue:
        for other in works[each].after:
            if other in others:
                return True
            if other not in seen:
                seen.add(other)
                queue.append(other)
    return False
