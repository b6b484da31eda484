"""What the leaves of expressions come to under options: on which decisions each hangs, read off settled builds.

A decision is named by its key: a position (``"rod"``), a piece of work (``"work:deck-block"``), a word of the
setup (``"setup:injection"``) or what the goal leaves open (``"goal:boost"``); its options may be anything that
can be hashed. What they mean is the affair of a `Scene`.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Protocol

from compat.checking.session import Session
from compat.checking.world import BuildWorld
from compat.planning.ranges import EITHER, UNSTATED, Range, absent, flag, of_value, point, word
from compat.rulebook.growing import grow
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.trees import NAMING, Names, Tree
from compat.rulebook.values import Absent, Number
from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop
from compat.units import Band

__all__ = ["Domains", "Option", "Readings", "Scene", "leaves_of", "unbounded"]

Option = Hashable
Domains = Mapping[str, Collection[Option]]
"""By decision the options that it has."""

UNBOUNDED = frozenset({"opened", "kept"})
"""Leaves that hang on nearly everything a build does."""


class Scene(Protocol):
    """What options mean."""

    session: Session
    base: ReadyBuild
    """The build in which whatever is not decided stands."""

    def part(self, decision: str, option: Option) -> str | None:
        """Part that an option puts in its position, an empty text for none; None where it is no such thing."""

    def world(self, chosen: Mapping[str, Option]) -> BuildWorld:
        """The build settled with these options, all else as in the base."""


class Readings:
    """Reads what leaves are.

    Parameters
    ----------
    scene : Scene
        What the options mean.
    domains : mapping
        By decision all the options that it has at all.
    """

    def __init__(self, scene: Scene, domains: Domains) -> None:
        self.scene = scene
        self.domains = domains
        self.shop: Shop = scene.session.shop
        self.book: Rulebook = scene.session.book
        self._deciders: dict[Tree, tuple[str, ...]] = {}
        self._additive: dict[Tree, bool] = {}
        self._worlds: dict[tuple[tuple[str, Option], ...], BuildWorld] = {}
        self._read: dict[tuple[Tree, tuple[Option, ...]], Range] = {}

    # on what a leaf hangs

    def deciders(self, leaf: Tree) -> tuple[str, ...]:
        """Decisions on which a leaf hangs, in their order; none for what all choices share."""
        found = self._deciders.get(leaf)
        if found is None:
            keys = dict.fromkeys(self._hangs_on(leaf, set()))
            found = self._deciders[leaf] = tuple(key for key in keys if key in self.domains)
        return found

    def _hangs_on(self, leaf: Tree, seen: set[Tree]) -> Iterator[str]:
        if leaf in seen:
            return
        seen.add(leaf)
        kind, *names = leaf
        if kind in ("spec", "measured"):
            position, spec = names
            yield from self.place(position, spec)
            for work in self._changing.get((position, spec), ()):
                yield from self.doing(work)
                for change in self.book.changes[work]:
                    if (change.position, change.spec) == (position, spec) and change.expression is not None:
                        yield from self._named(change.expression.names, seen)
        elif kind in ("fitted", "changed", "sister", "kept"):
            yield from self.place(names[0])
        elif kind == "count":
            yield from self.place(names[0])
            place = self.shop.positions[names[0]]
            if place.each_serves is not None:
                yield from self._hangs_on(("spec", names[0], place.each_serves), seen)
            if names[0] in self.shop.counted_by:
                yield from self._hangs_on(("spec", *self.shop.counted_by[names[0]]), seen)
        elif kind == "done":
            yield from self.doing(names[0])
        elif kind == "goal":
            yield f"goal:{names[0]}"
        elif kind == "offered":
            for what, name, number in self.shop.offerers.get(names[0], ()):
                if what == "work":
                    yield from self.doing(name)
                for position in self.shop.parts[name].fills if what == "part" else ():
                    yield from self._hangs_on(("count", position), seen)
                condition = self.book.conditions.get((what, name, "offers", number))
                if condition is not None:
                    yield from self._named(condition.names, seen)
        elif kind == "figure":
            yield from self._named(self.book.reach(names[0]), seen)

    def open_ended(self, leaf: Tree) -> bool:
        """Whether a leaf hangs on more than its deciders: on joints, or on what stays from before."""
        if leaf[0] != "offered":
            return leaf[0] in UNBOUNDED
        conditions = (
            self.book.conditions.get((what, name, "offers", number))
            for what, name, number in self.shop.offerers.get(leaf[1], ())
        )
        return any(
            self.open_ended(inner)
            for condition in conditions
            if condition is not None
            for inner in leaves_of(self.book, [condition.tree])
            if inner != leaf
        )

    def additive(self, leaf: Tree) -> bool:
        """Whether a leaf counts what each of its deciders offers by itself."""
        if leaf[0] != "offered":
            return False
        if leaf not in self._additive:
            self._additive[leaf] = self._adds_up(leaf)
        return self._additive[leaf]

    def _adds_up(self, leaf: Tree) -> bool:
        for what, name, number in self.shop.offerers.get(leaf[1], ()):
            if (what, name, "offers", number) in self.book.conditions:
                return False
            if what == "work" and len(list(self.doing(name))) > 1:
                return False
            for position in self.shop.parts[name].fills if what == "part" else ():
                place = self.shop.positions[position]
                counted = place.each_serves is not None or position in self.shop.counted_by
                if counted or position in self._bringing:
                    return False
        return True

    def _named(self, names: Names, seen: set[Tree]) -> Iterator[str]:
        for leaf in leaves_named(self.book, names):
            yield from self._hangs_on(leaf, seen)

    def place(self, position: str, spec: str = "") -> Iterable[str]:
        """Decisions that say what stands in a position: its own, and those whose boxes may bring it."""
        if position == "setup":
            return (f"setup:{spec}",)
        return self._bringing.get(position, (position,))

    def doing(self, work: str) -> Iterator[str]:
        """Decisions on which it hangs whether a piece of work is done."""
        seen, waiting = {work}, [work]
        while waiting:
            name = waiting.pop()
            yield f"work:{name}"
            for other in self._forcing.get(name, ()):
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)

    @cached_property
    def _forcing(self) -> Mapping[str, list[str]]:
        table: dict[str, list[str]] = {}
        for name, work in self.shop.works.items():
            for other in work.forces:
                table.setdefault(other, []).append(name)
        return table

    @cached_property
    def _changing(self) -> Mapping[tuple[str, str], list[str]]:
        table: dict[tuple[str, str], list[str]] = {}
        for work, changes in self.book.changes.items():
            for change in changes:
                table.setdefault((change.position, change.spec), []).append(work)
        return table

    @cached_property
    def _bringing(self) -> Mapping[str, tuple[str, ...]]:
        """By position that a box may fill: it, those that the same piece may fill, and whose boxes bring it."""
        together: dict[str, set[str]] = {}
        bringers: dict[str, set[str]] = {}
        for decision, options in self.domains.items():
            for part in {self.scene.part(decision, option) for option in options} - {None, ""}:
                for fills in self.boxed(str(part)):
                    joined = set(fills).union(*(together.get(place, ()) for place in fills))
                    for place in joined:
                        together[place] = joined
                    for place in fills:
                        bringers.setdefault(place, set()).add(decision)
        return {
            place: tuple(sorted(places.union(*(bringers[other] for other in places if other in bringers))))
            for place, places in together.items()
        }

    def boxed(self, part: str) -> Iterator[tuple[str, ...]]:
        """What comes in the box of a part: of each piece the positions that it can fill."""
        waiting, seen = [part], {part}
        while waiting:
            for other in self.shop.parts[waiting.pop()].includes:
                yield self.shop.parts[other].fills
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)

    # what it is

    def reading(self, leaf: Tree, options: tuple[Option, ...]) -> Range:
        """What a leaf is with options of its deciders, in their order."""
        key = (leaf, options)
        found = self._read.get(key)
        if found is None:
            found = self._read[key] = self._reading(leaf, options)
        return found

    def _reading(self, leaf: Tree, options: tuple[Option, ...]) -> Range:
        kind = leaf[0]
        if self.open_ended(leaf):
            return unbounded(leaf)
        deciders = self.deciders(leaf)
        if kind in ("spec", "fitted", "changed") and deciders == (leaf[1],):
            part = self.scene.part(leaf[1], options[0])
            if part is not None and kind == "fitted":
                return flag(bool(part))
            if part is not None and kind == "changed":
                return flag((part or None) != self.scene.base.variant.parts.get(leaf[1]))
            if part is not None and self._plainly(leaf[1], leaf[2]):
                return self._stated(leaf[1], leaf[2], part)
        return read(self.world(deciders, options), leaf)

    def _plainly(self, position: str, spec: str) -> bool:
        """Whether a spec is what the part's card states, with no work, measuring or supposing about it."""
        base = self.scene.base
        key = (position, spec)
        return not (key in self._changing or key in base.measured or key in base.supposed)

    def _stated(self, position: str, name: str, part: str) -> Range:
        if not part:
            return absent()
        spec = self.shop.stated(position, part).get(name)
        if spec is None:
            return Range(lack=UNSTATED)
        if isinstance(spec.value, Band):
            band = spec.value
            return point(band.middle, band.half_width if band.low != band.high else 0.0)
        return word(spec.value)

    def world(self, deciders: tuple[str, ...], options: tuple[Option, ...]) -> BuildWorld:
        """The build settled with some options."""
        key = tuple(zip(deciders, options, strict=True))
        found = self._worlds.get(key)
        if found is None:
            found = self._worlds[key] = self.scene.world(dict(key))
        return found

    def gauged(self, position: str, spec: str) -> bool:
        """Whether the base knows a spec piece by piece: what comes of rules then hangs on the pieces."""
        return (position, spec) in self.world((), ()).gauged


