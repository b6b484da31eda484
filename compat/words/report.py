"""The one result that everything else reads: findings, extra parts and work, opened joints, unknowns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Annotated, Any, Literal

from compat.record import record
from compat.rulebook.models import AGAINST, VERDICTS, Verdict
from compat.shop.words import Scope

__all__ = [
    "ExtraPart",
    "ExtraWork",
    "Finding",
    "GradesToOrder",
    "HouseRules",
    "MeasuredFit",
    "MeasuredPieces",
    "OpenedJoint",
    "Report",
    "Scoped",
    "SelectedPieces",
    "Summary",
    "UnknownSpec",
    "WayOut",
]


@record
class Says:
    """What a field means, for the published schema."""

    text: str

    def __get_pydantic_json_schema__(self, core_schema: Any, handler: Any) -> Any:
        """Add the meaning to the schema of the field."""
        return {**handler(core_schema), "description": self.text}


@record(slots=True)
class WayOut:
    """Changes that settle a finding: they were tried on the build."""

    says: str
    changes: Annotated[
        tuple[Mapping[str, str], ...],
        Says(
            "`position` and `part`, `leave_out` and a position, `work` with what is stated for it, "
            "`without_work` and work that is not done then, `goal` or `setup` and an entry with its `value`, "
            "`strike` and an entry with its `word` that is said no more, as a build file has them"
        ),
    ]
    clears: Annotated[tuple[str, ...], Says("rules that speak against the build and no longer would")] = ()
    raises: Annotated[tuple[str, ...], Says("rules that would speak against it and do not now")] = ()
    asks: Annotated[tuple[str, ...], Says("needs that come up, and that the check meets by what it adds")] = ()


@record(slots=True)
class Finding:
    """The outcome of one rule on one build. Numbers are in `unit`."""

    rule: Annotated[str, Says("id of the rule")]
    verdict: Verdict
    title: str
    because: Annotated[str, Says("the finding in one sentence, with its figures")]
    positions: tuple[str, ...] = ()
    parts: Annotated[tuple[str, ...], Says("parts that it speaks of, and changed ones that brought it")] = ()
    value: Annotated[
        float | None, Says("value at the middle of all tolerances; of measured pieces that which decides")
    ] = None
    low: Annotated[float | None, Says("worst case of all tolerances together, lower end")] = None
    high: Annotated[float | None, Says("worst case of all tolerances together, upper end")] = None
    likely: Annotated[float | None, Says("half width by root-sum-square")] = None
    limit: Annotated[float | None, Says("the limit that is crossed, or the nearest one")] = None
    at_least: float | None = None
    at_most: float | None = None
    load: float | None = None
    capacity: float | None = None
    headroom: Annotated[float | None, Says("capacity / load - 1")] = None
    headroom_asked: Annotated[float | None, Says("headroom that the duty asks")] = None
    unit: str = ""
    contributor: Annotated[str, Says("tolerance that contributes most")] = ""
    rests_on_estimate: Annotated[tuple[str, ...], Says("estimates that the figure rests on")] = ()
    reason: Annotated[str, Says("why the build says it is so, in its own words")] = ""
    unstated: Annotated[tuple[str, ...], Says("specs the rule needs and nobody stated")] = ()
    taken: Annotated[
        tuple[str, ...], Says("what the rulebook takes in place of what is not stated, and why")
    ] = ()
    remedies: tuple[str, ...] = ()
    advice: Annotated[tuple[str, ...], Says("what helps beside, and no check can try")] = ()
    ways_out: Annotated[tuple[WayOut, ...], Says("remedies that were tried, as data")] = ()
    source: str = ""
    why: str = ""


@record(slots=True)
class ExtraPart:
    """A part that the build forces and does not have."""

    part: str
    count: int
    because: str
    name: str = ""
    position: str = ""
    held_back: Annotated[str, Says("what must be settled before it is ordered; empty when it may be")] = ""


@record(slots=True)
class ExtraWork:
    """Work that the build forces and does not name."""

    work: str
    because: str
    name: str = ""
    hours: str = "0"
    held_back: Annotated[str, Says("what must be settled before it is done; empty when it may be")] = ""


@record(slots=True)
class OpenedJoint:
    """A joint that the build opens, why, and what is renewed."""

    joint: str
    name: str
    because: str
    renews: tuple[str, ...] = ()
    inspect: tuple[str, ...] = ()


@record(slots=True)
class UnknownSpec:
    """A spec that rules need and nobody stated: measure it."""

    spec: str
    part: str
    rules: tuple[str, ...]


@record(slots=True)
class TakenFigure:
    """A figure that the rulebook takes at a value of its own, since what it is made of is not stated."""

    figure: str
    says: Annotated[str, Says("what it is taken as, on what basis and why, and what is not stated")]
    rules: Annotated[tuple[str, ...], Says("rules whose findings rest on it")]


@record(slots=True)
class MeasuredFit:
    """What a rule says of measured pieces that meet. Numbers are in `unit`."""

    rule: str
    title: str
    where: Annotated[str, Says("the place, like cylinder 2; empty where there is one only")]
    pieces: Annotated[Mapping[str, int], Says("number of the piece, by position")]
    value: Annotated[float, Says("middle of the readings")]
    uncertainty: Annotated[float, Says("expanded, k = 2, of all gauges together")]
    at_least: float | None
    at_most: float | None
    unit: str
    decision: Annotated[Literal["in", "undecided", "out"], Says("by ISO 14253-1")]
    verdict: Verdict


@record(slots=True)
class SelectedPieces:
    """Which piece goes where, so that every clearance comes nearest the middle of its band."""

    axis: Annotated[str, Says("what the places are: cylinders, main_journals")]
    order: Annotated[
        Mapping[str, tuple[int, ...]], Says("by position the piece for each place, as `selected` in a build")
    ]
    lost: Annotated[tuple[tuple[str, int], ...], Says("rule and place that no order of the pieces saves")]
    mass_apart: Annotated[
        float | None, Says("heaviest place less the lightest, g; null where nothing was weighed")
    ]


@record(slots=True)
class GradesToOrder:
    """Which part of the shop comes nearest the middle of the band, place by place."""

    rule: str
    position: str
    places: Annotated[Mapping[str, str], Says("part by number of the place")]
    order: Annotated[Mapping[str, int], Says("how many of each part")]
    none_for: Annotated[tuple[int, ...], Says("places that no part of the shop suits")]


@record(slots=True)
class MeasuredPieces:
    """What came of pieces that were measured one by one."""

    fits: tuple[MeasuredFit, ...]
    selected: tuple[SelectedPieces, ...]
    grades: tuple[GradesToOrder, ...]


@record(slots=True)
class HouseRules:
    """By which rules a shop judges that takes sets of the program, and what it has made of them."""

    uses: Annotated[tuple[str, ...], Says("sets of words and rules that it takes")]
    instead: Annotated[Mapping[str, str], Says("what it has put in place of the program's own, and why")]
    left_out: Annotated[Mapping[str, str], Says("rules that it does not hold, and why")]
    beyond: Annotated[int, Says("rules that look into sets it does not take, and that nobody holds here")]


@record(slots=True)
class Scoped:
    """How much of the car a build is, and what of the rules was therefore not asked."""

    scope: Scope
    not_asked: Annotated[int, Says("rules that speak of nothing but what lies outside")]
    undecided: Annotated[
        tuple[str, ...], Says("rules that speak of the build and cannot be decided without what lies outside")
    ]


@record(slots=True)
class Summary:
    """Count of findings by verdict, and the worst of them."""

    verdict: Annotated[Verdict, Says("the worst verdict of all findings")]
    conflict: int = 0
    shortfall: int = 0
    missing: int = 0
    unknown: int = 0
    measure: int = 0
    caution: int = 0
    ok: int = 0
    proven: Annotated[bool, Says("nothing conflicts, falls short or is missing, and nothing is unknown")] = (
        field(init=False, default=True)
    )

    def __post_init__(self) -> None:
        """An unknown is not a pass."""
        object.__setattr__(self, "proven", not any(self.counts[verdict] for verdict in (*AGAINST, "unknown")))

    @property
    def counts(self) -> dict[Verdict, int]:
        """Count by verdict, worst first."""
        return {verdict: getattr(self, verdict) for verdict in VERDICTS}


@record(slots=True)
class Report:
    """What checking a build found."""

    build: str
    name: str
    variant: str
    goal: Mapping[str, Any]
    summary: Summary
    findings: tuple[Finding, ...]
    extra_parts: tuple[ExtraPart, ...]
    extra_work: tuple[ExtraWork, ...]
    opened_joints: tuple[OpenedJoint, ...]
    unknown: tuple[UnknownSpec, ...]
    changed: Annotated[Mapping[str, str], Says("part by position, where it differs from the variant's")] = (
        field(default_factory=dict)
    )
    figures: Annotated[Mapping[str, Mapping[str, Any]], Says("figures of the loads table, when asked")] = field(
        default_factory=dict
    )
    taken: Annotated[tuple[TakenFigure, ...], Says("figures taken for want of a stated value")] = ()
    measured: Annotated[MeasuredPieces | None, Says("left out where no piece was measured by itself")] = None
    scoped: Annotated[Scoped | None, Says("left out where the build is a whole vehicle")] = None
    house: Annotated[HouseRules | None, Says("left out where all words and rules are the shop's own")] = None

    @property
    def clean(self) -> bool:
        """Whether nothing conflicts, falls short or is missing."""
        return not any(self.summary.counts[verdict] for verdict in AGAINST)
