"""What a change can move: the grounds of every rule and figure, turned round."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import fields
from functools import cached_property
from typing import TYPE_CHECKING, Any

from compat.record import record
from compat.rulebook.trees import Names

if TYPE_CHECKING:
    from compat.rulebook.rulebook import Rulebook

__all__ = ["Fact", "Influence", "Moved", "influence"]

Fact = tuple[str, ...]
"""Something that a rule can hang on: ``("spec", "rod", "mass")``, ``("filled", "rod")``, ``("part", "rod")``,
``("count", "rod")``, ``("work", id)``, ``("joint", id)``, ``("feature", id)``, ``("goal", "power")``; figures
between are ``("figure", id)``."""


@record
class Moved:
    """Rules and figures that may come out otherwise."""

    rules: Set[str]
    figures: Set[str]
    facts: Set[Fact]
    """The facts that were asked after."""


@record
class Influence:
    """For every fact the rules and figures that rest on it, through all figures between."""

    rules: Sequence[str]
    figures: Sequence[str]
    by_fact: Mapping[Fact, Sequence[Sequence[int]]]
    """Which of the rules, and which of the figures, rest on a fact."""
    counted: Sequence[str]
    """Positions whose count or part a rule or figure asks of."""
    features: Sequence[str]
    """Features whose number a rule or figure asks of."""
    long: Sequence[int]
    """How many formulas that take long each of the rules asks, each with its own words."""

    def at(self, position: str) -> Moved:
        """Everything that another part in a position can move."""
        return self.of(self._at.get(position, ()))

    @cached_property
    def _at(self) -> Mapping[str, Sequence[Fact]]:
        """By position the facts that hang on the part in it."""
        table: dict[str, list[Fact]] = {}
        for fact in self.by_fact:
            if fact[0] in ("spec", "filled", "part", "count"):
                table.setdefault(fact[1], []).append(fact)
        return table

    def of(self, facts: Iterable[Fact]) -> Moved:
        """Everything that changes of these facts can move."""
        asked = frozenset(facts)
        rules, figures = set[int](), set[int]()
        for fact in asked:
            if fact in self.by_fact:
                more_rules, more_figures = self.by_fact[fact]
                rules.update(more_rules)
                figures.update(more_figures)
        return Moved({self.rules[n] for n in rules}, {self.figures[n] for n in figures}, asked)

    @cached_property
    def number(self) -> Mapping[str, int]:
        """Which of the rules one is, by its id."""
        return {name: number for number, name in enumerate(self.rules)}

    def things(self, rules: Iterable[str]) -> Set[str]:
        """Positions, work as ``work:id`` and features that any of some rules rests on."""
        return frozenset().union(*(self._things[self.number[rule]] for rule in rules))

    @cached_property
    def _things(self) -> Sequence[Set[str]]:
        found: list[set[str]] = [set() for _ in self.rules]
        starts = {"filled": "", "feature": "", "work": "work:"}
        for fact in self.by_fact:
            if fact[0] in starts:
                name = starts[fact[0]] + fact[1]
                for number in self.by_fact[fact][0]:
                    found[number].add(name)
        return found

    @cached_property
    def of_whole(self) -> frozenset[str]:
        """Rules that rest on what a build as a whole offers or opens."""
        resting = (self.by_fact[fact][0] for fact in self.by_fact if fact[0] in ("feature", "joint"))
        return frozenset(self.rules[number] for number in set[int]().union(*resting))

    def specs_at(self, position: str) -> Mapping[str, Set[str]]:
        """For every rule the specs of a position that it rests on; rules that rest on none are left out."""
        found: dict[str, set[str]] = {}
        for fact in self._at.get(position, ()):
            if fact[0] == "spec":
                for number in self.by_fact[fact][0]:
                    found.setdefault(self.rules[number], set()).add(fact[2])
        return found

    def card(self) -> dict[str, Any]:
        """As plain data that JSON can hold."""
        facts = {" ".join(fact): _written(resting) for fact, resting in self.by_fact.items()}
        return {one.name: getattr(self, one.name) for one in fields(self)} | {"by_fact": facts}

    @classmethod
    def of_card(cls, card: Mapping[str, Any]) -> Influence:
        """From its plain data.

        >>> influence = Influence(["stroke-room"], [], {("spec", "rod", "length"): [[0], []]}, [], [], [0])
        >>> Influence.of_card(influence.card()) == influence
        True
        """
        return cls(**{**card, "by_fact": _Resting(card["by_fact"])})


def _written(resting: Sequence[Sequence[int]]) -> str:
    return "|".join(" ".join(map(str, numbers)) for numbers in resting)


class _Resting(Mapping[Fact, Sequence[Sequence[int]]]):
    """What rests on each fact, as a card has it: read when it is asked for, as little of it ever is."""

    def __init__(self, told: Mapping[str, str]) -> None:
        self._told = {tuple(words.split(" ")): numbers for words, numbers in told.items()}
        self._read: dict[Fact, Sequence[Sequence[int]]] = {}

    def __getitem__(self, fact: Fact) -> Sequence[Sequence[int]]:
        found = self._read.get(fact)
        if found is None:
            found = self._read[fact] = [[*map(int, half.split())] for half in self._told[fact].split("|")]
        return found

    def __contains__(self, fact: object) -> bool:
        return fact in self._told

    def __iter__(self) -> Iterator[Fact]:
        return iter(self._told)

    def __len__(self) -> int:
        return len(self._told)


def influence(book: Rulebook) -> Influence:
    """Turn the grounds of a rulebook round.

    Parameters
    ----------
    book : Rulebook
        The rulebook.

    Returns
    -------
    Influence
        What rests on each fact.
    """
    table: dict[Fact, list[list[int]]] = {}
    counted: dict[str, None] = {}
    features: dict[str, None] = {}

    def enter(names: Names, which: int, number: int, more: Iterable[Fact] = ()) -> None:
        counted.update(dict.fromkeys(names.positions))
        features.update(dict.fromkeys(names.features))
        for fact in dict.fromkeys([*facts_of(names), *more]):
            table.setdefault(fact, [[], []])[which].append(number)

    for number, rule in enumerate(book.rules.values()):
        names = book.gather(rule.expressions())
        more: list[Fact] = [("figure", name) for name in names.figures]
        if rule.rule.sort == "load":
            more.append(("goal", "duty"))  # by the headroom that it asks
        enter(names, 0, number, more)
    for number, name in enumerate(book.figures):
        names = book.reach(name)
        enter(names, 1, number, [("figure", other) for other in names.figures])
    long = [book.count_long(rule) for rule in book.rules.values()]
    return Influence(list(book.rules), list(book.figures), table, list(counted), list(features), long)


def facts_of(names: Names) -> Iterable[Fact]:
    """The facts that what an expression names comes down to."""
    for position, spec in names.specs:
        yield ("spec", position, spec)
        yield ("filled", position)
    for position in names.positions:
        yield ("filled", position)
        yield ("part", position)
        yield ("count", position)
    for kind, found in (
        ("work", names.works),
        ("joint", names.joints),
        ("feature", names.features),
        ("goal", names.goals),
    ):
        for name in found:
            yield (kind, name)
