"""A whole shop in memory, and the graph over it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any

from compat.shop.models import (
    Build,
    Family,
    Feature,
    Joint,
    Part,
    Position,
    ShopInfo,
    Supplier,
    Thing,
    Variant,
    Work,
)
from compat.shop.source import Node, Spot
from compat.shop.specs import Spec, SpecKind

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["Shop"]


@dataclass
class Shop:
    """Everything a shop keeps files about, by id, with the stated specs read and typed."""

    info: ShopInfo | None = None
    families: dict[str, Family] = field(default_factory=dict)
    variants: dict[str, Variant] = field(default_factory=dict)
    positions: dict[str, Position] = field(default_factory=dict)
    features: dict[str, Feature] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    works: dict[str, Work] = field(default_factory=dict)
    joints: dict[str, Joint] = field(default_factory=dict)
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    builds: dict[str, Build] = field(default_factory=dict)
    kinds: dict[str, dict[str, SpecKind]] = field(default_factory=dict)
    specs: dict[str, dict[str, Spec]] = field(default_factory=dict)
    setups: dict[str, dict[str, Spec]] = field(default_factory=dict)
    """What each variant left the factory set up with."""
    nodes: dict[tuple[str, str], Node] = field(default_factory=dict)
    faulty: set[tuple[str, str]] = field(default_factory=set)
    """Kind and name of what has a fault of its own already told; ("spec", "rod.mass") for a declaration."""
    _stated: dict[tuple[str, str], Mapping[str, Spec]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def of_kind(self, kind: str) -> dict[str, Any]:
        """Everything of one kind, by id."""
        tables: Mapping[str, dict[str, Any]] = {
            "family": self.families,
            "variant": self.variants,
            "position": self.positions,
            "feature": self.features,
            "part": self.parts,
            "work": self.works,
            "joint": self.joints,
            "supplier": self.suppliers,
            "build": self.builds,
        }
        return tables[kind]

    def things(self) -> Iterator[Thing]:
        """Everything, kind by kind."""
        for kind in (
            "family",
            "variant",
            "position",
            "feature",
            "part",
            "work",
            "joint",
            "supplier",
            "build",
        ):
            yield from self.of_kind(kind).values()

    def spot(self, kind: str, name: str, *path: str | int) -> Spot:
        """Where a thing, or something inside it, was written."""
        node = self.nodes.get((kind, name))
        return node.spot_of(path) if node else Spot("?")

    def count(self, variant: Variant, position: str) -> int:
        """How many of a position the engine takes."""
        if position in variant.counts:
            return variant.counts[position]
        place = self.positions[position]
        if place.per == "engine":
            return place.count
        return place.count * self.families[variant.family].numbers.get(place.per, 1)

    @cached_property
    def required(self) -> tuple[str, ...]:
        """Positions that no engine can do without."""
        return tuple(name for name, place in self.positions.items() if place.required)

    @cached_property
    def counted_by(self) -> dict[str, tuple[str, str]]:
        """Positions that a spec counts, with the position and name of that spec."""
        return {
            name: (place.counted_by.partition(".")[0], place.counted_by.partition(".")[2])
            for name, place in self.positions.items()
            if place.counted_by is not None
        }

    @cached_property
    def fillers(self) -> dict[str, list[str]]:
        """For each position the parts that can fill it."""
        table: dict[str, list[str]] = {name: [] for name in self.positions}
        for part in self.parts.values():
            for position in part.fills:
                table.setdefault(position, []).append(part.part)
        return table

    @cached_property
    def offerers(self) -> dict[str, list[tuple[str, str, int]]]:
        """For each feature who offers it: kind and id of the thing, and which of its offers it is."""
        table: dict[str, list[tuple[str, str, int]]] = {name: [] for name in self.features}
        things: list[Part | Work] = [*self.parts.values(), *self.works.values()]
        for thing in things:
            for number, offer in enumerate(thing.offers):
                table.setdefault(offer.feature, []).append((thing.kind, thing.id, number))
        return table

    @cached_property
    def joints_before(self) -> dict[str, list[str]]:
        """For each position the joints it lies behind."""
        table: dict[str, list[str]] = {}
        for joint in self.joints.values():
            for position in joint.behind:
                table.setdefault(position, []).append(joint.joint)
        return table

    @cached_property
    def homes(self) -> dict[str, list[str]]:
        """For each part the variants that left the factory with it."""
        table: dict[str, list[str]] = {}
        for variant in self.variants.values():
            for part in dict.fromkeys(variant.parts.values()):
                table.setdefault(part, []).append(variant.variant)
        return table

    @cached_property
    def least_prices(self) -> dict[str, Decimal]:
        """For each part the least that one piece costs, currencies not compared; unsold parts come last."""
        return {
            part.part: min((price.price.amount / price.pack for price in part.sold_by), default=Decimal(10**9))
            for part in self.parts.values()
        }

    def stated(self, position: str, part: str) -> Mapping[str, Spec]:
        """What a part states of a position it fills, by spec."""
        key = (position, part)
        if key not in self._stated:
            kinds, specs = self.kinds[position], self.specs[part]
            whole = len(self.parts[part].fills) == 1
            self._stated[key] = specs if whole else {name: specs[name] for name in specs if name in kinds}
        return self._stated[key]

    @cached_property
    def graph(self) -> nx.DiGraph[tuple[str, str]]:
        """The shop as a directed graph: nodes are (kind, id), each edge says how the two relate."""
        import networkx as nx

        graph: nx.DiGraph[tuple[str, str]] = nx.DiGraph()
        for thing in self.things():
            graph.add_node((thing.kind, thing.id), name=getattr(thing, "name", thing.id))
        for variant in self.variants.values():
            me = ("variant", variant.variant)
            graph.add_edge(me, ("family", variant.family), how="belongs to")
            for position, part in variant.parts.items():
                graph.add_edge(me, ("part", part), how="left the factory with", position=position)
        for entry in self.parts.values():
            self._part_edges(graph, entry)
        for work in self.works.values():
            me = ("work", work.work)
            graph.add_edge(me, ("position", work.on), how="works on")
            for offer in work.offers:
                graph.add_edge(me, ("feature", offer.feature), how="offers")
            for other in work.forces:
                graph.add_edge(me, ("work", other), how="forces")
            if work.done_by in self.suppliers:
                graph.add_edge(me, ("supplier", work.done_by), how="done by")
        for joint in self.joints.values():
            me = ("joint", joint.joint)
            for position in joint.behind:
                graph.add_edge(me, ("position", position), how="lies before")
            for other in joint.opens:
                graph.add_edge(me, ("joint", other), how="opens")
            for renewal in joint.renews:
                graph.add_edge(me, ("position", renewal.position), how="renews")
        return graph

    @staticmethod
    def _part_edges(graph: nx.DiGraph[tuple[str, str]], part: Part) -> None:
        me = ("part", part.part)
        for position in part.fills:
            graph.add_edge(me, ("position", position), how="fills")
        for offer in part.offers:
            graph.add_edge(me, ("feature", offer.feature), how="offers")
        for need in part.needs:
            for feature in need.features:
                graph.add_edge(me, ("feature", feature), how="needs")
        for other in part.includes:
            graph.add_edge(me, ("part", other), how="includes")
        for price in part.sold_by:
            graph.add_edge(me, ("supplier", price.supplier), how="sold by")
