"""Many checks of one shop: what was found before is found again only where something it rests on has moved."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from threading import Lock

from compat.checking.answers import Answers, Behind
from compat.checking.built import settle
from compat.checking.check import Checked, close
from compat.checking.judged import judge_again, judge_all
from compat.checking.moving import carry_over
from compat.checking.settle import Settled
from compat.checking.supply import Cards
from compat.checking.world import BuildWorld
from compat.rulebook.influence import Influence
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.entry import NOTHING
from compat.shop.shop import Shop

__all__ = ["Session"]


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
            # what another shop said of it counts for nothing here; what a gauge said does
            ready = prepare(self.shop, ready.build).measured_as(ready)
        if like is not None and not self._comparable(like.world.settled, ready):
            like = None
        if like is None:
            like = self._nearest(ready)
        if like is not None and like.world.settled.ready == ready:
            return like
        if like is not None and _same_engine(like.world.settled.ready, ready):
            return replace(like, world=like.world.under(ready))
        fitted = NOTHING if like is None else like.world.settled.fitted
        world = settle(self.shop, self.book, ready, self.answers, fitted)
        if like is None:
            checked = close(world, judge_all(world), self.cards)
        else:
            checked = self._change(like, world)
        self._remember(checked)
        return checked

    def _comparable(self, known: Settled, ready: ReadyBuild) -> bool:
        """Whether what was found of one build says anything of another: same shop, rules and variant."""
        same = known.shop is self.shop and known.book is self.book
        return same and known.variant is ready.variant and known.build.scope == ready.build.scope

    def _nearest(self, ready: ReadyBuild) -> Checked | None:
        with self._lock:
            known = list(self.known.values())
        same = [entry for entry in reversed(known) if self._comparable(entry.world.settled, ready)]
        for entry in same:
            if entry.world.settled.ready == ready:
                with self._lock:  # what is asked next likely differs little from it
                    if id(entry) in self.known:
                        self.known.move_to_end(id(entry))
                return entry
        return same[0] if same else None

    def _remember(self, checked: Checked) -> None:
        with self._lock:
            self.known[id(checked)] = checked
            while len(self.known) > self.most:
                self.known.popitem(last=False)

    @property
    def influence(self) -> Influence:
        """What rests on what."""
        return self.book.influence

    def _change(self, before: Checked, world: BuildWorld) -> Checked:
        moved = carry_over(before.world, world)
        return close(world, judge_again(before.judged, world, moved), self.cards, before, moved)


def _same_engine(a: ReadyBuild, b: ReadyBuild) -> bool:
    """Whether two builds differ in nothing but what they are called and for whom they are."""
    named = {name: getattr(b.build, name) for name in ("build", "name", "customer", "note")}
    return replace(a, build=replace(a.build, **named)) == b
