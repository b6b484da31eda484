"""Everything that may be decided otherwise in a build, and the build that comes of deciding so.

A *decision* is a position, a piece of work, a word of the setup, or the boost where the goal leaves it open;
its *options* are the parts that may stand there (the variant's own, what the build says, every other part that
suits the family, or nothing), the sizes the work may be done to or not at all, the words, the boosts. A
*choice* takes one option of each.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal

from compat.checking.built import settle
from compat.checking.joints import renewals
from compat.checking.session import Session
from compat.checking.settle import Fitted, home
from compat.checking.world import BuildWorld
from compat.shop.build_work import in_sequence, works_of
from compat.shop.builds import ReadyBuild
from compat.shop.models import Build, Goal, TakeFrom, WorkDone
from compat.shop.pieces import Measured
from compat.shop.saying_less import LEFT_OUT
from compat.shop.specs import Spec, state
from compat.units import read_band

__all__ = ["Choice", "Decision", "Option", "Space"]

Choice = tuple[int, ...]
"""Number of the option taken, decision by decision."""

How = Literal["own", "fit", "sister", "nothing", "undone", "done", "word"]


@dataclass(frozen=True, slots=True)
class Option:
    """One way to decide."""

    how: How
    part: str = ""
    """What stands there then; of the variant's own part the same."""
    sister: str = ""
    """The variant that it is taken from."""
    works: tuple[WorkDone, ...] = ()
    """The work as it is done, with its sizes."""
    word: Any = None
    """What the setup says, or the goal."""
    said: bool = False
    """Whether it is what the build says itself; what the build does not speak of, its own is."""


@dataclass(frozen=True, slots=True)
class Decision:
    """Something that may be decided otherwise."""

    kind: Literal["position", "work", "setup", "goal"]
    name: str
    options: tuple[Option, ...]
    wish: bool = False
    """Whether the build speaks of it."""

    @property
    def key(self) -> str:
        """Name with its kind: unlike things may be called the same."""
        return self.name if self.kind == "position" else f"{self.kind}:{self.name}"

    @property
    def said(self) -> int | None:
        """Number of the option that the build has; None where that cannot be had."""
        return next((number for number, option in enumerate(self.options) if option.said), None)


