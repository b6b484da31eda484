"""The functions of the language: what may stand before a bracket, and the node that each becomes."""

from __future__ import annotations

import ast
import inspect

from compat.rulebook.checker import Checker, ExpressionFault
from compat.rulebook.scope import Flag, Grid, Num, Type, Word, Words
from compat.rulebook.trees import Tree
from compat.shop.source import nearest
from compat.units import DIMENSIONLESS, Dimension, unit

__all__ = ["Calls"]


class Calls(Checker):
    """Compiles calls of the functions that the language knows."""

    def visit_call(self, node: ast.Call) -> tuple[Tree, Type]:
        if not isinstance(node.func, ast.Name) or node.keywords:
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        name = node.func.id
        method = getattr(self, f"call_{name}", None)
        if method is None:
            known = [key.removeprefix("call_") for key in dir(self) if key.startswith("call_")]
            raise ExpressionFault(f"function '{name}' is not known{nearest(name, known)}", node.col_offset)
        code = method.__func__.__code__
        if not code.co_flags & inspect.CO_VARARGS and len(node.args) != code.co_argcount - 2:  # less self, node
            message = f"'{ast.unparse(node)}': {name} takes another number of arguments"
            raise ExpressionFault(message, node.col_offset)
        tree, kind = method(node, *node.args)
        return tree, kind

    def _plain(self, node: ast.expr) -> Tree:
        tree, kind = self.number(node)
        if kind.dimension not in (None, DIMENSIONLESS):
            raise ExpressionFault(
                f"'{ast.unparse(node)}' is {kind}, not a plain number or angle", node.col_offset
            )
        return tree

    def call_sqrt(self, node: ast.Call, x: ast.expr) -> tuple[Tree, Type]:
        tree, kind = self.number(x)
        dimension: Dimension = tuple(p / 2 for p in kind.dimension or DIMENSIONLESS)
        return ("pow", tree, 0.5), Num(dimension)

    def call_abs(self, node: ast.Call, x: ast.expr) -> tuple[Tree, Type]:
        tree, kind = self.number(x)
        return ("abs", tree), kind

    def call_sin(self, node: ast.Call, x: ast.expr) -> tuple[Tree, Type]:
        tree = self._plain(x)
        return ("sin", tree), Num()

    def call_cos(self, node: ast.Call, x: ast.expr) -> tuple[Tree, Type]:
        tree = self._plain(x)
        return ("cos", tree), Num()

    def call_tan(self, node: ast.Call, x: ast.expr) -> tuple[Tree, Type]:
        tree = self._plain(x)
        return ("tan", tree), Num()

    def _extreme(self, name: str, node: ast.Call, items: tuple[ast.expr, ...]) -> tuple[Tree, Type]:
        if len(items) < 2:
            raise ExpressionFault(f"{name} takes at least two values", node.col_offset)
        tree, first = self.number(items[0])
        kind: Type = first
        for item in items[1:]:
            other, other_kind = self.number(item)
            kind = self.same(kind, other_kind, node)
            tree = (name, tree, other)
        return tree, kind

    def call_min(self, node: ast.Call, *items: ast.expr) -> tuple[Tree, Type]:
        return self._extreme("min", node, items)

    def call_max(self, node: ast.Call, *items: ast.expr) -> tuple[Tree, Type]:
        return self._extreme("max", node, items)

    def _position(self, node: ast.expr) -> str:
        if isinstance(node, ast.Name) and node.id in self.scope.shop.kinds:
            return node.id
        text = ast.unparse(node)
        hint = nearest(text, self.scope.shop.kinds)
        raise ExpressionFault(f"position '{text}' is not known{hint}", node.col_offset)

    def _id(self, node: ast.expr, kind: str) -> str:
        if not isinstance(node, ast.Constant) or not isinstance(node.value, str):
            raise ExpressionFault(f"'{ast.unparse(node)}': write the {kind} in quotes", node.col_offset)
        if (kind, node.value) not in self.scope.shop.nodes:
            known = [name for k, name in self.scope.shop.nodes if k == kind]
            raise ExpressionFault(
                f"{kind} '{node.value}' is not known{nearest(node.value, known)}", node.col_offset
            )
        return node.value

    def call_fitted(self, node: ast.Call, place: ast.expr) -> tuple[Tree, Type]:
        position = self._position(place)
        return ("fitted", position), Flag()

    def call_count(self, node: ast.Call, place: ast.expr) -> tuple[Tree, Type]:
        position = self._position(place)
        return ("count", position), Num()

    def call_changed(self, node: ast.Call, place: ast.expr) -> tuple[Tree, Type]:
        position = self._position(place)
        return ("changed", position), Flag()

    def call_kept(self, node: ast.Call, place: ast.expr) -> tuple[Tree, Type]:
        position = self._position(place)
        return ("kept", position), Flag()

    def call_measured(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        tree, _ = self.visit(what)
        if tree[0] != "spec":
            raise ExpressionFault(f"'{ast.unparse(node)}': measured takes a spec", node.col_offset)
        return ("measured", *tree[1:]), Flag()

    def call_sister(self, node: ast.Call, place: ast.expr) -> tuple[Tree, Type]:
        position = self._position(place)
        return ("sister", position), Word()

    def call_done(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        work = self._id(what, "work")
        return ("done", work), Flag()

    def call_opened(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        joint = self._id(what, "joint")
        return ("opened", joint), Flag()

    def call_offered(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        feature = self._id(what, "feature")
        return ("offered", feature), Num()

    def call_stated(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        tree, _ = self.visit(what)
        return ("stated", tree), Flag()

    def call_computed(self, node: ast.Call, what: ast.expr) -> tuple[Tree, Type]:
        """Whether a formula has a result; what is not stated stays unknown."""
        tree, _ = self.number(what)
        return ("computed", tree), Flag()

    def call_prefer(self, node: ast.Call, wanted: ast.expr, default: ast.expr) -> tuple[Tree, Type]:
        tree, kind = self.visit(wanted)
        other, other_kind = self.visit(default)
        both = self.same(kind, other_kind, node)
        return ("prefer", tree, other), both

    def call_at(self, node: ast.Call, grid: ast.expr, x: ast.expr) -> tuple[Tree, Type]:
        rows, kind = self.visit(grid)
        if not isinstance(kind, Grid) or len(kind.units) != 2:
            raise ExpressionFault(f"'{ast.unparse(grid)}' is no table of two columns", node.col_offset)
        point, point_kind = self.number(x)
        wanted = unit(kind.units[0]).dimension
        self.same(Num(wanted), point_kind, node)
        return ("at", rows, point), Num(unit(kind.units[1]).dimension)

    def call_holds(self, node: ast.Call, words: ast.expr, word: ast.expr, *more: ast.expr) -> tuple[Tree, Type]:
        """A list holds a word; of several words it must hold the pair or set, written with slashes between."""
        found = [self.visit(each) for each in (word, *more)]
        right, right_kind = self.visit(words)
        single = all(isinstance(kind, Word) for _, kind in found)
        if not single or not isinstance(right_kind, Words):
            raise ExpressionFault(f"'{ast.unparse(node)}': holds takes a list spec and words", node.col_offset)
        left = found[0][0] if not more else ("joined", *(tree for tree, _ in found))
        return ("In", left, right), Flag()
