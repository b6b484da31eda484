"""A build put right, as data: what changes, why, what it costs, what else could be had, how sure that is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

from compat.checking.check import Checked
from compat.planning.terms import Aim
from compat.rulebook.models import Verdict
from compat.shop.builds import ReadyBuild

__all__ = ["Ended", "Fixed", "Mended", "Remade", "What"]

What = Literal["swap", "add", "keep", "leave out", "do", "size", "undo", "set", "renew"]
"""Another part; a part where none stood; the variant's own in place of what the build says; none in place of
one; work done; work done to another size; work not done; a word of the setup; pieces renewed at joints."""

Ended = Literal["proved", "time", "impossible"]


@dataclass(frozen=True, slots=True)
class Mended:
    """One thing that is otherwise than in the build as it was."""

    what: What
    on: str
    """Position, work or word of the setup."""
    before: str = ""
    """Part, or word, or size, that stood there."""
    after: str = ""
    sizes: Mapping[str, str] = field(default_factory=dict)
    """What work is done to, as a build file says it."""
    wish: bool = False
    """Whether the build asked for what was before."""
    given_up: Decimal = Decimal(0)
    """What giving that up counts beside money, in the shop's currency."""
    clears: tuple[str, ...] = ()
    """Rules that failed before, rest on this, and hold now."""
    holds: tuple[str, ...] = ()
    """Rules that would fail without this change, all others made."""


@dataclass(frozen=True)
class Remade:
    """A build that the whole check passes."""

    ready: ReadyBuild
    checked: Checked
    changes: tuple[Mended, ...]
    money: Decimal
    """Parts with packs and carriage, labour at the shop's rates, outwork at its cost, in the shop's coin."""
    parts: Decimal
    labour: Decimal
    outwork: Decimal
    hours: Decimal
    days: int | None
    """Until all parts are in; None where that is not known of one."""
    given_up: Decimal
    """What the wishes given up count, beside the money."""
    least_headroom: float | None
    """The least by which any capacity exceeds its load."""
    expired: Mapping[str, date] = field(default_factory=dict)
    """By supplier the last day of a price list that is reckoned with though it no longer holds."""

    @property
    def worth(self) -> Decimal:
        """What is sought to be least where money is: money and wishes given up."""
        return self.money + self.given_up

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of the check."""
        return self.checked.verdict


@dataclass(frozen=True)
class Fixed:
    """What came of putting a build right."""

    before: Checked
    aim: Aim
    on: date
    """The day that prices are of."""
    currency: str
    ended: Ended
    """Proved the best; time ran out, and the bound says how far off it may be; proved that there is none."""
    builds: tuple[Remade, ...]
    """The best first, then what differs from it in something that matters."""
    bound: Decimal
    """No build that the check passes is worth less: money and wishes given up; where something else is aimed at
    no build makes fewer changes, takes fewer days, or has as much headroom."""
    gap: float
    """By what share the best may be beaten; 0 where it is proved."""
    first: float | None
    """Seconds until the first build that passes."""
    seconds: float
    rounds: int
    checks: int
    sizes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By work the sizes that were tried, and the boosts where the goal states none: the proof is of these."""
    always: tuple[str, ...] = ()
    """Where none is to be had: rules that fail whatever is chosen, as far as any does by itself."""

    @property
    def best(self) -> Remade | None:
        """The best build; None where none passes, or none was found."""
        return self.builds[0] if self.builds else None

    @property
    def proved(self) -> bool:
        """Whether nothing better is left, or nothing at all."""
        return self.ended != "time"
