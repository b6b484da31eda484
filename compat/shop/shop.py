"""A whole shop in memory, and the graph over it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, fields
from decimal import Decimal
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Protocol

from compat.record import record
from compat.shop.entry import nothing
from compat.shop.graph import Candidate, Edge, Indexes, Key, digraph, edges
from compat.shop.models import (
    Build,
    Family,
    Feature,
    Joint,
    Part,
    Position,
    ShopInfo,
    Stock,
    Supplier,
    Thing,
    Variant,
    Work,
)
from compat.shop.source import Spot
from compat.shop.specs import Spec, SpecKind
from compat.shop.words import KINDS

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["Shop", "Spots"]


class Spots(Protocol):
    """Where an entry of a file, and everything inside it, was written."""

    @property
    def spot(self) -> Spot:
        """Where it begins."""

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """Where the last key of the path stands."""

    def spot_in(self, path: Sequence[str | int], offset: int) -> Spot:
        """Where a character of the text at the path stands."""


STATED = 20_000
"""So many lists of what a part states of a position are held at most."""


@record
class Shop:
    """Everything a shop keeps files about, by id, with the stated specs read and typed; never changed.

    Its tables and indexes may be filled as they are first asked for. Whoever fills them fills in the same,
    so threads need not wait for each other.
    """

    info: ShopInfo | None = None
    families: Mapping[str, Family] = field(default_factory=nothing)
    variants: Mapping[str, Variant] = field(default_factory=nothing)
    positions: Mapping[str, Position] = field(default_factory=nothing)
    features: Mapping[str, Feature] = field(default_factory=nothing)
    parts: Mapping[str, Part] = field(default_factory=nothing)
    works: Mapping[str, Work] = field(default_factory=nothing)
    joints: Mapping[str, Joint] = field(default_factory=nothing)
    suppliers: Mapping[str, Supplier] = field(default_factory=nothing)
    stock: Mapping[str, Stock] = field(default_factory=nothing)
    """What is on the shelf, by part."""
    builds: Mapping[str, Build] = field(default_factory=nothing)
    kinds: Mapping[str, Mapping[str, SpecKind]] = field(default_factory=nothing)
    specs: Mapping[str, Mapping[str, Spec]] = field(default_factory=nothing)
    setups: Mapping[str, Mapping[str, Spec]] = field(default_factory=nothing)
    """What each variant left the factory set up with."""
    nodes: Mapping[Key, Spots] = field(default_factory=nothing, compare=False, repr=False)
    """Where each thing was written."""
    faulty: frozenset[Key] = frozenset()
    """Kind and name of what has a fault of its own already told; ("spec", "rod.mass") for a declaration."""
    beyond: Mapping[str, tuple[str, ...]] = field(default_factory=nothing)
    """Rules of the sets that it uses which look into others, so that nobody can judge them; with these sets."""
    _stated: dict[tuple[str, str], Mapping[str, Spec]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _usual: dict[str, Mapping[str, int]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Put every table behind a proxy that takes nothing."""
        for one in fields(self):
            table = getattr(self, one.name)
            if one.init and type(table) is dict:
                object.__setattr__(self, one.name, MappingProxyType(table))

    @cached_property
    def stamp(self) -> str:
        """What stands for every byte that it was read from; empty where that is not known."""
        return ""

    def of_kind(self, kind: str) -> Mapping[str, Any]:
        """Everything of one kind, by id."""
        tables: Mapping[str, Mapping[str, Any]] = {
            "family": self.families,
            "variant": self.variants,
            "position": self.positions,
            "feature": self.features,
            "part": self.parts,
            "work": self.works,
            "joint": self.joints,
            "supplier": self.suppliers,
            "stock": self.stock,
            "build": self.builds,
        }
        return tables[kind]

    def things(self) -> Iterator[Thing]:
        """Everything, kind by kind."""
        for kind in KINDS:
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
    def strangers(self) -> Mapping[str, frozenset[str]]:
        """For each family the parts that are made for others and not for it."""
        found: dict[str, set[str]] = {family: set() for family in self.families}
        for part in self.parts.values():  # once: of many parts only some are held
            for family in found.keys() - set(part.families) if part.families else ():
                found[family].add(part.part)
        return {family: frozenset(parts) for family, parts in found.items()}

    def usual(self, variant: Variant) -> Mapping[str, int]:
        """How many of every position a variant takes before a build or a part says otherwise."""
        usual = self._usual.get(variant.variant)
        if usual is None:
            usual = {position: self.count(variant, position) for position in self.positions}
            self._usual[variant.variant] = usual
        return usual

    @cached_property
    def counted_apart(self) -> tuple[str, ...]:
        """Positions whose number a part's own card decides."""
        places = self.positions.items()
        return tuple(
            name for name, place in places if place.counted_by is not None or place.each_serves is not None
        )

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
    def indexes(self) -> Indexes:
        """What is asked of the relations again and again."""
        return Indexes(self.edges(), self.positions, self.features)

    @property
    def fillers(self) -> Mapping[str, Sequence[str]]:
        """For each position the parts that can fill it."""
        return self.indexes.fillers

    @property
    def offerers(self) -> Mapping[str, Sequence[tuple[str, str, int]]]:
        """For each feature who offers it: kind and id of the thing, and which of its offers it is."""
        return self.indexes.offerers

    @property
    def joints_before(self) -> Mapping[str, Sequence[str]]:
        """For each position the joints it lies behind."""
        return self.indexes.joints_before

    @property
    def homes(self) -> Mapping[str, Sequence[str]]:
        """For each part the variants that left the factory with it."""
        return self.indexes.homes

    def least_price(self, part: str) -> Decimal:
        """The least that one piece of a part costs, currencies not compared; unsold parts come last."""
        return self.indexes.least_price(part)

    def cheapest(self, feature: str) -> Iterable[Candidate]:
        """Parts that offer a feature, or fill a position (``position:rod``), the cheapest first."""
        return self.indexes.cheapest(feature)

    def stated(self, position: str, part: str) -> Mapping[str, Spec]:
        """What a part states of a position it fills, by spec."""
        stated = self._stated.get((position, part))
        if stated is None:
            stated = self.specs[part]
            if len(self.parts[part].fills) > 1:
                kinds = self.kinds[position]
                stated = {name: spec for name, spec in stated.items() if name in kinds}
            if len(self._stated) >= STATED:
                self._stated.clear()
            self._stated[position, part] = stated
        return stated

    def edges(self) -> Iterator[Edge]:
        """Every relation that the shop's things state; a spec is one of its position."""
        yield from edges(self.things())
        for position, kinds in self.kinds.items():
            for name in kinds:
                yield Edge("spec", f"{position}.{name}", "is stated of", "position", position)

    def names(self) -> dict[Key, str]:
        """Name of every thing."""
        return {(thing.kind, thing.id): getattr(thing, "name", thing.id) for thing in self.things()}

    def called(self, kind: str) -> Mapping[str, str]:
        """Name of every thing of one kind, by id."""
        return {name: str(getattr(thing, "name", name)) for name, thing in self.of_kind(kind).items()}

    @cached_property
    def sized(self) -> Mapping[str, Mapping[str, str]]:
        """For each position the specs that are quantities, with their units."""
        return {
            position: {name: kind.unit for name, kind in kinds.items() if kind.sort == "quantity"}
            for position, kinds in self.kinds.items()
        }

    @cached_property
    def graph(self) -> nx.MultiDiGraph[Key]:
        """The shop as a directed graph: nodes are (kind, id), each edge says how the two relate."""
        return digraph(self.edges(), self.names())
