"""How the things of a shop relate: one list of edges, from which the graph and every index are made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from compat.shop.entry import NOTHING
from compat.shop.models import (
    Build,
    Feature,
    Joint,
    Need,
    Offer,
    Part,
    Position,
    Price,
    Stock,
    Thing,
    Variant,
    Work,
)

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["UNSOLD", "Candidate", "Edge", "Indexes", "Key", "digraph", "edges", "edges_of", "least_price"]

Key = tuple[str, str]
"""Kind and id of a thing."""

BILLIONTH = Decimal("1e-9")

UNSOLD = Decimal(10**9)
"""Price of what nobody sells: comes last."""


class Edge(NamedTuple):
    """How one thing relates to another, to be read as a sentence: part a-rod *fills* position rod."""

    kind: str
    id: str
    how: str
    other_kind: str
    other: str
    data: Mapping[str, Any] = NOTHING

    @property
    def source(self) -> Key:
        """The thing that the sentence is about."""
        return self.kind, self.id

    @property
    def target(self) -> Key:
        """The thing it relates to."""
        return self.other_kind, self.other


class Candidate(NamedTuple):
    """A part that could be bought, by what it costs: the order in which parts are tried."""

    price: Decimal
    part: str
    families: tuple[str, ...]
    """Families it is made for; none where it suits any."""
    fills: tuple[str, ...]


def edges(things: Iterable[Thing]) -> Iterator[Edge]:
    """Give every relation that things state, in the order in which they stand in the files."""
    for thing in things:
        yield from edges_of(thing)


def edges_of(thing: Thing) -> Iterator[Edge]:
    """Give every relation that one thing states: every id that it names, and what for."""
    for how, kind, other, data in _named(thing):
        yield Edge(thing.kind, thing.id, how, kind, other, data)


Named = tuple[str, str, str, Mapping[str, Any]]


def _named(thing: Thing) -> Iterator[Named]:
    match thing:
        case Part():
            yield from _by_part(thing)
        case Variant():
            yield "belongs to", "family", thing.family, NOTHING
            for position, part in thing.parts.items():
                yield "left the factory with", "part", part, {"position": position}
                yield "has", "position", position, NOTHING
            yield from (("counts", "position", position, NOTHING) for position in thing.counts)
            if thing.rated.fuel:
                yield "burns", "part", thing.rated.fuel, NOTHING
        case Work():
            yield from _by_work(thing)
        case Position():
            if thing.counted_by is not None:
                yield "is counted by", "position", thing.counted_by.partition(".")[0], NOTHING
            yield from (("goes in after", "position", other, NOTHING) for other in thing.fitting.after)
            yield from (("goes in before", "position", other, NOTHING) for other in thing.fitting.before)
            tighten = thing.fitting.tighten
            if tighten is not None and tighten.each is not None:
                yield "is tightened on each", "position", tighten.each, NOTHING
            yield from (("is shut in by", "position", other, NOTHING) for other in thing.fitting.within)
        case Joint():
            yield from (("lies before", "position", position, NOTHING) for position in thing.behind)
            yield from (("opens", "joint", other, NOTHING) for other in thing.opens)
            for renewal in thing.renews:
                yield "renews", "position", renewal.position, {"where": renewal.where}
        case Feature():
            for remedy in thing.remedies:
                for word, other in remedy.items():
                    if word in ("work", "swap", "leave_out", "add"):
                        kinds = {"work": ("work",), "add": ("part", "position")}
                        for kind in kinds.get(word, ("position",)):
                            yield "is met by", kind, other, NOTHING
        case Stock():
            yield "is kept of", "part", thing.stock, NOTHING
        case Build():
            yield from _by_build(thing)


def _by_part(part: Part) -> Iterator[Named]:
    yield from (("fills", "position", position, NOTHING) for position in part.fills)
    yield from (("is made for", "family", family, NOTHING) for family in part.families)
    yield from _features(part.offers, part.needs)
    yield from (("includes", "part", other, NOTHING) for other in part.includes)
    yield from (("is never with", "part", other, NOTHING) for other in part.never_with)
    for price in part.sold_by:
        yield "sold by", "supplier", price.supplier, {"each": _each(price)}


def _each(price: Price) -> Decimal:
    """What one piece costs, to the billionth."""
    return (price.price.amount / price.pack).quantize(BILLIONTH)


def least_price(part: Part) -> Decimal:
    """The least that one piece of a part costs, currencies not compared."""
    return min((_each(price) for price in part.sold_by), default=UNSOLD)


def _by_work(work: Work) -> Iterator[Named]:
    yield "works on", "position", work.on, NOTHING
    yield from _features(work.offers, work.needs)
    yield from (("forces", "work", other, NOTHING) for other in work.forces)
    yield from (("follows", "work", other, NOTHING) for other in work.after)
    yield from (("opens", "joint", joint, NOTHING) for joint in work.opens)
    yield from (("is done once there is", "position", other, NOTHING) for other in work.fitted)
    yield from (("awaits the part of", "position", other, NOTHING) for other in work.awaits)
    yield from (("is done before", "position", other, NOTHING) for other in work.before)
    if work.done_by != "shop":
        yield "done by", "supplier", work.done_by, NOTHING


def _by_build(build: Build) -> Iterator[Named]:
    yield "starts from", "variant", build.variant, NOTHING
    for position, part in build.fit.items():
        yield "is fitted with", "part", part, {"position": position}
        yield "changes", "position", position, NOTHING
    for taken in build.take_from:
        yield "takes from", "variant", taken.variant, {"positions": taken.positions}
        yield from (("changes", "position", position, NOTHING) for position in taken.positions)
    renewed = build.renew if build.renew != "all" else ()
    for position in (*build.leave_out, *build.fits_because, *build.counts, *renewed):
        yield "changes", "position", position, NOTHING
    yield from (("is done", "work", chosen.work, NOTHING) for chosen in build.work)
    yield from (("is brought a part for", "position", position, NOTHING) for position in build.brought)
    if build.goal.fuel:
        yield "burns", "part", build.goal.fuel, NOTHING


def _features(offers: Iterable[Offer], needs: Iterable[Need]) -> Iterator[Named]:
    for number, offer in enumerate(offers):
        yield "offers", "feature", offer.feature, {"number": number, "count": offer.count}
    for number, need in enumerate(needs):
        for feature in need.features:
            yield "needs", "feature", feature, {"number": number, "count": need.count}


def digraph(edges: Iterable[Edge], names: Mapping[Key, str] = NOTHING) -> nx.MultiDiGraph[Key]:
    """Make the graph: nodes are (kind, id), each edge says under `how` in which way the two relate.

    Parameters
    ----------
    edges : iterable of Edge
        The relations; two things may relate in several ways, each of them once.
    names : mapping
        Name of things by kind and id; things without any relation come from here.

    Returns
    -------
    networkx.MultiDiGraph
        The graph.
    """
    import networkx as nx

    graph: nx.MultiDiGraph[Key] = nx.MultiDiGraph()
    for key, name in names.items():
        graph.add_node(key, name=name)
    for edge in edges:
        graph.add_edge(edge.source, edge.target, key=edge.how, how=edge.how, **edge.data)
    return graph


class Indexes:
    """What is asked of the relations again and again, each table made when it is first asked for.

    Threads that ask together may make the same table twice; either is as good.
    """

    def __init__(
        self, edges: Iterable[Edge], positions: Iterable[str] = (), features: Iterable[str] = ()
    ) -> None:
        self._edges = tuple(edges)
        self._positions = tuple(positions)
        self._features = tuple(features)

    def _by_target(self, how: str) -> dict[str, list[Edge]]:
        table: dict[str, list[Edge]] = {}
        for edge in self._edges:
            if edge.how == how:
                table.setdefault(edge.other, []).append(edge)
        return table

    @cached_property
    def fillers(self) -> Mapping[str, tuple[str, ...]]:
        """For each position the parts that can fill it."""
        found = {place: tuple(e.id for e in parts) for place, parts in self._by_target("fills").items()}
        return dict.fromkeys(self._positions, ()) | found

    @cached_property
    def sold_by(self) -> Mapping[str, tuple[str, ...]]:
        """For each supplier the parts it sells."""
        return {
            place: tuple(dict.fromkeys(e.id for e in found))
            for place, found in self._by_target("sold by").items()
        }

    @cached_property
    def offerers(self) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        """For each feature who offers it: kind and id of the thing, and which of its offers it is."""
        return self._featured("offers")

    @cached_property
    def needers(self) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        """For each feature who needs it: kind and id of the thing, and which of its needs it is."""
        return self._featured("needs")

    def _featured(self, how: str) -> Mapping[str, tuple[tuple[str, str, int], ...]]:
        found = {
            feature: tuple((e.kind, e.id, e.data["number"]) for e in told)
            for feature, told in self._by_target(how).items()
        }
        return dict.fromkeys(self._features, ()) | found

    def cheapest(self, feature: str) -> Iterable[Candidate]:
        """Parts that offer a feature, or fill a position (``position:rod``), the cheapest first."""
        return self._cheapest.get(feature, ())

    @cached_property
    def _cheapest(self) -> Mapping[str, tuple[Candidate, ...]]:
        fills: dict[str, list[str]] = {}
        families: dict[str, list[str]] = {}
        offers: dict[str, dict[str, None]] = {}
        for edge in self._edges:
            if edge.kind != "part":
                continue
            if edge.how == "fills":
                fills.setdefault(edge.id, []).append(edge.other)
                offers.setdefault(f"position:{edge.other}", {})[edge.id] = None
            elif edge.how == "is made for":
                families.setdefault(edge.id, []).append(edge.other)
            elif edge.how == "offers":
                offers.setdefault(edge.other, {})[edge.id] = None
        return {
            feature: tuple(
                sorted(
                    Candidate(self._least_prices[part], part, tuple(families.get(part, ())), tuple(fills[part]))
                    for part in parts
                )
            )
            for feature, parts in offers.items()
        }

    @cached_property
    def joints_before(self) -> Mapping[str, tuple[str, ...]]:
        """For each position the joints it lies behind."""
        return {place: tuple(e.id for e in found) for place, found in self._by_target("lies before").items()}

    @cached_property
    def homes(self) -> Mapping[str, tuple[str, ...]]:
        """For each part the variants that left the factory with it."""
        found = self._by_target("left the factory with")
        return {part: tuple(dict.fromkeys(e.id for e in variants)) for part, variants in found.items()}

    def least_price(self, part: str) -> Decimal:
        """The least that one piece of a part costs, currencies not compared; unsold parts come last."""
        return self._least_prices[part]

    @cached_property
    def _least_prices(self) -> Mapping[str, Decimal]:
        table = {edge.id: UNSOLD for edge in self._edges if edge.how == "fills"}
        for edge in self._edges:
            if edge.how == "sold by":
                table[edge.id] = min(table[edge.id], edge.data["each"])
        return table
