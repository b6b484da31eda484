"""A compiled expression: plain data, from which what runs is grown when it is first asked for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

from compat.record import record
from compat.rulebook.growing import grow
from compat.rulebook.operations import Run
from compat.rulebook.scope import Type, type_card, type_of_card
from compat.rulebook.trees import Names, Nodes, Tree, frozen, names_in

__all__ = ["Expression", "Names"]


@record
class Expression:
    """A compiled expression: its text, its tree and its type."""

    text: str
    tree: Tree
    type: Type

    def __repr__(self) -> str:
        return f"Expression({self.text!r})"

    def __getattr__(self, name: str) -> Any:
        # tree and type of an expression from a card, made when they are first asked for: most never are
        card = vars(self).get("_card")
        if card is None or name not in ("tree", "type"):
            raise AttributeError(name)
        return vars(self).setdefault(name, frozen(card[1]) if name == "tree" else type_of_card(card[2]))

    @cached_property
    def run(self) -> Run:
        """What gives the value in a world; grown from the tree when it is first asked for."""
        return grow(self._nodes)

    @cached_property
    def names(self) -> Names:
        """What the expression names."""
        return names_in(self._nodes)

    @property
    def _nodes(self) -> Nodes:
        """The tree, or what JSON gave of it: to run and to tell names it need not be frozen."""
        card = vars(self).get("_card")
        nodes: Nodes = self.tree if card is None else card[1]
        return nodes

    def card(self) -> list[Any]:
        """The expression as plain data for JSON."""
        return [self.text, self.tree, type_card(self.type)]

    @classmethod
    def of_card(cls, card: Sequence[Any]) -> Expression:
        """An expression from its plain data, which nobody may change.

        >>> Expression.of_card(["2", ["number", 2.0], ["number", None]]).run(None).x
        2.0
        """
        expression = object.__new__(cls)
        held = vars(expression)
        held["text"], held["_card"] = card[0], card
        return expression
