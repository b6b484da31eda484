"""Every combination of candidate parts, judged through tables.

A rule looks at a few positions, so its verdict is the same for all combinations that agree on those. Each rule
is judged once for every choice of its own positions, which gives a table; tables are laid over each other with
numpy, and the worst verdict of a combination is the worst of its cells. Rules that rest on heavy formulas come
last, and only for what the light ones have left in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from functools import partial
from itertools import product
from operator import itemgetter
from typing import TYPE_CHECKING

from compat.checking.built import settle
from compat.checking.check import Checked
from compat.checking.judging import judge
from compat.checking.outcome import OUT, RANK
from compat.checking.places import Places
from compat.checking.session import Session
from compat.checking.settle import Fitted, Settled
from compat.checking.standing import Look, looks
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.models import VERDICTS, Verdict
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.trees import Names
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Sweep", "sweep"]

Worst = tuple[int, str]
"""The rank of a worst verdict, and the rule that gave it."""
FINE: Worst = (RANK["ok"], "")


@record
class Sweep:
    """The worst verdict of every combination, by what its parts are."""

    session: Session
    base: Checked
    positions: tuple[str, ...]
    candidates: tuple[tuple[str, ...], ...]
    """Parts tried, position by position."""
    worst: NDArray[np.int8]
    """Rank of the worst verdict found (0 a conflict, 6 fine), one axis a position. What is out may have worse
    against it still: it was not looked at further."""
    judged: int
    """How many times a rule was judged."""
    of_parts: NDArray[np.int8]
    """The same of what hangs on a part that is tried, alone. Where something else stands against every
    combination it was looked at only if that was asked."""
    whose: NDArray[np.int32]
    """Number in `rules` of what gave `of_parts`; -1: nothing did."""
    rules: tuple[str, ...]
    apart: frozenset[str]
    """Rules whose outcome hangs on no part that is tried, so that it is that of the base; needs and renewals
    are left aside."""

    @property
    def clean(self) -> NDArray[np.bool_]:
        """Which combinations have nothing against them, needs, renewals and bounds of work apart."""
        found: NDArray[np.bool_] = self.worst > OUT
        return found

    @property
    def proven(self) -> NDArray[np.bool_]:
        """Which combinations are clean and leave no question open, needs and renewals apart."""
        found: NDArray[np.bool_] = self.worst > VERDICTS.index("unknown")
        return found

    def verdict(self, **parts: str) -> Verdict:
        """The worst verdict of one combination."""
        index = tuple(
            names.index(parts[position])
            for position, names in zip(self.positions, self.candidates, strict=True)
        )
        return VERDICTS[int(self.worst[index])]

    def survivors(self) -> Iterator[dict[str, str]]:
        """Every combination that has nothing against it, as part by position."""
        import numpy as np

        for index in np.argwhere(self.clean):
            yield {
                position: names[number]
                for position, names, number in zip(self.positions, self.candidates, index, strict=True)
            }

    def checks(self) -> Iterator[Checked]:
        """The whole check of every survivor, needs and renewals with it."""
        ready = self.base.world.settled.ready
        for fit in self.survivors():
            yield self.session.check(ready.fitting(**fit), self.base)


def sweep(
    session: Session, base: Checked, candidates: Mapping[str, Iterable[str]], through: bool = False
) -> Sweep:
    """Judge every combination of candidate parts on a build.

    Parameters
    ----------
    session : Session
        The session.
    base : Checked
        The build that the parts go into.
    candidates : mapping
        Parts to try, by position.
    through : bool
        Whether what hangs on the parts is judged also where something else stands against every combination.

    Returns
    -------
    Sweep
        The worst verdict of each combination, of what stands where and of all rules but those of need and
        renewal. These, and whether work stays within its bounds, are decided on whole builds:
        `Sweep.checks` does that for what is left.

    Raises
    ------
    Faults
        When a part or position is not known, or the part does not fill it.
    """
    positions = tuple(candidates)
    names = tuple(tuple(dict.fromkeys(candidates[position])) for position in positions)
    faults: list[Fault] = []
    for position, parts in zip(positions, names, strict=True):
        for part in parts:
            try:
                base.world.settled.ready.fitting(**{position: part})
            except Faults as found:
                faults += found.faults
    if faults:
        raise Faults(faults)  # all of them, before the first combination is judged
    return _Sweeper(session, base, positions, names, through).run()


class _Sweeper:
    def __init__(
        self,
        session: Session,
        base: Checked,
        positions: Sequence[str],
        names: Sequence[Sequence[str]],
        through: bool,
    ) -> None:
        import numpy as np

        self.session = session
        self.base = base
        self.positions = tuple(positions)
        self.names = tuple(map(tuple, names))
        self.places = Places(base.world)
        self.reach = _Reach(session.shop, session.book, base.world.settled, self.positions, self.names)
        self.through = through
        self.worst = np.full([len(parts) for parts in names], RANK["ok"], dtype=np.int8)
        self.still = RANK["ok"]
        """The worst of what hangs on none of the parts."""
        self.whose = np.full_like(self.worst, -1, dtype=np.int32)
        self.numbers: dict[str, int] = {}
        """Of rules that gave a worst verdict, in the order in which they came."""
        self.judged = 0

    def run(self) -> Sweep:
        import numpy as np

        standing: dict[tuple[int, ...], list[Look]] = {}
        moving = frozenset[str]().union(*self.reach.moves)
        for look in looks(self.base.world.settled, moving, self.reach.tried):
            standing.setdefault(self.reach.touching(look.places), []).append(look)
        light: dict[tuple[int, ...], list[BoundRule]] = {}
        heavy: dict[tuple[int, ...], list[BoundRule]] = {}
        for rule in self.session.book.judged.values():
            axes = self.reach.axes(rule)
            long = self.session.book.takes_long(rule)
            (heavy if long else light).setdefault(axes, []).append(rule)
        # few axes first: a conflict of two parts takes out every combination that holds both
        for axes in self.few_first(standing):
            self.lay(axes, partial(self.stands, looks=standing[axes]))
        for groups in (light, heavy):
            for axes in self.few_first(groups):
                self.lay(axes, partial(self.cell, rules=groups[axes]))
        apart = {rule.rule.rule for groups in (light, heavy) for rule in groups.get((), ())}
        apart |= {o.rule for look in standing.get((), ()) for o in look.judge(self.base.world)}
        return Sweep(
            self.session,
            self.base,
            self.positions,
            self.names,
            worst=np.minimum(self.worst, np.int8(self.still)),
            judged=self.judged,
            of_parts=self.worst,
            whose=self.whose,
            rules=tuple(self.numbers),
            apart=frozenset(apart),
        )

    def few_first(self, groups: Iterable[tuple[int, ...]]) -> list[tuple[int, ...]]:
        return sorted(groups, key=lambda axes: (self.cells(axes), axes))

    def cells(self, axes: tuple[int, ...]) -> int:
        count = 1
        for axis in axes:
            count *= len(self.names[axis])
        return count

    def lay(self, axes: tuple[int, ...], worst: Callable[[dict[str, str]], Worst]) -> None:
        """Judge once every choice of some positions still in, and lay the table over all."""
        import numpy as np

        if self.still <= OUT and not self.through:
            return
        if not axes:
            self.still = min(self.still, worst({})[0])
            return
        others = tuple(axis for axis in range(len(self.positions)) if axis not in axes)
        shape = [len(self.names[axis]) for axis in axes]
        alive = np.asarray(np.any(self.worst > OUT, axis=others))
        table = np.full(shape, RANK["ok"], dtype=np.int8)
        whose = np.full(shape, -1, dtype=np.int32)
        for index in product(*map(range, shape)):
            if alive[index]:
                fit = {self.positions[axis]: self.names[axis][i] for axis, i in zip(axes, index, strict=True)}
                table[index], rule = worst(fit)
                whose[index] = self.number(rule)
        wide = [len(parts) if axis in axes else 1 for axis, parts in enumerate(self.names)]
        over = table.reshape(wide)
        np.copyto(self.whose, whose.reshape(wide), where=over < self.worst)
        np.minimum(self.worst, over, out=self.worst)

    def number(self, rule: str) -> int:
        """The number of a rule among those that gave a worst verdict; -1 for none."""
        if not rule:
            return -1
        if rule not in self.numbers:
            self.numbers[rule] = len(self.numbers)
        return self.numbers[rule]

    def cell(self, fit: dict[str, str], rules: list[BoundRule]) -> Worst:
        """The worst verdict of some rules on one choice; the first that takes it out ends it."""
        world = self.world(fit, rules)
        worst = FINE
        for rule in rules:
            self.judged += 1
            outcome = judge(world, rule)
            if outcome is not None:
                worst = min(worst, (RANK[outcome.verdict], outcome.rule), key=itemgetter(0))
                if worst[0] <= OUT:
                    break
        return worst

    def stands(self, fit: dict[str, str], looks: list[Look]) -> Worst:
        """The worst verdict of what stands where, of one choice."""
        build = self.base.world.settled.build
        # what the build says of a position is said of the part that it has there
        spoken = {*build.fits_because, *build.leave_out, *(p for one in build.take_from for p in one.positions)}
        plain = self.places.simple(fit) and spoken.isdisjoint(fit)
        world = self.places.world(fit) if plain and fit else self.settled(fit)
        found = ((RANK[o.verdict], o.rule) for look in looks for o in look.judge(world))
        return min(found, default=FINE, key=itemgetter(0))

    def world(self, fit: dict[str, str], rules: list[BoundRule]) -> BuildWorld:
        if fit and self.places.simple(fit) and all(map(self.places.by_itself, rules)):
            return self.places.world(fit)
        return self.settled(fit)

    def settled(self, fit: dict[str, str]) -> BuildWorld:
        if not fit:
            return self.base.world
        session, ready = self.session, self.base.world.settled.ready
        return settle(session.shop, session.book, ready.fitting(**fit), session.answers)


class _Reach:
    """Which of the swept positions the outcome of a rule can hang on."""

    def __init__(
        self,
        shop: Shop,
        book: Rulebook,
        base: Settled,
        positions: tuple[str, ...],
        names: tuple[tuple[str, ...], ...],
    ) -> None:
        self.shop = shop
        self.book = book
        self.names = names
        self.positions = positions
        self.tried: set[str] = set()
        """Parts that may stand somewhere: candidates, and what comes in their boxes."""
        self.moves = [
            {position, *self._brought(position, parts, base.fitted)}
            for position, parts in zip(positions, names, strict=True)
        ]
        self._spread_by_work(base)

    def _brought(self, position: str, parts: Iterable[str], base: Mapping[str, Fitted]) -> set[str]:
        """Positions that parts out of the box of a candidate, or of what stood there, can fill."""
        before = base.get(position)
        waiting = [*parts, *([before.part.part] if before is not None and before.origin != "factory" else [])]
        found: set[str] = set()
        seen = set(waiting)
        while waiting:
            for other in self.shop.parts[waiting.pop()].includes:
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
                    found |= set(self.shop.parts[other].fills)
        self.tried |= seen
        return found

    def _spread_by_work(self, base: Settled) -> None:
        """Work that looks at one position and changes another carries what moves the one to the other."""
        for work, _ in base.sequence:
            for change in self.book.changes[work.work]:
                if change.expression is None:
                    continue
                looked = self._places(self.book.gather([change.expression]))
                for moved in self.moves:
                    if moved & looked:
                        moved.add(change.position)

    def _places(self, names: Names) -> set[str]:
        return {position for position, _ in names.specs} | set(names.positions)

    def axes(self, rule: BoundRule) -> tuple[int, ...]:
        """Numbers of the swept positions that the rule's outcome can hang on."""
        names = self.book.gather(rule.expressions())
        places = self._places(names)
        for feature in names.features:
            places |= self._offering(feature)
        places |= {self.shop.counted_by[place][0] for place in places if place in self.shop.counted_by}
        for joint in names.joints:
            places |= self._before(joint)
        return self.touching(places)

    def touching(self, places: Set[str]) -> tuple[int, ...]:
        """Numbers of the swept positions that can move one of some positions."""
        return tuple(axis for axis, moved in enumerate(self.moves) if moved & places)

    def _offering(self, feature: str) -> set[str]:
        """Positions that the number of a feature can hang on, by who offers it and on what condition."""
        found: set[str] = set()
        for kind, name, number in self.shop.offerers[feature]:
            if kind == "part":
                found |= set(self.shop.parts[name].fills)
            condition = self.book.conditions.get((kind, name, "offers", number))
            if condition is not None:
                found |= self._places(self.book.gather([condition]))
        return found

    def _before(self, joint: str) -> set[str]:
        """Positions behind a joint, or behind one that is opened by way of it."""
        joints, found = {joint}, True
        while found:
            more = {name for name, other in self.shop.joints.items() if joints & set(other.opens)} - joints
            joints |= more
            found = bool(more)
        return {position for name in joints for position in self.shop.joints[name].behind}
