"""One list of relations: the graph, the indexes and what the linker looks up all come to the same."""

from __future__ import annotations

import sys
from decimal import Decimal
from typing import Any

import pytest

from compat.library.library import Library
from compat.shop.graph import UNSOLD, Edge, edges_of
from compat.shop.links import Linker
from compat.shop.models import Part, Thing


def test_every_id_that_the_linker_looks_up_is_an_edge(demo: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: set[tuple[str, str]] = set()

    def link(self: Any, thing: Thing, path: Any, kind: str, name: str) -> bool:
        asked.add((kind, name))
        return True

    monkeypatch.setattr(Linker, "link", link)
    seen = 0
    for thing in demo.shop.things():
        asked.clear()
        Linker(demo.shop, []).check(thing)  # type: ignore[arg-type]
        assert asked <= {edge.target for edge in edges_of(thing)}, (thing.kind, thing.id)
        seen += len(asked)
    assert seen > 3000


def test_every_edge_leads_from_a_thing_to_a_thing(demo: Library) -> None:
    known = set(demo.shop.nodes) | {("spec", f"{p}.{s}") for p, kinds in demo.shop.kinds.items() for s in kinds}
    for edge in demo.shop.edges():
        assert edge.source in known
        # a remedy names a part or the position that one fills
        assert edge.target in known or edge.how == "is met by", edge


def test_the_indexes_say_what_the_things_say(demo: Library) -> None:
    shop = demo.shop
    for position in shop.positions:
        assert list(shop.fillers[position]) == [p.part for p in shop.parts.values() if position in p.fills]
    for feature in shop.features:
        assert list(shop.offerers[feature]) == [
            (thing.kind, thing.id, number)
            for thing in (*shop.parts.values(), *shop.works.values())
            for number, offer in enumerate(thing.offers)
            if offer.feature == feature
        ]
    for position in shop.positions:
        found = [joint.joint for joint in shop.joints.values() if position in joint.behind]
        assert list(shop.joints_before.get(position, ())) == found
    for part in shop.parts.values():
        found = [v.variant for v in shop.variants.values() if part.part in v.parts.values()]
        assert list(shop.homes.get(part.part, ())) == found
        assert shop.least_price(part.part) == least(part)


def least(part: Part) -> Decimal:
    return min((price.price.amount / price.pack for price in part.sold_by), default=UNSOLD)


def test_shop_and_rulebook_join_in_one_graph(demo: Library) -> None:
    import networkx as nx

    graph = demo.graph
    rule = ("rule", "deck-clearance")
    part = ("part", demo.shop.fillers["block"][0])
    assert graph.nodes[rule]["name"] == demo.book.rules["deck-clearance"].rule.title
    # a rule reaches the positions whose specs it rests on, and so do the parts that fill them
    assert ("position", "block") in nx.descendants(graph, rule)
    assert ("position", "block") in graph.successors(part)
    hows = {how for *_, how in graph.edges(data="how")}
    assert {
        "fills", "offers", "needs", "opens", "follows", "forces", "includes", "sold by", "works on",
        "lies before", "renews", "rests on", "left the factory with",
    } <= hows  # fmt: skip


def test_two_things_may_relate_in_two_ways(tiny: Any) -> None:
    tiny.edit("catalog/parts/extra.yaml", "  offers: [", "  needs: [cam_signal]\n  offers: [")
    shop = tiny.load().shop
    (part,) = [p.part for p in shop.parts.values() if len(p.offers) == 2]
    between = shop.graph.get_edge_data(("part", part), ("feature", "cam_signal"))
    assert {data["how"] for data in between.values()} == {"offers", "needs"}


def test_edges_read_as_a_sentence() -> None:
    edge = Edge("part", "a-rod", "fills", "position", "rod")
    assert (edge.source, edge.target) == (("part", "a-rod"), ("position", "rod"))


def test_indexes_ask_for_no_graph_library(tiny: Any) -> None:
    shop = tiny.load().shop
    loaded = sys.modules.pop("networkx", None)
    try:
        assert shop.fillers
        assert shop.offerers
        assert "networkx" not in sys.modules
    finally:
        if loaded is not None:
            sys.modules["networkx"] = loaded


@pytest.mark.parametrize("table", ["parts", "kinds", "specs", "fillers", "builds"])
def test_a_shop_takes_nothing(table: str, tiny: Any) -> None:
    found = getattr(tiny.load().shop, table)
    if table == "fillers":
        assert all(isinstance(names, tuple) for names in found.values())
        return
    with pytest.raises(TypeError):
        found["x"] = None
