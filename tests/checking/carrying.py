"""Doing all that a report says, as its reader would: order what is not held back, do the work in its order."""

from __future__ import annotations

import random
from collections.abc import Iterator

import networkx as nx

from compat import Check, OpenShop
from compat.checking.outcome import Foreseen, Met
from compat.shop.builds import ReadyBuild
from compat.shop.source import Faults
from compat.shop.writing import as_said

__all__ = ["bad", "carried_out", "changes"]

BAD = ("conflict", "shortfall", "missing")


def carried_out(check: Check) -> ReadyBuild:
    """The build of a check with every part and work that its report lists and does not hold back."""
    ready, report = check.world.settled.ready, check.report
    fitted = {position: entry.part.part for position, entry in check.world.settled.fitted.items()}
    fit = {
        part.position: part.part
        for part in report.extra_parts
        if not part.held_back and fitted.get(part.position) != part.part
    }
    works = ready.shop.works
    sized = {name for name, work in works.items() if any(p.default is None for p in work.takes.values())}
    more = [work.work for work in report.extra_work if not work.held_back and work.work not in sized]
    named = [done.work for done in ready.build.work]
    said = list(as_said(ready.build).get("work", []))
    order = in_order(ready, [*named, *more])
    entries = dict(zip(named, said, strict=True)) | {name: name for name in more}
    return ready.fitting(**fit).changed(work=[entries[name] for name in order], renew="all")


def in_order(ready: ReadyBuild, names: list[str]) -> list[str]:
    """Work in the order that its `after` asks, else as it was named; as it stands where that goes in a ring."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(names)
    for name in names:
        graph.add_edges_from((first, name) for first in ready.shop.works[name].after if first in names)
    if not nx.is_directed_acyclic_graph(graph):
        return names
    return list(nx.lexicographical_topological_sort(graph, key=names.index))


def bad(check: Check) -> dict[tuple[str, str], int]:
    """How bad each finding that stands against a build is, by rule and, for a need, who has it."""
    found: dict[tuple[str, str], int] = {}
    for outcome in check.outcomes:
        seen = outcome.seen.seen if isinstance(outcome.seen, Foreseen) else outcome.seen
        owner = seen.demand.owner if isinstance(seen, Met) and not seen.demand.rule else ""
        if outcome.verdict in BAD:
            key = (outcome.rule, owner)
            found[key] = min(found.get(key, 9), BAD.index(outcome.verdict))
    return found


def changes(shop: OpenShop, seed: int) -> Iterator[tuple[str, ReadyBuild]]:
    """Single changes of demo builds and variants without end: another part, none, one more, another goal."""
    things, chance = shop.things, random.Random(seed)
    names = [*things.builds, *things.variants]
    while True:
        name = chance.choice(names)
        ready = shop.build(name)
        fitted = shop.check(ready).world.settled.fitted
        kind = chance.choice(["swap"] * 6 + ["drop"] * 2 + ["add"] * 2 + ["power", "duty"])
        try:
            match kind:
                case "swap" | "add":
                    free = set(things.positions) - set(fitted) - {"setup"}
                    position = chance.choice(sorted(fitted if kind == "swap" else free))
                    own = fitted[position].part.part if position in fitted else ""
                    family = ready.variant.family
                    parts = [
                        part
                        for part in things.fillers[position]
                        if part != own and family in (things.parts[part].families or (family,))
                    ]
                    if not parts or position == "fuel":
                        continue
                    part = chance.choice(parts)
                    yield f"{name}, {position}: {part}", ready.fitting(**{position: part})
                case "drop":
                    position = chance.choice(sorted(set(fitted) - {"fuel"}))
                    yield f"{name} without {position}", ready.fitting(**{position: None})
                case "power":
                    power = f"{chance.randint(80, 240)} kW"
                    yield f"{name} at {power}", ready.aiming(power=power)
                case "duty":
                    duty = chance.choice(["street", "track", "endurance"])
                    yield f"{name} for {duty}", ready.aiming(duty=duty)
        except Faults:
            continue
