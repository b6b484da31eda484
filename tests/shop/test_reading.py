"""A whole catalogue: everything read and typed, every fault told in one go."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from compat.shop.builds import prepare, read_build
from compat.shop.money import Money
from compat.shop.reading import read_shop
from compat.shop.source import Fault, Faults
from compat.units import Band


def test_the_small_shop_reads(tiny: Any) -> None:
    shop = tiny.load().shop
    assert (len(shop.parts), len(shop.positions), len(shop.variants), len(shop.builds)) == (16, 12, 2, 2)
    rod = shop.specs["sport-rod"]
    assert isinstance(rod["mass"].value, Band)
    assert rod["mass"].value.nominal == pytest.approx(0.510)
    assert (rod["mass"].basis, rod["mass"].note) == ("measured", "one of four")
    assert str(rod["mass"].spot) == tiny.place("catalog/parts/extra.yaml", "mass: {value: 510")
    assert rod["centre_length"].basis == "maker"
    price = shop.parts["sport-rod"].sold_by[0]
    assert price.price == Money(amount=Decimal(640), currency="GBP")
    assert price.pack == 4
    assert price.lead is not None
    assert price.lead.nominal == 10 * 86400
    mixed = prepare(shop, shop.builds["mixed"])
    assert mixed.measured["piston", "skirt_diameter"].basis == "measured"


def test_counts_follow_the_engine(tiny: Any) -> None:
    tiny.edit(
        "catalog/engine.yaml",
        "  setup: {injection: bank",
        "  counts: {head_gasket: 2}\n  setup: {injection: bank",
    )
    shop = tiny.load().shop
    variant = shop.variants["hob-13"]
    assert shop.count(variant, "rod") == 4
    assert shop.count(variant, "block") == 1
    assert shop.count(variant, "head_gasket") == 2
    assert shop.count(shop.variants["hob-15"], "head_gasket") == 1


def test_faults_of_every_file_are_told_in_one_go(tiny: Any) -> None:
    breaks = [
        ("catalog/shop.yaml", "currency: GBP\n  labour", "currency: pounds\n  labour", "currency: pounds"),
        ("catalog/vocabulary.yaml", "octane: number", "octane: nmber", "octane"),
        ("catalog/engine.yaml", "crankshaft: hob-crank\n", "crankshaft: hob-krank\n", "crankshaft: hob-krank"),
        ("catalog/parts/factory.yaml", "tensile_limit: 26 kN", "tensile_limit: 26 kg", "tensile_limit"),
        ("catalog/parts/extra.yaml", "lead: 10 days", "led: 10 days", "led: 10"),
        ("catalog/work.yaml", "on: rod", "on: rods", "on: rods"),
        ("catalog/builds/mixed.yaml", "duty: endurance", "duty: endurence", "duty"),
        ("rules/figures.yaml", "rod.centre_length", "rod.center_length", "rod.center_length"),
        ("rules/rules.yaml", "at_least: 0.8 mm", "at_least: 0.8 kg", "0.8 kg"),
    ]
    for file, old, new, _ in breaks:
        tiny.edit(file, old, new)
    places = {tiny.place(file, word) for file, _, _, word in breaks}
    assert {str(fault.spot) for fault in tiny.faults()} == places


def test_what_rests_on_a_broken_declaration_is_not_told_again(tiny: Any) -> None:
    tiny.edit("catalog/vocabulary.yaml", "  name: Piston\n", "  nmae: Piston\n")
    tiny.edit("catalog/vocabulary.yaml", "centre_length: mm", "centre_length: mmm")
    tiny.edit("rules/figures.yaml", "  name: Quench gap\n  unit: mm", "  name: Quench gap\n  unit: mmm")
    found = sorted(str(fault.spot) for fault in tiny.faults())
    assert found == sorted(
        [
            tiny.place("catalog/vocabulary.yaml", "position: piston"),
            tiny.place("catalog/vocabulary.yaml", "nmae"),
            tiny.place("catalog/vocabulary.yaml", "centre_length"),
            tiny.place("rules/figures.yaml", "mmm"),
        ]
    )


def test_a_reader_never_raises_on_odd_shapes(tiny: Any) -> None:
    """Put a word, a list and an entry in the place of every value of one entry of each kind."""
    from compat.shop.source import read_tree

    faults: list[Fault] = []
    odd = ("word", "[a, b]", "[]", "{a: b}", "{}", "~", "-1", "[[a]]", "[{}]")
    for file in ("vocabulary", "engine", "parts/extra", "work", "builds/sport", "shop"):
        tree = read_tree(tiny.folder / f"catalog/{file}.yaml", "x")
        kinds = {}
        for entry in tree.data:
            kinds.setdefault(next(iter(entry)), entry)
        for kind, entry in kinds.items():
            keys = {key for other in tree.data if kind in other for key in other}
            for key in sorted(keys):
                for raw in odd:
                    rest = "".join(f"  {k}: {_flow(v)}\n" for k, v in entry.items() if k != key)
                    lead = "" if key == kind else f"- {kind}: {entry[kind]}\n"
                    text = (
                        f"- {kind}: {raw}\n{rest}"
                        if key == kind
                        else f"{lead}{rest.split(chr(10), 1)[1]}  {key}: {raw}\n"
                    )
                    tiny.write("catalog/odd/odd.yaml", text)
                    read_shop(tiny.folder / "catalog/odd", faults)
    assert len(faults) > 300


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return "~" if value is None else "'" + value.replace("'", "''") + "'"


def test_a_build_file_of_its_own(tiny: Any, tmp_path: Path) -> None:
    shop = tiny.load().shop
    path = tmp_path / "draft.yaml"
    path.write_text(tiny.text("catalog/builds/sport.yaml").replace("build: sport", "build: draft"))
    build = read_build(shop, path).build
    assert build.build == "draft"
    assert build.goal.power.nominal == 62000
    path.write_text(path.read_text().replace("rod: sport-rod", "rod: sprot-rod"))
    with pytest.raises(Faults) as caught:
        read_build(shop, path)
    assert str(caught.value) == f"{path}:5:5: part 'sprot-rod' is not known; did you mean 'sport-rod'?"


@pytest.mark.parametrize(
    ("text", "amount"), [("1140 GBP", "1140"), ("1140.5 GBP", "1140.5"), ("0.10EUR", "0.10"), (" 3 USD ", "3")]
)
def test_money_is_exact(text: str, amount: str) -> None:
    assert Money.read(text).amount == Decimal(amount)


def test_the_graph_names_every_thing(tiny: Any) -> None:
    shop = tiny.load().shop
    nodes = set(shop.graph.nodes)
    assert {(thing.kind, thing.id) for thing in shop.things()} <= nodes
    assert shop.graph.has_edge(("part", "ear"), ("feature", "knock_boss"))
    assert shop.graph.has_edge(("work", "deck-block"), ("work", "final-wash"))
    assert shop.graph.has_edge(("joint", "head_joint"), ("joint", "sump_joint"))


def test_a_broken_build_still_has_its_other_words_looked_up(tiny: Any) -> None:
    tiny.write(
        "catalog/builds/two.yaml",
        "- build: Not An Id\n  name: x\n  variant: no-such\n  goal: {power: 1 kPa, at: 5000 rpm}\n"
        "- build: Nor This\n  name: y\n  variant: nor-this\n  goal: {power: 1 kW, at: 5000 rpm}\n",
    )
    told = [fault.message.split(";")[0] for fault in tiny.faults()]
    assert sum("is no id of this kind" in text for text in told) == 2
    assert any("'no-such' is not known" in text for text in told)
    assert any("'nor-this' is not known" in text for text in told)
    assert any("'1 kPa' is a pressure" in text for text in told)
    assert len(told) == 5
