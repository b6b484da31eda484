"""Expressions as data: nested tuples of words and numbers, and what such a tree names.

A node is a tuple: first the word of what it is, then its operands in the order in which they were
written. It holds nothing but texts, floats, booleans and tuples, so it can be written out and compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from compat.record import record

__all__ = ["NAMING", "Names", "Nodes", "Tree", "frozen", "names_in"]

Tree = tuple[Any, ...]

Nodes = Sequence[Any]
"""A tree, frozen or as JSON gives it back."""

NAMING = {
    "spec": "specs",
    "measured": "specs",
    "figure": "figures",
    "goal": "goals",
    "fitted": "positions",
    "count": "positions",
    "changed": "positions",
    "kept": "positions",
    "sister": "positions",
    "offered": "features",
    "done": "works",
    "opened": "joints",
}
"""Nodes that name something, and under which head of `Names` it is told."""


@record(slots=True)
class Names:
    """What an expression names, for tracing and for finding what no rule looks at."""

    specs: tuple[tuple[str, str], ...] = ()
    figures: tuple[str, ...] = ()
    goals: tuple[str, ...] = ()
    positions: tuple[str, ...] = ()
    features: tuple[str, ...] = ()
    works: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()


def names_in(tree: Nodes) -> Names:
    """Give what a tree, frozen or as JSON gives it, names, in the order in which it was written.

    >>> names_in(("add", ("spec", "rod", "mass"), ("mult", ("figure", "gap"), ("number", 2.0)))).specs
    (('rod', 'mass'),)
    """
    found: dict[str, list[Any]] = {}
    _collect(tree, found)
    return Names(**{head: tuple(entries) for head, entries in found.items()})


def _collect(tree: Nodes, found: dict[str, list[Any]]) -> None:
    head = NAMING.get(tree[0])
    if head is not None:
        found.setdefault(head, []).append(tuple(tree[1:]) if head == "specs" else tree[1])
        return
    if tree[0] == "words":
        return
    for operand in tree[2 if tree[0] == "chain" else 1 :]:
        if type(operand) is tuple or type(operand) is list:
            _collect(operand, found)


def frozen(data: Any) -> Any:
    """Lists as tuples, all the way down, as a tree comes back from JSON.

    >>> frozen(["min", ["number", 1.0], ["figure", "gap"]])
    ('min', ('number', 1.0), ('figure', 'gap'))
    """
    return tuple([frozen(entry) for entry in data]) if type(data) is list else data
