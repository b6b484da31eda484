"""The world of a few decisions: what a rule says where only what it rests on is put in place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from compat.checking.judging import judge
from compat.checking.outcome import Outcome
from compat.checking.settle import Fitted, Settled, Specs, unpack
from compat.checking.working import do_work
from compat.checking.world import BuildWorld
from compat.planning.grounds import Ground
from compat.planning.nominal import needs_tolerance, settle_nominal, world_of
from compat.planning.space import Choice, Space
from compat.planning.standard import Standard
from compat.rulebook.rulebook import BoundRule, WorkBound
from compat.shop.build_work import work_of
from compat.shop.builds import ReadyBuild
from compat.shop.models import Work
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["Cells", "Doing"]

Done = tuple[tuple[Work, Mapping[str, Band]], ...]
Doing = Mapping[int, Done]
NOTHING: Doing = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class _Plan:
    ground: Ground
    """Held, so that no other takes its place in memory."""
    fitted: Mapping[str, Fitted]
    positions: tuple[tuple[int, str], ...]
    works: tuple[int, ...]
    setup: tuple[int, ...]
    goal: tuple[int, ...]
    boxes: bool


class Cells:
    """Asks rules of a space about choices, each with no more of the build put in place than it rests on.

    Parameters
    ----------
    space : Space
        The space.
    standard : Standard, optional
        By what a build is held to fail.
    """

    def __init__(self, space: Space, standard: Standard | None = None) -> None:
        self.space = space
        self.shop, self.book = space.shop, space.book
        self.standard = standard or Standard(space.book)
        self.asked = 0
        """How many times a rule was asked."""
        self._fitted: dict[tuple[int, int], Fitted | None] = {}
        self._works: dict[tuple[int, int], Done] = {}
        variant = space.base.variant
        self._own = {p: Fitted(self.shop.parts[part], "factory") for p, part in variant.parts.items()}
        self._setup = {**self.shop.setups.get(variant.variant, {}), **space.base.setup}
        self._plans: dict[int, _Plan] = {}
        self._bare = replace(space.base, works=(), forced=MappingProxyType({}), sequence=())
        self._goals: dict[tuple[int, ...], ReadyBuild] = {}
        fuel = space.base.goal.fuel
        self._fuel = Fitted(self.shop.parts[fuel], "goal") if fuel else None

    def world(
        self,
        ground: Ground,
        choice: Choice | Sequence[int],
        doing: Doing = NOTHING,
        *,
        tolerance: bool = True,
    ) -> BuildWorld:
        """The world of a choice as far as a ground goes; what lies beyond is not in it.

        `doing`: work as it is done in place of what the choice says, by the number of its decision.
        """
        if ground.joints:
            return self.space.settled(tuple(choice), None if tolerance else settle_nominal)[1]
        space = self.space
        plan = self._plan(ground)
        fitted = dict(plan.fitted)
        spoken: set[str] = set()
        boxes: list[str] = []
        works: list[tuple[Work, Mapping[str, Band]]] = []
        anew: set[str] = set()
        for number, name in plan.positions:
            index = choice[number]
            key = (number, index)
            entry = self._fitted[key] if key in self._fitted else self._entry(number, index)
            if entry is not None:
                fitted[name] = entry
            if plan.boxes or space.base.measured:
                option = space.decisions[number].options[index]
                if not option.said:
                    anew.add(name)
                if option.how != "own":
                    spoken.add(name)
                    if entry is not None and entry.part.includes:
                        boxes.append(name)
        for number in plan.works:
            works += doing[number] if number in doing else self._doing(number, choice[number])
        boxes.sort(key=lambda place: fitted[place].origin == "sister")
        for place in boxes:
            entry = fitted[place]
            owner = replace(entry, origin="included") if entry.origin == "chosen" else entry
            unpack(self.shop, owner, fitted, spoken)
        if self._fuel is not None:
            fitted["fuel"] = self._fuel
        specs: dict[str, Mapping[str, Spec]] = {
            place: self.shop.stated(place, entry.part.part) for place, entry in fitted.items()
        }
        setup = self._setup if not plan.setup else self._words(plan.setup, choice)
        if setup:
            specs["setup"] = setup
        ready = self._bare if not plan.goal else self._aimed(plan.goal, choice)
        if works or space.base.measured:
            works.sort(key=lambda done: space.order[done[0].work])
            ready = replace(
                ready,
                works=tuple(works),
                sequence=tuple(works),
                measured={key: spec for key, spec in space.base.measured.items() if key[0] not in anew},
            )
        settled = Settled(self.shop, self.book, ready, fitted, Specs(specs))
        world = world_of(space, settled, tolerance=tolerance)
        if works or ready.measured:
            world.working = do_work(world)
        return world

    def _aimed(self, numbers: Sequence[int], choice: Sequence[int]) -> ReadyBuild:
        """The bare build at the goal that a choice says."""
        key = tuple(choice[number] for number in numbers)
        if key not in self._goals:
            ready = self._bare
            for number in numbers:
                decision = self.space.decisions[number]
                ready = replace(ready, goal=self.space.goal(decision.options[choice[number]]))
            self._goals[key] = ready
        return self._goals[key]

    def _words(self, numbers: Sequence[int], choice: Sequence[int]) -> dict[str, Spec]:
        """The setup with the words that a choice says."""
        own = self.shop.setups.get(self.space.base.variant.variant, {})
        setup: dict[str, Spec] = dict(self._setup)
        for number in numbers:
            decision = self.space.decisions[number]
            spec = self.space.setup_spec(decision.name, decision.options[choice[number]])
            if spec is None:
                setup.pop(decision.name, None)
                spec = own.get(decision.name)
            if spec is not None:
                setup[decision.name] = spec
        return setup

    def _plan(self, ground: Ground) -> _Plan:
        """What a ground puts in place, decision by decision; those that leave no choice stand too."""
        plan = self._plans.get(id(ground))
        if plan is None:
            space, decisions = self.space, self.space.decisions
            numbers = dict.fromkeys(ground.decisions)
            for place in sorted(ground.places):
                numbers |= dict.fromkeys(space.at(place))
            works = (space.number.get(f"work:{work}") for work in sorted(ground.works))
            numbers |= dict.fromkeys(number for number in works if number is not None)
            plan = self._plans[id(ground)] = _Plan(
                ground,
                {p: self._own[p] for p in ground.places if p in self._own and not space.at(p)},
                tuple((n, decisions[n].name) for n in numbers if decisions[n].kind == "position"),
                tuple(n for n in numbers if decisions[n].kind == "work"),
                tuple(n for n in numbers if decisions[n].kind == "setup"),
                tuple(n for n in numbers if decisions[n].kind == "goal"),
                any(space.brings[n] for n in numbers),
            )
        return plan

    def _entry(self, number: int, option: int) -> Fitted | None:
        key = (number, option)
        decision = self.space.decisions[number]
        found = self._fitted[key] = self.space.fitted(decision.name, decision.options[option])
        return found

    def _doing(self, number: int, option: int) -> Done:
        key = (number, option)
        if key not in self._works:
            done = self.space.decisions[number].options[option].works
            self._works[key] = tuple(work_of(self.shop, one) for one in done)
        return self._works[key]

    def outcome(
        self, rule: BoundRule, ground: Ground, choice: Choice | Sequence[int], doing: Doing = NOTHING
    ) -> Outcome | None:
        """What a rule says of a choice; of the bound of a piece of work, what came of it."""
        self.asked += 1
        world = self.world(ground, choice, doing)
        if isinstance(rule, WorkBound):
            return next((each for each in world.working if each.rule == rule.rule.rule), None)
        return judge(world, rule)

    def fails(self, rule: BoundRule, ground: Ground, choice: Choice | Sequence[int]) -> bool:
        """Whether a rule speaks against a choice."""
        self.asked += 1
        world = self.world(ground, choice, tolerance=needs_tolerance(rule))
        if isinstance(rule, WorkBound):
            return any(self.standard.fails(o) for o in world.working if o.rule == rule.rule.rule)
        return self.standard.fails(judge(world, rule))
