"""In which facts two builds of one variant differ."""

from __future__ import annotations

from collections.abc import Iterator, Set

from compat.checking.settle import Fitted
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Fact, Influence, Moved
from compat.rulebook.scope import GOAL
from compat.shop.specs import Spec

__all__ = ["carry_beside", "carry_over", "moved_facts"]


def carry_over(old: BuildWorld, new: BuildWorld) -> Moved:
    """Let a build begin with what another of its variant has worked out; gives what may come out otherwise."""
    influence = new.settled.book.influence
    moved = influence.of(moved_facts(old, new, influence))
    new.take_over(old, moved.figures)
    return moved


def carry_beside(other: BuildWorld, new: BuildWorld, apart: Moved, changed: Set[Fact], moved: Moved) -> Moved:
    """Let a build have from a second one what has moved since the first.

    Parameters
    ----------
    other, new : BuildWorld
        The second build, and the one that is to have of it.
    apart : Moved
        In what the builds before these two differed.
    changed : set of Fact
        All that is otherwise in either of the two than in the one before it.
    moved : Moved
        What may come out otherwise than on the first.

    Returns
    -------
    Moved
        In what the two differ now.
    """
    facts = (apart.facts - changed) | {fact for fact in changed if _differ(other, new, fact)}
    if facts != apart.facts:
        apart = new.settled.book.influence.of(facts)
    new.take_beside(other.worked_out(moved.figures - apart.figures))
    return apart


def _differ(one: BuildWorld, other: BuildWorld, fact: Fact) -> bool:
    """Whether two builds for one goal differ in a fact."""
    kind, name, *rest = fact
    match kind:
        case "spec":
            key = (name, rest[0])
            gauged = one.gauged.get(key) != other.gauged.get(key)
            return gauged or _restated(one.settled.specs.at(*key), other.settled.specs.at(*key))
        case "filled":
            return one.fitted(name) != other.fitted(name)
        case "count":
            return one.count(name) != other.count(name)
        case "part":
            a, b = one.settled.fitted.get(name), other.settled.fitted.get(name)
            return _replaced(a, b) or one.kept(name) != other.kept(name)
        case "work":
            return one.done(name) != other.done(name)
        case "joint":
            return one.opened(name) != other.opened(name)
        case "feature":
            return one.offered(name) != other.offered(name)
    return False


def _restated(a: Spec | None, b: Spec | None) -> bool:
    """Whether a spec has another value, or is known in another way."""
    return a is not b and (a is None or b is None or a.value != b.value or a.basis != b.basis)


def _replaced(a: Fitted | None, b: Fitted | None) -> bool:
    """Whether another part stands in a place, or one from elsewhere."""
    return a is not b and (a is None or b is None or a.part is not b.part or a.sister != b.sister)


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
        # whether its pieces stay hangs on how it came there, and on what is renewed
        came = renews or a is None or b is None or a.origin != b.origin
        if _replaced(a, b) or (came and old.kept(position) != new.kept(position)):
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
            if _restated(a.get(name), b.get(name)):
                yield ("spec", position, name)
