"""Sizes that work is worth doing to: the middle of what the rules that look at them allow, for each neighbour.

A depth or a diameter is no choice out of a list, but of all sizes only few are worth trying: for every
combination of neighbours a rule allows a stretch, and one size for each group of stretches that overlap serves
all of them. What is proved of builds with such work is proved of these sizes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import islice, product
from math import floor, inf, log10

from compat.checking.judging import judge
from compat.checking.outcome import Held, Outcome, Paired
from compat.planning.cells import Cells
from compat.planning.grounds import Ground, Grounds
from compat.planning.space import Option, Space
from compat.planning.tables import heavy_figures
from compat.rulebook.rulebook import BoundRule, WorkBound
from compat.shop.models import Parameter, Work, WorkDone, plain

__all__ = ["Stretch", "stabbing", "with_values"]

Key = tuple[str, str]
"""Position and spec."""
COMBINATIONS = 32
"""Of so many combinations of neighbours a rule is asked what it allows."""
MOST = 10
"""So many sizes of one piece of work are tried beside those that are stated."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Sizes that a rule allows, in the unit of what the work takes."""

    low: float
    high: float
    grid: float
    """To what a size is rounded."""


def with_values(space: Space) -> Space:
    """The same space, with sizes for all work that takes one.

    Parameters
    ----------
    space : Space
        A space whose work has the sizes that the build or a default states.

    Returns
    -------
    Space
        With an option for every size worth trying. Work that takes two sizes without a default for one of them
        keeps to what is stated: how they hang together no rule says.
    """
    grounds, cells = Grounds(space), Cells(space)
    heavy = heavy_figures(space)
    rules: dict[tuple[str, str], list[BoundRule]] = {}
    for rule in space.book.judged.values():
        if rule.rule.sort in ("limits", "match"):
            uses = grounds.uses.of(rule.expressions())
            if heavy.isdisjoint(use[1] for use in uses if use[0] == "figure"):
                for use in uses:
                    if use[0] == "spec":
                        rules.setdefault((use[1], use[2]), []).append(rule)
    options: dict[int, list[Option]] = {}
    for number, decision in enumerate(space.decisions):
        if decision.kind != "work" or (len(decision.options) == 1 and decision.options[0].works):
            continue
        parameter = free_parameter(space.shop.works[decision.name])
        if parameter is not None:
            finder = _Finder(space, grounds, cells, rules, number)
            sizes = finder.sizes(*parameter)
            found = [Option("done", works=(_done(decision.name, parameter, size),)) for size in sizes]
            known = {_told(option) for option in decision.options}
            options[number] = [*decision.options, *(o for o in found if _told(o) not in known)]
    for number, own in options.items():
        space = space.with_options(number, own)
    return space


def free_parameter(work: Work) -> tuple[str, Parameter] | None:
    """What a piece of work takes that is to be found: the one without a default, or else the only one."""
    open_ones = [(name, taken) for name, taken in work.takes.items() if taken.default is None]
    if len(open_ones) == 1:
        return open_ones[0]
    return next(iter(work.takes.items())) if len(work.takes) == 1 else None


def _done(work: str, parameter: tuple[str, Parameter], size: Decimal) -> WorkDone:
    name, taken = parameter
    unit = "" if taken.unit == "number" else f" {taken.unit}"
    return WorkDone(work=work, values={name: f"{size}{unit}"})


def _told(option: Option) -> object:
    return tuple((done.work, tuple(done.values.items())) for done in option.works)


