"""The language of rules: a small part of Python's own expression grammar, never run by Python itself.

`compile_text` parses with `ast`, refuses everything outside the whitelist, checks names and
dimensions, and gives closures. Numbers carry their sensitivities along (forward
differentiation), so a tolerance is propagated through any expression without extra calls.
"""

from __future__ import annotations

import ast
import math
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass

from compat.rulebook.calls import Calls
from compat.rulebook.checker import ExpressionFault, Names, Told
from compat.rulebook.operations import COMPARE, FUNCTIONS, NUMERIC, Run
from compat.rulebook.scope import ENGINE, GOAL, Flag, Num, Scope, Type, Word, Words, spec_type
from compat.rulebook.values import Missing, Number, Value, World, missing
from compat.shop.fields import DUTIES
from compat.shop.source import nearest
from compat.units import DIMENSIONLESS, Dimension, is_usual, unit

__all__ = ["Expression", "ExpressionFault", "Names", "compile_text"]

MOST_CHARACTERS = 1500


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
    # one blank for each blank or line end, so that a column of this text is one of the file
    plain = re.sub(r"\s", " ", text).rstrip()
    before = len(plain) - len(plain.lstrip())
    plain = plain[before:]
    try:
        with warnings.catch_warnings():
            # what Python only warns of, like 1if, is no expression here
            warnings.simplefilter("error")
            tree = ast.parse(plain, mode="eval")
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        column = (getattr(error, "offset", 1) or 1) - 1
        hint = "; a quantity is a product here, like 5*mm" if re.search(r"\d +[A-Za-z]", plain) else ""
        why = getattr(error, "msg", error)
        raise ExpressionFault(f"'{flat[:80]}' is no expression: {why}{hint}", before + column) from None
    compiler = _Compiler(scope)
    try:
        run, kind = compiler.visit(tree.body)
    except RecursionError:
        raise ExpressionFault("expression is nested too deep") from None
    except ExpressionFault as fault:
        # the parser counts bytes, a reader characters
        fault.column = before + len(plain.encode()[: fault.column].decode(errors="ignore"))
        raise
    return Expression(flat, run, kind, compiler.names)


class _Compiler(Calls):
    # leaves

    def visit_constant(self, node: ast.Constant) -> tuple[Run, Type]:
        value = node.value
        if isinstance(value, bool):
            return (lambda w: value), Flag()
        if isinstance(value, int | float):
            try:
                number = Number(float(value))
            except OverflowError:
                number = Number(math.inf)
            if not math.isfinite(number.x):
                raise ExpressionFault("a number that is not finite", node.col_offset)
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
        return (lambda w: fixed), Words(fixed)

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
            if ("figure", name) in self.scope.shop.faulty:
                raise Told(message)
            if name in self.scope.shop.kinds:
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
            if ("spec", f"{owner}.{name}") in self.scope.shop.faulty:
                raise Told(hint)
            raise ExpressionFault(f"position '{owner}' has no spec '{name}'{hint}", node.col_offset)
        self.names.specs.append((owner, name))
        return (lambda w: w.spec(owner, name)), spec_type(kinds[name])

    def _goal(self, name: str, node: ast.expr) -> tuple[Run, Type]:
        if name == "duty":
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
        given = exponent.value if isinstance(exponent, ast.Constant) else None
        if not isinstance(given, int | float) or isinstance(given, bool):
            raise ExpressionFault("an exponent is a plain number", node.col_offset)
        if not given <= 8:
            raise ExpressionFault("an exponent is at most 8", node.col_offset)
        power = sign * float(given)
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
            if not isinstance(left_kind, Word) or not isinstance(right_kind, Words):
                raise ExpressionFault(
                    f"'{ast.unparse(node)}': 'in' wants a word and a list of words", node.col_offset
                )
            self.choice(left_kind, Word(right_kind.words, literal=True), node)
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
