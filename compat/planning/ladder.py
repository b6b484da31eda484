"""From a rating upward: which part runs out first, which next, at what power, and what passing it costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compat.checking.built import settle
from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.judged import Judged, judge_again
from compat.checking.moving import carry_over
from compat.checking.outcome import OUT, RANK
from compat.checking.remedying import Remedy, remedied
from compat.checking.session import Session
from compat.checking.trials import Trials
from compat.checking.world import BuildWorld
from compat.engineering.air.atmosphere import standard_atmosphere
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.shop.builds import ReadyBuild
from compat.shop.changing import with_changes
from compat.shop.models import Goal
from compat.shop.source import Fault, Faults, Spot
from compat.trade.priced import price
from compat.trade.pricing import Pricer
from compat.trade.reuse import bearing
from compat.words.telling import Teller
from compat.words.ways import ways_told

__all__ = ["Ladder", "Rung", "climb"]

STEP = 1.05
"""Powers that are looked at first lie this far apart."""
HALVINGS = 5
"""So often what lies between two of them is halved: to 0.16 %."""
FINE = RANK["ok"]


@dataclass(frozen=True, slots=True)
class Rung:
    """A rule that the engine comes to fail as the goal rises."""

    rule: str
    title: str
    verdict: Verdict
    position: str
    """The first position that it speaks of; empty where it speaks of none."""
    part: str
    may: float
    """Power from which on it may fail, by tolerances and what the models may be off [W]."""
    power: float
    """Power from which on it does [W]."""
    because: str
    passing: str = ""
    """The change that passes it at the least cost; empty where nothing in the shop does."""
    changes: tuple[Mapping[str, str], ...] = ()
    cost: Decimal | None = None
    """What that change adds to the price before tax; None where it has no price."""
    brings_up: tuple[str, ...] = ()
    """Rules that come up with it."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """What runs out as the goal rises, first to last."""

    build: str
    name: str
    duty: str
    start: float
    """Power that it begins with [W]."""
    end: float
    """Power up to which it was looked [W]."""
    currency: str
    fails_already: tuple[str, ...]
    """Titles of rules that stand against the build at the start; they are no rungs."""
    rungs: tuple[Rung, ...]
    more: int = 0
    """Rules beyond those, up to the end."""


def climb(
    session: Session,
    ready: ReadyBuild,
    on: date,
    *,
    to: float | None = None,
    most: int = 12,
    system: str = "metric",
) -> Ladder:
    """Raise the goal of a build until one part after the other runs out.

    Torque rises with the power, at the same speeds, and the pressure in the manifold with both; all else of the
    build stays as it is. Each rule is followed by itself: what passes one rung is not built into the next.

    Parameters
    ----------
    session : Session
        The session.
    ready : ReadyBuild
        The build, or a variant as it left the factory at its own rating.
    on : date
        The day that prices are of.
    to : float, optional
        Power up to which to look [W]; twice that of the goal where nothing is said.
    most : int
        So many rungs at most.
    system : {"metric", "imperial"}
        Units of the sentences.

    Returns
    -------
    Ladder
        What runs out and where, to some 0.2 % of power, each with the cheapest change that passes it by 2 %.

    Raises
    ------
    Faults
        When the end lies no higher than the goal.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> found = climb(shop.session, shop.build("tarn-20-base"), date(2026, 3, 2), to=110e3, most=2)
    >>> [round(rung.power / 1e3) > 92 for rung in found.rungs]
    [True, True]
    """
    start = ready.goal.power.nominal
    end = 2 * start if to is None else to
    if end <= start:
        message = f"the goal is {start / 1e3:.4g} kW already; {end / 1e3:.4g} kW lies no higher"
        raise Faults([Fault(Spot(f"build {ready.build.build}", 0), message)])
    return _Climber(session, ready, on, end, system).ladder(most)


def raised(goal: Goal, factor: float) -> dict[str, str]:
    """The entries of a goal with so many times the power.

    >>> from compat.units import read_band
    >>> goal = Goal(power=read_band("100 kW"), at=read_band("6000 rpm"), boost=read_band("50 kPa"))
    >>> raised(goal, 1.1)
    {'power': '110.000 kW', 'boost': '65.1325 kPa'}
    """
    entries = {"power": f"{goal.power.nominal * factor / 1e3:.3f} kW"}
    if goal.torque is not None:
        entries["torque"] = f"{goal.torque.nominal * factor:.3f} N*m"
    if goal.boost is not None:
        outside = standard_atmosphere(goal.altitude.nominal).pressure
        entries["boost"] = f"{((goal.boost.nominal + outside) * factor - outside) / 1e3:.4f} kPa"
    return entries


class _Climber:
    def __init__(self, session: Session, ready: ReadyBuild, on: date, end: float, system: str) -> None:
        self.session = session
        self.ready = ready
        self.on = on
        self.system = system
        self.start = ready.goal.power.nominal
        self.end = end
        self.base = session.check(ready)
        self.book = session.book
        self._at: dict[float, tuple[BuildWorld, Judged]] = {}

    def ladder(self, most: int) -> Ladder:
        grid = list(self.grid())
        first = self.ranks(grid[0])
        failing = [name for name, rank in first.items() if rank <= OUT]
        found: list[tuple[float, float, str]] = []
        for name in self.book.judged:
            if first[name] > OUT:
                above = next((n for n, factor in enumerate(grid) if self.ranks(factor)[name] <= OUT), None)
                if above is not None:
                    found.append((grid[above], grid[above - 1], name))
        found.sort(key=lambda one: (one[0], list(self.book.rules).index(one[2])))
        edge = found[most - 1][0] if len(found) > most else grid[-1]
        near = [(self.between(low, high, name, OUT), name) for high, low, name in found if high <= edge]
        near.sort()
        info = self.session.shop.info
        return Ladder(
            build=self.ready.build.build,
            name=self.ready.build.name,
            duty=self.ready.goal.duty,
            start=self.start,
            end=self.start * grid[-1],
            currency=info.currency if info is not None else "",
            fails_already=tuple(self.book.rules[name].rule.title for name in failing),
            rungs=tuple(self.rung(name, factor) for factor, name in near[:most]),
            more=len(found) - len(near[:most]),
        )

    def grid(self) -> Iterator[float]:
        factor, last = 1.0, self.end / self.start
        while factor < last:
            yield factor
            factor *= STEP
        yield last

    def at(self, factor: float) -> tuple[BuildWorld, Judged]:
        """The build at so many times its power, and what its rules say."""
        if factor not in self._at:
            if factor == 1.0:
                self._at[factor] = self.base.world, self.base.judged
            else:
                ready = self.ready.aiming(**raised(self.ready.goal, factor))
                world = settle(self.session.shop, self.book, ready, self.session.answers)
                moved = carry_over(self.base.world, world)
                self._at[factor] = world, judge_again(self.base.judged, world, moved)
        return self._at[factor]

    def ranks(self, factor: float) -> dict[str, int]:
        outcomes = self.at(factor)[1].outcomes
        return {name: RANK[outcomes[name].verdict] if name in outcomes else FINE for name in self.book.judged}

    def between(self, low: float, high: float, rule: str, rank: int) -> float:
        """Where a rule comes to a rank as bad, between a power at which it has not and one at which it has."""
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self.ranks(middle)[rule] <= rank else (middle, high)
        return high

    def may(self, rule: str, factor: float) -> float:
        """Where a rule is first in doubt, below where it fails."""
        known = sorted(one for one in self._at if one <= factor)
        doubtful = next((n for n, one in enumerate(known) if self.ranks(one)[rule] < FINE), None)
        if doubtful is None or (known[doubtful] == factor and doubtful == 0):
            return factor
        if doubtful == 0:
            return known[0]
        return self.between(known[doubtful - 1], known[doubtful], rule, FINE - 1)

    def rung(self, rule: str, factor: float) -> Rung:
        world, judged = self.at(factor)
        outcome = judged.outcomes[rule]
        bound = self.book.rules[rule]
        fitted = world.settled.fitted
        position = next((place for place in self.places(bound) if place in fitted), "")
        way, cost = self.passing(rule, min(factor * 1.02, self.end / self.start * 1.02))
        told = ways_told(world, self.system, way) if way is not None else None
        return Rung(
            rule=rule,
            title=bound.rule.title,
            verdict=outcome.verdict,
            position=position,
            part=fitted[position].part.part if position else "",
            may=self.start * min(factor, self.may(rule, factor)),
            power=self.start * factor,
            because=Teller(world, self.system).sentence(bound, outcome),
            passing=told.says if told is not None else "",
            changes=told.changes if told is not None else (),
            cost=cost,
            brings_up=told.raises if told is not None else (),
        )

    def places(self, bound: BoundRule) -> Iterator[str]:
        """Whose part it is that runs out: what bears the load, else what the rule would have another for."""
        yield from bearing(self.book, bound)
        yield from (entry["swap"] for entry in bound.rule.remedies if "swap" in entry)
        yield from self.book.loaded(bound)
        yield from self.book.positions_of(bound)

    def passing(self, rule: str, factor: float) -> tuple[Remedy | None, Decimal | None]:
        """The cheapest change that passes a rung by a little, and what it adds to the price."""
        world, judged = self.at(factor)
        outcome = judged.outcomes.get(rule)
        if outcome is None or RANK[outcome.verdict] > OUT:
            return None, None
        ways = remedied(Trials(world, judged), Helping(world), outcome, goal=False).remedies
        if not ways:
            return None, None
        before = self.net(self.session.check(world.settled.ready, self.base))
        priced: list[tuple[bool, Decimal, int]] = []
        for number, way in enumerate(ways):
            after = self.net(self.session.check(with_changes(world.settled.ready, way.changes), self.base))
            cost = after - before if after is not None and before is not None else None
            priced.append((cost is None, cost or Decimal(0), number))
        unpriced, cost, number = min(priced)
        return ways[number], None if unpriced else cost

    def net(self, checked: Checked) -> Decimal | None:
        try:
            return price(Pricer(self.session.shop), checked, self.on).sums.net
        except Faults:
            return None
