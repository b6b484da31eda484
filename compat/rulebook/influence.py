"""What a change can move: the grounds of every rule and figure, turned round."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from compat.rulebook.trees import Names

if TYPE_CHECKING:
    from compat.rulebook.rulebook import Rulebook

__all__ = ["Fact", "Influence", "Moved", "influence"]

Fact = tuple[str, ...]
"""Something that a rule can hang on: ``("spec", "rod", "mass")``, ``("filled", "rod")``, ``("part", "rod")``,
``("count", "rod")``, ``("work", id)``, ``("joint", id)``, ``("feature", id)``, ``("goal", "power")``."""


@dataclass
class Moved:
    """Rules and figures that may come out otherwise."""

    rules: set[str] = field(default_factory=set)
    figures: set[str] = field(default_factory=set)
    facts: set[Fact] = field(default_factory=set)
    """The facts that were asked after."""

    def add(self, other: Moved | None) -> None:
        """Take in what another fact moves."""
        if other is not None:
            self.rules |= other.rules
            self.figures |= other.figures


@dataclass(frozen=True)
class Influence:
    """For every fact the rules and figures that rest on it, through all figures between."""

    by_fact: dict[Fact, Moved]
    counted: tuple[str, ...]
    """Positions whose count or part a rule or figure asks of."""
    features: tuple[str, ...]
    """Features whose number a rule or figure asks of."""

    def at(self, position: str) -> Moved:
        """Everything that another part in a position can move."""
        return self._by_position.get(position, Moved())

    @cached_property
    def _by_position(self) -> dict[str, Moved]:
        table: dict[str, Moved] = {}
        for fact, moved in self.by_fact.items():
            if fact[0] in ("spec", "filled", "part", "count"):
                table.setdefault(fact[1], Moved()).add(moved)
        return table

    def of(self, facts: Iterable[Fact]) -> Moved:
        """Everything that changes of these facts can move."""
        moved = Moved()
        for fact in facts:
            moved.facts.add(fact)
            moved.add(self.by_fact.get(fact))
        return moved


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
    table: dict[Fact, Moved] = {}
    counted: dict[str, None] = {}
    features: dict[str, None] = {}

    def enter(names: Names, rule: str = "", figure: str = "") -> None:
        counted.update(dict.fromkeys(names.positions))
        features.update(dict.fromkeys(names.features))
        for fact in facts_of(names):
            moved = table.setdefault(fact, Moved())
            if rule:
                moved.rules.add(rule)
            else:
                moved.figures.add(figure)

    for name in book.figures:
        enter(book.reach(name), figure=name)
    for name, rule in book.rules.items():
        names = book.gather(rule.expressions())
        enter(names, rule=name)
        if rule.rule.sort == "load" and "duty" not in names.goals:
            table.setdefault(("goal", "duty"), Moved()).rules.add(name)
    return Influence(table, tuple(counted), tuple(features))


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
