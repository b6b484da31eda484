"""From what a check found to the report that a person or another program reads."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from compat.checking.check import Checked
from compat.checking.outcome import Borne, Foreseen, Met, Outcome
from compat.rulebook.models import VERDICTS
from compat.rulebook.scope import GOAL
from compat.words.finding import FindingTeller
from compat.words.house import house_rules, scoped
from compat.words.loads import loads_table
from compat.words.needs import forced_by
from compat.words.report import (
    ExtraPart,
    ExtraWork,
    Finding,
    OpenedJoint,
    Report,
    Summary,
    TakenFigure,
    UnknownSpec,
)

__all__ = ["bears_load", "findings_of", "report"]


def report(
    checked: Checked, system: str = "metric", *, loads: bool = False, fine: bool = True, named: bool = True
) -> Report:
    """Say what a check found.

    Parameters
    ----------
    checked : Checked
        What was found.
    system : str
        ``metric`` or ``imperial``: units of the sentences. Numbers stay in the unit that the finding names.
    loads : bool
        Whether the figures of the loads table are wanted with it.
    fine : bool
        Whether what is fine is told; where nobody reads that, it is only counted.
    named : bool
        Whether what can help is told where a rule names it; whoever tries it (`Remedier`) need not be told.

    Returns
    -------
    Report
        The report, made anew at every call.
    """
    return _Reporter(checked, system, named).report(loads, fine)


def findings_of(
    checked: Checked, wanted: Callable[[Outcome], bool], system: str = "metric"
) -> tuple[Finding, ...]:
    """Of a report some findings alone, as the outcomes come.

    Parameters
    ----------
    checked : Checked
        What was found.
    wanted : callable
        Says of an outcome whether its finding is.
    system : str
        ``metric`` or ``imperial``: units of the sentences.

    Returns
    -------
    tuple of Finding
        Those of `report`, what is fine with them.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> checked = shop.check(shop.build("street-turbo")).checked
    >>> all(one in report(checked).findings for one in findings_of(checked, bears_load))
    True
    """
    teller = FindingTeller(checked, system)
    return tuple(teller.finding(one) for one in checked.outcomes if wanted(one))


def bears_load(outcome: Outcome) -> bool:
    """Whether an outcome holds a load against a capacity."""
    seen = outcome.seen.seen if isinstance(outcome.seen, Foreseen) else outcome.seen
    return isinstance(seen, Borne)


class _Reporter:
    def __init__(self, checked: Checked, system: str, named: bool) -> None:
        self.checked = checked
        self.world = checked.world
        self.settled = self.world.settled
        self.shop = self.settled.shop
        self.book = self.settled.book
        self.teller = FindingTeller(checked, system, named=named)

    def report(self, loads: bool, fine: bool) -> Report:
        outcomes = list(self.checked.outcomes)
        findings = [self.teller.finding(outcome) for outcome in outcomes if fine or outcome.verdict != "ok"]
        untold = [] if fine else [outcome for outcome in outcomes if outcome.verdict == "ok"]
        order = {verdict: number for number, verdict in enumerate(VERDICTS)}
        # within a verdict what was found on this build comes before what is said of every build of its kind
        notes = {name for name, bound in self.book.rules.items() if bound.rule.sort == "note"}
        findings.sort(key=lambda finding: (order[finding.verdict], finding.rule in notes))
        return Report(
            build=self.settled.build.build,
            name=self.settled.build.name,
            variant=self.settled.variant.variant,
            goal=self.goal(),
            summary=Summary(self.checked.verdict, **dict(self.checked.counts)),
            findings=tuple(findings),
            extra_parts=tuple(self.extra_parts()),
            extra_work=tuple(self.extra_work()),
            opened_joints=tuple(self.joints()),
            unknown=tuple(self.unknown(findings)),
            taken=tuple(self.taken_figures(findings, untold)),
            changed={
                position: entry.part.part
                for position, entry in self.settled.fitted.items()
                if self.settled.changed(position) and position != "fuel"
            },
            figures=loads_table(self.world) if loads else {},
            scoped=scoped(self.world),
            house=house_rules(self.shop, self.book),
        )

    def goal(self) -> dict[str, Any]:
        goal = self.settled.goal
        said = {name: getattr(goal, entry) for name, (_, entry) in GOAL.items()}
        bands = {name: band.text() for name, band in said.items() if band is not None}
        return {**bands, "fuel": goal.fuel, "duty": goal.duty}

    # what the build forces

    def extra_parts(self) -> list[ExtraPart]:
        return [
            ExtraPart(
                part=extra.name,
                count=extra.count,
                because=forced_by(self.settled, extra),
                name=self.shop.parts[extra.name].name,
                position=extra.position,
                held_back=self.teller.needs.settled_first(extra.held),
            )
            for extra in self.checked.extras
            if extra.position
        ]

    def extra_work(self) -> list[ExtraWork]:
        return [
            ExtraWork(
                work=extra.name,
                because=forced_by(self.settled, extra),
                name=self.shop.works[extra.name].name,
                hours=str(extra.hours),
                held_back=self.teller.needs.settled_first(extra.held),
            )
            for extra in self.checked.extras
            if not extra.position
        ]

    def joints(self) -> list[OpenedJoint]:
        ahead = self.checked.ahead
        by_joint: dict[str, list[str]] = {}
        for entry in self.checked.renewed if ahead is None else ahead.renewed:
            by_joint.setdefault(entry.joint, []).append(f"{entry.count} x {entry.part}")
        return [
            OpenedJoint(
                joint=name,
                name=self.shop.joints[name].name,
                because=self.teller.tell.touch(reason),
                renews=tuple(by_joint.get(name, ())),
                inspect=self.shop.joints[name].inspect,
            )
            for name, reason in {**self.teller.then.world.joints, **self.world.joints}.items()
        ]

    def taken_figures(self, findings: list[Finding], untold: list[Outcome]) -> list[TakenFigure]:
        """Figures taken as the rulebook says for want of a stated value, with what rests on each."""
        if not self.teller.taken:
            return []
        said = [(finding.rule, finding.taken) for finding in findings]
        said += [
            (outcome.rule, self.teller.taken_by(self.book.asked(outcome.rule)))
            for outcome in untold
            if not isinstance(outcome.seen, Met) or outcome.seen.demand.rule
        ]
        resting = {
            name: tuple(rule for rule, taken in said if says in taken)
            for name, says in self.teller.taken.items()
        }
        return [
            TakenFigure(name, self.teller.taken[name], rules)
            for name, rules in resting.items()
            if rules and (gap := self.world.taken(name)) is not None and gap.specs
        ]

    def unknown(self, findings: list[Finding]) -> list[UnknownSpec]:
        rules: dict[str, list[str]] = {}
        for finding in findings:
            for spec in finding.unstated:
                rules.setdefault(spec, []).append(finding.rule)
        found = []
        for spec, names in sorted(rules.items()):
            entry = self.settled.fitted.get(spec.partition(".")[0])
            found.append(UnknownSpec(spec=spec, part=entry.part.part if entry else "", rules=tuple(names)))
        return found
