"""Every light rule over few decisions, judged once for each combination by the checker itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product

from compat.planning.cells import Cells
from compat.planning.cuts import Box, cover, point
from compat.planning.grounds import Ground, Grounds
from compat.planning.linear import Sum, linear
from compat.planning.readings import Readings
from compat.planning.space import Space
from compat.rulebook.rulebook import BoundRule, WorkBound

__all__ = ["EAGER", "as_sums", "eager", "heavy_figures", "stands", "sums", "tables"]

EAGER = 800
"""Rules with more combinations than so many are asked about when they fail."""
LARGE = 150
"""From so many combinations on a table of more than two decisions can wait until there is a first build."""
MILD = 40
"""The same of rules that only ever warn."""
EAGER_PAIR = 1200
"""The same of rules over two decisions: what each option leaves of the other is worth much to the solver."""


def heavy_figures(space: Space) -> frozenset[str]:
    """Figures whose formula takes long."""
    figures = space.book.figures.items()
    return frozenset(n for n, f in figures if f.formula is not None and f.formula.heavy)


def eager(ground: Ground, heavy: frozenset[str]) -> bool:
    """Whether a rule is judged for every combination beforehand."""
    most = EAGER_PAIR if len(ground.decisions) <= 2 else EAGER
    return not ground.joints and ground.cells <= most and heavy.isdisjoint(ground.figures)


def tables(space: Space, grounds: Grounds, cells: Cells, *, large: bool) -> Iterator[Box]:
    """Boxes of all that light rules over few decisions, and bounds of work, rule out.

    Parameters
    ----------
    space, grounds, cells
        The space, what its rules rest on, and what asks them.
    large : bool
        Whether the tables that take longest are asked for, or all the others: a first build that passes is
        found sooner without them.

    Yields
    ------
    Box
        Combinations that fail, each of the largest boxes that can be made of them.
    """
    heavy = heavy_figures(space)
    for rule in [*space.book.judged.values(), *space.book.of_work.values()]:
        ground = grounds.of_rule(rule)
        if eager(ground, heavy) and _large(rule, ground, cells) == large:
            yield from _of_rule(space, cells, rule, ground)


def _large(rule: BoundRule, ground: Ground, cells: Cells) -> bool:
    # what only ever warns fails where something is not stated, and seldom
    mild = rule.rule.worst not in cells.standard.failing
    return ground.cells > (MILD if mild else LARGE) and (mild or len(ground.decisions) > 2)


def _of_rule(space: Space, cells: Cells, rule: BoundRule, ground: Ground) -> Iterator[Box]:
    choice = list(space.start)
    failing: set[tuple[int, ...]] = set()
    sizes = [len(classes) for classes in ground.classes]
    for cell in product(*map(range, sizes)):
        for index, decision in enumerate(ground.decisions):
            choice[decision] = ground.options(index, cell[index])[0]
        if cells.fails(rule, ground, choice):
            failing.add(cell)
    if len(sizes) == 2 and failing and min(sizes) > 3:
        yield from _rows(ground, failing, rule.rule.rule)
    else:
        yield from _boxes(ground, failing, sizes, rule.rule.rule)


def _rows(ground: Ground, failing: set[tuple[int, ...]], name: str) -> Iterator[Box]:
    """Of a table over two decisions what each option of the one leaves of the other, both ways round."""
    for axis in (0, 1):
        rows: dict[frozenset[int], set[int]] = {}
        for number in range(len(ground.classes[axis])):
            out = frozenset(cell[1 - axis] for cell in failing if cell[axis] == number)
            if out:
                rows.setdefault(out, set()).add(number)
        for out, numbers in rows.items():
            sides = {axis: numbers, 1 - axis: out}
            yield point(
                {
                    ground.decisions[n]: [o for number in side for o in ground.options(n, number)]
                    for n, side in sides.items()
                    if len(side) < len(ground.classes[n])
                },
                name,
            )


def _boxes(ground: Ground, failing: set[tuple[int, ...]], sizes: Sequence[int], name: str) -> Iterator[Box]:
    for box in cover(failing, sizes):
        sides = {
            decision: [option for number in box[index] for option in ground.options(index, number)]
            for index, decision in enumerate(ground.decisions)
            if len(box[index]) < sizes[index]
        }
        yield point(sides, name)


def sums(
    space: Space, grounds: Grounds, readings: Readings, left: Callable[[], bool] = lambda: True
) -> Iterator[Sum]:
    """Light rules with too many combinations for a table that no work bears on, as sums, where they are."""
    heavy = heavy_figures(space)
    for rule in space.book.judged.values():
        ground = grounds.of_rule(rule)
        if not ground.works and not eager(ground, heavy) and left():
            yield from as_sums(rule, ground, readings, heavy)


def as_sums(rule: BoundRule, ground: Ground, readings: Readings, heavy: frozenset[str]) -> Iterator[Sum]:
    """A rule as sums of what its decisions give, each by itself, as far as it is that."""
    if isinstance(rule, WorkBound) or rule.rule.sort not in ("limits", "load"):
        return  # what a piece of work takes is no size of a part
    if not ground.joints and heavy.isdisjoint(ground.figures):
        yield from linear(rule.rule.rule, readings, together=1)


def stands(space: Space) -> Iterator[Box]:
    """What positions, parts and variants say of themselves: nothing where something must be, strangers, parts
    kept apart, work on nothing."""
    shop, build = space.shop, space.base.build
    family, own = space.base.variant.family, space.base.variant.parts
    by_part: dict[str, list[tuple[int, int]]] = {}
    for number, decision in enumerate(space.decisions):
        if decision.kind != "position":
            continue
        place = shop.positions[decision.name]
        for index, option in enumerate(decision.options):
            entry = space.fitted(decision.name, option)
            if entry is None:
                bare = place.required or (place.indispensable and decision.name in own)
                if bare and not space.bringers.get(decision.name):
                    yield point({number: [index]}, f"required-{decision.name.replace('_', '-')}")
                continue
            by_part.setdefault(entry.part.part, []).append((number, index))
            families = entry.part.families
            excused = option.said and build.fits_because.get(decision.name)
            if families and family not in families and not excused:
                yield point({number: [index]}, f"family-{decision.name.replace('_', '-')}")
    for part, places in list(by_part.items()):
        for other in shop.parts[part].never_with:
            for number, index in places:
                for beside, its in by_part.get(other, ()):
                    if beside != number:
                        yield point({number: [index], beside: [its]}, "never-with")
    for number, decision in enumerate(space.decisions):
        if decision.kind == "work":
            on = shop.works[decision.name].on
            empty = space.number.get(on)
            if empty is not None and not space.bringers.get(on):
                there = space.decisions[empty].options
                nothing = [n for n, option in enumerate(there) if space.fitted(on, option) is None]
                done = [n for n, option in enumerate(decision.options) if option.works]
                if nothing and done:
                    yield point({number: done, empty: nothing}, f"no-effect-work-{decision.name}")
