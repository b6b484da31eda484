"""Checking types while compiling: what every part of the compiler of expressions shares."""

from __future__ import annotations

import ast

from compat.rulebook.scope import Flag, Num, Scope, Type, Word
from compat.rulebook.trees import Tree
from compat.shop.source import nearest

__all__ = ["Checker", "ExpressionFault", "Told"]


class ExpressionFault(ValueError):
    """An expression that is not allowed or does not fit; `column` counts from 0 within the text."""

    def __init__(self, message: str, column: int = 0) -> None:
        super().__init__(message)
        self.column = column


class Told(ExpressionFault):
    """An expression that names what has a fault of its own already told: nothing more to say."""


MOST_NESTED = 60


class Checker:
    """Visits an expression node by node; what has no visitor is not in the language."""

    def __init__(self, scope: Scope) -> None:
        self.scope = scope
        self.nested = 0

    def visit(self, node: ast.expr) -> tuple[Tree, Type]:
        method = getattr(self, f"visit_{type(node).__name__.lower()}", None)
        if method is None:
            raise ExpressionFault(f"'{ast.unparse(node)[:60]}' is not allowed in a rule", node.col_offset)
        self.nested += 1
        if self.nested > MOST_NESTED:
            raise ExpressionFault(f"expression is nested too deep; the most is {MOST_NESTED}")
        tree, kind = method(node)
        self.nested -= 1
        return tree, kind

    def number(self, node: ast.expr) -> tuple[Tree, Num]:
        tree, kind = self.visit(node)
        if not isinstance(kind, Num):
            raise ExpressionFault(f"'{ast.unparse(node)}' is {kind}, not a number", node.col_offset)
        return tree, kind

    def flag(self, node: ast.expr) -> Tree:
        tree, kind = self.visit(node)
        if not isinstance(kind, Flag):
            raise ExpressionFault(f"'{ast.unparse(node)}' is {kind}, not a yes-or-no", node.col_offset)
        return tree

    def same(self, left: Type, right: Type, node: ast.expr) -> Type:
        if isinstance(left, Num) and isinstance(right, Num):
            if left.dimension is None:
                return right
            if right.dimension is None or left.dimension == right.dimension:
                return left
            raise ExpressionFault(f"'{ast.unparse(node)[:80]}' mixes {left} and {right}", node.col_offset)
        if type(left) is not type(right):
            hint = " (a flag stands alone: write it without ==)" if Flag() in (left, right) else ""
            raise ExpressionFault(
                f"'{ast.unparse(node)[:80]}' mixes {left} and {right}{hint}",
                node.col_offset,
            )
        if isinstance(left, Word) and isinstance(right, Word):
            self.choice(left, right, node)
            if left.literal != right.literal:
                return right if left.literal else left
            both = (*left.words, *right.words) if left.words and right.words else ()
            return Word(both, literal=left.literal)
        return left

    def choice(self, left: Word, right: Word, node: ast.expr) -> None:
        for literal, other in ((left, right), (right, left)):
            if literal.literal and other.words and not other.literal:
                for word in literal.words:
                    if word not in other.words:
                        hint = nearest(word, other.words)
                        raise ExpressionFault(
                            f"'{word}' is not one of {', '.join(other.words)}{hint}", node.col_offset
                        )
