"""Settling a build: what stands in every position, and what every spec is once the work is done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cached_property
from typing import Literal, NamedTuple

from compat.checking.scope import Outside, outside
from compat.record import record
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild
from compat.shop.entry import NOTHING
from compat.shop.models import Build, Goal, Part, Variant, Work
from compat.shop.shop import Shop
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["Fitted", "Settled", "Specs", "Touch", "home", "place_parts", "settle_parts", "unpack"]

Origin = Literal["factory", "chosen", "sister", "included", "goal"]


@record(slots=True)
class Fitted:
    """A part in its position, and how it came there."""

    part: Part
    origin: Origin
    sister: str = ""

    @property
    def bought(self) -> bool:
        """Whether the build buys it new."""
        return self.origin in ("chosen", "included")


class Touch(NamedTuple):
    """Why something is opened or looked at again: a part that changes, work, or what lies behind."""

    how: Literal["becomes", "left out", "bought new", "work", "to reach"]
    what: str
    """The position, the work, or the joint that is to be reached."""
    part: str = ""


class Specs(Mapping[tuple[str, str], Spec]):
    """What every settled part states, by position and spec; shared with others until work changes it."""

    __slots__ = ("_own", "by_position")

    def __init__(self, by_position: dict[str, Mapping[str, Spec]]) -> None:
        self.by_position = by_position
        self._own: set[str] = set()

    @classmethod
    def of(cls, specs: Mapping[tuple[str, str], Spec]) -> Specs:
        """Specs from a flat table.

        >>> Specs.of({("rod", "mass"): Spec(True)})["rod", "mass"].value
        True
        """
        table: dict[str, dict[str, Spec]] = {}
        for (position, name), spec in specs.items():
            table.setdefault(position, {})[name] = spec
        return cls(dict(table))

    def at(self, position: str, name: str) -> Spec | None:
        """One spec, or None when it is not stated."""
        found = self.by_position.get(position)
        return None if found is None else found.get(name)

    def set(self, position: str, name: str, spec: Spec | None) -> None:
        """State a spec of this build alone; None: it is no longer known."""
        if position not in self._own:
            self._own.add(position)
            self.by_position[position] = dict(self.by_position.get(position, {}))
        own: dict[str, Spec] = self.by_position[position]  # type: ignore[assignment]  # made just above
        if spec is None:
            own.pop(name, None)
        else:
            own[name] = spec

    def __getitem__(self, key: tuple[str, str]) -> Spec:
        return self.by_position[key[0]][key[1]]

    def __iter__(self) -> Iterator[tuple[str, str]]:
        for position, specs in self.by_position.items():
            for name in specs:
                yield position, name

    def __len__(self) -> int:
        return sum(map(len, self.by_position.values()))


@record
class Settled:
    """A build with every position and spec settled, before any rule is asked."""

    shop: Shop
    book: Rulebook
    ready: ReadyBuild
    fitted: Mapping[str, Fitted]
    specs: Specs
    unsettled: list[str] = field(default_factory=list)

    @cached_property
    def outside(self) -> Outside | None:
        """What lies outside the scope of the build; None where nothing does."""
        if self.ready.build.scope == "vehicle":
            return None
        return outside(self.shop, self.book, self.ready.build.scope)

    @property
    def build(self) -> Build:
        """The build as its file has it."""
        return self.ready.build

    @property
    def variant(self) -> Variant:
        """The variant it starts from."""
        return self.ready.variant

    @property
    def goal(self) -> Goal:
        """What is asked of it."""
        return self.ready.goal

    @property
    def works(self) -> tuple[tuple[Work, Mapping[str, Band]], ...]:
        """The work it names, with what each takes."""
        return self.ready.works

    @property
    def sequence(self) -> tuple[tuple[Work, Mapping[str, Band]], ...]:
        """All its work in the order it is done, what is dragged in among it."""
        return self.ready.sequence

    @property
    def forced(self) -> Mapping[str, str]:
        """Work that chosen work drags in."""
        return self.ready.forced

    def changed(self, position: str) -> bool:
        """Whether the position holds another part than the variant left the factory with."""
        return _is_other(self.fitted.get(position), self.variant.parts.get(position))

    def renews(self, position: str) -> bool:
        """Whether the build says that it fits new pieces of the same part."""
        return self.build.renew == "all" or position in self.build.renew

    def count(self, position: str, part: str = "") -> int:
        """How many pieces stand in the position: so many as the build says, or as it takes.

        With a part named, how many of that part it would take.
        """
        stated = self.build.counts.get(position)
        return self.takes(position, part) if stated is None else stated

    def takes(self, position: str, part: str = "") -> int:
        """How many pieces this engine takes: by what each serves, by the part it is counted by, or as usual."""
        if position not in self.shop.counted_apart:
            return self.shop.usual(self.variant)[position]
        serves = self.shop.positions[position].each_serves
        if serves is not None and position not in self.variant.counts:
            each = self.shop.stated(position, part).get(serves) if part else self.specs.at(position, serves)
            if each is not None and isinstance(each.value, Band) and each.value.nominal >= 1:
                return -(-self.shop.count(self.variant, position) // round(each.value.nominal))
        counted_by = self.shop.counted_by.get(position)
        if counted_by is not None:
            owner = counted_by[0]
            spec = self.specs.at(*counted_by)
            if spec is not None and isinstance(spec.value, Band):
                owners = self.build.counts.get(owner, self.shop.count(self.variant, owner))
                # the spec counts for one owner: each head has its studs; what stands where none has room is one
                return max(1, round(spec.value.nominal) * owners)
        return self.shop.count(self.variant, position)

    def pieces(self) -> dict[str, int]:
        """How many pieces every position takes, as `count` gives them one by one."""
        found = dict(self.shop.usual(self.variant))
        for position in self.shop.counted_apart:
            found[position] = self.count(position)
        found.update(self.build.counts)
        return found

    def touched(self) -> Iterator[tuple[str, Touch]]:
        """Every position that is changed or worked on, with the reason."""
        own, fitted = self.variant.parts, self.fitted
        for position in dict.fromkeys([*own, *fitted]):
            if position in ("fuel", "setup"):
                continue
            now = fitted.get(position)
            if _is_other(now, own.get(position)):
                how = Touch("becomes", position, now.part.part) if now else Touch("left out", position)
                yield position, how
            elif now is not None and now.bought:
                yield position, Touch("bought new", position)
        for work, _ in self.sequence:
            # work that neither changes nor offers anything (measuring) takes nothing apart by itself
            if work.on in self.fitted and (work.changes or work.offers):
                yield work.on, Touch("work", work.work)


def _is_other(now: Fitted | None, own: str | None) -> bool:
    """Whether what stands somewhere is not the part that the variant left the factory with."""
    return (now.part.part if now else None) != own


def settle_parts(
    shop: Shop, book: Rulebook, ready: ReadyBuild, like: Mapping[str, Fitted] = NOTHING
) -> Settled:
    """Put parts and what they state in place, before any work.

    Parameters
    ----------
    shop, book
        What the shop knows.
    ready : ReadyBuild
        The build.
    like : mapping
        What stands in a build that differs little: what is the same in both is one object.

    Returns
    -------
    Settled
        The build with its positions filled.
    """
    fitted = place_parts(shop, ready, like)
    specs: dict[str, Mapping[str, Spec]] = {
        position: shop.stated(position, entry.part.part) for position, entry in fitted.items()
    }
    setup = {**shop.setups.get(ready.variant.variant, {}), **ready.setup}
    if setup:
        specs["setup"] = setup
    settled = Settled(shop, book, ready, fitted, Specs(specs))
    for (position, name), spec in ready.supposed.items():
        settled.specs.set(position, name, spec)
    return settled


def place_parts(shop: Shop, ready: ReadyBuild, like: Mapping[str, Fitted] = NOTHING) -> dict[str, Fitted]:
    """Put the chosen parts into the variant.

    Parameters
    ----------
    shop : Shop
        The shop.
    ready : ReadyBuild
        The build, with the variant it starts from.
    like : mapping
        What stands in a build that differs little.

    Returns
    -------
    dict
        Part by position. A part in the box of a chosen part fills its own position unless the build
        says what stands there.
    """
    build, variant = ready.build, ready.variant
    fitted: dict[str, Fitted] = {}
    for position, own in variant.parts.items():
        same = like.get(position)
        if same is None or same.origin != "factory" or same.part.part != own:
            same = Fitted(shop.parts[own], "factory")
        fitted[position] = same
    for position in build.leave_out:
        fitted.pop(position, None)
    for taken in build.take_from:
        for position in taken.positions:
            part = shop.parts[shop.variants[taken.variant].parts[position]]
            fitted[position] = Fitted(part, "sister", taken.variant)
    for position, name in build.fit.items():
        fitted[position] = Fitted(shop.parts[name], "chosen", home(shop, name, variant.variant))
    said = {*build.fit, *build.leave_out, *(p for taken in build.take_from for p in taken.positions)}
    for position in build.fit:
        unpack(shop, Fitted(fitted[position].part, "included"), fitted, said)
    for taken in build.take_from:
        for position in taken.positions:
            if position not in build.fit:
                unpack(shop, fitted[position], fitted, said)
    if ready.goal.fuel:
        fitted["fuel"] = Fitted(shop.parts[ready.goal.fuel], "goal")
    return fitted


def unpack(shop: Shop, owner: Fitted, fitted: dict[str, Fitted], said: set[str]) -> None:
    """Put what comes in the box of a part into places that nothing is said of; fills `fitted` and `said`."""
    waiting = list(reversed(owner.part.includes))
    unpacked = {owner.part.part}
    while waiting:
        other = Fitted(shop.parts[waiting.pop()], owner.origin, owner.sister)
        for position in other.part.fills:
            if position not in said:
                fitted[position] = other
                said.add(position)
                break
        if other.part.part not in unpacked:
            unpacked.add(other.part.part)
            waiting += reversed(other.part.includes)


def home(shop: Shop, part: str, own: str) -> str:
    """The sister variant that a part left the factory in; empty for the variant's own and for bought parts."""
    homes = shop.homes.get(part, [])
    return "" if own in homes or not homes else homes[0]
