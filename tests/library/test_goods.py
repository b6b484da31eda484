"""The index of parts holds what parts say, after edits too, and finds what a walk through all of them finds."""

from __future__ import annotations

import random
import re
import sqlite3
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from compat.library.goods import GoodsWriter
from compat.library.kept import shop_file
from compat.library.library import Library
from compat.library.offers import Offers
from compat.library.opening import open_library
from compat.library.search import Goods, goods_of
from compat.library.store import Draft
from compat.library.wanted import Matches, Size, Wanted
from compat.shop.money import Money
from compat.shop.source import Faults
from compat.trade.wares import FAR, days_of, each_in_own, least_price, rates
from compat.units import Band
from tests.conftest import Tiny
from tests.library.goods_held import holds
from tests.library.test_after_an_edit import PARTS, SOUND


@pytest.mark.parametrize(("file", "old", "new"), [pytest.param(*case[1:], id=case[0]) for case in SOUND])
def test_after_an_edit_it_is_as_made_anew(file: str, old: str, new: str, tiny: Tiny) -> None:
    if "new-ear" in new:
        tiny.edit("catalog/builds/mixed.yaml", "knock_sensor: ear", "knock_sensor: new-ear")
    tiny.edit(file, old, new)
    edited, anew = open_library(tiny.folder), tiny.load()
    found = holds(goods_of(edited.shop))
    assert found == holds(goods_of(anew.shop))
    assert len(found["texts"]) == len(anew.shop.parts)
    assert edited.shop.sized == anew.shop.sized


def test_a_part_that_is_gone_is_found_no_more(tiny: Tiny) -> None:
    text = tiny.text(PARTS)
    own = "- part: spare-ear\n  name: Sparrow ear\n  fills: knock_sensor\n"
    tiny.write(PARTS, f"{text}\n{own}")
    wanted = Wanted(words=('"sparrow"',))
    assert goods_of(open_library(tiny.folder).shop).search(wanted) == Matches(("spare-ear",), 1)
    tiny.write(PARTS, text)
    goods = goods_of(open_library(tiny.folder).shop)
    assert goods.search(wanted) == Matches((), 0)
    assert goods.spelt(["sparrow"]) == {}


def test_a_broken_index_is_made_again(tiny: Tiny, kept: Path) -> None:
    library = open_library(tiny.folder)
    path = shop_file(kept, tiny.folder)
    assert path is not None
    before = holds(goods_of(library.shop))
    with sqlite3.connect(path) as connection:
        connection.execute("DROP TABLE sizes")
    connection.close()
    assert holds(goods_of(open_library(tiny.folder).shop)) == before