class Space:
    """All choices of a build.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    base : ReadyBuild
        The build as it stands.
    decisions : sequence of Decision
        What may be decided otherwise.
    """

    def __init__(self, session: Session, base: ReadyBuild, decisions: Sequence[Decision]) -> None:
        self.session = session
        self.shop = session.shop
        self.book = session.book
        self.base = base
        self.decisions = tuple(decisions)
        self.number = {decision.key: number for number, decision in enumerate(self.decisions)}
        self.order = self._order_of_work()
        self.start: Choice = tuple(decision.said or 0 for decision in self.decisions)
        """The build as it stands; the first option where that one cannot be had."""
        self._setup: dict[tuple[str, Any], Spec] = {}
        self._goals: dict[str, Goal] = {}

    def with_options(self, number: int, options: Sequence[Option]) -> Space:
        """The same with other options of one decision."""
        decisions = list(self.decisions)
        decisions[number] = replace(decisions[number], options=tuple(options))
        return Space(self.session, self.base, decisions)

    @property
    def size(self) -> int:
        """How many options there are, all told."""
        return sum(len(decision.options) for decision in self.decisions)

    def _order_of_work(self) -> dict[str, int]:
        """The place of each piece of work among all that may be done: each after what it follows.

        The build's own work comes as early as it may, in its own order; where works follow each other in a
        ring, they come as they stand.
        """
        own = list(dict.fromkeys(done.work for done in self.base.build.work))
        works = [decision.name for decision in self.decisions if decision.kind == "work"]
        waiting = [*own, *(work for work in works if work not in set(own))]
        placed: dict[str, int] = {}
        while waiting:
            names = set(waiting)
            free = (name for name in waiting if names.isdisjoint(self.shop.works[name].after))
            name = next(free, waiting[0])
            placed[name] = len(placed)
            waiting.remove(name)
        return placed

    # one choice

    def taken(self, choice: Choice) -> Iterable[tuple[Decision, Option]]:
        """Each decision with the option that a choice takes."""
        for decision, number in zip(self.decisions, choice, strict=True):
            yield decision, decision.options[number]

    def fitted(self, position: str, option: Option) -> Fitted | None:
        """The part that an option puts into its position by itself; None: none."""
        variant = self.base.variant
        if option.how == "own":
            own = variant.parts.get(position)
            return None if own is None else Fitted(self.shop.parts[own], "factory")
        if option.how == "sister":
            return Fitted(self.shop.parts[option.part], "sister", option.sister)
        if option.how == "fit":
            part = self.shop.parts[option.part]
            return Fitted(part, "chosen", home(self.shop, option.part, variant.variant))
        return None

    def setup_spec(self, word: str, option: Option) -> Spec | None:
        """What an option says of the setup; None: what the variant left the factory with."""
        if option.how == "own":
            return None
        key = (word, _frozen(option.word))
        if key not in self._setup:
            self._setup[key] = state(self.shop.kinds["setup"][word], option.word, "shop")
        return self._setup[key]

    def goal(self, option: Option) -> Goal:
        """The goal with the boost that an option says."""
        if option.word is None:
            return self.base.goal
        if option.word not in self._goals:
            self._goals[option.word] = replace(self.base.goal, boost=read_band(option.word))
        return self._goals[option.word]

    def build(self, choice: Choice) -> ReadyBuild:
        """The build that comes of a choice, with all renewed that its opened joints consume.

        Parameters
        ----------
        choice : tuple of int
            The choice.

        Returns
        -------
        ReadyBuild
            Ready to be checked.
        """
        return self.settled(choice)[0]

    def settled(
        self, choice: Choice, how: Callable[[Space, ReadyBuild], BuildWorld] | None = None
    ) -> tuple[ReadyBuild, BuildWorld]:
        """The build that comes of a choice, and its world, settled as usual or another way."""
        ready = self.ready(choice)
        world = settle(self.shop, self.book, ready, self.session.answers) if how is None else how(self, ready)
        if self.base.build.renew != "all":
            found = (renewals(world, self.shop.joints[joint]) for joint in world.joints)
            places = tuple(dict.fromkeys(e.position for each in found for e in each))
            build = replace(ready.build, renew=places)
            brought = {
                place: state
                for place, state in build.brought.items()
                if place in build.fit or place in places or self._taken_from(build, place)
            }
            ready = replace(ready, build=replace(build, brought=brought))
            world = world.under(ready)
        return ready, world

    @staticmethod
    def _taken_from(build: Build, place: str) -> bool:
        return any(place in taken.positions for taken in build.take_from)

    def ready(self, choice: Choice) -> ReadyBuild:
        """The build that comes of a choice, with nothing renewed but what the build itself renews all of."""
        own = self.base.build
        fit: dict[str, str] = {}
        sisters: dict[str, list[str]] = {}
        left_out: dict[str, str] = {}
        works: list[WorkDone] = []
        raw: dict[str, Any] = dict(own.setup)
        setup: dict[str, Spec] = dict(self.base.setup)
        goal = self.base.goal
        anew: set[str] = set()
        for decision, option in self.taken(choice):
            name = decision.name
            if decision.kind == "work":
                works += option.works
            elif decision.kind == "goal":
                goal = self.goal(option)
            elif decision.kind == "setup":
                spec = self.setup_spec(name, option)
                if spec is None:
                    raw.pop(name, None)
                    setup.pop(name, None)
                else:
                    raw[name], setup[name] = option.word, spec
            else:
                if not option.said:
                    anew.add(name)
                if option.how == "fit":
                    fit[name] = option.part
                elif option.how == "sister":
                    sisters.setdefault(option.sister, []).append(name)
                elif option.how == "nothing":
                    left_out[name] = own.leave_out.get(name) or LEFT_OUT
        works.sort(key=lambda done: self.order[done.work])
        filled = {*fit, *self.base.variant.parts, *(p for places in sisters.values() for p in places)}
        build = replace(
            own,
            goal=own.goal if goal is self.base.goal else replace(own.goal, boost=goal.boost),
            fit=fit,
            take_from=tuple(TakeFrom(variant=v, positions=tuple(places)) for v, places in sisters.items()),
            leave_out=left_out,
            fits_because={p: why for p, why in own.fits_because.items() if p not in anew},
            brought={p: said for p, said in own.brought.items() if p not in anew},
            counts={p: n for p, n in own.counts.items() if p in filled and p not in left_out},
            work=tuple(works),
            renew=own.renew if own.renew == "all" else (),
            setup=raw,
            options=(),
        )
        chosen, forced = works_of(self.shop, build)
        ready = replace(
            self.base,
            build=build,
            goal=goal,
            setup=MappingProxyType(setup),
            works=chosen,
            forced=MappingProxyType(forced),
            sequence=in_sequence(self.shop, chosen, forced),
        )
        return self._measured(ready, anew) if own.measured or self.base.measured else ready

    def _measured(self, ready: ReadyBuild, anew: set[str]) -> ReadyBuild:
        """What was measured on a part says nothing of another, nor of one that is worked on otherwise."""
        before = {(done.work, tuple(done.values.items())) for done in self.base.build.work}
        now = {(done.work, tuple(done.values.items())) for done in ready.build.work}
        worked = {
            (change.position, change.spec) for work, _ in before ^ now for change in self.book.changes[work]
        }
        kept = {
            key: spec
            for key, spec in ready.measured.items()
            if key[0] not in anew and not (isinstance(spec, Measured) and key in worked)
        }
        places = {position for position, _ in kept}
        build = replace(
            ready.build,
            measured={k: v for k, v in ready.build.measured.items() if tuple(k.split(".")) in kept},
            selected={p: n for p, n in ready.build.selected.items() if p in places},
        )
        return replace(ready, build=build, measured=MappingProxyType(kept))

    # what boxes bring

    @cached_property
    def brings(self) -> Sequence[frozenset[str]]:
        """By decision the positions that what comes in the box of one of its parts can fill."""
        return [
            frozenset().union(*(self.boxed(option) for option in decision.options))
            if decision.kind == "position"
            else frozenset()
            for decision in self.decisions
        ]

    def boxed(self, option: Option) -> frozenset[str]:
        """Positions that what comes in the box of an option's part can fill; not of the variant's own."""
        if option.how not in ("fit", "sister"):
            return frozenset()
        found: set[str] = set()
        waiting, seen = [option.part], {option.part}
        while waiting:
            for other in self.shop.parts[waiting.pop()].includes:
                found |= set(self.shop.parts[other].fills)
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        return frozenset(found)

    @cached_property
    def bringers(self) -> Mapping[str, Sequence[int]]:
        """By position the decisions whose parts may bring one for it in their box."""
        table: dict[str, list[int]] = {}
        for number, places in enumerate(self.brings):
            for place in places:
                table.setdefault(place, []).append(number)
        return table

    def at(self, position: str) -> tuple[int, ...]:
        """Decisions that say what stands in a position: its own, and those whose boxes may bring it."""
        own = self.number.get(position)
        return (*(() if own is None else (own,)), *self.bringers.get(position, ()))


def _frozen(raw: Any) -> Any:
    return tuple(raw) if isinstance(raw, list) else raw
