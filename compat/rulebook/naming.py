"""What a rule or figure names, told from its words alone, before anything is known that they could mean."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

__all__ = ["named_by", "names_in"]

Key = tuple[str, str]

PLACES = ("fitted", "count", "changed", "kept", "sister")
"""Functions that take a position."""

QUOTED = {"done": "work", "opened": "joint", "offered": "feature"}
"""Functions that take an id in quotes, and the kind of thing that it is of."""


@lru_cache(maxsize=8192)
def names_in(text: str) -> tuple[Key, ...]:
    """Give what an expression names: specs, positions, works, joints, features; a bare word as ("word", ...).

    A bare word is a figure, a unit, or what a piece of work takes. A text that is no expression, like a
    quantity, names nothing.

    Parameters
    ----------
    text : str
        The expression.

    Returns
    -------
    tuple
        Kinds and names.

    Examples
    --------
    >>> sorted(names_in('rod.mass + piston_group_mass if fitted(piston_pin) else 0*g'))[:2]
    [('position', 'piston_pin'), ('spec', 'rod.mass')]
    >>> names_in("0.010 mm")
    ()
    """
    try:
        tree = ast.parse(" ".join(text.split()), mode="eval")
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return ()
    return tuple(dict.fromkeys(_visit(tree.body)))


def _visit(node: ast.AST) -> Iterator[Key]:
    match node:
        case ast.Attribute(value=ast.Name(id="goal" | "engine")):
            return
        case ast.Attribute(value=ast.Name(id=owner), attr=name):
            yield "spec", f"{owner}.{name}"
        case ast.Call(func=ast.Name(id=called), args=[ast.Name(id=place)]) if called in PLACES:
            yield "position", place
        case ast.Call(func=ast.Name(id=called), args=[ast.Constant(value=str(name))]) if called in QUOTED:
            yield QUOTED[called], name
        case ast.Call(args=args):
            for arg in args:
                yield from _visit(arg)
        case ast.Name(id=name):
            yield "word", name
        case _:
            for child in ast.iter_child_nodes(node):
                yield from _visit(child)


EXPRESSIONS = ("where", "measure", "at_least", "at_most", "within", "load", "capacity", "never", "is")
"""Fields of a rule or figure that hold an expression."""


def named_by(kind: str, data: Mapping[str, Any]) -> Iterator[Key]:
    """Give what a rule or figure cannot be understood without.

    Parameters
    ----------
    kind : str
        ``rule`` or ``figure``.
    data : mapping
        The entry as its file says it.

    Yields
    ------
    tuple
        Kind and name.

    Examples
    --------
    >>> list(named_by("rule", {"rule": "a", "need": {"feature": "crank_signal", "count": "count(coil)"}}))
    [('feature', 'crank_signal'), ('position', 'coil')]
    """
    for text in _texts(data):
        yield from names_in(text)
    need = data.get("need")
    if isinstance(need, Mapping):
        for of in ("feature", "work", "position"):
            if of in need:
                yield of, str(need[of])
        for text in (need.get("count", ""), *_mapping(need.get("with")).values()):
            yield from names_in(str(text))
    if "renew" in data:
        yield "joint", str(data["renew"])
    if kind == "figure":
        for text in (*_mapping(data.get("takes")).values(), _mapping(data.get("unstated")).get("take", "")):
            yield from names_in(str(text))


def _texts(data: Mapping[str, Any]) -> Iterator[str]:
    yield from (str(data[field]) for field in EXPRESSIONS if field in data)
    pairs = data.get("match", ())
    for pair in pairs if isinstance(pairs, list) else ():
        yield from map(str, pair if isinstance(pair, list) else [pair])


def _mapping(raw: Any) -> Mapping[str, Any]:
    return raw if isinstance(raw, Mapping) else {}
