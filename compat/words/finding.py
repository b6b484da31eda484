"""From one outcome to the finding that is told of it."""

from __future__ import annotations

from collections.abc import Set
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
from compat.rulebook.rulebook import BoundRule
from compat.units import unit
from compat.words.coming_of import Origins
from compat.words.deciding import Deciding
from compat.words.needs import NeedTeller
from compat.words.report import Finding
from compat.words.standing import StandingTeller
from compat.words.telling import Teller
from compat.words.wording import in_sentence, listed

__all__ = ["FindingTeller"]


class FindingTeller:
    """Tells what a check found, outcome by outcome.

    Parameters
    ----------
    checked : Checked
        What was found.
    system : str
        ``metric`` or ``imperial``: units of the sentences.
    world : BuildWorld, optional
        The build that is spoken of, where it is another than the one that stands: that with everything added.
    named : bool
        Whether what can help is told where a rule names it.
    """

    def __init__(
        self, checked: Checked, system: str, world: BuildWorld | None = None, *, named: bool = True
    ) -> None:
        self.checked = checked
        self.system = system
        self.named = named
        self.world = world = checked.world if world is None else world
        self.settled = world.settled
        self.shop = self.settled.shop
        self.book = self.settled.book
        self.tell = Teller(world, system)
        added = checked.ahead.added if checked.ahead is not None else ()
        self.needs = NeedTeller(self.tell, {provider.name for provider, _ in added})
        self.standing = StandingTeller(self.tell)
        self.origins = Origins(checked)
        self.parts = {position: entry.part.part for position, entry in self.settled.fitted.items()}
        self.taken = self.tell.taken()
        """What is said of each figure that is taken for want of a stated value."""
        self.deciding = Deciding(world)
        self.estimated = {
            (position, name)
            for position, specs in self.settled.specs.by_position.items()
            for name, spec in specs.items()
            if spec.basis == "estimate"
        }

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
    def then(self) -> FindingTeller:
        """Tells of the build with everything added that it must have."""
        # who held on to itself would hold the whole check until a collector comes by
        return self._ahead or self

    @cached_property
    def _ahead(self) -> FindingTeller | None:
        ahead = self.checked.ahead
        if ahead is None:
            return None
        return FindingTeller(self.checked, self.system, ahead.world, named=self.named)

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
            helped = self.named and outcome.verdict != "ok"
            common["remedies"] = self.remedies(rule, outcome) if helped else ()
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
