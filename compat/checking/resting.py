"""Which rules and figures rest on a part in its place, or on work being done."""

from __future__ import annotations

from collections.abc import Sequence, Set

from compat.record import record
from compat.rulebook.rulebook import Rulebook

__all__ = ["Resting", "Rests"]


@record
class Rests:
    """What rests on one place or piece of work; rules in the order of their files but for `heavy`."""

    rules: Set[str]
    figures: Set[str]
    needs: tuple[str, ...]
    """Rules that ask for something to be there."""
    light: tuple[str, ...]
    """Rules that look at one thing at a time."""
    heavy: tuple[str, ...]
    """Those of them that rest on a formula that takes long, which must be asked again; the quickest first."""
    middles: bool
    """Whether a bad end shows in middle values of figures alone; what must be alike is so within tolerances."""
    beside: Set[str]
    """Positions, work as ``work:id`` and features that the same rules rest on."""


class Resting:
    """What rests on each place and piece of work, worked out once for a rulebook; threads may share it."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book
        self._known: dict[str, Rests] = {}

    def of(self, name: str, fills: Sequence[str]) -> Rests:
        """What a part can move by standing in a place, or work by being done."""
        key = fills[0] if fills else f"work:{name}"
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._find(name, fills)
        return found

    def _find(self, name: str, fills: Sequence[str]) -> Rests:
        book, influence = self.book, self.book.influence
        moved = influence.at(fills[0]) if fills else influence.of([("work", name)])
        formulas = {figure: book.figures[figure].formula for figure in moved.figures}
        slow = [
            ("figure", figure) for figure, formula in formulas.items() if formula is not None and formula.heavy
        ]
        heavy = influence.of(slow).rules
        takes = {rule: book.long_calls(book.rules[rule]) for rule in heavy}
        rules = sorted(moved.rules, key=influence.number.__getitem__)
        judged = [rule for rule in rules if rule in book.judged]
        return Rests(
            moved.rules,
            moved.figures,
            tuple(rule for rule in rules if rule in book.needs),
            tuple(rule for rule in judged if rule not in heavy),
            tuple(sorted((rule for rule in judged if rule in heavy), key=takes.__getitem__)),
            not any(self._alike(rule) for rule in rules),
            influence.things(rules),
        )

    def _alike(self, rule: str) -> bool:
        """Whether a rule holds figures against each other that must be alike."""
        bound = self.book.rules[rule]
        return bound.rule.sort == "match" and bool(self.book.gather(bound.expressions()).figures)
