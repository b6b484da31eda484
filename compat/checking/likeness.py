"""Parts that a rule cannot tell apart: what it says of one it says of all of them.

A supplier's list holds many parts that differ in name, price and mass alone. A rule that looks at none of these
says the same of all, so that it is asked once.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence, Set
from functools import cached_property

from compat.checking.settle import Settled, home
from compat.rulebook.expressions import Expression
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["Likeness"]


class Likeness:
    """Tells which parts for one position of a build are the same to a rule.

    Sound in one direction: parts that are taken as alike are so; parts that differ in something that no rule
    looks at may be taken as different.

    Parameters
    ----------
    settled : Settled
        The build.
    """

    def __init__(self, settled: Settled) -> None:
        self.settled = settled
        self.shop, self.book = settled.shop, settled.book
        self._looked_at: dict[tuple[str, str], Sequence[str] | None] = {}
        self._resting: dict[str, Mapping[str, Set[str]]] = {}
        self._frames: dict[tuple[str, str], int] = {}
        self._numbers: dict[Hashable, int] = {}
        self._first: dict[tuple[str, str, Hashable], str] = {}
        self._standing_in: dict[tuple[str, str, str], str] = {}

    def stand_in(self, rule: str, position: str, part: str) -> str:
        """The part that was asked of first among those that are the same to a rule.

        Parameters
        ----------
        rule : str
            Id of a rule that is judged by itself.
        position : str
            The position.
        part : str
            A part for it.

        Returns
        -------
        str
            Id of a part of which the rule says the same in that position.
        """
        asked = (rule, position, part)
        found = self._standing_in.get(asked)
        if found is None:
            key = self._key(self._specs_for(rule, position), position, part)
            found = self._standing_in[asked] = self._first.setdefault((rule, position, key), part)
        return found

    def groups(self, rules: Iterable[str], position: str, parts: Iterable[str]) -> list[list[str]]:
        """Put parts for a position together that are the same to all of some rules; in the order given."""
        looked_at: set[str] | None = set()
        for rule in rules:
            specs = self._specs_for(rule, position)
            looked_at = None if specs is None or looked_at is None else looked_at.union(specs)
        specs = None if looked_at is None else sorted(looked_at)
        found: dict[Hashable, list[str]] = {}
        for part in parts:
            found.setdefault(self._key(specs, position, part), []).append(part)
        return list(found.values())

    def apart(self, position: str, part: str, other: str) -> Set[str] | None:
        """Specs in which two parts for a position differ; None where they differ in more than specs."""
        if self._frame(position, part) != self._frame(position, other):
            return None
        said, there = self.shop.stated(position, part), self.shop.stated(position, other)
        names = said.keys() | there.keys()
        return {name for name in names if not _same(said.get(name), there.get(name))}

    def unlike_first(self, position: str, parts: Sequence[str]) -> list[str]:
        """Order parts by price, but put behind all others what differs from a cheaper one in one spec."""
        price = self.shop.least_price
        ahead: list[str] = []
        behind: list[str] = []
        seen: set[tuple[str, int]] = set()
        for part in sorted(parts, key=lambda one: (price(one), one)):
            said = {
                name: hash((name, _hashable(spec.value)))
                for name, spec in self.shop.stated(position, part).items()
            }
            whole = hash(self._frame(position, part))
            for one in said.values():
                whole ^= one
            apart = {(name, whole ^ one) for name, one in said.items()}
            (behind if apart & seen else ahead).append(part)
            seen |= apart
        return [*ahead, *behind]

    # what tells them apart

    def _key(self, specs: Sequence[str] | None, position: str, part: str) -> Hashable:
        """All of a part that what looks at some of its specs can tell; at None, at all of them."""
        stated = self.shop.stated(position, part)
        frame = self._frame(position, part)
        if specs is None:
            specs = sorted(stated)
            frame = self._number((frame, tuple(specs)))
        said = (stated.get(name) for name in specs)
        return frame, *(None if spec is None else (_hashable(spec.value), spec.basis) for spec in said)

    def _frame(self, position: str, name: str) -> int:
        """What a part is beside its specs, as a number: who it is made for, its box, offers and needs."""
        found = self._frames.get((position, name))
        if found is None:
            part, variant = self.shop.parts[name], self.settled.variant
            here = name in self._present or name in self._asked_for
            told = (
                name if here else "",
                name == variant.parts.get(position),
                home(self.shop, name, variant.variant),
                part.fills,
                part.families,
                part.includes,
                part.never_with,
                part.only_for,
                repr(part.offers) if part.offers else "",
                repr(part.needs) if part.needs else "",
            )
            found = self._frames[position, name] = self._number(told)
        return found

    def _number(self, told: Hashable) -> int:
        return self._numbers.setdefault(told, len(self._numbers))

    @cached_property
    def _present(self) -> Set[str]:
        return {entry.part.part for entry in self.settled.fitted.values()}

    @cached_property
    def _asked_for(self) -> Set[str]:
        """Parts that the build names, or that come in the box of one of the build's."""
        named = {name for name in self.settled.build.fit.values() if name}
        return named | {other for name in self._present for other in self.shop.parts[name].includes}

    def _specs_for(self, rule: str, position: str) -> Sequence[str] | None:
        """Specs of a position that a rule can look at, through figures and work; None: any of them."""
        if (rule, position) not in self._looked_at:
            self._looked_at[rule, position] = self._find(rule, position)
        return self._looked_at[rule, position]

    def _find(self, rule: str, position: str) -> Sequence[str] | None:
        if rule in self.book.influence.of_whole or position == "fuel":
            return None  # conditions of other cards decide these, and may look at anything
        if position not in self._resting:
            self._resting[position] = self.book.influence.specs_at(position)
        looked_at = self._resting[position].get(rule, frozenset())
        return sorted(looked_at | self._by_the_way.get(position, frozenset()))

    @cached_property
    def _by_the_way(self) -> Mapping[str, Set[str]]:
        """By position specs that decide how work turns out, whether it can be done, and that count pieces."""
        expressions: list[Expression] = []
        for changes in self.book.changes.values():
            expressions += (change.expression for change in changes if change.expression is not None)
        for bounds in self.book.bounds.values():
            for bound in bounds.values():
                expressions += bound.expressions()
        found = set(self.book.gather(expressions).specs) | set(self.shop.counted_by.values())
        for name, place in self.shop.positions.items():
            if place.each_serves is not None:
                found.add((name, place.each_serves))
        by_position: dict[str, set[str]] = {}
        for name, spec in found:
            by_position.setdefault(name, set()).add(spec)
        return by_position


def _same(one: Spec | None, other: Spec | None) -> bool:
    """Whether two specs say the same, on the same grounds."""
    if one is None or other is None:
        return one is other
    return one.basis == other.basis and bool(one.value == other.value)


def _hashable(value: object) -> Hashable:
    """A value of a spec to be told by; of a table what it says."""
    if isinstance(value, Band | str):
        return value
    try:
        hash(value)
    except TypeError:
        return repr(value)
    return value
