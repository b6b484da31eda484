"""A shop while its files are read: what was found so far, and what is known to be faulty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from compat.shop import models
from compat.shop.graph import Key
from compat.shop.shop import Shop, Spots
from compat.shop.source import Fault, Node, Spot, nearest
from compat.shop.specs import Spec, SpecKind, declare
from compat.shop.words import KINDS

__all__ = ["Draft"]

TABLES = {
    "family": "families",
    "variant": "variants",
    "position": "positions",
    "feature": "features",
    "part": "parts",
    "work": "works",
    "joint": "joints",
    "supplier": "suppliers",
    "stock": "stock",
    "build": "builds",
}
"""Table of the shop for each kind of thing."""


def _tables() -> dict[str, dict[str, Any]]:
    return {kind: {} for kind in KINDS}


@dataclass
class Draft:
    """Collects the things of a shop; `shop` gives the shop when all is read."""

    info: models.ShopInfo | None = None
    tables: dict[str, dict[str, Any]] = field(default_factory=_tables)
    kinds: dict[str, dict[str, SpecKind]] = field(default_factory=dict)
    specs: dict[str, Mapping[str, Spec]] = field(default_factory=dict)
    setups: dict[str, Mapping[str, Spec]] = field(default_factory=dict)
    nodes: dict[Key, Spots] = field(default_factory=dict)
    faulty: set[Key] = field(default_factory=set)
    beyond: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def parts(self) -> dict[str, models.Part]:
        """Parts by id."""
        return self.tables["part"]

    def of_kind(self, kind: str) -> dict[str, Any]:
        """Everything of one kind, by id."""
        return self.tables[kind]

    def known(self, kind: str) -> Iterator[str]:
        """Ids of a kind, those of faulty things too."""
        return (name for of, name in self.nodes if of == kind)

    def things(self) -> Iterator[models.Thing]:
        """Everything, kind by kind."""
        for kind in KINDS:
            yield from self.tables[kind].values()

    def includes(self) -> Mapping[str, tuple[str, ...]]:
        """What comes in the box of each part."""
        return {part.part: part.includes for part in self.parts.values()}

    def spot(self, kind: str, name: str, *path: str | int) -> Spot:
        """Where a thing, or something inside it, was written."""
        return self.nodes[kind, name].spot_of(path)

    def take(self, word: str, thing: models.Thing | None, node: Node, faults: list[Fault]) -> None:
        """Take in an entry; None stands for one that failed its own checks."""
        if thing is None:
            self._remember_id(word, node, faults)
        elif isinstance(thing, models.ShopInfo):
            if self.info is not None:
                faults.append(Fault(node.spot, "is a second shop entry; a shop has one"))
            self.info = thing
            self.nodes.setdefault(("shop", thing.shop), node)
        elif isinstance(thing, models.MoreSpecs):
            self._declare_more(thing, node, faults)
        else:
            self._add(thing, node, faults)

    def _remember_id(self, word: str, node: Node, faults: list[Fault]) -> None:
        # a thing that failed its own checks still exists, so that others may name it
        name = node.data.get(word)
        if not isinstance(name, str) or (word, name) in self.nodes:
            return
        self.nodes[word, name] = node
        self.faulty.add((word, name))
        specs = node.data.get("specs")
        if word == "position":
            self._declare(name, specs if isinstance(specs, dict) else {}, node, faults)

    def _add(self, thing: models.Thing, node: Node, faults: list[Fault]) -> None:
        key = (thing.kind, thing.id)
        if key in self.nodes:
            first = self.nodes[key].spot
            message = f"{thing.kind} '{thing.id}' is given twice; first at {first.file}:{first.line}"
            faults.append(Fault(node.spot, message))
            return
        self.nodes[key] = node
        self.tables[thing.kind][thing.id] = thing
        if isinstance(thing, models.Position):
            self._declare(thing.position, thing.specs, node, faults)

    def _declare_more(self, more: models.MoreSpecs, node: Node, faults: list[Fault]) -> None:
        position = more.more_specs
        if position not in self.kinds:
            told = f"position '{position}' is not known{nearest(position, self.kinds)}"
            faults.append(Fault(node.spot, told))
            return
        before = self.kinds[position]
        for name in before.keys() & more.specs.keys():
            told = f"spec '{name}' of '{position}' is declared already"
            faults.append(Fault(node.spot_of(["specs", name]), told))
        self._declare(position, more.specs, node, faults)
        self.kinds[position] = {**self.kinds[position], **before}
        if position in self.tables["position"]:
            place = self.tables["position"][position]
            self.tables["position"][position] = replace(place, specs={**place.specs, **more.specs})

    def _declare(self, position: str, specs: Mapping[str, Any], node: Node, faults: list[Fault]) -> None:
        kinds = self.kinds[position] = {}
        for name, raw in specs.items():
            try:
                kinds[name] = declare(name, raw)
            except ValueError as error:
                self.faulty.add(("spec", f"{position}.{name}"))
                faults.append(Fault(node.spot_of(["specs", name]), f"spec '{name}': {error}"))
        for name, kind in kinds.items():
            of = kind.spread_of[0]
            if of and (of not in kinds or kinds[of].dimension != kind.dimension or not kinds[of].at):
                told = f"spec '{name}': 'spread_of' names no spec of this position with places `at`"
                faults.append(Fault(node.spot_of(["specs", name]), f"{told}{nearest(of, set(kinds) - {of})}"))

    def shop(self) -> Shop:
        """The shop of everything that was taken in."""
        return Shop(
            info=self.info,
            **{TABLES[kind]: table for kind, table in self.tables.items()},
            kinds=self.kinds,
            specs=self.specs,
            setups=self.setups,
            nodes=self.nodes,
            faulty=frozenset(self.faulty),
            beyond=self.beyond,
        )
