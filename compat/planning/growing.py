"""From one choice that fails to all that fail for the same reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from compat.planning.boxes import Box as Grown
from compat.planning.boxes import Boxes, Question
from compat.planning.cells import Cells
from compat.planning.cuts import Box, point
from compat.planning.grounds import Ground, Grounds
from compat.planning.readings import Readings
from compat.planning.space import Choice, Space
from compat.planning.tables import heavy_figures
from compat.rulebook.rulebook import BoundRule

__all__ = ["Grower"]

ORDERS = 2
"""In so many orders a box is widened by bounds."""
MOSTLY = 0.8
"""Of the decisions that a rule can tell apart so many are no few."""
IN_VAIN = 2
"""After so many times that bounds of a rule on the cycle opened few decisions they are asked no more."""
QUESTIONS = 240
"""So many questions a box is grown with."""


class Grower:
    """Grows what one failing choice says.

    Parameters
    ----------
    space, grounds, cells, readings
        The space, what its rules rest on, what asks them, and what they read.
    plain : bool
        Whether nothing is grown: a failing choice rules out what is the same to its rule, and no more.
    """

    def __init__(
        self,
        space: Space,
        grounds: Grounds,
        cells: Cells,
        readings: Readings,
        plain: bool = False,
    ) -> None:
        self.space = space
        self.grounds = grounds
        self.cells = cells
        self.plain = plain
        self.heavy = heavy_figures(space)
        self.boxes = Boxes(readings)
        self._in_vain: dict[str, int] = {}
        self._asking: dict[str, Question] = {}

    def light(self, ground: Ground) -> bool:
        """Whether a question about a rule takes no time to speak of."""
        return not ground.joints and self.heavy.isdisjoint(ground.figures)

    def cuts(self, rule: BoundRule, ground: Ground, choice: Choice, *, patient: bool = True) -> Iterator[Box]:
        """Boxes of choices that fail for the same reason, one of which holds the choice itself.

        Where there is no time to be patient, no bounds are asked.
        """
        start = ground.classes_of(choice)
        quick = self.plain or not patient
        grown = [] if quick else list(self.bounded(rule, choice))
        yield from grown
        if self.plain or not self.light(ground):
            if not grown:
                yield self._box(rule, ground, [frozenset([number]) for number in start])
            return
        boxes: list[list[frozenset[int]]] = []
        sizes = [len(classes) for classes in ground.classes]
        axes = sorted(range(len(sizes)), key=lambda axis: -sizes[axis])
        for turn in range(min(2, len(axes)) or 1):
            box = self._grown(rule, ground, choice, start, [*axes[turn:], *axes[:turn]], sizes)
            if box not in boxes:
                boxes.append(box)
                yield self._box(rule, ground, box)

    def bounded(self, rule: BoundRule, choice: Choice) -> Iterator[Box]:
        """Boxes over which bounds of a rule's figures show that it fails."""
        name = rule.rule.rule
        if name not in self.space.book.judged or self._in_vain.get(name, 0) >= IN_VAIN:
            return
        told = {d.key: number for d, number in zip(self.space.decisions, choice, strict=True)}
        grown = self.boxes.grow(name, told, ORDERS)
        question = self.boxes.question(name)
        telling = sum(len(groups) > 1 for groups in question.groups)
        if question.heavy and all(len(box.options) > MOSTLY * telling for box in grown):
            self._in_vain[name] = self._in_vain.get(name, 0) + 1
        yield from map(self.of_options, grown)

    def of_options(self, box: Grown) -> Box:
        """A box by the numbers of its decisions."""
        number = self.space.number
        return point({number[key]: map(int, map(str, own)) for key, own in box.options.items()}, box.rule)

    def asking(self, rule: BoundRule, choice: Choice) -> Box | None:
        """A box of choices over which a need rule surely asks; None where how much it asks hangs on more."""
        if self.plain or rule.where is None or rule.matching or rule.count is not None:
            return None
        name = rule.rule.rule
        if name not in self._asking:
            never = replace(rule.rule, need=None, never=rule.where.text, otherwise="conflict")
            bound = BoundRule(never, never=rule.where)
            self._asking[name] = Question(bound, self.boxes.readings)
        told = {d.key: number for d, number in zip(self.space.decisions, choice, strict=True)}
        found = self._asking[name].grow(told, ORDERS)
        return self.of_options(found[0]) if found else None

    def _grown(
        self,
        rule: BoundRule,
        ground: Ground,
        choice: Choice,
        start: Sequence[int],
        axes: Sequence[int],
        sizes: Sequence[int],
    ) -> list[frozenset[int]]:
        """A box grown axis by axis, every cell of it asked."""
        box = [frozenset([number]) for number in start]
        asked = 0
        trial = list(choice)
        for axis in axes:
            slice_size = 1
            for other, side in enumerate(box):
                slice_size *= len(side) if other != axis else 1
            for number in range(sizes[axis]):
                if number in box[axis]:
                    continue
                if asked + slice_size > QUESTIONS:
                    return box
                fails = True
                for cell in product(*(side if n != axis else (number,) for n, side in enumerate(box))):
                    asked += 1
                    for index, group in enumerate(cell):
                        trial[ground.decisions[index]] = ground.classes[index][group][0]
                    if not self.cells.fails(rule, ground, trial):
                        fails = False
                        break
                if fails:
                    box[axis] = box[axis] | {number}
        return box

    def _box(self, rule: BoundRule, ground: Ground, box: Sequence[frozenset[int]]) -> Box:
        return point(
            {
                decision: [option for number in box[index] for option in ground.options(index, number)]
                for index, decision in enumerate(ground.decisions)
                if len(box[index]) < len(ground.classes[index])
            },
            rule.rule.rule,
        )