def read(world: BuildWorld, leaf: Tree) -> Range:
    """What a leaf is in one build."""
    try:
        value = grow(leaf)(world)
    except Absent:
        return absent()
    return of_value(value, world.worst(value) if isinstance(value, Number) and value.g else 0.0)


def unbounded(leaf: Tree) -> Range:
    """All that a leaf can be, where nothing is known of it."""
    if leaf[0] == "offered":
        return Range(0.0, float("inf"))
    return EITHER


def leaves_named(book: Rulebook, names: Names) -> Iterator[Tree]:
    """Leaves that come down to what some expressions name, figures laid open; of positions every question."""
    reached = [names, *(book.reach(figure) for figure in names.figures)]
    for each in reached:
        for position, spec in each.specs:
            yield ("spec", position, spec)
        for position in each.positions:
            yield ("count", position)
        for work in each.works:
            yield ("done", work)
        for entry in each.goals:
            yield ("goal", entry)
        for feature in each.features:
            yield ("offered", feature)


def leaves_of(book: Rulebook, trees: Iterable[Tree]) -> Iterator[Tree]:
    """Every leaf of some trees, figures laid open, each once.

    >>> list(leaves_of(Rulebook(), [("mult", ("spec", "rod", "mass"), ("neg", ("goal", "power")))]))
    [('spec', 'rod', 'mass'), ('goal', 'power')]
    """
    seen: set[Tree] = set()
    waiting = list(trees)
    while waiting:
        tree = waiting.pop(0)
        kind = tree[0]
        if kind in ("number", "word", "flag", "words"):
            continue
        if kind in NAMING or kind in ("engine", "parameter"):
            if tree in seen:
                continue
            seen.add(tree)
            if kind == "figure":
                waiting += [expression.tree for expression in book.figures[tree[1]].expressions()]
            else:
                yield tree
            continue
        waiting += [part for part in tree[2 if kind == "chain" else 1 :] if type(part) is tuple]
