"""The language of rules: a small part of Python's own expression grammar, never run by Python itself.

`compile_text` parses with `ast`, refuses everything outside the whitelist, checks names and
dimensions, and gives a tree. Numbers carry their sensitivities along (forward differentiation), so
a tolerance is propagated through any expression without extra calls.
"""

from __future__ import annotations

import ast
import gc
import math
import re
import warnings
from threading import Lock

from compat.rulebook.calls import Calls
from compat.rulebook.checker import ExpressionFault, Told
from compat.rulebook.expressions import Expression
from compat.rulebook.operations import COMPARE, NUMERIC
from compat.rulebook.scope import (
    ENGINE,
    GOAL,
    Flag,
    Num,
    Scope,
    Type,
    Word,
    Words,
    spec_type,
)
from compat.rulebook.trees import Tree
from compat.shop.source import nearest
from compat.shop.words import DUTIES
from compat.units import DIMENSIONLESS, Dimension, is_usual, unit

__all__ = ["ExpressionFault", "compile_text"]

MOST_CHARACTERS = 1500

_PARSING = Lock()
"""Python keeps one count of how deep a tree is for all threads, and one list of what it warns of."""


def _parsed(plain: str) -> ast.Expression:
    """The tree of an expression. Nothing else may parse meanwhile, not even what is run when rubbish is
    collected: Python 3.11 then gives up with a SystemError."""
    with _PARSING, warnings.catch_warnings():
        # what Python only warns of, like 1if, is no expression here
        warnings.simplefilter("error")
        collecting = gc.isenabled()
        gc.disable()
        try:
            return ast.parse(plain, mode="eval")
        finally:
            if collecting:
                gc.enable()


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
        Tree and type.

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
        tree = _parsed(plain)
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        column = (getattr(error, "offset", 1) or 1) - 1
        hint = "; a quantity is a product here, like 5*mm" if re.search(r"\d +[A-Za-z]", plain) else ""
        why = getattr(error, "msg", error)
        raise ExpressionFault(f"'{flat[:80]}' is no expression: {why}{hint}", before + column) from None
    compiler = _Compiler(scope)
    try:
        found, kind = compiler.visit(tree.body)
    except RecursionError:
        raise ExpressionFault("expression is nested too deep") from None
    except ExpressionFault as fault:
        # the parser counts bytes, a reader characters
        fault.column = before + len(plain.encode()[: fault.column].decode(errors="ignore"))
        raise
    return Expression(flat, found, kind)


