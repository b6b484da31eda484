"""Checking a build: the six steps, one report."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from compat.checking.joints import Renewed, opened_joints, renewals
from compat.checking.judging import Judge
from compat.checking.kept import Keeper
from compat.checking.needs import Closure, Demand, Provider, Shortage, close
from compat.checking.report import ExtraPart, ExtraWork, Finding, OpenedJoint, Report, Summary, UnknownSpec
from compat.checking.settle import Settled, as_build, choose_works, collect_specs, place_parts
from compat.checking.supply import Market
from compat.checking.wording import article, in_sentence, listed
from compat.checking.world import BuildWorld
from compat.rulebook.models import VERDICTS, Verdict
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.scope import GOAL
from compat.rulebook.values import Absent, Missing
from compat.shop.models import Build
from compat.shop.shop import Shop

__all__ = ["Checked", "check", "settle"]


@dataclass
class Checked:
    """A report together with the world it was read from, for asking why."""

    report: Report
    world: BuildWorld
    closure: Closure = field(default_factory=Closure)
    renewed: list[Renewed] = field(default_factory=list)


def settle(shop: Shop, book: Rulebook, build: Build) -> BuildWorld:
    """Settle a build and give its world, work applied.

    Parameters
    ----------
    shop, book
        What the shop knows.
    build : Build
        The build.

    Returns
    -------
    BuildWorld
        The world that expressions see.
    """
    variant = shop.variants[build.variant]
    fitted = place_parts(shop, build, variant)
    works, forced = choose_works(shop, build)
    rated = variant.rated
    goal = replace(
        build.goal,
        rev_limit=build.goal.rev_limit or rated.rev_limit,
        fuel=build.goal.fuel or rated.fuel,
    )
    specs = collect_specs(shop, build, variant, fitted)
    settled = Settled(shop, book, build, variant, goal, fitted, specs, works, forced)
    world = BuildWorld(settled)
    world.apply_work()
    for (position, spec), stated in shop.measured.get(build.build, {}).items():
        if position in fitted:
            world.measured(position, spec, stated)
    world.joints = opened_joints(settled)
    return world


def check(shop: Shop, book: Rulebook, name: str | Build, system: str = "metric") -> Checked:
    """Check a build.

    Parameters
    ----------
    shop : Shop
        The shop's catalogue.
    book : Rulebook
        The rulebook, read against that shop.
    name : str or Build
        A build, or the id of a build or of a variant (checked at its own rated goal).
    system : str
        ``metric`` or ``imperial``: units of the sentences. Numbers stay in the unit that the finding names.

    Returns
    -------
    Checked
        The report and the world behind it.

    Raises
    ------
    KeyError
        When there is no build or variant of that id.
    """
    if isinstance(name, Build):
        build = name
    elif name in shop.builds:
        build = shop.builds[name]
    else:
        build = as_build(shop.variants[name])
    world = settle(shop, book, build)
    return _Check(world, system).run()


class _Check:
    def __init__(self, world: BuildWorld, system: str) -> None:
        self.world = world
        self.settled = world.settled
        self.shop = world.settled.shop
        self.book = world.settled.book
        self.judge = Judge(world, system)
        self.keeper = Keeper(world, self.judge, system)
        self.findings: list[Finding] = []
        self.parts: dict[str, ExtraPart] = {}
        self.work: dict[str, ExtraWork] = {}

    def run(self) -> Checked:
        """Go through the steps and put the report together."""
        needs: list[BoundRule] = []
        renews: dict[str, BoundRule] = {}
        self.required()
        for rule in self.book.rules.values():
            if rule.rule.sort == "need":
                if self.asks(rule):
                    needs.append(rule)
            elif rule.rule.sort == "renew":
                renews[rule.rule.renew or ""] = rule
            elif (finding := self.keeper.finding(rule)) is not None:
                self.findings.append(finding)
        closure = self.close(needs)
        joints, renewed = self.open(renews)
        order = {verdict: number for number, verdict in enumerate(VERDICTS)}
        # within a verdict what was found on this build comes before what is said of every build of its kind
        notes = {name for name, bound in self.book.rules.items() if bound.rule.sort == "note"}
        self.findings.sort(key=lambda finding: (order[finding.verdict], finding.rule in notes))
        report = Report(
            build=self.settled.build.build,
            name=self.settled.build.name,
            variant=self.settled.variant.variant,
            goal=self.goal(),
            summary=Summary.of(self.findings),
            findings=self.findings,
            extra_parts=list(self.parts.values()),
            extra_work=list(self.work.values()),
            opened_joints=joints,
            unknown=self.unknown(),
            changed={
                position: entry.part.part
                for position, entry in self.settled.fitted.items()
                if self.settled.changed(position) and position != "fuel"
            },
        )
        return Checked(report, self.world, closure, renewed)

    def goal(self) -> dict[str, Any]:
        goal = self.settled.goal
        said = {name: getattr(goal, entry) for name, (_, entry) in GOAL.items()}
        bands = {name: band.text() for name, band in said.items() if band is not None}
        return {**bands, "fuel": goal.fuel, "duty": goal.duty}

    def required(self) -> None:
        """Every position without which the engine cannot run is filled."""
        for place in self.shop.positions.values():
            if not place.required:
                continue
            filled = place.position in self.settled.fitted
            if filled:
                continue
            self.findings.append(
                Finding(
                    rule=f"required-{place.position.replace('_', '-')}",
                    verdict="missing",
                    title=f"{place.name} in place",
                    positions=[place.position],
                    because=f"no {in_sentence(place.name)} is fitted, and the engine cannot run without it",
                    remedies=[f"Choose a part for {place.position} in the build's `fit`."],
                    source="common practice",
                    why=f"An engine needs its {place.name.lower()}.",
                )
            )

    # needs

    def asks(self, rule: BoundRule) -> bool:
        try:
            applies = self.judge.applies(rule)
        except Absent:
            return False
        if isinstance(applies, Missing):
            self.findings.append(self.judge.unknown(rule, applies))
            return False
        return applies

    def close(self, rules: list[BoundRule]) -> Closure:
        market = Market(self.world)
        demands = market.demands(rules)
        present = [entry.part.part for entry in self.settled.fitted.values()] + market.works()
        closure = close(
            market.supplies(), demands, self.settled.fitted, present, market.providers, market.excluded()
        )
        added = {id(demand): provider for provider, demand in closure.added}
        opened = {id(shortage.demand): shortage for shortage in closure.opened}
        for demand in demands:
            if demand.owner.startswith("rule:") or not demand.features[0].startswith("work:"):
                self.need_finding(demand, opened, added)
        for provider, demand in closure.added:
            self.add(provider.name, demand)
        return closure

    def need_finding(self, demand: Demand, opened: dict[int, Any], added: dict[int, Any]) -> None:
        rule = (
            self.book.rules.get(demand.owner.removeprefix("rule:"))
            if demand.owner.startswith("rule:")
            else None
        )
        shortage = opened.get(id(demand))
        verdict: Verdict = "ok"
        because, remedies = f"{self.wanted(demand)}: there", []
        if shortage is not None:
            verdict = rule.rule.fails_as if rule else "missing"
            because = self.lacking(demand, shortage)
            remedies = self.need_remedies(demand, rule, added.get(id(demand)))
        if rule is not None:
            finding = self.judge.finding(rule, verdict, because)
        else:
            feature = self.shop.features[demand.features[0]]
            owner = self.shop.parts.get(demand.owner)
            finding = Finding(
                rule=f"need-{feature.feature.replace('_', '-')}",
                verdict=verdict,
                title=f"{feature.name}, asked by {self.asker(demand.owner)}",
                positions=list(owner.fills) if owner else [self.shop.works[demand.owner].on],
                parts=[demand.owner] if owner else [],
                because=because,
                source=feature.source,
                why=feature.why,
            )
        finding.remedies = remedies
        self.findings.append(finding)

    def need_remedies(self, demand: Demand, rule: BoundRule | None, provider: Provider | None) -> list[str]:
        """What meets a need: first what the check adds by itself, then what rule or feature name."""
        entries: list[tuple[str, str]] = []
        if provider is not None:
            entries.append(("work" if provider.name in self.shop.works else "add", provider.name))
        if rule is not None:
            entries += [(str(key), name) for entry in rule.rule.remedies for key, name in entry.items()]
        else:
            entries += [
                (key, name)
                for feature in demand.features
                for entry in self.shop.features[feature].remedies
                for key, name in entry.items()
            ]
        # a part that fills the position is nearer to hand than the bare name of the position
        known = {("add", place) for place in provider.fills} if provider else set()
        told = [self.judge.tell.remedy(key, name) for key, name in entries if (key, name) not in known]
        return list(dict.fromkeys(told)) or ["Fit a part that offers it, or one that does without."]

    def lacking(self, demand: Demand, shortage: Shortage) -> str:
        """Why a need is open, as a sentence."""
        wanted = self.wanted(demand)
        kind, sign, name = demand.features[0].partition(":")
        if sign and not shortage.offered:
            if kind == "work":
                return f"this work is not in the build: {in_sentence(self.shop.works[name].name)}"
            return f"no {in_sentence(self.shop.positions[name].name)} is in the build"
        who = "the build"
        if not demand.owner.startswith("rule:"):
            who = f"{self.asker(demand.owner)} ({demand.owner})"
        if shortage.competing:
            others = listed([owner.removeprefix("rule:") for owner in shortage.competing])
            return f"{who} needs {wanted}; {shortage.offered} there, {shortage.asked} asked for by {others}"
        if shortage.offered:
            return f"{who} needs {wanted}; only {shortage.offered} there"
        return f"{who} needs {wanted}, and nothing in the build offers it"

    def asker(self, name: str) -> str:
        """A part by its position, work by its name."""
        part = self.shop.parts.get(name)
        if part is None:
            return f"the work '{in_sentence(self.shop.works[name].name)}'"
        place = next((p for p in part.fills if p in self.settled.fitted), part.fills[0])
        return f"the {in_sentence(self.shop.positions[place].name)}"

    def wanted(self, demand: Demand) -> str:
        """What a need asks for, as words."""
        names = [self.label(feature) for feature in demand.features]
        if demand.count > 1:
            return f"{demand.count} x {listed([in_sentence(name) for name in names], 'or')}"
        return listed([article(name) for name in names], "or")

    def label(self, feature: str) -> str:
        kind, _, name = feature.partition(":")
        if not name:
            return self.shop.features[feature].name
        return self.shop.works[name].name if kind == "work" else self.shop.positions[name].name

    def add(self, name: str, demand: Demand) -> None:
        owner = demand.owner
        because = f"needed by {'work ' * (owner in self.shop.works)}{owner}"
        if owner.startswith("rule:"):
            because = self.book.rules[owner.removeprefix("rule:")].rule.title
        if name in self.shop.works:
            work = self.shop.works[name]
            self.work.setdefault(
                name, ExtraWork(work=name, because=because, name=work.name, hours=str(work.hours))
            )
            return
        part = self.shop.parts[name]
        position = part.fills[0]
        count = self.settled.count(position)
        self.parts.setdefault(
            name, ExtraPart(part=name, count=count, because=because, name=part.name, position=position)
        )

    # joints

    def open(self, rules: dict[str, BoundRule]) -> tuple[list[OpenedJoint], list[Renewed]]:
        joints: list[OpenedJoint] = []
        everything: list[Renewed] = []
        seen: set[str] = set()
        for name, reason in self.world.joints.items():
            joint = self.shop.joints[name]
            renewed = renewals(self.world, joint)
            everything += renewed
            joints.append(
                OpenedJoint(
                    joint=name,
                    name=joint.name,
                    because=reason,
                    renews=[f"{entry.count} x {entry.part}" for entry in renewed],
                    inspect=list(joint.inspect),
                )
            )
            self.renew_finding(name, rules.get(name), renewed, reason, seen)
            for entry in renewed:
                if entry.position not in seen and not self.settled.fitted[entry.position].bought:
                    self.renew_part(entry, joint.name)
            seen |= {entry.position for entry in renewed}
        return joints, everything

    def renew_part(self, entry: Renewed, joint: str) -> None:
        part = self.shop.parts[entry.part]
        self.parts.setdefault(
            entry.part,
            ExtraPart(
                part=entry.part,
                count=entry.count,
                because=f"{joint} is opened",
                name=part.name,
                position=entry.position,
            ),
        )

    def piece(self, entry: Renewed) -> str:
        """A consumed piece with its count, as words."""
        name = in_sentence(self.shop.positions[entry.position].name)
        return f"{entry.count} x {name}" if entry.count > 1 else name

    def renew_finding(
        self, name: str, rule: BoundRule | None, renewed: list[Renewed], reason: str, seen: set[str]
    ) -> None:
        if rule is None or not renewed:
            return
        open_ = [entry for entry in renewed if not entry.covered and entry.position not in seen]
        if open_:
            wanted = listed([self.piece(entry) for entry in open_])
            finding = self.judge.finding(
                rule, rule.rule.fails_as, f"opened ({reason}) and not renewed in the build: {wanted}"
            )
            order = listed([f"{entry.count} x {entry.part}" for entry in open_])
            places = ", ".join(entry.position for entry in open_)
            finding.remedies = [f"Order {order}, and write `renew: [{places}]` or `renew: all` in the build."]
        else:
            finding = self.judge.finding(
                rule, "ok", f"opened ({reason}); everything it consumes is in the build"
            )
        finding.positions = [entry.position for entry in renewed]
        finding.parts = list(dict.fromkeys(entry.part for entry in renewed))
        self.findings.append(finding)

    def unknown(self) -> list[UnknownSpec]:
        rules: dict[str, list[str]] = {}
        for finding in self.findings:
            for spec in finding.unstated:
                rules.setdefault(spec, []).append(finding.rule)
        found = []
        for spec, names in sorted(rules.items()):
            entry = self.settled.fitted.get(spec.partition(".")[0])
            found.append(UnknownSpec(spec=spec, part=entry.part.part if entry else "", rules=names))
        return found
