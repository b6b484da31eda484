"""What `fix` prints as JSON: a build put right, or what cannot stand together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from compat.planning.fixed import Ended, Fixed, Mended, Remade
from compat.planning.terms import Aim
from compat.planning.together import Freed, Held, Member, Reason, WhyEnded, WhyNot
from compat.planning.told_why import WhyTeller
from compat.rulebook.models import Verdict

__all__ = ["Answer", "answer"]


@dataclass(frozen=True, slots=True)
class AnswerBuild:
    """A build that the whole check passes."""

    changes: tuple[Mended, ...]
    money: Decimal
    """Parts, labour and outwork."""
    parts: Decimal
    """With packs and carriage."""
    labour: Decimal
    outwork: Decimal
    hours: Decimal
    days: int | None
    """Until all parts are in; None where that is not known of one."""
    given_up: Decimal
    """What the wishes given up count, beside the money."""
    least_headroom: float | None
    verdict: Verdict
    expired: Mapping[str, date]
    """By supplier the last day of a price list that is reckoned with though it no longer holds."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What giving one thing up allows."""

    build: AnswerBuild
    proved: bool
    also: tuple[Held, ...]
    instead: str
    dearer: Decimal | None
    highest: str
    beyond: str


@dataclass(frozen=True, slots=True)
class ClashMember:
    """One of the things asked that cannot stand together."""

    held: Held
    says: str
    settled: bool
    freed: Allowed | None


@dataclass(frozen=True, slots=True)
class ClashReason:
    """A requirement of the rules that has its part in it."""

    rule: str
    says: str
    settled: bool


@dataclass(frozen=True, slots=True)
class Clash:
    """Why no build passes."""

    ended: WhyEnded
    minimal: bool
    """Whether it is shown of each member and reason that nothing stands in the way without it."""
    money: Decimal | None
    """What the build as it stands would cost; None where something of it has no price."""
    members: tuple[ClashMember, ...]
    reasons: tuple[ClashReason, ...]
    possible: AnswerBuild | None
    variant_tried: bool
    seconds: float
    searches: int
    sizes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of putting a build right."""

    build: str
    before: Verdict
    """The worst that the check says of the build as it stands."""
    aim: Aim
    on: date
    """The day that prices are of."""
    currency: str
    ended: Ended
    bound: Decimal | None
    """No build is worth less; None where nothing is known of that."""
    gap: float
    seconds: float
    first: float | None
    sizes: Mapping[str, tuple[str, ...]]
    builds: tuple[AnswerBuild, ...]
    """The best first."""
    always: tuple[str, ...]
    """Where none is to be had: rules that fail whatever is chosen, as far as any does by itself."""
    why_not: Clash | None
    """What cannot stand together, where that was asked for and no build was found."""


def answer(found: Fixed, why: WhyNot | None = None, system: str = "metric") -> Answer:
    """Everything that was found, as plain data.

    Parameters
    ----------
    found : Fixed
        What `compat.planning.fixing.fix` gives.
    why : WhyNot, optional
        What `compat.planning.why_not.why_not` gives.
    system : {"metric", "imperial"}
        Units of the sentences.

    Returns
    -------
    Answer
        As the schema ``fix`` has it.
    """
    return Answer(
        build=found.before.world.settled.build.build,
        before=found.before.verdict,
        aim=found.aim,
        on=found.on,
        currency=found.currency,
        ended=found.ended,
        bound=found.bound if found.bound.is_finite() else None,
        gap=found.gap,
        seconds=found.seconds,
        first=found.first,
        sizes=found.sizes,
        builds=tuple(map(_build, found.builds)),
        always=found.always,
        why_not=None if why is None else _clash(why, WhyTeller(why, system)),
    )


def _build(one: Remade) -> AnswerBuild:
    return AnswerBuild(
        changes=one.changes,
        money=one.money,
        parts=one.parts,
        labour=one.labour,
        outwork=one.outwork,
        hours=one.hours,
        days=one.days,
        given_up=one.given_up,
        least_headroom=one.least_headroom,
        verdict=one.verdict,
        expired=one.expired,
    )


def _clash(why: WhyNot, teller: WhyTeller) -> Clash:
    return Clash(
        ended=why.ended,
        minimal=why.minimal,
        money=why.money,
        members=tuple(_member(one, teller) for one in why.members),
        reasons=tuple(_reason(one, teller) for one in why.reasons),
        possible=None if why.possible is None else _build(why.possible),
        variant_tried=why.variant_tried,
        seconds=why.seconds,
        searches=why.searches,
        sizes=why.sizes,
    )


def _member(one: Member, teller: WhyTeller) -> ClashMember:
    freed = None if one.freed is None else _allowed(one.freed)
    return ClashMember(one.held, f"{teller.asked(one.held)}.", one.settled, freed)


def _allowed(one: Freed) -> Allowed:
    return Allowed(
        build=_build(one.remade),
        proved=one.proved,
        also=one.also,
        instead=one.instead,
        dearer=one.dearer,
        highest=one.highest,
        beyond=one.beyond,
    )


def _reason(one: Reason, teller: WhyTeller) -> ClashReason:
    return ClashReason(one.rule, f"{teller.requirement(one)}.", one.settled)
