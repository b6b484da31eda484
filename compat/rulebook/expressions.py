"""The language of rules: a small part of Python's own expression grammar, never run by Python itself.

`compile_text` parses with `ast`, refuses everything outside the whitelist, checks names and
dimensions, and gives closures. Numbers carry their sensitivities along (forward
differentiation), so a tolerance is propagated through any expression without extra calls.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable
from dataclasses import dataclass, field

from compat.rulebook.operations import COMPARE, FUNCTIONS, NUMERIC, Run, interpolate
from compat.rulebook.scope import ENGINE, GOAL, Flag, Grid, Num, Scope, Type, Word, Words, spec_type
from compat.rulebook.values import Absent, Missing, Number, Value, World, missing
from compat.shop.source import nearest
from compat.units import DIMENSIONLESS, Dimension, is_usual, unit

__all__ = ["Expression", "ExpressionFault", "Names", "compile_text"]

MOST_CHARACTERS = 1500


class ExpressionFault(ValueError):
    """An expression that is not allowed or does not fit; `column` counts from 0 within the text."""

    def __init__(self, message: str, column: int = 0) -> None:
        super().__init__(message)
        self.column = column


@dataclass
class Names:
    """What an expression names, for tracing and for finding what no rule looks at."""

    specs: list[tuple[str, str]] = field(default_factory=list)
    figures: list[str] = field(default_factory=list)
    goals: list[str] = field(default_factory=list)
    positions: list[str] = field(default_factory=list)
    features: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Expression:
    """A compiled expression."""

    text: str
    run: Callable[[World], Value]
    type: Type
    names: Names

    def __repr__(self) -> str:
        return f"Expression({self.text!r})"


def compile_text(text: str, scope: Scope) -> Expression:
    """Compile an expression.

    Parameters
    ----------
    text : str
        The expression.
    scope : Scope
        What it may name.

    Returns
    -------
    Expression
        Closure, type and names.

    Raises
    ------
    ExpressionFault
        When it is not in the language, names something unknown, or mixes dimensions.
    """
    if len(text) > MOST_CHARACTERS:
        raise ExpressionFault(f"expression of {len(text)} characters; the most is {MOST_CHARACTERS}")
    flat = " ".join(text.split())
    try:
        tree = ast.parse(flat, mode="eval")
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        column = (getattr(error, "offset", 1) or 1) - 1
        raise ExpressionFault(
            f"'{flat[:80]}' is no expression: {getattr(error, 'msg', error)}", column
        ) from None
    compiler = _Compiler(scope)
    run, kind = compiler.visit(tree.body)
    return Expression(flat, run, kind, compiler.names)


class _Compiler:
    def __init__(self, scope: Scope) -> None:
        self.scope = scope
        self.names = Names()

    def visit(self, node: ast.expr) -> tuple[Run, Type]:
        method = getattr(self, f"visit_{type(node).__name__.lower()}", None)
        if method is None:
            raise ExpressionFault(f"'{ast.unparse(node)[:60]}' is not allowed in a rule", node.col_offset)
        run, kind = method(node)
        return run, kind

    def number(self, node: ast.expr) -> tuple[Run, Num]:
        run, kind = self.visit(node)
        if not isinstance(kind, Num):
            raise ExpressionFault(f"'{ast.unparse(node)}' is a {kind}, not a number", node.col_offset)
        return run, kind

    def flag(self, node: ast.expr) -> Run:
        run, kind = self.visit(node)
        if not isinstance(kind, Flag):
            raise ExpressionFault(f"'{ast.unparse(node)}' is a {kind}, not a yes-or-no", node.col_offset)
        return run

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
                f"'{ast.unparse(node)[:80]}' mixes a {left} and a {right}{hint}", node.col_offset
            )
        if isinstance(left, Word) and isinstance(right, Word):
            self.choice(left, right, node)
            return Word(left.words if not left.literal else right.words)
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

    # leaves

    def visit_constant(self, node: ast.Constant) -> tuple[Run, Type]:
        value = node.value
        if isinstance(value, bool):
            return (lambda w: value), Flag()
        if isinstance(value, int | float):
            if not math.isfinite(value):
                raise ExpressionFault("a number that is not finite", node.col_offset)
            number = Number(float(value))
            return (lambda w: number), Num(None if value == 0 else DIMENSIONLESS)
        if isinstance(value, str):
            return (lambda w: value), Word((value,), literal=True)
        raise ExpressionFault(f"'{node.value!r}' is not allowed in a rule", node.col_offset)

    def visit_list(self, node: ast.List) -> tuple[Run, Type]:
        words = []
        for item in node.elts:
            if not isinstance(item, ast.Constant) or not isinstance(item.value, str):
                raise ExpressionFault("a list holds quoted words", node.col_offset)
            words.append(item.value)
        fixed = tuple(words)
        return (lambda w: fixed), Word(fixed, literal=True)

    def visit_name(self, node: ast.Name) -> tuple[Run, Type]:
        name = node.id
        if name in self.scope.parameters:
            return (lambda w: w.parameter(name)), Num(self.scope.parameters[name])
        if name in self.scope.figures:
            self.names.figures.append(name)
            return (lambda w: w.figure(name)), Num(self.scope.figures[name])
        if name == "pi":
            number = Number(math.pi)
            return (lambda w: number), Num()
        if not is_usual(name):
            known = [*self.scope.figures, *self.scope.parameters]
            hint = nearest(name, known)
            message = f"'{name}' is no figure, unit or parameter{hint}"
            if name in self.scope.shop.positions:
                message = f"'{name}' is a position; name one of its specs, like {name}.{self._first(name)}"
            raise ExpressionFault(message, node.col_offset)
        own = unit(name)
        if own.offset:
            raise ExpressionFault(f"'{name}' has an offset; write temperatures in K here", node.col_offset)
        number = Number(own.factor)
        return (lambda w: number), Num(own.dimension)

    def _first(self, position: str) -> str:
        return next(iter(self.scope.shop.kinds.get(position, {})), "spec")

    def visit_attribute(self, node: ast.Attribute) -> tuple[Run, Type]:
        if not isinstance(node.value, ast.Name):
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        owner, name = node.value.id, node.attr
        if owner == "goal":
            return self._goal(name, node)
        if owner == "engine":
            if name not in ENGINE:
                raise ExpressionFault(f"engine has no '{name}'{nearest(name, ENGINE)}", node.col_offset)
            return (lambda w: Number(w.engine(name))), Num()
        kinds = self.scope.shop.kinds.get(owner)
        if kinds is None:
            hint = nearest(owner, self.scope.positions())
            raise ExpressionFault(f"position '{owner}' is not known{hint}", node.col_offset)
        if name not in kinds:
            hint = nearest(name, kinds)
            raise ExpressionFault(f"position '{owner}' has no spec '{name}'{hint}", node.col_offset)
        self.names.specs.append((owner, name))
        return (lambda w: w.spec(owner, name)), spec_type(kinds[name])

    def _goal(self, name: str, node: ast.expr) -> tuple[Run, Type]:
        if name == "duty":
            from compat.shop.models import DUTIES

            self.names.goals.append(name)
            return (lambda w: w.goal("duty")), Word(DUTIES)
        if name not in GOAL:
            raise ExpressionFault(f"goal has no '{name}'{nearest(name, [*GOAL, 'duty'])}", node.col_offset)
        self.names.goals.append(name)
        return (lambda w: w.goal(name)), Num(unit(GOAL[name][0]).dimension)

    # operators

    def visit_unaryop(self, node: ast.UnaryOp) -> tuple[Run, Type]:
        if isinstance(node.op, ast.Not):
            inner = self.flag(node.operand)

            def negate(w: World) -> Value:
                value = inner(w)
                return value if isinstance(value, Missing) else not value

            return negate, Flag()
        if isinstance(node.op, ast.USub):
            run, kind = self.number(node.operand)
            return NUMERIC["neg"](run, run), kind
        raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)

    def visit_binop(self, node: ast.BinOp) -> tuple[Run, Type]:
        operator = type(node.op).__name__.lower()
        if operator == "pow":
            return self._power(node)
        if operator not in NUMERIC:
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        left, left_kind = self.number(node.left)
        right, right_kind = self.number(node.right)
        if operator in ("add", "sub"):
            kind = self.same(left_kind, right_kind, node)
        else:
            sign = 1 if operator == "mult" else -1
            a, b = left_kind.dimension or DIMENSIONLESS, right_kind.dimension or DIMENSIONLESS
            kind = Num(tuple(x + sign * y for x, y in zip(a, b, strict=True)))
        return NUMERIC[operator](left, right), kind

    def _power(self, node: ast.BinOp) -> tuple[Run, Type]:
        run, kind = self.number(node.left)
        exponent = node.right
        sign = 1.0
        if isinstance(exponent, ast.UnaryOp) and isinstance(exponent.op, ast.USub):
            sign, exponent = -1.0, exponent.operand
        if not isinstance(exponent, ast.Constant) or not isinstance(exponent.value, int | float):
            raise ExpressionFault("an exponent is a plain number", node.col_offset)
        power = sign * float(exponent.value)
        if abs(power) > 8:
            raise ExpressionFault(f"exponent {power:g} is out of range", node.col_offset)
        dimension: Dimension = tuple(p * power for p in kind.dimension or DIMENSIONLESS)
        return FUNCTIONS["pow"](run, power), Num(dimension)

    def visit_boolop(self, node: ast.BoolOp) -> tuple[Run, Type]:
        runs = [self.flag(value) for value in node.values]
        stopper = isinstance(node.op, ast.Or)

        def decide(w: World) -> Value:
            # Kleene: a decisive side settles it even when the other is not known
            unknown: Missing | None = None
            for run in runs:
                value = run(w)
                if isinstance(value, Missing):
                    unknown = value if unknown is None else unknown | value
                elif value is stopper:
                    return stopper
            return unknown if unknown is not None else not stopper

        return decide, Flag()

    def visit_compare(self, node: ast.Compare) -> tuple[Run, Type]:
        steps: list[Run] = []
        left_node = node.left
        left, left_kind = self.visit(left_node)
        for operator, right_node in zip(node.ops, node.comparators, strict=True):
            right, right_kind = self.visit(right_node)
            steps.append(self._comparison(type(operator).__name__, left, left_kind, right, right_kind, node))
            left, left_kind = right, right_kind
        if len(steps) == 1:
            return steps[0], Flag()

        def chain(w: World) -> Value:
            values = [step(w) for step in steps]
            if any(value is False for value in values):
                return False
            return missing(*values) or True

        return chain, Flag()

    def _comparison(
        self, operator: str, left: Run, left_kind: Type, right: Run, right_kind: Type, node: ast.Compare
    ) -> Run:
        if operator in ("In", "NotIn"):
            if not isinstance(left_kind, Word) or not isinstance(right_kind, Words | Word):
                raise ExpressionFault(
                    f"'{ast.unparse(node)}': 'in' wants a word and a list of words", node.col_offset
                )
            if isinstance(right_kind, Word):
                if not right_kind.literal:
                    raise ExpressionFault(f"'{ast.unparse(node)}': 'in' wants a list of words", node.col_offset)
                self.choice(left_kind, right_kind, node)
        else:
            self.same(left_kind, right_kind, node)
            if operator not in ("Eq", "NotEq") and not isinstance(left_kind, Num):
                raise ExpressionFault(f"'{ast.unparse(node)}': only numbers are more or less", node.col_offset)
        if operator not in COMPARE:
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        return COMPARE[operator](left, right)

    def visit_ifexp(self, node: ast.IfExp) -> tuple[Run, Type]:
        test = self.flag(node.test)
        yes, yes_kind = self.visit(node.body)
        no, no_kind = self.visit(node.orelse)
        kind = self.same(yes_kind, no_kind, node)

        def choose(w: World) -> Value:
            value = test(w)
            if isinstance(value, Missing):
                return value
            return yes(w) if value else no(w)

        return choose, kind

    # functions

    def visit_call(self, node: ast.Call) -> tuple[Run, Type]:
        if not isinstance(node.func, ast.Name) or node.keywords:
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        name = node.func.id
        method = getattr(self, f"call_{name}", None)
        if method is None:
            known = [key.removeprefix("call_") for key in dir(self) if key.startswith("call_")]
            raise ExpressionFault(f"function '{name}' is not known{nearest(name, known)}", node.col_offset)
        try:
            run, kind = method(node, *node.args)
        except TypeError:
            raise ExpressionFault(
                f"'{ast.unparse(node)}': {name} takes another number of arguments", node.col_offset
            ) from None
        return run, kind

    def _plain(self, node: ast.expr) -> Run:
        run, kind = self.number(node)
        if kind.dimension not in (None, DIMENSIONLESS):
            raise ExpressionFault(
                f"'{ast.unparse(node)}' is a {kind}, not a plain number or angle", node.col_offset
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
        return NUMERIC["sin"](self._plain(x), self._plain(x)), Num()

    def call_cos(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        return NUMERIC["cos"](self._plain(x), self._plain(x)), Num()

    def call_tan(self, node: ast.Call, x: ast.expr) -> tuple[Run, Type]:
        return NUMERIC["tan"](self._plain(x), self._plain(x)), Num()

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
        if isinstance(node, ast.Name) and node.id in self.scope.shop.positions:
            self.names.positions.append(node.id)
            return node.id
        text = ast.unparse(node)
        hint = nearest(text, self.scope.shop.positions)
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
        return (lambda w: w.done(work)), Flag()

    def call_opened(self, node: ast.Call, what: ast.expr) -> tuple[Run, Type]:
        joint = self._id(what, "joint")
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