class _Finder:
    """Finds sizes of one piece of work."""

    def __init__(
        self,
        space: Space,
        grounds: Grounds,
        cells: Cells,
        rules: Mapping[Key, Sequence[BoundRule]],
        number: int,
    ) -> None:
        self.space = space
        self.grounds = grounds
        self.cells = cells
        self.number = number
        self.work = space.shop.works[space.decisions[number].name]
        changed = dict.fromkeys((c.position, c.spec) for c in space.book.changes[self.work.work])
        self.rules = {rule.rule.rule: rule for key in changed for rule in rules.get(key, ())}

    def sizes(self, name: str, parameter: Parameter) -> list[Decimal]:
        """Sizes worth trying."""
        stretches: list[Stretch] = []
        for rule in self.rules.values():
            stretches += self._of_rule(rule, name, parameter)
        least, most = self._bounds(name, parameter)
        within = [
            replace(one, low=max(one.low, least), high=min(one.high, most))
            for one in stretches
            if one.high >= least and one.low <= most
        ]
        return stabbing(within, MOST)

    def _bounds(self, name: str, parameter: Parameter) -> tuple[float, float]:
        """The least and the greatest size that any part in hand allows, as far as few combinations tell."""
        rule = self.space.book.bounds.get(self.work.work, {}).get(name)
        if rule is None:
            return 0.0, inf
        ground = self.grounds.of_rule(rule)
        choice = list(self.space.start)
        least, most = inf, 0.0
        sizes = [len(classes) for classes in ground.classes]
        for cell in islice(_combinations(sizes), COMBINATIONS):
            for axis, number in enumerate(ground.decisions):
                choice[number] = ground.options(axis, cell[axis])[0]
            found = self._measure(rule, ground, choice, name, parameter, self._middle(choice, parameter))
            if found is not None:
                factor = parameter.measure().factor
                least = min(least, 0.0 if found[1] is None else found[1] / factor)
                most = max(most, inf if found[2] is None else found[2] / factor)
        return (0.0, inf) if least > most else (least, most)

    def _of_rule(self, rule: BoundRule, name: str, parameter: Parameter) -> Iterator[Stretch]:
        # the work itself may leave no choice yet, and so may stand in no ground
        ground = self.grounds.of(rule.expressions(), [self.work.work])
        if ground.joints:
            return
        choice = list(self.space.start)
        positions = [
            (axis, number)
            for axis, number in enumerate(ground.decisions)
            if self.space.decisions[number].kind == "position"
        ]
        seen: set[tuple[float, float]] = set()
        slope: float | None = None
        for cell in islice(_combinations([len(ground.classes[axis]) for axis, _ in positions]), COMBINATIONS):
            for (axis, number), group in zip(positions, cell, strict=True):
                choice[number] = ground.options(axis, group)[0]
            one = self._middle(choice, parameter)
            first = self._measure(rule, ground, choice, name, parameter, one)
            if first is None:
                continue
            if slope is None:  # what is measured goes nearly straight with the size, with every neighbour alike
                other = one * 1.01 if one else 1.0
                moved = self._measure(rule, ground, choice, name, parameter, other)
                slope = None if moved is None else (moved[0] - first[0]) / (other - one)
                if slope is not None and abs(slope) < 1e-12:
                    return
            if slope is not None:
                found = _stretch(one, slope, *first)
                if found is not None and (found.low, found.high) not in seen:
                    seen.add((found.low, found.high))
                    yield found

    def _middle(self, choice: Sequence[int], parameter: Parameter) -> float:
        """A size to begin with: what the spec that is changed is now, where the work says to what."""
        for change in self.space.book.changes[self.work.work]:
            if change.adds:
                continue
            numbers = self.space.at(change.position)[:1]
            for number in numbers:
                decision = self.space.decisions[number]
                entry = self.space.fitted(decision.name, decision.options[choice[number]])
                if entry is None:
                    continue
                spec = self.space.shop.stated(change.position, entry.part.part).get(change.spec)
                nominal = getattr(spec.value, "nominal", None) if spec is not None else None
                if nominal:
                    return float(nominal / parameter.measure().factor)
        return 0.1

    def _measure(
        self,
        rule: BoundRule,
        ground: Ground,
        choice: Sequence[int],
        name: str,
        parameter: Parameter,
        size: float,
    ) -> tuple[float, float | None, float | None] | None:
        unit = "" if parameter.unit == "number" else f" {parameter.unit}"
        values = {key: p.read(p.default) for key, p in self.work.takes.items() if p.default is not None}
        values[name] = parameter.read(f"{size:.6f}{unit}")
        world = self.cells.world(ground, choice, {self.number: ((self.work, values),)}, tolerance=False)
        if isinstance(rule, WorkBound):
            return _numbers(next((o for o in world.working if o.rule == rule.rule.rule), None))
        return _numbers(judge(world, rule))


