"""The one result that everything else reads: findings, extra parts and work, opened joints, unknowns."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from compat.rulebook.models import VERDICTS, Verdict

__all__ = ["ExtraPart", "ExtraWork", "Finding", "OpenedJoint", "Report", "Summary", "UnknownSpec"]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid")


class Finding(_Entry):
    """The outcome of one rule on one build. Numbers are in `unit`."""

    rule: str = Field(description="id of the rule")
    verdict: Verdict
    title: str
    positions: list[str] = []
    parts: list[str] = []
    value: float | None = Field(None, description="value at the middle of all tolerances")
    low: float | None = Field(None, description="worst case of all tolerances together, lower end")
    high: float | None = Field(None, description="worst case of all tolerances together, upper end")
    likely: float | None = Field(None, description="half width by root-sum-square")
    limit: float | None = Field(None, description="the limit that is crossed, or the nearest one")
    at_least: float | None = None
    at_most: float | None = None
    load: float | None = None
    capacity: float | None = None
    headroom: float | None = Field(None, description="capacity / load - 1")
    headroom_asked: float | None = Field(None, description="headroom that the duty asks")
    unit: str = ""
    because: str = Field(description="the finding in one sentence, with its figures")
    contributor: str = Field("", description="tolerance that contributes most")
    rests_on_estimate: list[str] = Field([], description="estimates that the figure rests on")
    unstated: list[str] = Field([], description="specs the rule needs and nobody stated")
    remedies: list[str] = []
    source: str = ""
    why: str = ""


class ExtraPart(_Entry):
    """A part that the build forces and does not have."""

    part: str
    count: int
    because: str
    name: str = ""
    position: str = ""


class ExtraWork(_Entry):
    """Work that the build forces and does not name."""

    work: str
    because: str
    name: str = ""
    hours: str = "0"


class OpenedJoint(_Entry):
    """A joint that the build opens, why, and what is renewed."""

    joint: str
    name: str
    because: str
    renews: list[str] = []
    inspect: list[str] = []


class UnknownSpec(_Entry):
    """A spec that rules need and nobody stated: measure it."""

    spec: str
    part: str
    rules: list[str]


class Summary(_Entry):
    """Count of findings by verdict, and the worst of them."""

    verdict: Verdict
    counts: dict[str, int]

    @classmethod
    def of(cls, findings: list[Finding]) -> Summary:
        """Summarise findings.

        >>> Summary.of([]).verdict
        'ok'
        """
        counts: dict[str, int] = {verdict: sum(f.verdict == verdict for f in findings) for verdict in VERDICTS}
        worst: Verdict = next((verdict for verdict in VERDICTS if counts[verdict]), "ok")
        return cls(verdict=worst, counts=counts)


class Report(_Entry):
    """What checking a build found."""

    build: str
    name: str
    variant: str
    goal: dict[str, Any]
    summary: Summary
    findings: list[Finding]
    extra_parts: list[ExtraPart]
    extra_work: list[ExtraWork]
    opened_joints: list[OpenedJoint]
    unknown: list[UnknownSpec]
    figures: dict[str, dict[str, Any]] = Field({}, description="figures of the loads table, when asked")

    @property
    def clean(self) -> bool:
        """Whether nothing conflicts, falls short or is missing."""
        return not any(self.summary.counts[verdict] for verdict in ("conflict", "shortfall", "missing"))
