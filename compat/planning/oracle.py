"""What the checker says of a choice: quickly what speaks against it, and in the end the whole check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from compat.checking.check import Checked
from compat.checking.judged import Judged, judge_again, judge_all
from compat.checking.judging import judge
from compat.checking.moving import carry_over
from compat.checking.needs import Book, Demand
from compat.checking.outcome import Outcome
from compat.checking.settle import settle_parts
from compat.checking.standing import standing
from compat.checking.supply import Cards, Market
from compat.checking.working import do_work
from compat.checking.world import BuildWorld
from compat.planning.nominal import needs_tolerance, settle_nominal, world_of
from compat.planning.space import Choice, Space
from compat.planning.standard import Standard
from compat.rulebook.influence import Moved
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.shop.builds import ReadyBuild

__all__ = ["Failing", "Oracle"]


@dataclass(frozen=True)
class Failing:
    """What speaks against a choice."""

    ready: ReadyBuild
    world: BuildWorld
    outcomes: tuple[Outcome, ...] = ()
    """Rules, bounds of work and what stands where."""
    open: tuple[Demand, ...] = ()
    """Needs that nothing meets."""

    @property
    def nothing(self) -> bool:
        """Whether nothing does."""
        return not self.outcomes and not self.open

    @property
    def count(self) -> int:
        """How much does."""
        return len(self.outcomes) + len(self.open)


class Oracle:
    """Asks the checker about choices of one space.

    Parameters
    ----------
    space : Space
        The space.
    standard : Standard, optional
        By what a build is held to fail.
    """

    def __init__(self, space: Space, standard: Standard | None = None) -> None:
        self.space = space
        self.standard = standard or Standard(space.book)
        self.cards: Cards = space.session.cards
        self.asked = 0
        self.checked = 0
        self._last: tuple[BuildWorld, Judged] | None = None
        self._like: Checked | None = None

    @property
    def outcomes(self) -> Mapping[str, Outcome]:
        """What came of each rule of the choice that was looked at last."""
        assert self._last is not None
        return self._last[1].outcomes

    def look(self, choice: Choice) -> Failing:
        """What speaks against a choice, with nothing added for what it lacks.

        The same rules, needs and statements are judged as in a whole check; what a check adds for open needs,
        and what would come of that, is not looked at: a choice with open needs fails anyhow.
        """
        self.asked += 1
        ready, world = self.space.settled(choice, settle_nominal)
        if self._last is None:
            judged = judge_all(world)
        else:
            before, known = self._last
            judged = judge_again(known, world, carry_over(before, world))
        self._last = world, judged
        book: Rulebook = self.space.book
        outcomes = dict(judged.outcomes)
        fails = self.standard.fails
        if any(needs_tolerance(book.rules[o.rule]) for o in outcomes.values() if fails(o)):
            whole = self.space.settled(choice)[1]
            for name in [name for name in outcomes if needs_tolerance(book.rules[name])]:
                outcome = judge(whole, book.rules[name])
                outcomes.pop(name)
                outcomes |= {} if outcome is None else {name: outcome}
        found = [o for o in (*outcomes.values(), *world.working) if fails(o)]
        renewed = set() if ready.build.renew == "all" else set(ready.build.renew)
        found += [o for o in standing(world, renewed) if fails(o)]
        rules: list[BoundRule] = [rule for name, rule in book.needs.items() if name in judged.asking]
        market = Market(world, self.cards)
        short, _ = Book(market.supplies()).open(market.demands(rules))
        lacking = tuple(
            shortage.demand
            for shortage in short
            if not shortage.demand.rule
            or book.rules[shortage.demand.rule].rule.fails_as in self.standard.failing
        )
        order = {name: number for number, name in enumerate(book.rules)}
        found.sort(key=lambda outcome: order.get(outcome.rule, -1))
        return Failing(ready, world, tuple(found), lacking)

    def swapped(self, choice: Choice, number: int, option: int) -> tuple[BuildWorld, Moved]:
        """The choice looked at last with one option other: its world, and what may come out otherwise there.

        Opened joints, and what they renew, stay as they were.
        """
        assert self._last is not None
        before = self._last[0]
        ready = self.space.ready((*choice[:number], option, *choice[number + 1 :]))
        ready = replace(ready, build=replace(ready.build, renew=before.settled.build.renew))
        settled = settle_parts(self.space.shop, self.space.book, ready)
        world = world_of(self.space, settled, tolerance=False)
        world.working = do_work(world)
        world.joints = before.joints
        return world, carry_over(before, world)

    def check(self, ready: ReadyBuild) -> Checked:
        """The whole check of a build."""
        self.checked += 1
        self._like = self.space.session.check(ready, self._like)
        return self._like
