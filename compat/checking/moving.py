"""In which facts two builds of one variant differ."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.world import BuildWorld
from compat.rulebook.influence import Fact, Influence, Moved
from compat.rulebook.scope import GOAL

__all__ = ["carry_beside", "carry_over", "moved_facts"]


def carry_over(old: BuildWorld, new: BuildWorld) -> Moved:
    """Let a build begin with what another of its variant has worked out; gives what may come out otherwise."""
    influence = new.settled.book.influence
    moved = influence.of(moved_facts(old, new, influence))
    new.take_over(old, moved.figures)
    return moved


def carry_beside(other: BuildWorld, new: BuildWorld, moved: Moved) -> Moved:
    """Let a build have from a second one what has moved since the first; gives what has moved since both."""
    influence = new.settled.book.influence
    since = influence.of(moved_facts(other, new, influence))
    new.take_beside(other, moved.figures - since.figures)
    return Moved(moved.rules & since.rules, moved.figures & since.figures, moved.facts & since.facts)


def moved_facts(old: BuildWorld, new: BuildWorld, influence: Influence) -> Iterator[Fact]:
    """Every fact in which two builds of one variant differ."""
    yield from _moved_specs(old, new)
    before, now = old.settled.fitted, new.settled.fitted
    for position in before.keys() ^ now.keys():
        yield ("filled", position)
    recount = old.settled.build.counts != new.settled.build.counts
    renews = old.settled.build.renew != new.settled.build.renew
    apart = new.settled.shop.counted_apart
    for position in influence.counted:
        a, b = before.get(position), now.get(position)
        # the number is the variant's own unless the build or a spec says another
        spec_says = position in apart
        if a is b and not (recount or spec_says or renews):
            continue
        asked = recount or spec_says or (a is None) != (b is None)
        if asked and old.count(position) != new.count(position):
            yield ("count", position)
        replaced = a is not b and (a is None or b is None or a.part is not b.part or a.sister != b.sister)
        # whether its pieces stay hangs on how it came there, and on what is renewed
        came = renews or a is None or b is None or a.origin != b.origin
        if replaced or (came and old.kept(position) != new.kept(position)):
            yield ("part", position)
    for work in old.works ^ new.works:
        yield ("work", work)
    for joint in old.joints.keys() ^ new.joints.keys():
        yield ("joint", joint)
    for feature in influence.features:
        if old.offered(feature) != new.offered(feature):
            yield ("feature", feature)
    if old.settled.goal is not new.settled.goal:
        for name, (_, entry) in GOAL.items():
            if getattr(old.settled.goal, entry) != getattr(new.settled.goal, entry):
                yield ("goal", name)
        if old.settled.goal.duty != new.settled.goal.duty:
            yield ("goal", "duty")


def _moved_specs(old: BuildWorld, new: BuildWorld) -> Iterator[Fact]:
    for key in old.gauged.keys() | new.gauged.keys():
        if old.gauged.get(key) != new.gauged.get(key):
            yield ("spec", *key)
    before, now = old.settled.specs.by_position, new.settled.specs.by_position
    for position in before.keys() | now.keys():
        a, b = before.get(position, {}), now.get(position, {})
        if a is b:
            continue
        for name in a.keys() | b.keys():
            one, other = a.get(name), b.get(name)
            if one is not other and (
                one is None or other is None or one.value != other.value or one.basis != other.basis
            ):
                yield ("spec", position, name)
