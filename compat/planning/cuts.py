"""What the checker rules out, as data for the solver: boxes of options, and what is asked of offers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

__all__ = ["ENOUGH", "Ask", "Box", "Guess", "Share", "cover", "point"]

ENOUGH = 100
"""What a rule lacks, or has to spare, in the numbers of a guess."""


@dataclass(frozen=True, slots=True)
class Box:
    """Options of which not every one may be taken from: each choice that lies in it fails."""

    sides: tuple[tuple[int, frozenset[int]], ...]
    """Decision and options; decisions rise."""
    rule: str = ""
    """What fails."""

    def holds(self, choice: Sequence[int]) -> bool:
        """Whether a choice lies in it."""
        return all(choice[decision] in options for decision, options in self.sides)


@dataclass(frozen=True, slots=True)
class Ask:
    """In a box of choices, so many units at least must be offered."""

    when: tuple[tuple[int, frozenset[int]], ...]
    count: int
    offered: tuple[tuple[int, int, int], ...]
    """Decision, option, and the units that it offers at most."""
    rule: str = ""
    added: int | None = None
    """The work that comes by itself where nobody offers enough, at its price."""


@dataclass(frozen=True, slots=True)
class Share:
    """What is used up: what options ask of it, and what options offer of it at most."""

    asked: tuple[tuple[int, int, int], ...]
    offered: tuple[tuple[int, int, int], ...]
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Guess:
    """What would likely let a rule hold: a guess, which proves nothing."""

    rule: str
    least: int
    """What the changes must come to together."""
    helps: tuple[tuple[int, int, int], ...]
    """Decision, option, and what it brings, in hundredths of what is lacking or to spare; it may be a loss."""


def point(sides: Mapping[int, Iterable[int]], rule: str = "") -> Box:
    """A box of its sides.

    >>> point({3: [1], 1: [0, 2]}, "rod-fits").sides
    ((1, frozenset({0, 2})), (3, frozenset({1})))
    """
    return Box(tuple((decision, frozenset(sides[decision])) for decision in sorted(sides)), rule)


def cover(cells: set[tuple[int, ...]], sizes: Sequence[int]) -> list[tuple[frozenset[int], ...]]:
    """Few boxes that hold all of some cells and no other.

    Parameters
    ----------
    cells : set of tuple of int
        Cells of a grid.
    sizes : sequence of int
        How many numbers each axis has.

    Returns
    -------
    list of tuple of frozenset
        Boxes, each as large as it can be made of the cells; together they hold each cell.

    Examples
    --------
    >>> [[sorted(side) for side in box] for box in cover({(0, 0), (0, 1), (1, 1)}, (2, 2))]
    [[[0], [0, 1]], [[0, 1], [1]]]
    """
    found: list[tuple[frozenset[int], ...]] = []
    left = set(cells)
    for cell in sorted(cells):
        if cell not in left:
            continue
        box = [frozenset([number]) for number in cell]
        # the axis along which most can be taken in comes first
        for axis in _widest_first(cell, cells, sizes):
            more = [n for n in range(sizes[axis]) if n in box[axis] or _holds(box, axis, n, cells)]
            box[axis] = frozenset(more)
        found.append(tuple(box))
        left.difference_update(_cells_of(box))
    return found


def _widest_first(cell: tuple[int, ...], cells: set[tuple[int, ...]], sizes: Sequence[int]) -> list[int]:
    def width(axis: int) -> float:
        line = sum((*cell[:axis], number, *cell[axis + 1 :]) in cells for number in range(sizes[axis]))
        return -line / sizes[axis]

    return sorted(range(len(cell)), key=width)


def _holds(box: Sequence[frozenset[int]], axis: int, number: int, cells: set[tuple[int, ...]]) -> bool:
    return all(cell in cells for cell in _cells_of([*box[:axis], frozenset([number]), *box[axis + 1 :]]))


def _cells_of(box: Sequence[frozenset[int]]) -> Iterable[tuple[int, ...]]:
    from itertools import product

    return product(*map(sorted, box))
