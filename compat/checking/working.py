"""Work done on the settled parts: its bounds held, its order looked at, what it changes changed."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.judging import judge
from compat.checking.outcome import Misplaced, Outcome, Unlike
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import BoundChange
from compat.rulebook.values import Absent, Number
from compat.shop.build_work import followed
from compat.shop.builds import ReadyBuild
from compat.shop.pieces import Measured
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["do_work", "misplaced"]


def do_work(world: BuildWorld) -> tuple[Outcome, ...]:
    """Do every piece of work in its order, then enter what was measured.

    Parameters
    ----------
    world : BuildWorld
        The build with its parts in place.

    Returns
    -------
    tuple of Outcome
        What came of the bounds of each piece of work, held against the parts as they stood when it began.
    """
    settled = world.settled
    found: list[Outcome] = []
    for work, values in settled.sequence:
        world.take(work.work, values)
        for name, bound in settled.book.bounds.get(work.work, {}).items():
            # dragged in without a size: what it changes is not known, and says so
            outcome = judge(world, bound) if name in values else None
            if outcome is not None:
                found.append(outcome)
        for change in settled.book.changes[work.work]:
            if change.position in settled.fitted:
                changed = _changed(world, change)
                if changed is None:
                    settled.unsettled.append(f"{change.position}.{change.spec}")
                world.state(change.position, change.spec, changed)
    world.take("", {})
    for (position, name), spec in settled.ready.measured.items():
        if position in settled.fitted:
            found += _unlike(world, position, name, spec)
            if isinstance(spec, Measured):
                whole = spec.on(settled.specs.at(position, name))
                world.gauged[position, name] = whole or spec
                world.state(position, name, whole)
            else:
                world.state(position, name, spec)
    return tuple(found)


def _unlike(world: BuildWorld, position: str, name: str, spec: Spec) -> Iterator[Outcome]:
    """What is not as the build's own work leaves it: measured before it, or the work went astray."""
    settled = world.settled
    left = settled.specs.at(position, name)
    done = [
        work.work
        for work, _ in settled.sequence
        if any((change.position, change.spec) == (position, name) for change in settled.book.changes[work.work])
    ]
    if not done or left is None or not isinstance(left.value, Band) or not left.value.half_width:
        return  # the size of what work leaves has a tolerance; how true it is at best has none
    band = left.value
    off = {number: (low, high) for number, low, high in _read(spec) if high < band.low or low > band.high}
    if off:
        rule = f"measured-{position}-{name}".replace("_", "-")
        card = settled.shop.stated(position, settled.fitted[position].part.part).get(name)
        was = card.value if card is not None else None
        # a size that the part had, and that the work leaves on none: metal has come off since
        before = (
            isinstance(was, Band)
            and (was.high < band.low or was.low > band.high)
            and any(low <= was.high and high >= was.low for low, high in off.values())
        )
        pieces = tuple(number for number in off if number)
        seen = Unlike(position, name, done[-1], band, pieces, before)
        yield Outcome(rule, "conflict" if before else "measure", seen)


def _read(spec: Spec) -> Iterator[tuple[int, float, float]]:
    """Each piece, and from where to where it may be; nought for all of them where one value is said."""
    if isinstance(spec, Measured):
        for piece in spec.pieces:
            if piece is not None:
                yield piece.number, piece.low - piece.uncertainty, piece.high + piece.uncertainty
    elif isinstance(spec.value, Band):
        yield 0, spec.value.low, spec.value.high


def misplaced(ready: ReadyBuild) -> tuple[Outcome, ...]:
    """Chosen work that the build does before other chosen work that it must follow.

    Work that is done again follows by its last time, and is followed by its first: tried, cut and tried again
    is in order. Metal that comes off again undoes what followed, and nothing is done again to an engine that
    stands. Through work that is dragged in it follows what that does.
    """
    order = [work for work, _ in ready.works]
    first: dict[str, int] = {}
    last: dict[str, int] = {}
    for number, work in enumerate(order):
        first.setdefault(work.work, number)
        last[work.work] = number
    found = []
    for name, number in last.items():
        work = order[number]
        must = {
            other: last[other] if work.assembles or order[last[other]].changes else first[other]
            for other in followed(ready.shop, work, ready.forced)
            if other in last
        }
        late = sorted((w for w, at in must.items() if at > number), key=must.__getitem__)
        if late:
            found.append(Outcome(f"order-{name}", "conflict", Misplaced(name, tuple(late))))
    return tuple(found)


def _changed(world: BuildWorld, change: BoundChange) -> Spec | None:
    """What a spec is after a change; None when that is not known."""
    before = world.settled.specs.at(change.position, change.spec)
    spot = before.spot if before else None
    value = change.value
    if change.expression is None and not isinstance(value, Band):
        assert value is not None
        return Spec(value, "shop", spot=spot)
    if change.expression is not None:
        try:
            found = change.expression.run(world)
        except Absent:
            return None
        if not isinstance(found, Number):
            return None
        amount, wide = found.x, world.worst(found)
    else:
        assert isinstance(value, Band)
        amount, wide = value.nominal, value.half_width
    kind = world.settled.shop.kinds[change.position][change.spec]
    if change.adds:
        if before is None or not isinstance(before.value, Band):
            return None
        old = before.value
        nominal = old.nominal + amount
        low, high = old.low - old.nominal - wide, old.high - old.nominal + wide
    else:
        nominal = amount
        low, high = (value.low - amount, value.high - amount) if isinstance(value, Band) else (-wide, wide)
    if change.tolerance is not None:
        low, high = change.tolerance
    band = Band(nominal, nominal + low, nominal + high, kind.dimension, kind.unit)
    return Spec(band, "shop", spot=spot)
