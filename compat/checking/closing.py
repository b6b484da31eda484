"""Closing what a build leaves open: needs by added parts and work, opened joints by what they consume."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from compat.checking.joints import renewals
from compat.checking.needs import Closure, Demand, Supply, close
from compat.checking.outcome import Met, Outcome, Renewed, RenewedAt
from compat.checking.supply import Cards, Market
from compat.checking.world import BuildWorld
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule

__all__ = ["Extra", "Needs", "close_needs", "extras", "renew"]


@dataclass(frozen=True, slots=True)
class Extra:
    """A part or work that the build forces and does not have, and what forces it."""

    name: str
    position: str = ""
    """Where a part goes; empty for work."""
    count: int = 1
    hours: Decimal = Decimal(0)
    demand: Demand | None = None
    joint: str = ""


@dataclass(frozen=True)
class Needs:
    """The needs of a build: what is offered and asked, what came of each, and what was added."""

    supplies: list[Supply]
    demands: list[Demand]
    outcomes: tuple[Outcome, ...]
    closure: Closure


def close_needs(
    world: BuildWorld, rules: Iterable[BoundRule], cards: Cards | None = None, before: Needs | None = None
) -> Needs:
    """Close the needs of a build.

    Parameters
    ----------
    world : BuildWorld
        The build.
    rules : iterable of BoundRule
        The need rules that apply to it.
    cards : Cards, optional
        What parts and works offer and ask, kept by whoever checks many builds.
    before : Needs, optional
        The needs of a build that differs little; where nothing was open and nothing differs, they stand.

    Returns
    -------
    Needs
        An outcome for each need, and what was added for them.
    """
    market = Market(world, cards)
    supplies, demands = market.supplies(), market.demands(rules)
    # nobody is asked to help where nothing is open, so offers and needs decide by themselves
    settled = before is not None and not before.closure.opened
    if before is not None and settled and supplies == before.supplies and demands == before.demands:
        return before
    present = [entry.part.part for entry in world.settled.fitted.values()] + market.works()
    closure = close(supplies, demands, world.settled.fitted, present, market.providers, market.excluded())
    added = {id(demand): provider for provider, demand in closure.added}
    opened = {id(shortage.demand): shortage for shortage in closure.opened}
    outcomes = []
    for demand in demands:
        rule = demand.rule
        if not rule and demand.features[0].startswith("work:"):
            continue
        shortage = opened.get(id(demand))
        verdict: Verdict = "ok"
        if shortage is not None:
            verdict = world.settled.book.rules[rule].rule.fails_as if rule else "missing"
        name = rule or f"need-{demand.features[0].replace('_', '-')}"
        outcomes.append(Outcome(name, verdict, Met(demand, shortage, added.get(id(demand)))))
    return Needs(supplies, demands, tuple(outcomes), closure)


def renew(world: BuildWorld) -> tuple[tuple[Outcome, ...], tuple[Renewed, ...]]:
    """Judge what every opened joint consumes.

    Returns
    -------
    tuple
        An outcome for each joint that a rule speaks of, and all that is renewed. A piece that two opened
        joints consume is asked for at the first.
    """
    rules = world.settled.book.renews
    outcomes: list[Outcome] = []
    everything: list[Renewed] = []
    seen: set[str] = set()
    for name, reason in world.joints.items():
        renewed = tuple(renewals(world, world.settled.shop.joints[name]))
        everything += renewed
        rule = rules.get(name)
        if rule is not None and renewed:
            lacking = tuple(entry for entry in renewed if not entry.covered and entry.position not in seen)
            verdict: Verdict = rule.rule.fails_as if lacking else "ok"
            outcomes.append(Outcome(rule.rule.rule, verdict, RenewedAt(name, reason, renewed, lacking)))
        seen |= {entry.position for entry in renewed}
    return tuple(outcomes), tuple(everything)


def extras(world: BuildWorld, closure: Closure, renewed: Iterable[Renewed]) -> tuple[Extra, ...]:
    """Parts and work that the build forces and does not have, each once."""
    shop, settled = world.settled.shop, world.settled
    found: dict[str, Extra] = {}
    for provider, demand in closure.added:
        name = provider.name
        if name in shop.works:
            found.setdefault(name, Extra(name, hours=shop.works[name].hours, demand=demand))
        else:
            position = shop.parts[name].fills[0]
            found.setdefault(name, Extra(name, position, settled.count(position, name), demand=demand))
    seen: set[str] = set()
    for entry in renewed:
        if entry.position not in seen and not settled.fitted[entry.position].bought:
            found.setdefault(entry.part, Extra(entry.part, entry.position, entry.count, joint=entry.joint))
        seen.add(entry.position)
    return tuple(found.values())
