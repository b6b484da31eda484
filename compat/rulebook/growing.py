"""Closures grown from the tree of an expression: what runs when a build is held against a rule."""

from __future__ import annotations

from collections.abc import Callable

from compat.rulebook.operations import COMPARE, FUNCTIONS, NUMERIC, Run, compare, interpolate
from compat.rulebook.trees import Nodes
from compat.rulebook.values import Absent, Missing, Number, Value, World, missing

__all__ = ["grow"]


def grow(tree: Nodes) -> Run:
    """Grow the closure of a tree; about a microsecond a node.

    Parameters
    ----------
    tree : sequence
        A node as the compiler of expressions makes it, frozen or as JSON gives it back.

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


def _fixed(tree: Nodes) -> Run:
    value: Value = tree[1]
    return lambda w: value


def _words(tree: Nodes) -> Run:
    words = tuple(tree[1])
    return lambda w: words


def _number(tree: Nodes) -> Run:
    number = Number(tree[1])
    return lambda w: number


def _spec(tree: Nodes) -> Run:
    _, position, name = tree
    return lambda w: w.spec(position, name)


def _figure(tree: Nodes) -> Run:
    name = tree[1]
    return lambda w: w.figure(name)


def _goal(tree: Nodes) -> Run:
    name = tree[1]
    return lambda w: w.goal(name)


def _parameter(tree: Nodes) -> Run:
    name = tree[1]
    return lambda w: w.parameter(name)


def _engine(tree: Nodes) -> Run:
    name = tree[1]

    def run(w: World) -> Value:
        found = w.engine(name)
        return found if isinstance(found, str) else Number(found)

    return run


def _fitted(tree: Nodes) -> Run:
    position = tree[1]
    return lambda w: w.fitted(position)


def _count(tree: Nodes) -> Run:
    position = tree[1]
    return lambda w: Number(float(w.count(position)))


def _changed(tree: Nodes) -> Run:
    position = tree[1]
    return lambda w: w.changed(position)


def _kept(tree: Nodes) -> Run:
    position = tree[1]
    return lambda w: w.kept(position)


def _measured(tree: Nodes) -> Run:
    _, position, name = tree
    return lambda w: w.measured(position, name)


def _sister(tree: Nodes) -> Run:
    position = tree[1]
    return lambda w: w.sister(position)


def _done(tree: Nodes) -> Run:
    work = tree[1]
    return lambda w: w.done(work)


def _opened(tree: Nodes) -> Run:
    joint = tree[1]
    return lambda w: w.opened(joint)


def _offered(tree: Nodes) -> Run:
    feature = tree[1]
    return lambda w: Number(float(w.offered(feature)))


# operators


def _one(build: Callable[[Run, Run], Run]) -> Callable[[Nodes], Run]:
    def grower(tree: Nodes) -> Run:
        inner = grow(tree[1])
        return build(inner, inner)

    return grower


def _two(build: Callable[[Run, Run], Run]) -> Callable[[Nodes], Run]:
    return lambda tree: build(grow(tree[1]), grow(tree[2]))


def _power(tree: Nodes) -> Run:
    return FUNCTIONS["pow"](grow(tree[1]), tree[2])


def _not(tree: Nodes) -> Run:
    inner = grow(tree[1])

    def negate(w: World) -> Value:
        value = inner(w)
        return value if isinstance(value, Missing) else not value

    return negate


def _decided_by(stopper: bool) -> Callable[[Nodes], Run]:
    def grower(tree: Nodes) -> Run:
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


def _joined(tree: Nodes) -> Run:
    runs = [grow(part) for part in tree[1:]]

    def join(w: World) -> Value:
        values = [run(w) for run in runs]
        return missing(*values) or "/".join(map(str, values))

    return join


def _chain(tree: Nodes) -> Run:
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


def _if(tree: Nodes) -> Run:
    test, yes, no = grow(tree[1]), grow(tree[2]), grow(tree[3])

    def choose(w: World) -> Value:
        value = test(w)
        if isinstance(value, Missing):
            return value
        return yes(w) if value else no(w)

    return choose


def _stated(tree: Nodes) -> Run:
    run = grow(tree[1])

    def known(w: World) -> Value:
        try:
            return not isinstance(run(w), Missing)
        except Absent:
            return False

    return known


def _computed(tree: Nodes) -> Run:
    run = grow(tree[1])

    def known(w: World) -> Value:
        value = run(w)
        if isinstance(value, Missing):
            return value if value.specs else False
        return True

    return known


def _prefer(tree: Nodes) -> Run:
    run, other = grow(tree[1]), grow(tree[2])

    def choose(w: World) -> Value:
        # only where nothing is fitted: what a fitted part does not state is not known
        try:
            return run(w)
        except Absent:
            return other(w)

    return choose


_SINGLE = ("neg", "abs", "sin", "cos", "tan")

_GROWERS: dict[str, Callable[[Nodes], Run]] = {
    "number": _number,
    "word": _fixed,
    "flag": _fixed,
    "words": _words,
    "spec": _spec,
    "figure": _figure,
    "goal": _goal,
    "parameter": _parameter,
    "engine": _engine,
    "fitted": _fitted,
    "count": _count,
    "changed": _changed,
    "kept": _kept,
    "measured": _measured,
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
    "computed": _computed,
    "prefer": _prefer,
    **{name: (_one if name in _SINGLE else _two)(build) for name, build in NUMERIC.items()},
    **{name: _two(build) for name, build in COMPARE.items()},
}
