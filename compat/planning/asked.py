"""What is asked of a build, one thing at a time, and what is left to ask when some of it is given up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from types import MappingProxyType
from typing import Any

from compat.checking.session import Session
from compat.planning.terms import Terms
from compat.planning.together import Held
from compat.shop.builds import ReadyBuild
from compat.shop.source import Faults
from compat.shop.words import DUTIES
from compat.shop.writing import as_said

__all__ = ["GOAL_ENTRIES", "Asked", "Setting"]

GOAL_ENTRIES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "power": ("power", "speed"),
        "torque": ("torque", "torque_speed"),
        "rev_limit": ("rev_limit",),
        "boost": ("boost",),
        "fuel": ("fuel",),
        "duty": ("duty",),
    }
)
"""Entries of a goal that may be given up, with what rules call what is asked by each."""
FIELDS: Mapping[str, tuple[str, ...]] = {
    "power": ("power", "at"),
    "torque": ("torque", "torque_at"),
    "rev_limit": ("rev_limit",),
    "boost": ("boost",),
    "fuel": ("fuel",),
    "duty": ("duty",),
}


@dataclass(frozen=True)
class Setting:
    """A build and terms in which some of what was asked is given up for something else."""

    ready: ReadyBuild
    terms: Terms
    instead: Mapping[Held, str] = field(default_factory=dict)
    """By what is given up what stands in its place."""


class Asked:
    """What is asked: lines that stay, entries of the goal, terms, the variant.

    Parameters
    ----------
    session : Session
        Where builds are checked.
    ready : ReadyBuild
        The build as it stands.
    terms : Terms
        What is kept and avoided.

    Notes
    -----
    To give up an entry of the goal is to ask there for what the factory rated the variant at; of the fuel, any
    that the shop knows; of the duty, any milder one. An entry that asks no more than that is none to give up.
    What parts are kept or avoided, and the budget, is asked by the side (`beside`), in one and the same space;
    all else makes another space.
    """

    def __init__(self, session: Session, ready: ReadyBuild, terms: Terms) -> None:
        self.session = session
        self.shop = session.shop
        self.ready = ready
        self.terms = terms
        self.variant = Held("variant", ready.variant.variant, ready.variant.name)
        self.beside = (*self._kept(), *self._avoided(), *self._budget())
        self.goal = tuple(self._goal())
        self.market = tuple(self._market())

    @property
    def all(self) -> tuple[Held, ...]:
        """Everything that may be given up, but the variant."""
        return (*self.beside, *self.goal, *self.market)

    # what is asked

    def _kept(self) -> Iterator[Held]:
        build = self.ready.build
        works = {done.work: done for done in build.work}
        for name in sorted(self.terms.keep):
            if name in self.shop.works:
                done = works.get(name)
                said = "" if done is None else ", ".join(map(str, done.values.values())) or "done"
            elif name in self.shop.positions:
                said = self.ready.part_in(name)
            else:
                said = str(build.setup.get(name, ""))
            yield Held("keep", name, said)

    def _avoided(self) -> Iterator[Held]:
        yield from (Held("avoid", part, self.shop.parts[part].name) for part in sorted(self.terms.avoid))

    def _budget(self) -> Iterator[Held]:
        if self.terms.budget is not None:
            yield Held("budget", "", str(self.terms.budget))

    def _market(self) -> Iterator[Held]:
        if self.terms.stock_only:
            yield Held("stock")
        for name in sorted(self.terms.avoid_suppliers):
            yield Held("supplier", name, self.shop.suppliers[name].name)

    def _goal(self) -> Iterator[Held]:
        goal = self.ready.goal
        for entry, fields in FIELDS.items():
            said = [getattr(goal, name) for name in fields]
            if said[0] is not None and any(self.milder(entry)):
                yield Held("goal", entry, " at ".join(str(as_said(one)) for one in said if one is not None))

    # what may stand in place of an entry of the goal

    def milder(self, entry: str) -> Iterator[dict[str, Any]]:
        """Entries of a goal that ask less than one of the build's does."""
        goal, rated = self.ready.goal, self.ready.variant.rated
        if entry == "fuel":
            own = rated.fuel
            fuels = sorted(self.shop.fillers.get("fuel", ()), key=lambda fuel: (fuel != own, fuel))
            yield from ({"fuel": fuel} for fuel in fuels if fuel != goal.fuel)
        elif entry == "duty":
            yield from ({"duty": duty} for duty in DUTIES[: DUTIES.index(goal.duty)])
        else:
            asked, least = getattr(goal, entry), getattr(rated, entry)
            if least is None:
                yield dict.fromkeys(FIELDS[entry])
            elif least.middle < asked.middle:
                yield {name: getattr(rated, name) for name in FIELDS[entry]}

    def aiming(self, entries: Mapping[str, Any], ready: ReadyBuild | None = None) -> ReadyBuild:
        """The build with some entries of its goal otherwise; None takes one out.

        Raises
        ------
        Faults
            When the goal makes no sense so.
        """
        ready = ready or self.ready
        said = as_said(ready.build.goal)
        for name, value in entries.items():
            said.pop(name, None)
            if value is not None:
                said[name] = as_said(value)
        return ready.changed(goal=said)

    # what is left

    def settings(self, given_up: Iterable[Held]) -> Iterator[Setting]:
        """Every way to give some things up: each a build and terms of its own.

        Parameters
        ----------
        given_up : iterable of Held
            Entries of the goal, terms of the market, the variant. What is asked by the side is no matter here.

        Yields
        ------
        Setting
            What cannot be said (a goal at a speed beyond the rev limit) is left out.
        """
        given_up = [held for held in self.all if held in set(given_up) and held not in self.beside]
        terms = replace(
            self.terms,
            keep=frozenset(),
            avoid=frozenset(),
            budget=None,
            stock_only=self.terms.stock_only and not any(held.kind == "stock" for held in given_up),
            avoid_suppliers=self.terms.avoid_suppliers
            - {held.name for held in given_up if held.kind == "supplier"},
            aim="money",
        )
        entries = [held for held in given_up if held.kind == "goal"]
        for ways in product(*(tuple(self.milder(held.name)) for held in entries)):
            merged = self._together({name: value for way in ways for name, value in way.items()})
            try:
                ready = self.aiming(merged) if merged else self.ready
            except Faults:
                continue
            instead = {held: _told(way) for held, way in zip(entries, ways, strict=True)}
            yield Setting(ready, terms, instead)

    def _together(self, entries: dict[str, Any]) -> dict[str, Any]:
        """Entries in place of others, so that they go with those that stay.

        A torque that stays is a power at its speed; the engine must turn as fast as its power asks.
        """
        goal = self.ready.goal
        if "power" in entries and "torque" not in entries and goal.torque is not None:
            speed = goal.torque_at or goal.at
            power = goal.torque.middle * speed.middle
            if power > entries["power"].middle:
                entries |= {"power": f"{power / 1000:.6g} kW", "at": speed}
        if entries.get("rev_limit") is not None:
            at = entries.get("at") or goal.at
            if at.middle > entries["rev_limit"].middle:
                entries["rev_limit"] = at
        return entries

    def variants(self, given_up: Iterable[Held]) -> Iterator[Setting]:
        """The build on each other variant, with some things given up.

        Families that most of the parts that are kept are made for come first, of these its own.
        """
        own = self.ready.variant
        others = [variant for variant in self.shop.variants.values() if variant is not own]
        others.sort(key=lambda variant: (self._strange(variant.family), variant.family != own.family))
        for setting in self.settings(given_up):
            for variant in others:
                try:
                    ready = setting.ready.changed(**self._moved(variant.variant))
                except Faults:  # a line of the build says nothing there
                    continue
                yield replace(setting, ready=ready, instead={**setting.instead, self.variant: variant.variant})

    def _strange(self, family: str) -> int:
        """How many of the parts that are kept are made for other families alone."""
        parts = (self.ready.part_in(place) for place in self.terms.keep if place in self.shop.positions)
        made_for = (self.shop.parts[part].families for part in parts if part)
        return sum(bool(families) and family not in families for families in made_for)

    def _moved(self, variant: str) -> dict[str, Any]:
        """The build's entries on another variant: what is kept of the factory's own parts comes along."""
        build, own = self.ready.build, self.ready.variant
        other = self.shop.variants[variant]
        taken = [as_said(one) for one in build.take_from if one.variant != variant]
        fitted = {*build.fit, *build.leave_out, *(p for one in build.take_from for p in one.positions)}
        along = [
            place
            for place in sorted(self.terms.keep)
            if place in own.parts and place not in fitted and own.parts[place] != other.parts.get(place)
        ]
        if along:
            taken.append({"variant": own.variant, "positions": along})
        # with the rev limit and the fuel that hold on the build's own variant
        return {"variant": variant, "take_from": taken, "goal": as_said(self.ready.goal)}


def _told(way: Mapping[str, Any]) -> str:
    return " at ".join(str(as_said(value)) for value in way.values() if value is not None)
