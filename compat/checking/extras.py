"""What is to be ordered and done beside what a build names, and what of it is held back."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from decimal import Decimal

from compat.checking.ahead import Ahead
from compat.checking.judged import Judged
from compat.checking.needs import Demand, open_demands
from compat.checking.outcome import RANK, Renewed
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.rulebook import BoundRule, Rulebook

__all__ = ["Extra", "extras"]


@record(slots=True)
class Extra:
    """A part or work that the build forces and does not have, and what forces it."""

    name: str
    position: str = ""
    """Where a part goes; empty for work."""
    count: int = 1
    hours: Decimal = Decimal(0)
    demand: Demand | None = None
    joint: str = ""
    held: tuple[str, ...] = ()
    """Rules that it comes to grief by: it is not ordered or done until they are settled."""


def extras(
    world: BuildWorld, judged: Judged, renewed: Iterable[Renewed], ahead: Ahead | None
) -> tuple[Extra, ...]:
    """Parts and work that the build forces and does not have, each once.

    Parameters
    ----------
    world : BuildWorld
        The build.
    judged : Judged
        What came of its rules.
    renewed : iterable of Renewed
        What its opened joints consume.
    ahead : Ahead or None
        The build with all of that in it, where something is added.

    Returns
    -------
    tuple of Extra
        What is added first, in the order found, then what opened joints consume.
    """
    last = world if ahead is None else ahead.world
    shop, settled = last.settled.shop, last.settled
    family = shop.families[settled.variant.family]
    against = _against(settled.book, judged if ahead is None else ahead.judged)
    found: dict[tuple[str, str], Extra] = {}
    added = () if ahead is None else ahead.added
    held = {} if ahead is None else _held(ahead, judged.asking, against)
    for provider, demand in added:
        name, position = provider.name, "".join(provider.fills)
        hours = Decimal(0) if position else shop.works[name].hours_on(family)
        count = settled.count(position) if position else 1
        found[name, position] = Extra(name, position, count, hours, demand, held=held.get(name, ()))
    seen: set[str] = set()
    for entry in renewed if ahead is None else ahead.renewed:
        if entry.position not in seen and not settled.fitted[entry.position].bought:
            extra = Extra(
                entry.part,
                entry.position,
                entry.count,
                joint=entry.joint,
                held=against.get(entry.position, ()),
            )
            found.setdefault((entry.part, entry.position), extra)
        seen.add(entry.position)
    # work is told in the order in which it is done
    places = {work.work: number for number, (work, _) in enumerate(settled.ready.works)}
    return tuple(sorted(found.values(), key=lambda extra: -1 if extra.position else places.get(extra.name, -1)))


def _held(
    ahead: Ahead, asking: Container[str], against: Mapping[str, tuple[str, ...]]
) -> dict[str, tuple[str, ...]]:
    """What is held back by a rule that speaks against it, and with it what came by it and what lives on it."""
    held: dict[str, tuple[str, ...]] = {}
    for provider, _ in ahead.added:
        if rules := against.get("".join(provider.fills) or f"work:{provider.name}"):
            held[provider.name] = rules
    brought = _brought(ahead, asking)
    needs = ahead.stages[-1].needs
    open_anyway = {id(shortage.demand) for shortage in needs.closure.opened}
    before = -1
    while held and len(held) > before:
        before = len(held)
        for name, by in brought.items():
            if name not in held and (reasons := [held[other] for other in by if other in held]):
                held[name] = reasons[0]
        supplies = [supply for supply in needs.supplies if supply.owner not in held]
        demands = [d for d in needs.demands if d.owner in brought and d.owner not in held]
        for shortage in open_demands(demands, supplies):
            demand = shortage.demand
            givers = (s.owner for s in needs.supplies if s.owner in held and demand.suits(s))
            if id(demand) not in open_anyway and (giver := next(givers, "")):
                held[demand.owner] = held[giver]
    return held


def _brought(ahead: Ahead, asking: Container[str]) -> dict[str, set[str]]:
    """For everything added what else that was added asked for it, itself or by a rule that it woke."""
    places = {"".join(provider.fills) or f"work:{provider.name}": provider.name for provider, _ in ahead.added}
    names, rules = set(places.values()), ahead.world.settled.book.rules
    works = ahead.world.settled.shop.works
    found: dict[str, set[str]] = {}
    for provider, demand in ahead.added:
        by = found.setdefault(provider.name, set())
        if not provider.fills and works[provider.name].on in places:
            by.add(places[works[provider.name].on])  # nothing to work on without it
        if demand.owner in names:
            by.add(demand.owner)
        elif demand.rule and demand.rule not in asking:
            spoken_of = _spoken_of(rules[demand.rule], conditions=True)
            by |= {places[thing] for thing in spoken_of if thing in places} - {provider.name}
    return found


def _against(book: Rulebook, judged: Judged) -> Mapping[str, tuple[str, ...]]:
    """By position, and by work as ``work:id``, the rules in a bad way that speak of it themselves."""
    found: dict[str, tuple[str, ...]] = {}
    for name, outcome in judged.outcomes.items():
        if RANK[outcome.verdict] <= RANK["shortfall"]:
            for thing in _spoken_of(book.rules[name]):
                found[thing] = (*found.get(thing, ()), name)
    order = {name: number for number, name in enumerate(book.rules)}
    return {thing: tuple(sorted(rules, key=order.__getitem__)) for thing, rules in found.items()}


def _spoken_of(rule: BoundRule, *, conditions: bool = False) -> set[str]:
    """Positions and work in a rule's own words; what a figure behind it rests on is settled elsewhere."""
    found: set[str] = set()
    for expression in rule.expressions(conditions):
        names = expression.names
        found |= {position for position, _ in names.specs} | set(names.positions)
        found |= {f"work:{work}" for work in names.works}
    return found