def _numbers(outcome: Outcome | None) -> tuple[float, float | None, float | None] | None:
    """What an outcome measured, and between which limits."""
    if outcome is None:
        return None
    if isinstance(outcome.seen, Held):
        return outcome.seen.value, outcome.seen.least, outcome.seen.most
    if isinstance(outcome.seen, Paired):
        for _, one, other, _ in outcome.seen.pairs:
            if isinstance(one, float) and isinstance(other, float):
                return one - other, 0.0, 0.0
    return None


def _stretch(
    size: float, slope: float, value: float, least: float | None, most: float | None
) -> Stretch | None:
    """Sizes that a rule allows, by a straight line through what was measured at one of them.

    >>> _stretch(10.0, 1.0, 2.0, 1.5, 2.5)
    Stretch(low=9.5, high=10.5, grid=0.01)
    """
    low, high = (None if bound is None else size + (bound - value) / slope for bound in (least, most))
    if slope < 0:
        low, high = high, low
    if low is not None and high is not None:
        if low > high:
            low = high = (low + high) / 2
        grid = _grid(abs(high - low) / 20)
    else:
        end = low if low is not None else high
        if end is None:
            return None
        grid = _grid(max(abs(end), 1e-6) / 20)
        low, high = (end, end + 2 * grid) if low is not None else (end - 2 * grid, end)
    return Stretch(low, high, grid) if high > 0 else None


def _combinations(sizes: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Combinations of classes: all where they are few, else first those near the build as it stands."""
    count = 1
    for size in sizes:
        count *= size
    if count <= COMBINATIONS:
        yield from product(*map(range, sizes))
        return
    yield (0,) * len(sizes)
    for axis, size in enumerate(sizes):
        for number in range(1, size):
            yield (*(0,) * axis, number, *(0,) * (len(sizes) - axis - 1))
    for axis, size in enumerate(sizes):
        for beside in range(axis + 1, len(sizes)):
            for number, its in product(range(1, size), range(1, sizes[beside])):
                cell = [0] * len(sizes)
                cell[axis], cell[beside] = number, its
                yield tuple(cell)


def _grid(step: float) -> float:
    """The power of ten at or below a step.

    >>> _grid(0.0031)
    0.001
    """
    return max(float(10.0 ** floor(log10(step))), 1e-4) if step > 0 else 0.001


def stabbing(stretches: Sequence[Stretch], most: int) -> list[Decimal]:
    """Few sizes of which one lies in every stretch.

    Parameters
    ----------
    stretches : sequence of Stretch
        What is allowed.
    most : int
        So many sizes are given at most: those that serve most stretches.

    Returns
    -------
    list of Decimal
        Rising; each the middle of what a group of stretches have in common, rounded to their finest grid.

    Examples
    --------
    >>> stabbing([Stretch(1.0, 2.0, 0.1), Stretch(1.5, 3.0, 0.1), Stretch(4.0, 4.2, 0.01)], 5)
    [Decimal('1.8'), Decimal('4.1')]
    """
    groups: list[list[Stretch]] = []
    for one in sorted(stretches, key=lambda each: each.high):
        if groups and one.low <= groups[-1][0].high:
            groups[-1].append(one)
        else:
            groups.append([one])
    groups.sort(key=lambda group: -len(group))
    found: dict[Decimal, None] = {}
    for group in groups[:most]:
        low, high = max(one.low for one in group), min(one.high for one in group)
        grid = Decimal(format(min(one.grid for one in group), "f"))
        size = (Decimal(repr((low + high) / 2)) / grid).quantize(Decimal(1)) * grid
        if size > 0:
            found[plain(size)] = None
    return sorted(found)
