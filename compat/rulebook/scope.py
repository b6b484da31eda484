"""What an expression may name, and of what type each name is: known when the rulebook is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from compat.record import record
from compat.shop.shop import Shop
from compat.shop.specs import SpecKind
from compat.units import DIMENSIONLESS, Dimension, a_or_an, describe

__all__ = [
    "ENGINE",
    "GOAL",
    "Flag",
    "Grid",
    "Num",
    "Scope",
    "Type",
    "Word",
    "Words",
    "spec_type",
    "type_card",
    "type_of_card",
]


@record(slots=True)
class Num:
    """A number of some dimension; None for a literal zero, which suits every dimension."""

    dimension: Dimension | None = DIMENSIONLESS

    def __str__(self) -> str:
        return "zero" if self.dimension is None else a_or_an(describe(self.dimension))


@record(slots=True)
class Word:
    """A word; the words it can be, when it is a choice."""

    words: tuple[str, ...] = ()
    literal: bool = False

    def __str__(self) -> str:
        return "a word"


@record(slots=True)
class Flag:
    """Yes or no."""

    def __str__(self) -> str:
        return "a yes-or-no"


@record(slots=True)
class Words:
    """A list of words; which, when the rule itself lists them."""

    words: tuple[str, ...] = ()

    def __str__(self) -> str:
        return "a list of words"


@record(slots=True)
class Grid:
    """A table, by the units of its columns."""

    units: tuple[str, ...]

    def __str__(self) -> str:
        return "a table"


Type = Num | Word | Flag | Words | Grid


def type_card(kind: Type) -> list[Any]:
    """A type as plain data for JSON.

    >>> type_card(Word(("street", "track")))
    ['word', ('street', 'track'), False]
    """
    match kind:
        case Num():
            return ["number", kind.dimension]
        case Word():
            return ["word", kind.words, kind.literal]
        case Words():
            return ["words", kind.words]
        case Grid():
            return ["table", kind.units]
    return ["flag"]


def type_of_card(card: Sequence[Any]) -> Type:
    """A type from its plain data.

    >>> type_of_card(["number", None])
    Num(dimension=None)
    """
    match card:
        case ["number", dimension]:
            return Num(None if dimension is None else tuple(dimension))
        case ["word", words, literal]:
            return Word(tuple(words), literal)
        case ["words", words]:
            return Words(tuple(words))
        case ["table", units]:
            return Grid(tuple(units))
    return Flag()


GOAL: Mapping[str, tuple[str, str]] = {
    "power": ("kW", "power"),
    "speed": ("rpm", "at"),
    "torque": ("N*m", "torque"),
    "torque_speed": ("rpm", "torque_at"),
    "rev_limit": ("rpm", "rev_limit"),
    "boost": ("kPa", "boost"),
    "altitude": ("m", "altitude"),
    "air_temperature": ("K", "air_temperature"),
}
"""Entries of a goal by their name in an expression: unit, and field of the goal."""

ENGINE = ("cylinders", "banks", "main_journals", "cams", "inlet_valves", "exhaust_valves", "valves")


def spec_type(kind: SpecKind) -> Type:
    """Type of a declared spec in an expression."""
    match kind.sort:
        case "quantity":
            return Num(kind.dimension)
        case "flag":
            return Flag()
        case "list":
            return Words()
        case "table":
            return Grid(tuple(text for _, text in kind.columns))
    return Word(kind.words)


@dataclass
class Scope:
    """Everything an expression may name."""

    shop: Shop
    figures: dict[str, Dimension] = field(default_factory=dict)
    parameters: dict[str, Dimension] = field(default_factory=dict)
    faulty: set[tuple[str, str]] = field(default_factory=set)
    """What has a fault of its own already told: specs by the shop, figures by the rulebook."""

    def __post_init__(self) -> None:
        """Begin with what the shop knows to be faulty."""
        self.faulty |= self.shop.faulty

    def with_parameters(self, takes: dict[str, Dimension]) -> Scope:
        """The same scope with what a piece of work takes."""
        return Scope(self.shop, self.figures, takes, self.faulty)

    def positions(self) -> Iterable[str]:
        """Names that may stand before a dot."""
        return [*self.shop.kinds, "goal", "engine"]