def test_without_a_full_text_index_a_search_says_so(tiny: Tiny, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("compat.library.search.can_search", lambda: False)
    with pytest.raises(Faults, match="FTS5"):
        goods_of(tiny.load().shop)
    GoodsWriter(Draft()).finish()  # and what is kept is kept without it


# against a walk through all parts


def words_of(library: Library, name: str) -> set[str]:
    """Words that a part says, cut by another way than the index's."""
    part = library.shop.parts[name]
    said = [part.part, part.name, part.note, *part.fills]
    said += [f"{offer.supplier} {offer.code}" for offer in part.sold_by]
    for spec, stated in library.shop.specs[name].items():
        value = stated.value
        if value is True:
            said.append(spec.replace("_", " "))
        for one in value if isinstance(value, tuple) else (value,):
            if isinstance(one, str):
                said.append(one.replace("_", " "))
    return set(re.findall(r"\w+", " ".join(said).casefold()))


def wanted(library: Library, **asked: Any) -> Wanted:
    leads = {name: s.lead.nominal / 86400 for name, s in library.shop.suppliers.items() if s.lead is not None}
    return Wanted(rates=rates(library.shop), leads=leads, **asked)


def cheapest_first(library: Library, parts: list[str], supplier: str = "") -> list[Decimal | None]:
    """The prices of parts, sorted with exact money; those of one supplier where it is given."""
    shop, found = library.shop, []
    for name in parts:
        offers = [one for one in shop.parts[name].sold_by if supplier in ("", one.supplier)]
        found.append(min((e for one in offers if (e := each_in_own(shop, one)) is not None), default=None))
    return sorted(found, key=lambda price: (price is None, price or Decimal(0)))


def test_it_finds_what_a_walk_through_all_parts_finds(demo: Library) -> None:
    goods = goods_of(demo.shop)
    by_part = {name: words_of(demo, name) for name in demo.shop.parts}
    every = sorted({word for words in by_part.values() for word in words if word.isascii()})
    dice = random.Random(12)
    for _ in range(150):
        two = dice.sample(every, dice.choice((1, 1, 2)))
        family = dice.choice(["", *demo.shop.families])
        expected = [
            name
            for name, words in by_part.items()
            if words >= set(two) and (not family or family in (demo.shop.parts[name].families or (family,)))
        ]
        asked = wanted(demo, words=tuple(f'"{word}"' for word in two), family=family)
        told = goods.search(asked, most=1000)
        count, parts = told.count, told.parts
        assert count == len(parts)
        assert set(parts) == set(expected), (two, family)
        prices = [least_price(demo.shop, part) for part in parts]
        assert prices == cheapest_first(demo, parts)


def test_sizes_are_those_that_the_cards_state(demo: Library) -> None:
    goods = goods_of(demo.shop)
    dice = random.Random(7)
    stated: list[tuple[str, str, Band]] = [
        (name, spec, stated.value)
        for name, specs in demo.shop.specs.items()
        for spec, stated in specs.items()
        if isinstance(stated.value, Band)
    ]
    for _ in range(60):
        _, spec, band = dice.choice(stated)
        low, high = sorted((band.low * dice.uniform(0.9, 1.05), band.high * dice.uniform(0.95, 1.1)))
        expected = {
            name for name, other, own in stated if other == spec and own.low <= high and own.high >= low
        }
        told = goods.search(wanted(demo, sizes=(Size((spec,), low, high),)), most=1000)
        assert set(told.parts) == expected
        assert told.count == len(expected)


@pytest.mark.parametrize("order", ["price", "lead"])
def test_a_supplier_and_what_it_asks(demo: Library, order: str) -> None:
    goods, shop = goods_of(demo.shop), demo.shop
    for supplier in shop.suppliers:
        expected = {
            part.part for part in shop.parts.values() if any(o.supplier == supplier for o in part.sold_by)
        }
        told = goods.search(wanted(demo, supplier=supplier), order=order, most=2000)
        parts = told.parts
        assert set(parts) == expected
        assert told.count == len(expected)
        if order == "price":
            prices = cheapest_first(demo, parts, supplier)
            own = [cheapest_first(demo, [part], supplier)[0] for part in parts]
            assert own == prices


def test_what_is_on_the_shelf_is_here_first(demo: Library) -> None:
    goods = goods_of(demo.shop)
    here = tuple(name for name, one in demo.shop.stock.items() if any(e.condition == "new" for e in one.shelf))
    assert here
    told = goods.search(wanted(demo, here=here), order="lead", most=3000)
    parts = told.parts
    assert told.count == len(demo.shop.parts) == len(parts)
    shop = demo.shop

    def days(part: str) -> int:
        offers = (days_of(shop, offer) for offer in shop.parts[part].sold_by)
        return 0 if part in here else min((one for one in offers if one is not None), default=FAR)

    waits = list(map(days, parts))
    assert waits == sorted(waits)
    assert waits[0] == 0 < waits[-1]


def test_few_are_given_where_few_are_asked(demo: Library) -> None:
    goods = goods_of(demo.shop)
    every = goods.search(wanted(demo), most=3000).parts
    for most in (1, 3, 40):
        assert goods.search(wanted(demo), most=most) == Matches(every[:most], len(every))


def lengths_of(demo: Library) -> tuple[str, ...]:
    return tuple({spec for units in demo.shop.sized.values() for spec, unit in units.items() if unit == "mm"})


def hurry(monkeypatch: pytest.MonkeyPatch, **limits: object) -> None:
    """Set what decides how a search goes about it."""
    import compat.library.offers
    import compat.library.search

    for name, value in limits.items():
        for module in (compat.library.offers, compat.library.search):
            if hasattr(module, name):
                monkeypatch.setattr(module, name, value)


def test_what_is_found_is_the_same_whichever_way_a_search_goes(
    demo: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What comes first is the same as with all put in order; the count is whole, or says that there are more.

    Where many parts have what is wanted a search looks at few of them. Here few are many.
    """
    goods, dice, ways = goods_of(demo.shop), random.Random(8), Counter[str]()
    every, lengths = list(demo.shop.parts), lengths_of(demo)
    fronts = Offers.fronts

    def counted(self: Offers, docs: set[int] | None) -> Iterator[set[int]]:
        for number, front in enumerate(fronts(self, docs)):
            ways[f"{'all' if docs is None else 'some'}, look {number}"] += 1
            yield front

    monkeypatch.setattr(Offers, "fronts", counted)
    for _ in range(600):
        sizes = [
            Size(lengths, *dice.choice(((0.0005, float("inf")), (0.0, 0.5), (0.005, 0.05), (0.1, 0.4))))
            for _ in range(dice.choice((0, 1, 1, 2)))
        ]
        if dice.random() < 0.2:
            sizes.append(Size(("mass",), 0.0, 50.0))
        narrowed = {
            "words": ('"forged"',),
            "supplier": dice.choice(list(demo.shop.suppliers)),
            "family": dice.choice(list(demo.shop.families)),
            "among": tuple(dice.sample(every, 200)),
            "here": tuple(dice.sample(every, 40)),
        }
        asked = wanted(
            demo, sizes=tuple(sizes), **{name: one for name, one in narrowed.items() if dice.random() < 0.2}
        )
        if dice.random() < 0.4:  # what costs the same is in order all the same
            odd = {"GBP": Decimal(0)} if dice.random() < 0.5 else {"EUR": Decimal(5)}
            asked = replace(asked, rates={**asked.rates, **odd})
        order, most = dice.choice(("price", "lead")), dice.choice((1, 5, 20))
        hurry(monkeypatch, COMMON=10**9, FEW=10**9, BROAD=10**9)
        plain = goods.search(asked, order, most)
        assert not plain.more
        hurry(
            monkeypatch,
            BROAD=dice.choice((0, 50)),
            FEW=dice.choice((0, 30, 300)),
            MOST=dice.choice((30, 300, 10**9)),
            COMMON=dice.choice((100, 400)),
            COUNTED=dice.choice((5, 50, 300)),
            SAMPLE=dice.choice((10, 100)),
            LOOKED_AT=dice.choice(((1, 5), (1, 30), (10, 300))),
        )
        told = goods.search(asked, order, most)
        assert told.parts == plain.parts
        assert (told.count <= plain.count) if told.more else (told.count == plain.count)
        ways["more"] += told.more
    assert min(ways[way] for way in ("all, look 0", "all, look 1", "some, look 0", "some, look 1", "more")) > 10


@pytest.mark.parametrize("order", ["price", "lead"])
def test_the_cheapest_of_a_supplier_are_so_by_its_own_offers(
    demo: Library, order: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another asks for the same part says nothing: here what costs more costs less there."""
    draft = Draft()
    writer = GoodsWriter(draft)
    sold = [part for part in demo.shop.parts.values() if part.sold_by][:60]
    here, there = list(demo.shop.suppliers)[:2]
    for number, part in enumerate(sold):
        first = part.sold_by[0]
        both = [
            replace(first, supplier=who, pack=1, breaks=(), price=Money(Decimal(price), "GBP"), lead=None)
            for who, price in ((here, 100 - number), (there, 10 + number))
        ]
        writer.take(replace(part, specs=demo.shop.specs[part.part], sold_by=tuple(both)))
    writer.finish()
    hurry(monkeypatch, BROAD=0, FEW=0, LOOKED_AT=(1, 5))
    told = Goods(draft).search(Wanted(rates={"GBP": Decimal(1)}, supplier=here), order, 3)
    assert told.parts == tuple(part.part for part in reversed(sold[-3:]))