class _Compiler(Calls):
    # leaves

    def visit_constant(self, node: ast.Constant) -> tuple[Tree, Type]:
        value = node.value
        if isinstance(value, bool):
            return ("flag", value), Flag()
        if isinstance(value, int | float):
            try:
                number = float(value)
            except OverflowError:
                number = math.inf
            if not math.isfinite(number):
                raise ExpressionFault("a number that is not finite", node.col_offset)
            return ("number", number), Num(None if value == 0 else DIMENSIONLESS)
        if isinstance(value, str):
            return ("word", value), Word((value,), literal=True)
        raise ExpressionFault(f"'{node.value!r}' is not allowed in a rule", node.col_offset)

    def visit_list(self, node: ast.List) -> tuple[Tree, Type]:
        words = []
        for item in node.elts:
            if not isinstance(item, ast.Constant) or not isinstance(item.value, str):
                raise ExpressionFault("a list holds quoted words", node.col_offset)
            words.append(item.value)
        fixed = tuple(words)
        return ("words", fixed), Words(fixed)

    def visit_name(self, node: ast.Name) -> tuple[Tree, Type]:
        name = node.id
        if name in self.scope.parameters:
            return ("parameter", name), Num(self.scope.parameters[name])
        if name in self.scope.figures:
            return ("figure", name), Num(self.scope.figures[name])
        if name == "pi":
            return ("number", math.pi), Num()
        if not is_usual(name):
            known = [*self.scope.figures, *self.scope.parameters]
            hint = self._as_spec(name) or nearest(name, known)
            message = f"'{name}' is no figure, unit or parameter{hint}"
            if ("figure", name) in self.scope.faulty:
                raise Told(message)
            if name in self.scope.shop.kinds:
                message = f"'{name}' is a position; name one of its specs, like {name}.{self._first(name)}"
            raise ExpressionFault(message, node.col_offset)
        own = unit(name)
        if own.offset:
            raise ExpressionFault(f"'{name}' has an offset; write temperatures in K here", node.col_offset)
        return ("number", own.factor), Num(own.dimension)

    def _as_spec(self, name: str) -> str:
        """Where a spec is named without its position, how it is named with it; of many not."""
        owners = [position for position, kinds in self.scope.shop.kinds.items() if name in kinds]
        named = ", ".join(f"'{position}.{name}'" for position in owners[:3])
        return f"; a spec is named with its position: {named}" if 0 < len(owners) <= 3 else ""

    def _first(self, position: str) -> str:
        return next(iter(self.scope.shop.kinds.get(position, {})), "spec")

    def visit_attribute(self, node: ast.Attribute) -> tuple[Tree, Type]:
        if not isinstance(node.value, ast.Name):
            raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)
        owner, name = node.value.id, node.attr
        if owner == "goal":
            return self._goal(name, node)
        if owner == "engine":
            if name == "firing_order":
                return ("engine", name), Word()
            if name not in ENGINE:
                raise ExpressionFault(f"engine has no '{name}'{nearest(name, ENGINE)}", node.col_offset)
            return ("engine", name), Num()
        kinds = self.scope.shop.kinds.get(owner)
        if kinds is None:
            hint = nearest(owner, self.scope.positions())
            raise ExpressionFault(f"position '{owner}' is not known{hint}", node.col_offset)
        if name not in kinds:
            hint = nearest(name, kinds)
            if ("spec", f"{owner}.{name}") in self.scope.faulty:
                raise Told(hint)
            raise ExpressionFault(f"position '{owner}' has no spec '{name}'{hint}", node.col_offset)
        return ("spec", owner, name), spec_type(kinds[name])

    def _goal(self, name: str, node: ast.expr) -> tuple[Tree, Type]:
        if name == "duty":
            return ("goal", "duty"), Word(DUTIES)
        if name not in GOAL:
            raise ExpressionFault(f"goal has no '{name}'{nearest(name, [*GOAL, 'duty'])}", node.col_offset)
        return ("goal", name), Num(unit(GOAL[name][0]).dimension)

    # operators

    def visit_unaryop(self, node: ast.UnaryOp) -> tuple[Tree, Type]:
        if isinstance(node.op, ast.Not):
            return ("not", self.flag(node.operand)), Flag()
        if isinstance(node.op, ast.USub):
            tree, kind = self.number(node.operand)
            return ("neg", tree), kind
        raise ExpressionFault(f"'{ast.unparse(node)}' is not allowed in a rule", node.col_offset)

    def visit_binop(self, node: ast.BinOp) -> tuple[Tree, Type]:
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
        return (operator, left, right), kind

    def _power(self, node: ast.BinOp) -> tuple[Tree, Type]:
        tree, kind = self.number(node.left)
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
        return ("pow", tree, power), Num(dimension)

    def visit_boolop(self, node: ast.BoolOp) -> tuple[Tree, Type]:
        word = "or" if isinstance(node.op, ast.Or) else "and"
        return (word, *(self.flag(value) for value in node.values)), Flag()

    def visit_compare(self, node: ast.Compare) -> tuple[Tree, Type]:
        left, left_kind = self.visit(node.left)
        operators, operands = [], [left]
        for sign, right_node in zip(node.ops, node.comparators, strict=True):
            right, right_kind = self.visit(right_node)
            operators.append(self._comparison(type(sign).__name__, left_kind, right_kind, node))
            operands.append(right)
            left_kind = right_kind
        if len(operators) == 1:
            return (operators[0], *operands), Flag()
        return ("chain", tuple(operators), *operands), Flag()

    def _comparison(self, operator: str, left_kind: Type, right_kind: Type, node: ast.Compare) -> str:
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
        return operator

    def visit_ifexp(self, node: ast.IfExp) -> tuple[Tree, Type]:
        test = self.flag(node.test)
        yes, yes_kind = self.visit(node.body)
        no, no_kind = self.visit(node.orelse)
        kind = self.same(yes_kind, no_kind, node)
        return ("if", test, yes, no), kind
