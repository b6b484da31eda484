"""What came of one rule on one build, as data: no sentence, no unit system, nothing that could change.

The floor of words makes sentences of it; whoever tries many builds reads the verdict alone.
"""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.conformity import Decision, Doubt
from compat.checking.needs import Demand, Provider, Shortage
from compat.checking.settle import Touch
from compat.checking.spread import Spread
from compat.record import record
from compat.rulebook.models import VERDICTS, Verdict
from compat.rulebook.values import Missing, Plain
from compat.units import Band

__all__ = [
    "OUT",
    "RANK",
    "Apart",
    "Barred",
    "Borne",
    "Foreseen",
    "Gap",
    "Held",
    "Idle",
    "LeftOut",
    "Met",
    "Miscounted",
    "Misplaced",
    "Noted",
    "Outcome",
    "Paired",
    "Pairing",
    "Pieced",
    "Renewed",
    "RenewedAt",
    "Seen",
    "Standing",
    "Stranger",
    "Unlike",
    "Vacant",
]


RANK: Mapping[Verdict, int] = {verdict: number for number, verdict in enumerate(VERDICTS)}
OUT = RANK["missing"]
"""What is of this rank or worse does not go together."""


@record(slots=True)
class Held:
    """A measured value against its limits, SI."""

    value: float
    spread: Spread
    least: float | None
    most: float | None
    side: str
    """``below`` or ``above`` the limit that it crosses or may cross; empty where it holds."""
    near: float
    """The limit that is crossed, or the nearer one."""
    outside: bool
    """Whether the value itself lies outside, not only its band."""
    unstated: tuple[str, ...] = ()


@record(slots=True)
class Pairing:
    """Measured pieces that meet, and what comes of a rule there. SI."""

    at: tuple[int, ...]
    """Which of each row of pieces, from 0."""
    numbers: tuple[tuple[str, int], ...]
    """The seat by its axis, and the number of the piece by its position."""
    verdict: Verdict
    decision: Decision
    side: str
    value: float
    doubt: Doubt
    guard: float
    """Expanded uncertainty of what is left to the limit."""
    loose: float
    """What pieces that were not measured may take from it."""
    margin: float
    """How far inside the nearest limit the worst place of the pieces lies; below zero outside."""
    least: float | None
    most: float | None
    gap: Missing | None = None
    """Why nothing is known of it."""


@record(slots=True)
class Pieced(Held):
    """Limits on measured pieces: all pairings from the least to the greatest, and what decides among them."""

    pairings: tuple[Pairing, ...] = ()
    decides: int = 0
    """Which of the pairings decides: the worst."""
    free: tuple[str, ...] = ()
    """Positions whose pieces may still go to any place."""
    saved: bool = True
    """Whether the pieces can be put together with no pairing proven out."""

    @property
    def worst(self) -> Pairing:
        """The pairing that decides."""
        return self.pairings[self.decides]


@record(slots=True)
class Borne:
    """A capacity against a load, SI, with the headroom that the duty asks."""

    load: float
    capacity: float
    headroom: float | None
    low: float | None
    """Headroom at the worst of all tolerances."""
    asked: float
    contributor: str
    """The tolerance that moves the headroom most."""


@record(slots=True)
class Paired:
    """Pairs that were held against each other: number of the pair, both values in SI, whether they agree."""

    pairs: tuple[tuple[int, Plain, Plain, bool], ...]


@record(slots=True)
class Barred:
    """An outright exclusion: whether it strikes."""

    strikes: bool


@record(slots=True)
class Noted:
    """A note that applies."""


@record(slots=True)
class Gap:
    """Something is not stated, or a formula refuses."""

    missing: Missing


@record(slots=True)
class Met:
    """A need: what is asked, what is lacking, and who is added for it."""

    demand: Demand
    shortage: Shortage | None = None
    provider: Provider | None = None


@record(slots=True)
class Renewed:
    """One thing consumed at an opened joint."""

    joint: str
    position: str
    part: str
    count: int
    covered: bool


@record(slots=True)
class RenewedAt:
    """An opened joint: why, all that it consumes, and what of that the build does not renew."""

    joint: str
    reason: Touch
    renewed: tuple[Renewed, ...]
    lacking: tuple[Renewed, ...]


@record(slots=True)
class Standing:
    """What comes of what stands in a position, rather than of a rule."""

    position: str


class Vacant(Standing):
    """A position that no engine can do without, and that nothing fills."""


@record(slots=True)
class LeftOut(Standing):
    """A position that the variant left the factory with and nothing fills; and why, or an empty text.

    A reason spares it only where an engine that has the part can do without.
    """

    part: str
    """The factory's own."""
    why: str


@record(slots=True)
class Stranger(Standing):
    """A part made for other families than the build's; and why it fits, or an empty text."""

    part: str
    why: str


@record(slots=True)
class Apart(Standing):
    """A part that is never with another one, which stands in another place."""

    part: str
    place: str
    other: str


@record(slots=True)
class Miscounted(Standing):
    """More or fewer pieces than the engine takes."""

    stands: int
    takes: int


@record(slots=True)
class Unlike(Standing):
    """What was measured and is not as the build's work leaves it."""

    spec: str
    work: str
    """The last work that changes it."""
    left: Band
    pieces: tuple[int, ...]
    """Empty where one value is said of all."""
    before: bool = False
    """Whether it is as the part was before the work, which leaves none like that."""


@record(slots=True)
class Idle(Standing):
    """A word of the build of which nothing comes, and the entry it stands in."""

    entry: str
    word: str


@record(slots=True)
class Misplaced:
    """Work that the build does before other work that it must follow."""

    work: str
    before: tuple[str, ...]
    """Work that must come first, in the order in which the build has it."""


Of = Held | Borne | Paired | Barred | Noted | Gap


@record(slots=True)
class Foreseen:
    """What comes of a rule once everything that the build must add is in it."""

    seen: Of
    by: tuple[str, ...]
    """The added parts and work that it rests on."""


Seen = Of | Met | RenewedAt | Standing | Misplaced | Foreseen


@record(slots=True)
class Outcome:
    """The outcome of one rule, or of a need that a part brings, on one build."""

    rule: str
    verdict: Verdict
    seen: Seen
