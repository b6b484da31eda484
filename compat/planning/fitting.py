"""What goes into a position of a build: directly, with more beside it, or not and why; where a part goes in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Literal

from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.outcome import Borne, Met, Outcome, RenewedAt
from compat.checking.remedying import remedied
from compat.checking.session import Session
from compat.checking.trials import Trials
from compat.library.library import build_of_id
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, with_changes
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.trade.wares import least_price
from compat.words.needs import forced_by
from compat.words.reporting import report

__all__ = ["FITS", "Beside", "Candidate", "Fits", "Reason", "Way", "best_first", "fits", "where_it_fits"]

HELPED = 4
"""So many rules against a part are looked into for parts and work that settle them."""

Way = Literal["directly", "with more", "not known", "not"]
FITS: tuple[Way, ...] = ("directly", "with more", "not known", "not")
"""How a part goes in, best first. Not known: nothing stands against it, but a spec that decides is unstated."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A part or work that a candidate forces beside what the build forces anyhow."""

    id: str
    name: str
    position: str
    """Where a part goes; empty for work."""
    count: int
    because: str
    values: tuple[tuple[str, str], ...] = ()
    """What work takes: ``(("bore", "22.010 mm"),)``."""


@dataclass(frozen=True, slots=True)
class Reason:
    """What stands against a candidate, or is not known of it."""

    rule: str
    title: str
    verdict: str
    because: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part in a position of a build."""

    part: str
    name: str
    position: str
    build: str
    way: Way
    stands: bool
    """Whether it is what the build has there."""
    beside: tuple[Beside, ...] = ()
    """What it forces; also where it does not go in for another reason."""
    against: tuple[Reason, ...] = ()
    unknown: tuple[Reason, ...] = ()
    clears: tuple[Reason, ...] = ()
    """What stands against the build as it is, and no longer with it."""
    price: Decimal | None = None
    """The least that one piece is sold for, in the shop's currency; None where nobody sells it."""
    headroom: Decimal | None = None
    """The least of all load rules that look at the position, as a part of one; None where none does."""


@dataclass(frozen=True, slots=True)
class Fits:
    """What goes in where, the best first."""

    currency: str
    candidates: tuple[Candidate, ...]


def fits(
    session: Session,
    ready: ReadyBuild,
    position: str,
    system: str = "metric",
    parts: Iterable[str] | None = None,
) -> Fits:
    """Find out what goes into a position of a build, by checking the build with each part in it.

    A part goes in directly where nothing comes to stand against the build by it and nothing else is wanted
    beside; with more, where other parts or work are, or settle what would stand against it. It does not where
    a rule fails that looks at the position itself, or one anywhere that holds without the part. Failures that
    are there whatever stands in the position count for none of the parts.

    Parameters
    ----------
    session : Session
        The session.
    ready : ReadyBuild
        The build.
    position : str
        One of the shop's positions.
    system : {"metric", "imperial"}
        Units of the sentences.
    parts : iterable of str, optional
        Only these of the parts made for the position; all of the shop's when left out.

    Returns
    -------
    Fits
        Every one of the parts.

    Raises
    ------
    Faults
        When there is no such position.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> found = fits(shop.session, shop.build("street-turbo"), "rod_bearing")
    >>> [(one.way, one.stands) for one in found.candidates][:1]
    [('directly', True)]
    """
    shop = session.shop
    if position not in shop.positions:
        hint = nearest(position, shop.positions)
        raise Faults([Fault(Spot("asked", 0), f"position '{position}' is not known{hint}")])
    if parts is None:
        parts = shop.fillers[position]
    tried = _Tried(session, ready, position, system)
    return _sorted(shop, [tried.candidate(part) for part in parts])


def where_it_fits(session: Session, part: str, system: str = "metric") -> Fits:
    """Find out where a part goes in: each position that it is made for, on each variant as it left the factory.

    Parameters
    ----------
    session : Session
        The session.
    part : str
        One of the shop's parts.
    system : {"metric", "imperial"}
        Units of the sentences.

    Returns
    -------
    Fits
        One entry for each variant and position.

    Raises
    ------
    Faults
        When there is no such part.
    """
    shop = session.shop
    if part not in shop.parts:
        raise Faults([Fault(Spot("asked", 0), f"part '{part}' is not known{nearest(part, shop.parts)}")])
    found = [
        _Tried(session, build_of_id(shop, variant), position, system).candidate(part)
        for variant in shop.variants
        for position in shop.parts[part].fills
    ]
    return _sorted(shop, found)


def _sorted(shop: Shop, found: Sequence[Candidate]) -> Fits:
    currency = shop.info.currency if shop.info is not None else ""
    return Fits(currency, tuple(sorted(found, key=best_first)))


def best_first(one: Candidate) -> tuple[int, bool, bool, Decimal, int, str, str]:
    """What candidates are told in the order of: how they go in, what stands there, then the cheapest first."""
    price = one.price if one.price is not None else Decimal(0)
    more = len(one.against) + len(one.beside)
    return FITS.index(one.way), not one.stands, one.price is None, price, more, one.part, one.build


