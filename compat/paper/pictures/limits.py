"""What limits power and torque: findings on manifold pressure, knock and compressor, the nearest first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from compat.paper.pictures.numbers import Source
from compat.rulebook.models import Verdict
from compat.units import show, unit
from compat.words.report import Finding
from compat.words.wording import told

__all__ = ["Limit", "limits"]

LIMITING = {
    "operating_point": ("manifold_pressure", "knock_phase"),
    "compressor_point": ("efficiency", "surge_margin", "choke_margin"),
    "shaft_speed": ("",),
}
"""Results of formulas in which power and torque find their limits."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A finding on what limits power and torque."""

    rule: str
    title: str
    verdict: Verdict
    value: str
    limit: str
    used: float | None
    """Value over limit, or limit over value where it is the least; none where there is no number."""

    @property
    def holds(self) -> bool:
        """Whether the finding does not stand against the goal."""
        return self.verdict in ("ok", "caution", "measure")


def limits(source: Source) -> tuple[Limit, ...]:
    """Findings that limit power and torque: those against the goal first, then by share of the limit used."""
    return tuple(sorted(_limits(source), key=_nearness))


def _nearness(limit: Limit) -> tuple[bool, float, str]:
    unknown = 0.0 if limit.holds else 9.0
    return limit.holds, -(unknown if limit.used is None else limit.used), limit.title


def _limits(source: Source) -> Iterable[Limit]:
    """Findings whose rules name what the cycle or the compressor is computed to want."""
    watched = {
        name
        for name, bound in source.book.figures.items()
        if bound.formula is not None and bound.result in LIMITING.get(bound.formula.name, ())
    }
    watched |= {  # and with the doubt that a figure adds
        name
        for name, bound in source.book.figures.items()
        if bound.expression is not None and not watched.isdisjoint(bound.expression.names.figures)
    }
    for finding in source.report.findings:
        bound = source.book.rules.get(finding.rule)
        rests = bound.expressions(conditions=False) if bound is not None else ()
        if watched.isdisjoint(name for each in rests for name in each.names.figures):
            continue
        if finding.value is not None and finding.limit is not None:
            yield _numbered(finding, finding.value, finding.limit, source.system)
        elif finding.verdict not in ("ok", "caution", "measure"):
            yield Limit(finding.rule, finding.title, finding.verdict, finding.because, "", None)


def _numbered(finding: Finding, value: float, limit: float, system: str) -> Limit:
    own = unit(finding.unit)
    half = 0.0 if finding.high is None else (finding.high - value) * own.factor
    least = limit == finding.at_least
    return Limit(
        finding.rule,
        finding.title,
        finding.verdict,
        told(own.to_si(value), finding.unit, half, system),
        f"at {'least' if least else 'most'} {show(own.to_si(limit), finding.unit, system)}",
        _used(*((limit, value) if least else (value, limit))),
    )


def _used(part: float, whole: float) -> float | None:
    return part / whole if part >= 0 and whole > 0 else None
