"""What goes into a position of a build: directly, with more beside it, or not and why; where a part goes in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.likeness import Likeness
from compat.checking.outcome import Borne, Met, Outcome, RenewedAt
from compat.checking.remedying import remedied
from compat.checking.session import Session
from compat.checking.trials import Trials
from compat.library.library import build_of_id
from compat.planning.candidates import FITS, Beside, Candidate, Fits, Reason, Way, best_first
from compat.rulebook.models import VERDICTS
from compat.shop.builds import ReadyBuild
from compat.shop.changing import Change, Do, Fit, with_changes
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.trade.wares import least_price
from compat.words.needs import forced_by
from compat.words.reporting import findings_of

__all__ = ["FITS", "Beside", "Candidate", "Fits", "Reason", "Way", "best_first", "fits", "where_it_fits"]

HELPED = 4
"""So many rules against a part are looked into for parts and work that settle them."""

ALIKE = 2
"""Parts that differ in so few specs are of one kind."""
MOST_KINDS = 64
"""So many kinds are held to start checks from."""


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
    tried = _Tried(session, ready, position, system)
    if parts is None:  # what a build brings itself is offered to no other, and stands there all the same
        fillers = shop.fillers[position]
        parts = fillers if tried.there in ("", *fillers) else [tried.there, *fillers]
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


@dataclass(slots=True)
class _Kind:
    """A part that others are like, and what came of looking for help beside it."""

    part: str
    checked: Checked
    against: set[str] = field(default_factory=set)
    """Rules against it when help was looked for."""
    rules: set[str] = field(default_factory=set)
    """Rules that decided whether there was any: those against it, and all that anything tried would raise."""
    helped: tuple[tuple[Change, ...], tuple[Beside, ...], Checked] | None = None

    def tells(self, against: Set[str], resting: Set[str]) -> bool:
        """Whether what was found holds where some rules may say something else."""
        return bool(against) and against == self.against and self.rules.isdisjoint(resting)


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
        self.likeness = Likeness(self.base.world.settled)
        self.kinds: list[_Kind] = []
        """Parts unlike each other, and what came of them: most of a list differ in price and mass alone."""

    def candidate(self, part: str) -> Candidate:
        kind, apart = self._kind(part)
        checked = self._checked(part, kind)
        own = _Kind(part, checked)
        against = [outcome for outcome in _against(checked) if self._counts(outcome)]
        more: tuple[Beside, ...] = ()
        if against:
            rules = {outcome.rule for outcome in against}
            told = kind is not None and kind.tells(rules, self._resting(apart))
            helped = self._as_before(checked, kind) if kind is not None and told else None
            if helped is None and not (told and kind is not None and kind.helped is None):
                helped = self._helped(checked, against, own)
            if helped is not None:
                (checked, more), against = helped, []
        if kind is None and len(self.kinds) < MOST_KINDS:
            self.kinds.append(own)
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

    def _kind(self, part: str) -> tuple[_Kind | None, Set[str]]:
        """What came of a part like this one, and the specs in which they differ."""
        for kind in self.kinds:
            apart = self.likeness.apart(self.position, part, kind.part)
            if apart is not None and len(apart) <= ALIKE:
                return kind, apart
        return None, frozenset()

    def _resting(self, specs: Set[str]) -> Set[str]:
        """Rules that can say something else where some specs of the position do."""
        return self.session.influence.of(("spec", self.position, spec) for spec in specs).rules

    def _checked(self, part: str, kind: _Kind | None) -> Checked:
        """The build with a part, checked from what it is most like."""
        if part == self.there:
            return self.base
        return self.session.check(self._with(part), self.base if kind is None else kind.checked)

    def _as_before(self, checked: Checked, kind: _Kind) -> tuple[Checked, tuple[Beside, ...]] | None:
        """The same beside a part as beside one of its kind, checked; None where nothing helped that one."""
        if kind.helped is None:
            return None
        changes, more, before = kind.helped
        found = self.session.check(with_changes(checked.world.settled.ready, changes), before)
        return None if any(map(self._counts, _against(found))) else (found, more)

    def _headroom(self, checked: Checked) -> Decimal | None:
        found = (
            outcome.seen.headroom
            for outcome in checked.outcomes
            if isinstance(outcome.seen, Borne) and self._looks(outcome)
        )
        least = min((one for one in found if one is not None), default=None)
        return None if least is None else Decimal(f"{least:.4f}")

    def _helped(
        self, checked: Checked, against: Sequence[Outcome], own: _Kind
    ) -> tuple[Checked, tuple[Beside, ...]] | None:
        """The build with the part and what else settles all that stands against it; None where nothing does."""
        judged = self.session.book.judged
        if len(against) > HELPED or any(outcome.rule not in judged for outcome in against):
            return None
        own.against = {outcome.rule for outcome in against}
        trials = Trials(checked.world, checked.judged, checked.needs)
        helping = Helping(checked.world)
        changes: list[Change] = []
        more: dict[str, Beside] = {}
        for outcome in against:
            own.rules.add(outcome.rule)
            ways = remedied(trials, helping, outcome, goal=False).remedies
            own.rules.update(trials.raised)
            free = (way for way in ways if not way.effect.raises and self._adds(way.changes))
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
        if any(map(self._counts, _against(found))):
            own.against = set()  # what was wrong then may be right with another part
            return None
        own.helped = tuple(changes), tuple(more.values()), found
        return found, tuple(more.values())

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
        found = findings_of(checked, lambda one: (one.rule, one.verdict) in wanted, self.system)
        order = sorted(found, key=lambda finding: VERDICTS.index(finding.verdict))
        return tuple(Reason(one.rule, one.title, one.verdict, one.because) for one in order)


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
