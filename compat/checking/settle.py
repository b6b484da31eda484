"""Settling a build: what stands in every position, and what every spec is once the work is done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from compat.checking.wording import in_sentence
from compat.rulebook.rulebook import Rulebook
from compat.shop.models import Build, Goal, Part, Variant, Work
from compat.shop.shop import Shop
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["Fitted", "Settled", "as_build", "place_parts"]

Origin = Literal["factory", "chosen", "sister", "included", "goal"]


@dataclass(frozen=True)
class Fitted:
    """A part in its position, and how it came there."""

    part: Part
    origin: Origin
    sister: str = ""

    @property
    def bought(self) -> bool:
        """Whether the build buys it new."""
        return self.origin in ("chosen", "included")


@dataclass
class Settled:
    """A build with every position and spec settled, before any rule is asked."""

    shop: Shop
    book: Rulebook
    build: Build
    variant: Variant
    goal: Goal
    fitted: dict[str, Fitted]
    specs: dict[tuple[str, str], Spec]
    works: list[tuple[Work, dict[str, Band]]] = field(default_factory=list)
    forced: dict[str, str] = field(default_factory=dict)
    unsettled: list[str] = field(default_factory=list)

    def changed(self, position: str) -> bool:
        """Whether the position holds another part than the variant left the factory with."""
        now = self.fitted.get(position)
        return (now.part.part if now else None) != self.variant.parts.get(position)

    def count(self, position: str) -> int:
        """How many pieces the position takes: by the build, by the part it is counted by, or as usual."""
        if position in self.build.counts:
            return self.build.counts[position]
        counted_by = self.shop.positions[position].counted_by
        if counted_by is not None:
            owner, _, name = counted_by.partition(".")
            spec = self.specs.get((owner, name))
            if spec is not None and isinstance(spec.value, Band):
                owners = self.build.counts.get(owner, self.shop.count(self.variant, owner))
                # the spec counts for one owner: each head has its studs
                return round(spec.value.nominal) * owners
        return self.shop.count(self.variant, position)

    def touched(self) -> Iterator[tuple[str, str]]:
        """Every position that is changed or worked on, with the reason."""
        for position in dict.fromkeys([*self.variant.parts, *self.fitted]):
            if position in ("fuel", "setup"):
                continue
            if self.changed(position):
                now = self.fitted.get(position)
                name = in_sentence(self.shop.positions[position].name)
                yield position, f"{name} becomes {now.part.part}" if now else f"{name} is left out"
            elif self.fitted[position].bought:
                yield position, f"{in_sentence(self.shop.positions[position].name)} is bought new"
        for work, _ in self.works:
            # work that neither changes nor offers anything (measuring) takes nothing apart by itself
            if work.on in self.fitted and (work.changes or work.offers):
                yield work.on, f"work {work.work}"


def as_build(variant: Variant) -> Build:
    """A variant as it left the factory, as a build at its own rated goal.

    The factory assembles with new gaskets and bolts, so everything opened counts as renewed.
    """
    return Build(
        build=variant.variant, name=variant.name, variant=variant.variant, goal=variant.rated, renew="all"
    )


def place_parts(shop: Shop, build: Build, variant: Variant) -> dict[str, Fitted]:
    """Put the chosen parts into the variant.

    Parameters
    ----------
    shop : Shop
        The shop.
    build : Build
        The build.
    variant : Variant
        The variant it starts from.

    Returns
    -------
    dict
        Part by position. A part in the box of a chosen part fills its own position unless the build
        says what stands there.
    """
    fitted = {position: Fitted(shop.parts[part], "factory") for position, part in variant.parts.items()}
    for position in build.leave_out:
        fitted.pop(position, None)
    for taken in build.take_from:
        for position in taken.positions:
            part = shop.parts[shop.variants[taken.variant].parts[position]]
            fitted[position] = Fitted(part, "sister", taken.variant)
    for position, name in build.fit.items():
        fitted[position] = Fitted(shop.parts[name], "chosen", _home(shop, name, variant.variant))
    said = {*build.fit, *build.leave_out, *(p for taken in build.take_from for p in taken.positions)}
    for position in build.fit:
        _include(shop, Fitted(fitted[position].part, "included"), fitted, said)
    for taken in build.take_from:
        for position in taken.positions:
            if position not in build.fit:
                _include(shop, fitted[position], fitted, said)
    if fuel := build.goal.fuel or variant.rated.fuel:
        fitted["fuel"] = Fitted(shop.parts[fuel], "goal")
    return fitted


def _include(shop: Shop, owner: Fitted, fitted: dict[str, Fitted], said: set[str]) -> None:
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


def _home(shop: Shop, part: str, own: str) -> str:
    homes = shop.homes.get(part, [])
    return "" if own in homes or not homes else homes[0]


def collect_specs(
    shop: Shop, build: Build, variant: Variant, fitted: dict[str, Fitted]
) -> dict[tuple[str, str], Spec]:
    """Every stated spec of the parts as bought, and the setup, before any work."""
    specs: dict[tuple[str, str], Spec] = {}
    for position, entry in fitted.items():
        specs.update(shop.stated(position, entry.part.part))
    for owner in (variant.variant, build.build):
        for name, spec in shop.setups.get(owner, {}).items():
            specs["setup", name] = spec
    return specs


def choose_works(shop: Shop, build: Build) -> tuple[list[tuple[Work, dict[str, Band]]], dict[str, str]]:
    """The work of a build with what it takes, and the work that this work drags in."""
    works = [(shop.works[done.work], _values(shop.works[done.work], done.values)) for done in build.work]
    forced: dict[str, str] = {}
    present = {work.work for work, _ in works}
    queue = [work for work, _ in works]
    while queue:
        work = queue.pop(0)
        for name in work.forces:
            if name not in present and name not in forced:
                forced[name] = work.work
                queue.append(shop.works[name])
    return works, forced


def _values(work: Work, given: Mapping[str, Any]) -> dict[str, Band]:
    values = {}
    for name, parameter in work.takes.items():
        raw = given.get(name, parameter.default)
        if raw is not None:
            values[name] = parameter.read(raw)
    return values
