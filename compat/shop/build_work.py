"""The work of a build: what each takes, what it drags in, its order, more of it, and the part it is on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from compat.shop.models import Build, Variant, Work, WorkDone
from compat.shop.pieces import Measured
from compat.shop.shop import Shop
from compat.shop.specs import Spec
from compat.units import Band

if TYPE_CHECKING:
    from compat.shop.builds import ReadyBuild

__all__ = ["doing", "followed", "in_sequence", "put_in", "standing_part", "with_more", "work_of", "works_of"]


def works_of(shop: Shop, build: Build) -> tuple[tuple[tuple[Work, Mapping[str, Band]], ...], dict[str, str]]:
    """The work of a build with what it takes, and the work that this work drags in."""
    works = tuple(work_of(shop, done) for done in build.work)
    return works, _dragged_in(shop, [work.work for work, _ in works])


def _dragged_in(shop: Shop, names: Sequence[str]) -> dict[str, str]:
    """The work that work drags in, and which drags it in first."""
    forced: dict[str, str] = {}
    queue = [shop.works[name] for name in names]
    for work in queue:
        for name in work.forces:
            if name not in names and name not in forced:
                forced[name] = work.work
                queue.append(shop.works[name])
    return forced


def followed(shop: Shop, work: Work, dragged_in: Container[str]) -> set[str]:
    """What work is to follow, by itself and through dragged-in work or an assembly that goes without saying."""
    found = set(work.after)
    waiting = [*work.after]
    for name in waiting:
        between = shop.works[name]
        if between.assembles or name in dragged_in:
            more = set(between.after) - found
            found |= more
            waiting += more
    return found - {work.work}


def in_sequence(
    shop: Shop, works: tuple[tuple[Work, Mapping[str, Band]], ...], forced: Mapping[str, str]
) -> tuple[tuple[Work, Mapping[str, Band]], ...]:
    """Chosen work in its order, each dragged-in work as early as what drags it in and what it follows allow."""
    order = list(works)
    for name, by in forced.items():
        work = shop.works[name]
        first = {by, *work.after}
        place = max(number for number, (other, _) in enumerate(order) if other.work in first) + 1
        order.insert(place, (work, _values(work, {})))
    return tuple(order)


def with_more(ready: ReadyBuild, fit: Mapping[str, str], works: Iterable[str | WorkDone]) -> ReadyBuild:
    """The same build with more parts and work of its shop; work is put where what it follows allows.

    Pieces that were measured are no longer known by that once more work changes them.
    """
    ready = ready.fitting(**fit) if fit else ready
    build = ready.build
    by_name = {(one if isinstance(one, str) else one.work): one for one in works}
    more = [WorkDone(work=one) if isinstance(one, str) else one for one in by_name.values()]
    changed = doing(ready, replace(build, work=put_in(ready.shop, build.work, more)))
    chosen = [work for work, _ in changed.works]
    return replace(changed, measured=_still_measured(ready, chosen, changed.forced))


def doing(ready: ReadyBuild, build: Build) -> ReadyBuild:
    """The same with the work of another build file, which differs in nothing that was typed but its work."""
    chosen, forced = works_of(ready.shop, build)
    return replace(
        ready,
        build=build,
        works=chosen,
        forced=MappingProxyType(forced),
        sequence=in_sequence(ready.shop, chosen, forced),
    )


def _still_measured(
    ready: ReadyBuild, chosen: Sequence[Work], forced: Mapping[str, str]
) -> Mapping[tuple[str, str], Spec]:
    """What was measured on a build and that no more work than its own changes."""
    if not any(isinstance(spec, Measured) for spec in ready.measured.values()):
        return ready.measured
    own = Counter([*(work.work for work, _ in ready.works), *ready.forced])
    more = Counter([*(work.work for work in chosen), *forced]) - own
    changed = {change.spec for name in more for change in ready.shop.works[name].changes}
    return MappingProxyType(
        {
            key: spec
            for key, spec in ready.measured.items()
            if not (isinstance(spec, Measured) and ".".join(key) in changed)
        }
    )


def put_in(shop: Shop, works: Sequence[WorkDone], more: Sequence[WorkDone]) -> tuple[WorkDone, ...]:
    """More work among a build's own, each where what it follows allows."""
    order, waiting = list(works), list(more)
    every = list(dict.fromkeys(one.work for one in (*works, *more)))
    dragged_in = _dragged_in(shop, every)
    after = {name: followed(shop, shop.works[name], dragged_in) for name in every}
    while waiting:
        # those that follow none of the others first; where they follow each other in a ring, as they come
        names = {one.work for one in waiting}
        one = next((one for one in waiting if after[one.work].isdisjoint(names)), waiting[0])
        waiting.remove(one)
        places = [done.work for done in order]
        first = max((places.index(n) + 1 for n in after[one.work] if n in places), default=0)
        late = (number for number, other in enumerate(places) if one.work in after[other])
        order.insert(max(first, next(late, len(order))), one)
    return tuple(order)


def work_of(shop: Shop, done: WorkDone) -> tuple[Work, Mapping[str, Band]]:
    """A piece of work with what it takes: as the build says, else as it usually is; without what is neither."""
    work = shop.works[done.work]
    return work, _values(work, done.values)


def _values(work: Work, given: Mapping[str, Any]) -> dict[str, Band]:
    values = {}
    for name, parameter in work.takes.items():
        raw = given.get(name, parameter.default)
        if raw is not None:
            values[name] = parameter.read(raw)
    return values


def standing_part(shop: Shop, build: Build, variant: Variant, position: str) -> str:
    """The part in a position: chosen, of a sister, out of the box of either, or the variant's own."""
    if position in build.fit:
        return build.fit[position]
    chosen = list(build.fit.values())
    for taken in build.take_from:
        sister = shop.variants.get(taken.variant)
        theirs = sister.parts if sister is not None else {}
        if position in taken.positions:
            return theirs.get(position, "")
        chosen += [theirs[place] for place in taken.positions if place in theirs]
    waiting, seen = chosen, set(chosen)
    for name in waiting:
        part = shop.parts.get(name)
        for other in part.includes if part is not None else ():
            found = shop.parts.get(other)
            if found is not None and position in found.fills:
                return other
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return variant.parts.get(position, "")
