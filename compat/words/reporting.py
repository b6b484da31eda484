"""From what a check found to the report that a person or another program reads."""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import replace
from functools import cached_property
from typing import Any

from compat.checking.check import Checked
from compat.checking.outcome import (
    Borne,
    Foreseen,
    Gap,
    Held,
    Met,
    Misplaced,
    Outcome,
    Pieced,
    RenewedAt,
    Standing,
)
from compat.checking.world import BuildWorld
from compat.rulebook.models import VERDICTS
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.scope import GOAL
from compat.units import unit
from compat.words.coming_of import Origins
from compat.words.deciding import Deciding
from compat.words.house import house_rules, scoped
from compat.words.loads import loads_table
from compat.words.needs import NeedTeller, forced_by
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
from compat.words.standing import StandingTeller
from compat.words.telling import Teller
from compat.words.wording import in_sentence, listed

__all__ = ["bears_load", "findings_of", "report"]


def report(checked: Checked, system: str = "metric", *, loads: bool = False, fine: bool = True) -> Report:
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

    Returns
    -------
    Report
        The report, made anew at every call.
    """
    return _Reporter(checked, checked.world, system).report(loads, fine)


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
    reporter = _Reporter(checked, checked.world, system)
    return tuple(reporter.finding(one) for one in checked.outcomes if wanted(one))


def bears_load(outcome: Outcome) -> bool:
    """Whether an outcome holds a load against a capacity."""
    seen = outcome.seen.seen if isinstance(outcome.seen, Foreseen) else outcome.seen
    return isinstance(seen, Borne)


class _Reporter:
    def __init__(self, checked: Checked, world: BuildWorld, system: str) -> None:
        self.checked = checked
        self.world = world
        self.system = system
        self.settled = world.settled
        self.shop = self.settled.shop
        self.book = self.settled.book
        self.tell = Teller(self.world, system)
        added = checked.ahead.added if checked.ahead is not None else ()
        self.needs = NeedTeller(self.tell, {provider.name for provider, _ in added})
        self.standing = StandingTeller(self.tell)
        self.origins = Origins(checked)
        self.parts = {position: entry.part.part for position, entry in self.settled.fitted.items()}
        self.taken = self.tell.taken()
        self.deciding = Deciding(self.world)
        self.estimated = {
            (position, name)
            for position, specs in self.settled.specs.by_position.items()
            for name, spec in specs.items()
            if spec.basis == "estimate"
        }

    def report(self, loads: bool, fine: bool) -> Report:
        outcomes = list(self.checked.outcomes)
        findings = [self.finding(outcome) for outcome in outcomes if fine or outcome.verdict != "ok"]
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

    # findings

    def finding(self, outcome: Outcome) -> Finding:
        match outcome.seen:
            case Standing() as stands:
                return self.standing.finding(outcome, stands)
            case Misplaced() as work:
                return self.misplaced(outcome, work)
            case Met() as met:
                found = self.need(outcome, met)
                return replace(found, parts=tuple(dict.fromkeys([*found.parts, *self.origins.of_need(met)])))
            case Foreseen(of, by):
                found = self.then.finding(replace(outcome, seen=of))
                what = listed(by) or "everything"
                parts = tuple(dict.fromkeys([*found.parts, *self.origins.of_added(by)]))
                return replace(found, parts=parts, because=f"with {what} added: {found.because}")
        rule = self.book.asked(outcome.rule)
        match outcome.seen:
            case RenewedAt() as seen:
                return self.of_rule(
                    rule,
                    outcome,
                    self.needs.renewed(seen),
                    remedies=tuple(self.needs.to_renew(seen.lacking, self.held)),
                    positions=tuple(entry.position for entry in seen.renewed),
                    parts=tuple(dict.fromkeys(entry.part for entry in seen.renewed)),
                )
            case Pieced() as pieced:
                more = {**self.limits(rule, pieced), "value": unit(rule.unit).from_si(pieced.worst.value)}
            case Held() as held:
                more = self.limits(rule, held)
            case Borne() as borne:
                more = self.load(rule, borne)
            case Gap(gap) if outcome.verdict == "unknown":
                unstated = tuple(sorted(gap.specs))
                more = {"unstated": unstated}
                if remedies := self.tell.to_state(unstated):
                    more["remedies"] = tuple(remedies)
            case _:
                more = {}
        return self.of_rule(rule, outcome, self.tell.sentence(rule, outcome), **more)

    @property
    def then(self) -> _Reporter:
        """Tells of the build with everything added that it must have."""
        # who held on to itself would hold the whole check until a collector comes by
        return self._ahead or self

    @cached_property
    def _ahead(self) -> _Reporter | None:
        ahead = self.checked.ahead
        return None if ahead is None else _Reporter(self.checked, ahead.world, self.system)

    @cached_property
    def held(self) -> dict[str, str]:
        """By position what must be settled before its extra part is ordered."""
        return {
            extra.position: self.needs.settled_first(extra.held) for extra in self.checked.extras if extra.held
        }

    def of_rule(self, rule: BoundRule, outcome: Outcome, because: str, **more: Any) -> Finding:
        """A finding with what every finding of a rule carries, and more."""
        positions = self.book.positions_of(rule)
        parts = [self.parts[p] for p in positions if p in self.parts]
        if outcome.verdict != "ok":
            parts += self.origins.of_features(sorted(self.book.gather(rule.expressions()).features))
        common: dict[str, Any] = {"positions": tuple(positions), "parts": tuple(dict.fromkeys(parts))}
        if taken := self.taken_by(rule):
            common["taken"] = taken
        if "remedies" not in more:
            common["remedies"] = () if outcome.verdict == "ok" else self.remedies(rule, outcome)
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=rule.rule.title,
            because=because,
            source=rule.rule.source,
            why=rule.rule.why,
            **common | more,
        )

    def taken_by(self, rule: BoundRule) -> tuple[str, ...]:
        """What is said of the figures that a rule hangs on and that are taken for want of a stated value."""
        if not self.taken or rule.rule.rule in self.stand_clear:
            return ()
        figures = self.deciding.figures(rule.expressions())
        return tuple(says for name, says in self.taken.items() if name in figures)

    @cached_property
    def stand_clear(self) -> Set[str]:
        """Rules that rest on no figure that is taken."""
        return self.book.rules.keys() - self.book.influence.of(("figure", name) for name in self.taken).rules

    def remedies(self, rule: BoundRule, outcome: Outcome) -> tuple[str, ...]:
        """What can help here; where nothing does that the rule names, another part of those it speaks of."""
        helping = list(self.needs.helping.those(rule.rule.remedies, rule, outcome))
        if not helping and rule.rule.remedies:
            helping = [("swap", p) for p in self.book.positions_of(rule) if p in self.parts][:1]
        return tuple(self.tell.remedy(key, name) for key, name in helping)

    def estimates(self, rule: BoundRule) -> tuple[str, ...]:
        """Estimates that the rule's numbers rest on: specs by their basis, figures by theirs."""
        figures, names = self.book.rests_on(rule)
        if self.estimated.isdisjoint(names):
            return tuple(figures)
        return (*figures, *(f"{p}.{s}" for p, s in names if (p, s) in self.estimated))

    def limits(self, rule: BoundRule, held: Held) -> dict[str, Any]:
        own = unit(rule.unit)
        return {
            "value": own.from_si(held.value),
            "low": own.from_si(held.value - held.spread.worst),
            "high": own.from_si(held.value + held.spread.worst),
            "likely": held.spread.likely / own.factor,
            "limit": own.from_si(held.near),
            "at_least": own.from_si(held.least) if held.least is not None else None,
            "at_most": own.from_si(held.most) if held.most is not None else None,
            "unit": rule.unit,
            "contributor": held.spread.most,
            "rests_on_estimate": self.estimates(rule),
            "unstated": held.unstated,
        }

    def load(self, rule: BoundRule, borne: Borne) -> dict[str, Any]:
        own = unit(rule.unit)
        return {
            "load": own.from_si(borne.load),
            "capacity": own.from_si(borne.capacity),
            "headroom": borne.headroom,
            "headroom_asked": borne.asked,
            "low": borne.low,
            "unit": rule.unit,
            "contributor": borne.contributor,
            "rests_on_estimate": self.estimates(rule),
        }

    def misplaced(self, outcome: Outcome, late: Misplaced) -> Finding:
        works = self.shop.works
        name = in_sentence(works[late.work].name)
        before = listed([f"'{in_sentence(works[other].name)}'" for other in late.before])
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{works[late.work].name}: in its order",
            positions=tuple(dict.fromkeys(works[w].on for w in (late.work, *late.before))),
            because=f"the build lists '{name}' before {before}, which must come first",
            remedies=(f"Move {late.work} after {listed(late.before)} in the build's `work`.",),
            source="common practice",
            why="Later work spoils what was done too soon, or shuts in what should have been washed out.",
        )

    def need(self, outcome: Outcome, met: Met) -> Finding:
        because = self.needs.sentence(met)
        remedies = () if met.shortage is None else tuple(self.needs.remedies(met))
        if met.demand.rule:
            return self.of_rule(self.book.rules[outcome.rule], outcome, because, remedies=remedies)
        feature = self.shop.features[met.demand.features[0]]
        owner = self.shop.parts.get(met.demand.owner)
        return Finding(
            rule=outcome.rule,
            verdict=outcome.verdict,
            title=f"{feature.name}, asked by {self.needs.asker(met.demand.owner)}",
            positions=owner.fills if owner else (self.shop.works[met.demand.owner].on,),
            parts=(met.demand.owner,) if owner else (),
            because=because,
            remedies=remedies,
            source=feature.source,
            why=feature.why,
        )

    # what the build forces

    def extra_parts(self) -> list[ExtraPart]:
        return [
            ExtraPart(
                part=extra.name,
                count=extra.count,
                because=forced_by(self.settled, extra),
                name=self.shop.parts[extra.name].name,
                position=extra.position,
                held_back=self.needs.settled_first(extra.held),
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
                held_back=self.needs.settled_first(extra.held),
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
                because=self.tell.touch(reason),
                renews=tuple(by_joint.get(name, ())),
                inspect=self.shop.joints[name].inspect,
            )
            for name, reason in {**self.then.world.joints, **self.world.joints}.items()
        ]

    def taken_figures(self, findings: list[Finding], untold: list[Outcome]) -> list[TakenFigure]:
        """Figures taken as the rulebook says for want of a stated value, with what rests on each."""
        if not self.taken:
            return []
        said = [(finding.rule, finding.taken) for finding in findings]
        said += [
            (outcome.rule, self.taken_by(self.book.asked(outcome.rule)))
            for outcome in untold
            if not isinstance(outcome.seen, Met) or outcome.seen.demand.rule
        ]
        resting = {
            name: tuple(rule for rule, taken in said if says in taken) for name, says in self.taken.items()
        }
        return [
            TakenFigure(name, self.taken[name], rules)
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
