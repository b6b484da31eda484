"""Why no build passes, as data: what cannot stand together, and what giving up each of it would allow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from compat.checking.check import Checked
from compat.checking.outcome import Outcome
from compat.planning.fixed import Remade

__all__ = ["Freed", "Held", "Kind", "Member", "Reason", "WhyEnded", "WhyNot"]

Kind = Literal["keep", "goal", "avoid", "supplier", "stock", "budget", "variant"]
"""A line of the build that stays; an entry of the goal; a part or a supplier that is not used; nothing but what
lies on the shelf; what all may cost; the variant that the build starts from, with its block."""

WhyEnded = Literal["explained", "possible", "time"]
"""What cannot stand together is found; a build passes after all; time was out before either was proved."""


@dataclass(frozen=True, slots=True)
class Held:
    """Something that is asked of a build, and could be given up."""

    kind: Kind
    name: str = ""
    """Position, work or word of the setup; entry of the goal; part; supplier; variant."""
    said: str = ""
    """What is asked: the part that stays, the power and its speed, the amount."""


@dataclass(frozen=True)
class Freed:
    """What giving one thing up allows."""

    remade: Remade
    """The best build found then: the whole check passes it."""
    proved: bool
    """Whether no cheaper build is left then."""
    also: tuple[Held, ...] = ()
    """What else of all that was asked the build does not keep to; the other members it does."""
    instead: str = ""
    """What stands in its place: the part, the fuel, the variant, the factory's value."""
    dearer: Decimal | None = None
    """By how much it costs more than the build as it stands; None where that one has no price."""
    highest: str = ""
    """Of an entry of the goal: the greatest value at which a build was found."""
    beyond: str = ""
    """The least value at which it is proved that there is none; empty where that is not settled."""

    @property
    def alone(self) -> bool:
        """Whether all else that was asked stands."""
        return not self.also


@dataclass(frozen=True)
class Member:
    """One of the things that cannot stand together."""

    held: Held
    settled: bool
    """Whether a build was found, and checked whole, that passes without it, all other members held."""
    freed: Freed | None = None


@dataclass(frozen=True)
class Reason:
    """A requirement of the rules that has its part in it."""

    rule: str
    """Its name; ``need-...``, ``required-...`` and the like are what parts and positions ask themselves."""
    settled: bool
    """Whether without it all other requirements of the set could be met together."""
    outcome: Outcome | None = None
    """How it comes out where all others are met: by how much it fails there."""
    at: Checked | None = None
    """The build of which that is said, checked whole."""


@dataclass(frozen=True)
class WhyNot:
    """Why no build passes."""

    ended: WhyEnded
    before: Checked
    """The build as it stands."""
    currency: str
    money: Decimal | None
    """What the build as it stands would cost; None where something of it has no price."""
    members: tuple[Member, ...] = ()
    """Decisions and requirements of whoever asks that cannot stand together."""
    reasons: tuple[Reason, ...] = ()
    """Requirements of the rules because of which they cannot."""
    possible: Remade | None = None
    """A build that passes as everything was asked, where there is one after all."""
    variant_tried: bool = False
    """Whether other variants were tried to the end: if so, and the variant is no member, none of them helps."""
    seconds: float = 0.0
    searches: int = 0
    checks: int = 0
    sizes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By work the sizes that were tried: what is proved is proved of these."""

    @property
    def minimal(self) -> bool:
        """Whether it is shown of each member, and of each reason, that nothing stands in the way without it."""
        settled = [each.settled for each in self.members] + [each.settled for each in self.reasons]
        return self.ended == "explained" and all(settled)
