"""Many checks of one shop: what was found before is found again only where something it rests on has moved."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property
from threading import Lock

from compat.checking.answers import Answers, Behind
from compat.checking.check import Checked, Judged, close, judge_all, judge_one, settle
from compat.checking.settle import Settled
from compat.checking.supply import Cards
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Fact, Influence, Moved, influence
from compat.rulebook.rulebook import Rulebook
from compat.rulebook.scope import GOAL
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.shop import Shop

__all__ = ["Session", "moved_facts"]


class Session:
    """Checks builds of one shop and remembers what it found, within a bound.

    Shop and rulebook are never changed, and neither is anything that a check gives; so sessions, and threads
    within one, may work beside each other and find what each would find alone.

    Parameters
    ----------
    shop, book
        What the shop knows.
    answers : int
        How many answers of heavy formulas are remembered.
    checks : int
        How many checked builds are remembered to start the next one from.
    behind : Behind, optional
        Where answers of heavy formulas are kept for other runs.
    """

    def __init__(
        self, shop: Shop, book: Rulebook, answers: int = 4096, checks: int = 16, behind: Behind | None = None
    ) -> None:
        self.shop = shop
        self.book = book
        self.answers = Answers(answers, behind)
        self.cards = Cards(shop, book)
        self.most = checks
        self.known: OrderedDict[int, Checked] = OrderedDict()
        self._lock = Lock()

    def check(self, ready: ReadyBuild, like: Checked | None = None) -> Checked:
        """Check a build.

        Parameters
        ----------
        ready : ReadyBuild
            The build, held against this session's shop.
        like : Checked, optional
            A check of a build of the same variant that differs little; else the last one of that variant.

        Returns
        -------
        Checked
            What was found: equal to what a check by itself finds.

        Raises
        ------
        Faults
            When the build was made for another shop and does not suit this one.
        """
        if ready.shop is not self.shop:
            ready = prepare(self.shop, ready.build)  # what another shop said of it counts for nothing here
        if like is not None and not self._comparable(like.world.settled, ready):
            like = None
        if like is None:
            like = self._nearest(ready)
        if like is not None and like.world.settled.ready == ready:
            return like
        if like is not None and _same_engine(like.world.settled.ready, ready):
            return replace(like, world=like.world.under(ready))
        world = settle(self.shop, self.book, ready, self.answers)
        if like is None:
            checked = close(world, judge_all(world), self.cards)
        else:
            checked = self._change(like, world)
        self._remember(checked)
        return checked

    def _comparable(self, known: Settled, ready: ReadyBuild) -> bool:
        """Whether what was found of one build says anything of another: same shop, rules and variant."""
        same = known.shop is self.shop and known.book is self.book
        return same and known.variant is ready.variant

    def _nearest(self, ready: ReadyBuild) -> Checked | None:
        with self._lock:
            known = list(self.known.values())
        same = [entry for entry in reversed(known) if entry.world.settled.variant is ready.variant]
        for entry in same:
            if entry.world.settled.ready == ready:
                return entry
        return same[0] if same else None

    def _remember(self, checked: Checked) -> None:
        with self._lock:
            self.known[id(checked)] = checked
            while len(self.known) > self.most:
                self.known.popitem(last=False)

    @cached_property
    def influence(self) -> Influence:
        """What rests on what."""
        return influence(self.book)

    def _change(self, before: Checked, world: BuildWorld) -> Checked:
        moved = self.influence.of(moved_facts(before.world, world, self.influence))
        world.take_over(before.world, moved.figures)
        judged = self._judge(before.judged, world, moved)
        return close(world, judged, self.cards, before)

    def _judge(self, before: Judged, world: BuildWorld, moved: Moved) -> Judged:
        outcomes, asking = dict(before.outcomes), set(before.asking)
        for name in moved.rules:
            outcomes.pop(name, None)
            asking.discard(name)
            judge_one(world, name, self.book.rules[name], outcomes, asking)
        return Judged(outcomes, asking)


def _same_engine(a: ReadyBuild, b: ReadyBuild) -> bool:
    """Whether two builds differ in nothing but what they are called and for whom they are."""
    named = {name: getattr(b.build, name) for name in ("build", "name", "customer", "note")}
    return replace(a, build=replace(a.build, **named)) == b


def moved_facts(old: BuildWorld, new: BuildWorld, influence: Influence) -> Iterator[Fact]:
    """Every fact in which two builds of one variant differ."""
    yield from _moved_specs(old, new)
    before, now = old.settled.fitted, new.settled.fitted
    for position in before.keys() ^ now.keys():
        yield ("filled", position)
    recount = old.settled.build.counts != new.settled.build.counts
    counted_by, places = new.settled.shop.counted_by, new.settled.shop.positions
    for position in influence.counted:
        a, b = before.get(position), now.get(position)
        # the number is the variant's own unless the build or a spec says another
        spec_says = position in counted_by or places[position].each_serves is not None
        asked = recount or spec_says or (a is None) != (b is None)
        if asked and old.count(position) != new.count(position):
            yield ("count", position)
        if a is not b and (a is None or b is None or (a.part is not b.part or a.sister != b.sister)):
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
    before, now = old.settled.specs.by_position, new.settled.specs.by_position
    for position in before.keys() | now.keys():
        a, b = before.get(position, {}), now.get(position, {})
        if a is b:
            continue
        for name in a.keys() | b.keys():
            one, other = a.get(name), b.get(name)
            if one is not other and (one is None or other is None or one.value != other.value):
                yield ("spec", position, name)
