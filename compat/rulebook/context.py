"""What every part of reading a rulebook shares: the shop, the words in scope, and the list of faults."""

from __future__ import annotations

from dataclasses import dataclass, field

from compat.rulebook.checker import Told
from compat.rulebook.compiling import ExpressionFault, compile_text
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundChange, BoundFigure, BoundRule, Condition, Rulebook, WorkBound
from compat.rulebook.scope import Grid, Num, Scope, Type, Word
from compat.shop.shop import Shop, Spots
from compat.shop.source import Fault, Node, nearest
from compat.units import unit

__all__ = ["BookDraft", "Context", "suits"]


@dataclass
class BookDraft:
    """Collects what a rulebook holds; `book` gives the rulebook when all is read."""

    rules: dict[str, BoundRule] = field(default_factory=dict)
    figures: dict[str, BoundFigure] = field(default_factory=dict)
    conditions: dict[Condition, Expression] = field(default_factory=dict)
    changes: dict[str, tuple[BoundChange, ...]] = field(default_factory=dict)
    bounds: dict[str, dict[str, WorkBound]] = field(default_factory=dict)
    nodes: dict[tuple[str, str], Node] = field(default_factory=dict)

    def book(self) -> Rulebook:
        """The rulebook of everything that was taken in."""
        return Rulebook(self.rules, self.figures, self.conditions, self.changes, self.bounds, self.nodes)


class Context:
    """The rulebook being read, and where faults go."""

    def __init__(self, shop: Shop, faults: list[Fault]) -> None:
        self.shop = shop
        self.faults = faults
        self.book = BookDraft()
        self.scope = Scope(shop)
        self.compiled: dict[str, Expression] = {}

    def fault(self, node: Spots, path: list[str | int], message: str, offset: int = 0) -> None:
        self.faults.append(Fault(node.spot_in(path, offset), message))

    def compile(
        self, node: Spots, path: list[str | int], text: str, scope: Scope | None = None
    ) -> Expression | None:
        try:
            if scope is not None:  # the words of one piece of work alone
                return compile_text(text, scope)
            # the same question stands in many rules
            if text not in self.compiled:
                self.compiled[text] = compile_text(text, self.scope)
            return self.compiled[text]
        except Told:
            return None
        except ExpressionFault as error:
            self.fault(node, path, str(error), error.column)
            return None

    def numeric(self, node: Node, key: str, text: str) -> Expression | None:
        expression = self.compile(node, [key], text)
        if expression is not None and not isinstance(expression.type, Num):
            self.fault(node, [key], f"is {expression.type}, not a number")
            return None
        return expression

    def known(self, node: Node, path: list[str | int], kind: str, name: str) -> None:
        if (kind, name) not in self.shop.nodes:
            known = [n for k, n in self.shop.nodes if k == kind]
            self.fault(node, path, f"{kind} '{name}' is not known{nearest(name, known)}")


def suits(given: Type, wanted: Type) -> bool:
    """Whether an expression of one type can stand where another is wanted."""
    if isinstance(given, Num) and isinstance(wanted, Num):
        return given.dimension is None or given.dimension == wanted.dimension
    if isinstance(given, Grid) and isinstance(wanted, Grid):
        return [unit(u).dimension for u in given.units] == [unit(u).dimension for u in wanted.units]
    if isinstance(given, Word) and isinstance(wanted, Word):
        return not (set(given.words) - set(wanted.words)) if wanted.words else True
    return type(given) is type(wanted)
