"""The functions of the language: what may stand before a bracket, and how each runs."""

from __future__ import annotations

import ast
import inspect

from compat.rulebook.checker import Checker, ExpressionFault
from compat.rulebook.operations import COMPARE, FUNCTIONS, NUMERIC, Run, interpolate
from compat.rulebook.scope import Flag, Grid, Num, Type, Word, Words
from compat.rulebook.values import Absent, Missing, Number, Value, World
from compat.shop.source import nearest
from compat.units import DIMENSIONLESS, Dimension, unit

__all__ = ["Calls"]


class Calls(Checker):
    """Compiles calls of the functions that the language knows."""

    def visit_call(self, node: ast.Call) -> tuple[Run, Type]:
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
        run, kind = method(node, *node.args)
        return run, kind

    def _plain(self, node: ast.expr) -> Run:
        run, kind = self.number(node)
        if kind.dimension not in (None, DIMENSIONLESS):
            raise ExpressionFault(
                f"'{ast.unparse(node)}' is {kind}, not a plain number or angle", node.col_offset
            )
        return run

    def call_sqrt(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        run, kind = self.number(x)
        dimension: Dimension = tuple(p / 2 for p in kind.dimension or DIMENSIONLESS)
        return FUNCTIONS["pow"](run, 0.5), Num(dimension)

    def call_abs(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        run, kind = self.number(x)
        return NUMERIC["abs"](run, run), kind

    def call_sin(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        run = self._plain(x)
        return NUMERIC["sin"](run, run), Num()

    def call_cos(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        run = self._plain(x)
        return NUMERIC["cos"](run, run), Num()

    def call_tan(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        run = self._plain(x)
        return NUMERIC["tan"](run, run), Num()

    def _extreme(self, name: str, node: ast.Call, items: tuple[ast.expr, ...]) -> tuple[Run, Type]:
        if len(items) < 2:
            raise ExpressionFault(f"{name} takes at least two values", node.col_offset)
        run, first = self.number(items[0])
        kind: Type = first
        for item in items[1:]:
            other, other_kind = self.number(item)
            kind = self.same(kind, other_kind, node)
            run = NUMERIC[name](run, other)
        return run, kind

    def call_min(self, node: ast.Call, *items: ast.expr) -> tuple[Run, Type]:
        return self._extreme("min", node, items)

    def call_max(self, node: ast.Call, *items: ast.expr) -> tuple[Run, Type]:
        return self._extreme("max", node, items)

    def _position(self, node: ast.expr) -> str:
        if isinstance(node, ast.Name) and node.id in self.scope.shop.kinds:
            self.names.positions.append(node.id)
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

    def call_fitted(self, node: ast.Call, place: ast.expr) -> tuple[Run, Type]:
        position = self._position(place)
        return (lambda w: w.fitted(position)), Flag()

    def call_count(self, node: ast.Call, place: ast.expr) -> tuple[Run, Type]:
        position = self._position(place)
        return (lambda w: Number(float(w.count(position)))), Num()

    def call_changed(self, node: ast.Call, place: ast.expr) -> tuple[Run, Type]:
        position = self._position(place)
        return (lambda w: w.changed(position)), Flag()

    def call_sister(self, node: ast.Call, place: ast.expr) -> tuple[Run, Type]:
        position = self._position(place)
        return (lambda w: w.sister(position)), Word()

    def call_done(self, node: ast.Call, what: ast.expr) -> tuple[Run, Type]:
        work = self._id(what, "work")
        self.names.works.append(work)
        return (lambda w: w.done(work)), Flag()

    def call_opened(self, node: ast.Call, what: ast.expr) -> tuple[Run, Type]:
        joint = self._id(what, "joint")
        self.names.joints.append(joint)
        return (lambda w: w.opened(joint)), Flag()

    def call_offered(self, node: ast.Call, what: ast.expr) -> tuple[Run, Type]:
        feature = self._id(what, "feature")
        self.names.features.append(feature)
        return (lambda w: Number(float(w.offered(feature)))), Num()

    def call_stated(self, node: ast.Call, what: ast.expr) -> tuple[Run, Type]:
        run, _ = self.visit(what)

        def known(w: World) -> Value:
            try:
                return not isinstance(run(w), Missing)
            except Absent:
                return False

        return known, Flag()

    def call_prefer(self, node: ast.Call, wanted: ast.expr, default: ast.expr) -> tuple[Run, Type]:
        run, kind = self.visit(wanted)
        other, other_kind = self.visit(default)
        both = self.same(kind, other_kind, node)

        def choose(w: World) -> Value:
            try:
                value = run(w)
            except Absent:
                return other(w)
            return other(w) if isinstance(value, Missing) else value

        return choose, both

    def call_at(self, node: ast.Call, grid: ast.expr, x: ast.expr) -> tuple[Run, Type]:
        rows, kind = self.visit(grid)
        if not isinstance(kind, Grid) or len(kind.units) != 2:
            raise ExpressionFault(f"'{ast.unparse(grid)}' is no table of two columns", node.col_offset)
        point, point_kind = self.number(x)
        wanted = unit(kind.units[0]).dimension
        self.same(Num(wanted), point_kind, node)
        return interpolate(rows, point), Num(unit(kind.units[1]).dimension)

    def call_holds(self, node: ast.Call, words: ast.expr, word: ast.expr) -> tuple[Run, Type]:
        left, left_kind = self.visit(word)
        right, right_kind = self.visit(words)
        if not isinstance(left_kind, Word) or not isinstance(right_kind, Words):
            raise ExpressionFault(f"'{ast.unparse(node)}': holds takes a list spec and a word", node.col_offset)
        return COMPARE["In"](left, right), Flag()
