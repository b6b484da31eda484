"""What stands where, and how many: positions left empty, strangers, parts kept apart, counts, idle words.

None of it is a rule of the rulebook: it follows from what positions, parts and variants say of themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Set
from functools import partial

from compat.checking.outcome import Apart, Idle, LeftOut, Miscounted, Outcome, Stranger, Vacant
from compat.checking.settle import Settled
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.models import Verdict

__all__ = ["Look", "looks", "standing"]


def standing(world: BuildWorld, renewed: Collection[str], added: Collection[str] = ()) -> tuple[Outcome, ...]:
    """Judge what stands where.

    Parameters
    ----------
    world : BuildWorld
        The build.
    renewed : collection of str
        Positions that its opened joints consume.
    added : collection of str
        Positions that it must fill beside those.

    Returns
    -------
    tuple of Outcome
        One for each thing that a person has to know; nothing of what is as usual.
    """
    settled = world.settled
    build, fitted = settled.build, settled.fitted
    shop, own = settled.shop, settled.variant.parts
    found: list[Outcome] = []
    # whole sets are compared first: mostly nothing is empty and no part is watched
    if not fitted.keys() >= {*shop.required, *own}:
        for position in dict.fromkeys([*shop.required, *own]):
            found += _empty(world, position)
    family = settled.variant.family
    for position, entry in fitted.items():
        part = entry.part
        if part.families and family not in part.families:
            found += _stranger(world, position)
        if part.never_with:
            found += _apart(world, position)
    for position in build.counts:
        found += _miscounted(world, position)
    found += _idle(world)
    if build.renew != "all":
        found += (_of_no_effect("renew", place, place) for place in build.renew if place not in renewed)
    if build.brought:
        bought = {*build.fit, *renewed, *added, *(p for taken in build.take_from for p in taken.positions)}
        found += (_of_no_effect("brought", place, place) for place in build.brought if place not in bought)
    return tuple(found)


def _named(what: str, position: str) -> str:
    """Id of the finding, as rules have one."""
    return f"{what}-{position.replace('_', '-').replace('.', '-')}"


def _empty(world: BuildWorld, position: str) -> Iterator[Outcome]:
    """A position that no engine can do without, or that this one left the factory with, and nothing fills."""
    settled = world.settled
    if position in settled.fitted:
        return
    if settled.shop.positions[position].required:
        yield Outcome(_named("required", position), "missing", Vacant(position))
    elif position in settled.variant.parts:
        why = settled.build.leave_out.get(position, "")
        seen = LeftOut(position, settled.variant.parts[position], why)
        spared = why and not settled.shop.positions[position].indispensable
        yield Outcome(_named("left-out", position), "caution" if spared else "missing", seen)


def _stranger(world: BuildWorld, position: str) -> Iterator[Outcome]:
    """A part made for other families than the build's; the build may say why it fits all the same."""
    settled = world.settled
    entry = settled.fitted.get(position)
    if entry is not None and entry.part.families and settled.variant.family not in entry.part.families:
        why = settled.build.fits_because.get(position, "")
        seen = Stranger(position, entry.part.part, why)
        yield Outcome(_named("family", position), "caution" if why else "conflict", seen)


def _apart(world: BuildWorld, position: str) -> Iterator[Outcome]:
    """What the part in a position must never stand beside, by its own card."""
    fitted = world.settled.fitted
    entry = fitted.get(position)
    for other in entry.part.never_with if entry else ():
        place = next((place for place, its in fitted.items() if its.part.part == other), None)
        # where both cards say it, it is told once
        if entry is None or place is None:
            continue
        if entry.part.part in fitted[place].part.never_with and place < position:
            continue
        seen = Apart(position, entry.part.part, place, other)
        yield Outcome(_named("never-with", position), "conflict", seen)


def _miscounted(world: BuildWorld, position: str) -> Iterator[Outcome]:
    """So many pieces as the build says against so many as the engine takes."""
    settled = world.settled
    if position not in settled.fitted:
        return
    stands, takes = settled.count(position), settled.takes(position)
    place = settled.shop.positions[position]
    if stands < takes or (stands > takes and not place.varies):
        fewer: Verdict = "caution" if place.fewer_too and stands else "missing"
        verdict: Verdict = "conflict" if stands > takes else fewer
        yield Outcome(_named("count", position), verdict, Miscounted(position, stands, takes))


