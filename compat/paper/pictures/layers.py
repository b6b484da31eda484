"""Things that rest on others, laid out in columns: what rests to the left of all that it rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["Placed", "layered"]

SWEEPS = 12
"""How often the columns are gone through to and fro; a chain of some tens of steps settles sooner."""


@dataclass(frozen=True, slots=True)
class Placed:
    """Where everything stands, in columns and rows."""

    at: Mapping[str, tuple[int, float]]
    routes: Mapping[tuple[str, str], tuple[tuple[int, float], ...]]
    """For each link the free places by which it passes the columns between its ends."""
    ports: Mapping[tuple[str, str], tuple[int, int]]
    """For each link at which place down the side of its upper end it leaves, and of how many."""
    columns: int
    rows: float


def layered(links: Sequence[tuple[str, Sequence[str]]]) -> Placed:
    """Lay out what rests on what.

    Parameters
    ----------
    links : sequence
        Each thing with those it rests on; names that are not among the things are passed over, and so is a link
        that would close a ring.

    Returns
    -------
    Placed
        Columns by the longest way from the first thing; the order in a column by the mean place of its
        neighbours (barycentres), with a place kept free for every link that passes; rows then moved towards
        the neighbours as far as none comes to lie on another.

    References
    ----------
    .. [1] K. Sugiyama, S. Tagawa, M. Toda, Methods for visual understanding of hierarchical system structures,
       IEEE Trans. Systems, Man, and Cybernetics 11, 1981 (from memory).

    Examples
    --------
    >>> placed = layered([("verdict", ["a", "b"]), ("a", ["b"]), ("b", [])])
    >>> [placed.at[name][0] for name in ("verdict", "a", "b")], placed.columns
    ([0, 1, 2], 3)
    """
    known = dict(links)
    below = {
        name: [each for each in dict.fromkeys(known[name]) if each in known and each != name] for name in known
    }
    _open_rings(below)
    column = _columns(below)
    columns: list[list[str]] = [[] for _ in range(max(column.values()) + 1)]
    for name in below:
        columns[column[name]].append(name)
    chains = _passing(below, column, columns)
    near: dict[str, list[str]] = {name: [] for names in columns for name in names}
    for chain in chains.values():
        for left, right in pairwise(chain):
            near[left].append(right)
            near[right].append(left)
    place = {name: number for names in columns for number, name in enumerate(names)}
    _order(columns, near, place)
    rows = _rows(columns, near, place)
    where = {name: number for number, names in enumerate(columns) for name in names}
    ports: dict[tuple[str, str], tuple[int, int]] = {}
    for name, names in below.items():
        leaving = sorted(names, key=lambda each: rows[chains[name, each][1]])
        ports |= {(name, each): (number, len(names)) for number, each in enumerate(leaving)}
    return Placed(
        ports=ports,
        at={name: (column[name], rows[name]) for name in below},
        routes={
            ends: tuple((where[step], rows[step]) for step in chain[1:-1]) for ends, chain in chains.items()
        },
        columns=len(columns),
        rows=max(rows.values()) + 1,
    )


def _open_rings(below: dict[str, list[str]]) -> None:
    """Leave out each link that leads back to where one came from."""
    done: set[str] = set()

    def visit(name: str, way: set[str]) -> None:
        below[name] = [each for each in below[name] if each not in way]
        for each in below[name]:
            if each not in done:
                visit(each, way | {each})
        done.add(name)

    for name in below:
        if name not in done:
            visit(name, {name})


def _columns(below: Mapping[str, Sequence[str]]) -> dict[str, int]:
    """Longest way to each thing from one on which nothing rests."""
    column = dict.fromkeys(below, 0)
    moved = True
    while moved:
        moved = False
        for name, names in below.items():
            for each in names:
                if column[each] <= column[name]:
                    column[each], moved = column[name] + 1, True
    return column


def _passing(
    below: Mapping[str, Sequence[str]], column: Mapping[str, int], columns: list[list[str]]
) -> dict[tuple[str, str], list[str]]:
    """Put a place into every column that a link passes; gives the way of each link."""
    chains = {}
    for name, names in below.items():
        for each in names:
            chain = [name]
            for number in range(column[name] + 1, column[each]):
                # links to the same thing run together from where they meet
                passing = f"{each}\n{number}"
                if passing not in columns[number]:
                    columns[number].append(passing)
                chain.append(passing)
            chains[name, each] = [*chain, each]
    return chains


def _order(columns: list[list[str]], near: Mapping[str, Sequence[str]], place: dict[str, int]) -> None:
    """Sort each column by the mean place of its neighbours, to and fro; the order of fewest crossings stays."""
    side = {name: number for number, names in enumerate(columns) for name in names}
    best, fewest = [list(names) for names in columns], _crossings(columns, near, place, side)
    for sweep in range(SWEEPS):
        forth = sweep % 2 == 0
        for number in range(1, len(columns)) if forth else range(len(columns) - 2, -1, -1):
            towards = number - 1 if forth else number + 1
            mean = {}
            for name in columns[number]:
                places = [place[each] for each in near[name] if side[each] == towards]
                mean[name] = sum(places) / len(places) if places else float(place[name])
            columns[number].sort(key=lambda name: (mean[name], place[name]))
            place.update({name: index for index, name in enumerate(columns[number])})
        found = _crossings(columns, near, place, side)
        if found < fewest:
            best, fewest = [list(names) for names in columns], found
    for number, names in enumerate(best):
        columns[number] = names
        place.update({name: index for index, name in enumerate(names)})


def _crossings(
    columns: Sequence[Sequence[str]],
    near: Mapping[str, Sequence[str]],
    place: Mapping[str, int],
    side: Mapping[str, int],
) -> int:
    """How many links cross one another."""
    count = 0
    for number, names in enumerate(columns):
        ends = [
            (place[name], place[each])
            for name in names
            for each in dict.fromkeys(near[name])
            if side[each] == number + 1
        ]
        count += sum(a < c and b > d for a, b in ends for c, d in ends)
    return count


def _rows(
    columns: Sequence[Sequence[str]], near: Mapping[str, Sequence[str]], place: Mapping[str, int]
) -> dict[str, float]:
    """Rows that keep the order, a row apart, a part of one for a passing link, close to their neighbours."""
    rows = {name: float(place[name]) for names in columns for name in names}
    for sweep in range(SWEEPS):
        for names in reversed(columns) if sweep % 2 else columns:
            wanted = [
                sum(rows[each] for each in near[name]) / len(near[name]) if near[name] else rows[name]
                for name in names
            ]
            for name, row in zip(names, _apart(wanted, [_size(name) for name in names]), strict=True):
                rows[name] = row
    least = min(rows.values())
    return {name: round(row - least, 6) for name, row in rows.items()}


def _size(name: str) -> float:
    return 0.3 if "\n" in name else 1.0


def _apart(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Rows nearest to those wanted, in their order, none upon another (pooling of those that push each other).

    >>> _apart([0.0, 0.0, 5.0], [1.0, 1.0, 1.0])
    [-0.5, 0.5, 5.0]
    """
    groups: list[tuple[float, list[float]]] = []
    offset, offsets = 0.0, []
    for number, size in enumerate(sizes):
        if number:
            offset += (sizes[number - 1] + size) / 2
        offsets.append(offset)
    for row, start in zip(wanted, offsets, strict=True):
        group = (row - start, [row - start])
        while groups and groups[-1][0] > group[0]:
            held = [*groups.pop()[1], *group[1]]
            group = (sum(held) / len(held), held)
        groups.append(group)
    found = [mean for mean, held in groups for _ in held]
    return [mean + start for mean, start in zip(found, offsets, strict=True)]