class _Tried:
    """One position of one build, with one part after the other in it."""

    def __init__(self, session: Session, ready: ReadyBuild, position: str, system: str) -> None:
        self.session = session
        self.shop = session.shop
        self.ready = ready
        self.position = position
        self.system = system
        self.base = session.check(ready)
        there = self.base.world.settled.fitted.get(position)
        self.there = there.part.part if there is not None else ""

    def candidate(self, part: str) -> Candidate:
        checked = self.base if part == self.there else self.session.check(self._with(part), self.base)
        against = [outcome for outcome in _against(checked) if self._counts(outcome)]
        more: tuple[Beside, ...] = ()
        if against and (helped := self._helped(checked, against)) is not None:
            (checked, more), against = helped, []
        unknown = [o for o in checked.outcomes if o.verdict == "unknown" and self._counts(o)]
        beside = (*more, *(each for each in self._beside(checked) if each.id not in {one.id for one in more}))
        way: Way = "not" if against else "not known" if unknown else "with more" if beside else "directly"
        failing = {outcome.rule for outcome in _against(checked)}
        return Candidate(
            part=part,
            name=self.shop.parts[part].name,
            position=self.position,
            build=self.ready.build.build,
            way=way,
            stands=part == self.there,
            beside=beside,
            against=self._told(checked, against),
            unknown=self._told(checked, unknown),
            clears=tuple(self._stands[rule] for rule in sorted(self._failing - failing)),
            price=least_price(self.shop, part),
            headroom=self._headroom(checked),
        )

    def _headroom(self, checked: Checked) -> Decimal | None:
        found = (
            outcome.seen.headroom
            for outcome in checked.outcomes
            if isinstance(outcome.seen, Borne) and self._looks(outcome)
        )
        least = min((one for one in found if one is not None), default=None)
        return None if least is None else Decimal(f"{least:.4f}")

    def _helped(
        self, checked: Checked, against: Sequence[Outcome]
    ) -> tuple[Checked, tuple[Beside, ...]] | None:
        """The build with the part and what else settles all that stands against it; None where nothing does."""
        judged = self.session.book.judged
        if len(against) > HELPED or any(outcome.rule not in judged for outcome in against):
            return None
        trials, helping = Trials(checked.world, checked.judged, checked.needs), Helping(checked.world)
        changes: list[Change] = []
        more: dict[str, Beside] = {}
        for outcome in against:
            ways = remedied(trials, helping, outcome, goal=False).remedies
            free = (
                way for way in ways if not (way.effect.raises or way.effect.asks) and self._adds(way.changes)
            )
            way = next(free, None)
            if way is None:
                return None
            for change in way.changes:
                beside = self._as_beside(checked, change, outcome.rule)
                if beside.id not in more:
                    more[beside.id] = beside
                    changes.append(change)
        ready = with_changes(checked.world.settled.ready, changes)
        found = self.session.check(ready, checked)
        return None if any(map(self._counts, _against(found))) else (found, tuple(more.values()))

    def _adds(self, changes: Sequence[Change]) -> bool:
        """Whether changes bring parts and work alone, and leave the position as it is."""
        return all(
            isinstance(change, Do)
            or (isinstance(change, Fit) and change.part and change.position != self.position)
            for change in changes
        )

    def _as_beside(self, checked: Checked, change: Change, rule: str) -> Beside:
        because = self.session.book.rules[rule].rule.title
        match change:
            case Fit(position, part):
                count = checked.world.settled.count(position, part)
                return Beside(part, self.shop.parts[part].name, position, count, because)
            case Do(work, values):
                return Beside(work, self.shop.works[work].name, "", 1, because, values)
        raise AssertionError("neither goal nor setup is beside a part")

    def _with(self, part: str) -> ReadyBuild:
        """The build with a part; the variant's own is what is there when none is chosen."""
        return self.ready.fitting(**{self.position: part})

    @cached_property
    def _failing(self) -> Set[str]:
        return {outcome.rule for outcome in _against(self.base)}

    @cached_property
    def _stands(self) -> dict[str, Reason]:
        """What stands against the build as it is, by its rule; of several the first."""
        told = self._told(self.base, list(_against(self.base)))
        return {reason.rule: reason for reason in reversed(told)}

    @cached_property
    def _open(self) -> Set[str]:
        return {outcome.rule for outcome in self.base.outcomes if outcome.verdict == "unknown"}

    def _counts(self, outcome: Outcome) -> bool:
        """Whether a failure speaks of the part rather than of the build around it."""
        before = self._open if outcome.verdict == "unknown" else self._failing
        return outcome.rule not in before or self._looks(outcome)

    def _looks(self, outcome: Outcome) -> bool:
        """Whether a rule looks at the position itself, not only at what a long calculation makes of it."""
        rule = self.session.book.rules.get(outcome.rule)
        if rule is None:
            return getattr(outcome.seen, "position", None) == self.position
        long = self.session.book.takes_long(rule)
        return not long and outcome.rule in self.session.influence.at(self.position).rules

    def _beside(self, checked: Checked) -> Iterator[Beside]:
        """What this check adds, and the check of the build as it is does not."""
        if checked is self.base:
            return
        own = {(extra.name, extra.position): extra.count for extra in self.base.extras}
        for extra in checked.extras:
            if own.get((extra.name, extra.position), 0) < extra.count:
                thing = self.shop.parts[extra.name] if extra.position else self.shop.works[extra.name]
                because = forced_by(checked.world.settled, extra)
                yield Beside(extra.name, thing.name, extra.position, extra.count, because)

    def _told(self, checked: Checked, outcomes: Sequence[Outcome]) -> tuple[Reason, ...]:
        wanted = {(outcome.rule, outcome.verdict) for outcome in outcomes}
        if not wanted:
            return ()
        return tuple(
            Reason(finding.rule, finding.title, finding.verdict, finding.because)
            for finding in report(checked, self.system, fine=False).findings
            if (finding.rule, finding.verdict) in wanted
        )


def _against(checked: Checked) -> Iterator[Outcome]:
    """What does not go together, falls short, or is missing with nothing in the shop to add."""
    for outcome in checked.outcomes:
        if outcome.verdict in ("conflict", "shortfall"):
            yield outcome
        elif outcome.verdict == "missing":
            added = isinstance(outcome.seen, RenewedAt) or (
                isinstance(outcome.seen, Met) and outcome.seen.provider is not None
            )
            if not added:
                yield outcome