def _idle(world: BuildWorld) -> Iterator[Outcome]:
    """What the build says of places where nothing stands, so that nothing comes of it."""
    settled = world.settled
    build, fitted = settled.build, settled.fitted
    for position in build.counts:
        if position not in fitted:
            yield _of_no_effect("counts", position, position)
    for position in build.fits_because:
        if not any(_stranger(world, position)):
            yield _of_no_effect("fits_because", position, position)
    for position in build.leave_out:
        if position not in settled.variant.parts and position not in _boxed(world):
            yield _of_no_effect("leave_out", position, position)
    for taken in build.take_from:
        theirs, own = settled.shop.variants[taken.variant].parts, settled.variant.parts
        for position in taken.positions:
            if theirs[position] == own.get(position):
                yield _of_no_effect("take_from", position, position)
    for position, spec in settled.ready.measured:
        if position not in fitted:
            yield _of_no_effect("measured", f"{position}.{spec}", position)
    for position in build.selected:
        if not any(key[0] == position for key in world.gauged):
            yield _of_no_effect("selected", position, position)
    for work, _ in settled.works:
        if work.on not in fitted:
            yield _of_no_effect("work", work.work, work.on)


def _of_no_effect(entry: str, word: str, position: str) -> Outcome:
    return Outcome(_named("no-effect", f"{entry}-{word}"), "conflict", Idle(position, entry, word))


def _boxed(world: BuildWorld) -> Set[str]:
    """Positions that what comes in the boxes of chosen parts could fill."""
    settled = world.settled
    waiting = [n for e in settled.fitted.values() if e.origin != "factory" for n in e.part.includes]
    unpacked: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name not in unpacked:
            unpacked.add(name)
            waiting += settled.shop.parts[name].includes
    return {position for name in unpacked for position in settled.shop.parts[name].fills}


@record(slots=True)
class Look:
    """A piece of what stands where, for whoever tries many parts: what it hangs on, and its judgement."""

    places: Set[str]
    """Positions; none where no part that is tried can move it."""
    judge: Callable[[BuildWorld], Iterable[Outcome]]


def looks(base: Settled, moving: Set[str], tried: Iterable[str]) -> Iterator[Look]:
    """Take what stands where apart, so that each piece can be judged for the parts it hangs on.

    Parameters
    ----------
    base : Settled
        The build as it stands.
    moving : set of str
        Positions that may hold another part.
    tried : iterable of str
        Parts that may stand there.

    Yields
    ------
    Look
        All that `standing` judges but what is renewed or brought in vain, which hangs on every opened joint.
    """
    shop, ready = base.shop, base.ready
    settled = {*shop.required, *ready.variant.parts} - moving
    yield Look(frozenset(), lambda world: (o for position in sorted(settled) for o in _empty(world, position)))
    for position in moving:
        yield Look({position}, partial(_empty, position=position))
        yield Look({position}, partial(_stranger, position=position))
    kept: dict[str, set[str]] = {}
    for part in [*(entry.part for entry in base.fitted.values()), *(shop.parts[name] for name in tried)]:
        others = {place for other in part.never_with for place in shop.parts[other].fills}
        for position in part.fills if others else ():
            kept.setdefault(position, {position}).update(others)
    for position, places in kept.items():
        yield Look(places & moving, partial(_apart, position=position))
    for position in ready.build.counts:
        by = shop.counted_by.get(position, (position,))[0]
        yield Look({position, by} & moving, partial(_miscounted, position=position))
    said = {*ready.build.counts, *ready.build.fits_because, *ready.build.leave_out}
    said |= {position for position, _ in ready.measured} | {work.on for work, _ in ready.works}
    said |= {position for taken in ready.build.take_from for position in taken.positions}
    yield Look(moving if set(ready.build.leave_out) - set(ready.variant.parts) else said & moving, _idle)
