"""A compiled expression: plain data, from which what runs is grown when it is first asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from compat.rulebook.growing import grow
from compat.rulebook.operations import Run
from compat.rulebook.scope import Type, type_card, type_of_card
from compat.rulebook.trees import Names, Tree, frozen, names_in

__all__ = ["Expression", "Names"]


@dataclass(frozen=True)
class Expression:
    """A compiled expression: its text, its tree and its type."""

    text: str
    tree: Tree
    type: Type

    def __repr__(self) -> str:
        return f"Expression({self.text!r})"

    @cached_property
    def run(self) -> Run:
        """What gives the value in a world; grown from the tree when it is first asked for."""
        return grow(self.tree)

    @cached_property
    def names(self) -> Names:
        """What the expression names."""
        return names_in(self.tree)

    def card(self) -> list[Any]:
        """The expression as plain data for JSON."""
        return [self.text, self.tree, type_card(self.type)]

    @classmethod
    def of_card(cls, card: Sequence[Any]) -> Expression:
        """An expression from its plain data.

        >>> Expression.of_card(["2", ["number", 2.0], ["number", None]]).run(None).x
        2.0
        """
        text, tree, kind = card
        return cls(text, frozen(tree), type_of_card(kind))
