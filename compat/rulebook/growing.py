"""Closures grown from the tree of an expression: what runs when a build is held against a rule."""

from __future__ import annotations

from collections.abc import Callable

from compat.rulebook.operations import COMPARE, FUNCTIONS, NUMERIC, Run, compare, interpolate
from compat.rulebook.trees import Tree
from compat.rulebook.values import Absent, Missing, Number, Value, World, missing

__all__ = ["grow"]


def grow(tree: Tree) -> Run:
    """Grow the closure of a tree; about a microsecond a node.

    Parameters
    ----------
    tree : tuple
        A node as the compiler of expressions makes it.

    Returns
    -------
    callable
        Gives the value in a world.

    Examples
    --------
    >>> grow(("mult", ("number", 2.0), ("number", 3.0)))(None).x
    6.0
    """
    return _GROWERS[tree[0]](tree)


# leaves


def _fixed(tree: Tree) -> Run:
    value: Value = tree[1]
    return lambda w: value


def _number(tree: Tree) -> Run:
    number = Number(tree[1])
    return lambda w: number


def _spec(tree: Tree) -> Run:
    _, position, name = tree
    return lambda w: w.spec(position, name)


def _figure(tree: Tree) -> Run:
    name = tree[1]
    return lambda w: w.figure(name)


def _goal(tree: Tree) -> Run:
    name = tree[1]
    return lambda w: w.goal(name)


def _parameter(tree: Tree) -> Run:
    name = tree[1]
    return lambda w: w.parameter(name)


def _engine(tree: Tree) -> Run:
    name = tree[1]

    def run(w: World) -> Value:
        found = w.engine(name)
        return found if isinstance(found, str) else Number(found)

    return run


def _fitted(tree: Tree) -> Run:
    position = tree[1]
    return lambda w: w.fitted(position)


def _count(tree: Tree) -> Run:
    position = tree[1]
    return lambda w: Number(float(w.count(position)))


def _changed(tree: Tree) -> Run:
    position = tree[1]
    return lambda w: w.changed(position)


def _sister(tree: Tree) -> Run:
    position = tree[1]
    return lambda w: w.sister(position)


def _done(tree: Tree) -> Run:
    work = tree[1]
    return lambda w: w.done(work)


def _opened(tree: Tree) -> Run:
    joint = tree[1]
    return lambda w: w.opened(joint)


def _offered(tree: Tree) -> Run:
    feature = tree[1]
    return lambda w: Number(float(w.offered(feature)))


# operators


def _one(build: Callable[[Run, Run], Run]) -> Callable[[Tree], Run]:
    def grower(tree: Tree) -> Run:
        inner = grow(tree[1])
        return build(inner, inner)

    return grower


def _two(build: Callable[[Run, Run], Run]) -> Callable[[Tree], Run]:
    return lambda tree: build(grow(tree[1]), grow(tree[2]))


def _power(tree: Tree) -> Run:
    return FUNCTIONS["pow"](grow(tree[1]), tree[2])


def _not(tree: Tree) -> Run:
    inner = grow(tree[1])

    def negate(w: World) -> Value:
        value = inner(w)
        return value if isinstance(value, Missing) else not value

    return negate


def _decided_by(stopper: bool) -> Callable[[Tree], Run]:
    def grower(tree: Tree) -> Run:
        runs = [grow(part) for part in tree[1:]]

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

        return decide

    return grower


def _joined(tree: Tree) -> Run:
    runs = [grow(part) for part in tree[1:]]

    def join(w: World) -> Value:
        values = [run(w) for run in runs]
        return missing(*values) or "/".join(map(str, values))

    return join


def _chain(tree: Tree) -> Run:
    _, operators, *operands = tree
    runs = [grow(part) for part in operands]

    def chain(w: World) -> Value:
        values = [run(w) for run in runs]
        steps = [
            compare(operator, left, right)
            for operator, left, right in zip(operators, values, values[1:], strict=False)
        ]
        if any(step is False for step in steps):
            return False
        return missing(*steps) or True

    return chain


def _if(tree: Tree) -> Run:
    test, yes, no = grow(tree[1]), grow(tree[2]), grow(tree[3])

    def choose(w: World) -> Value:
        value = test(w)
        if isinstance(value, Missing):
            return value
        return yes(w) if value else no(w)

    return choose


def _stated(tree: Tree) -> Run:
    run = grow(tree[1])

    def known(w: World) -> Value:
        try:
            return not isinstance(run(w), Missing)
        except Absent:
            return False

    return known


def _prefer(tree: Tree) -> Run:
    run, other = grow(tree[1]), grow(tree[2])

    def choose(w: World) -> Value:
        try:
            value = run(w)
        except Absent:
            return other(w)
        return other(w) if isinstance(value, Missing) else value

    return choose


_SINGLE = ("neg", "abs", "sin", "cos", "tan")

_GROWERS: dict[str, Callable[[Tree], Run]] = {
    "number": _number,
    "word": _fixed,
    "flag": _fixed,
    "words": _fixed,
    "spec": _spec,
    "figure": _figure,
    "goal": _goal,
    "parameter": _parameter,
    "engine": _engine,
    "fitted": _fitted,
    "count": _count,
    "changed": _changed,
    "sister": _sister,
    "done": _done,
    "opened": _opened,
    "offered": _offered,
    "not": _not,
    "and": _decided_by(False),
    "or": _decided_by(True),
    "chain": _chain,
    "joined": _joined,
    "if": _if,
    "pow": _power,
    "at": _two(interpolate),
    "stated": _stated,
    "prefer": _prefer,
    **{name: (_one if name in _SINGLE else _two)(build) for name, build in NUMERIC.items()},
    **{name: _two(build) for name, build in COMPARE.items()},
}
