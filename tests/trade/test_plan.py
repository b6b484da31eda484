"""Plans held against every way to buy, tried one by one, for both aims; and what a plan must say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import product
from math import ceil
from random import Random

import pytest

from compat.shop.models import Break, Carriage, Money, Part, Price, Shelf, Stock, Supplier
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.shop.terms import Rate, ShopInfo
from compat.trade.buying import plan, unsold
from compat.trade.plans import Aim, Plan
from compat.trade.wanting import Wanted
from compat.units import read_band

ON = date(2026, 11, 30)
RATE = Decimal("0.8640")
CASES = 300


def pounds(amount: int | str, currency: str = "GBP") -> Money:
    return Money(Decimal(amount), currency)


def shop_of(
    suppliers: list[Supplier], parts: list[Part], stock: tuple[Stock, ...] = (), info: ShopInfo | None = None
) -> Shop:
    own = info or ShopInfo(
        shop="s", name="S", currency="GBP", labour_rate=pounds(50), rates={"EUR": Rate(rate=RATE, on=ON)}
    )
    return Shop(
        info=own,
        suppliers={one.supplier: one for one in suppliers},
        parts={one.part: one for one in parts},
        stock={one.stock: one for one in stock},
    )


def part(name: str, *offers: Price) -> Part:
    return Part(part=name, name=name.title(), fills=("rod",), sold_by=offers)


def want(name: str, count: int, **more: object) -> Wanted:
    return Wanted(name, "rod", count, ("chosen in the build",), "b", **more)  # type: ignore[arg-type]


@dataclass
class Case:
    shop: Shop
    wants: list[Wanted]


def draw(seed: int) -> Case:
    """A small shop drawn at random."""
    rolls = Random(seed)
    suppliers = []
    for number in range(rolls.choice([1, 2, 2, 3])):
        currency = rolls.choice(["GBP", "EUR"])
        tiers, mark = [], 0
        for _ in range(rolls.choice([0, 1, 1, 2])):
            mark += rolls.randint(4, 16)
            tiers.append(Carriage(below=pounds(mark, currency), price=pounds(rolls.randint(1, 8), currency)))
        if rolls.random() < 0.25:
            tiers.append(Carriage(price=pounds(rolls.randint(1, 4), currency)))
        least = rolls.choice([0, 0, rolls.randint(3, 18)])
        suppliers.append(
            Supplier(
                supplier=f"s{number}",
                name=f"S{number}",
                currency=currency,
                carriage=tuple(tiers),
                minimum_order=pounds(least, currency) if least else None,
                lead=read_band(f"{rolls.randint(0, 9)} days"),
            )
        )
    parts, wants, stock = [], [], []
    for number in range(rolls.choice([1, 2, 2])):
        offers = []
        for _ in range(2 if number == 0 else rolls.choice([1, 1, 2])):
            supplier = rolls.choice(suppliers)
            price = rolls.randint(5, 14)
            breaks = ()
            if rolls.random() < 0.4:
                lower = pounds(price - rolls.randint(1, 3), supplier.currency)
                breaks = (Break(packs=rolls.randint(2, 3), price=lower),)
            offers.append(
                Price(
                    supplier=supplier.supplier,
                    price=pounds(price, supplier.currency),
                    pack=rolls.choice([1, 1, 2, 3, 4]),
                    breaks=breaks,
                    lead=read_band(f"{rolls.randint(0, 9)} days") if rolls.random() < 0.7 else None,
                )
            )
        parts.append(part(f"p{number}", *offers))
        wants += [want(f"p{number}", rolls.randint(1, 3)) for _ in range(rolls.choice([1, 1, 2]))]
        if rolls.random() < 0.4:
            stock.append(Stock(stock=f"p{number}", shelf=(Shelf(count=rolls.randint(0, 4)),)))
    return Case(shop_of(suppliers, parts, tuple(stock)), wants)


def ways(case: Case) -> Iterator[tuple[Decimal, int]]:
    """Cost and day of every way to buy, written anew: pieces off the shelf and packs of every offer."""
    shop = case.shop
    needs: dict[str, int] = {}
    for one in case.wants:
        needs[one.part] = needs.get(one.part, 0) + one.count
    offers = [(name, offer) for name in needs for offer in shop.parts[name].sold_by]
    days = []
    for _, offer in offers:
        lead = offer.lead or shop.suppliers[offer.supplier].lead
        assert lead is not None
        days.append(round(lead.nominal / 86400))
    ranges = []
    for name, offer in offers:
        supplier = shop.suppliers[offer.supplier]
        marks = [tier.below.amount for tier in supplier.carriage if tier.below]
        marks += [supplier.minimum_order.amount] if supplier.minimum_order else []
        cheapest = min([offer.price.amount, *(one.price.amount for one in offer.breaks)])
        to_mark = ceil(max(marks, default=Decimal(0)) / cheapest)
        ranges.append(
            range(max([-(-needs[name] // offer.pack), to_mark, *(one.packs for one in offer.breaks)]) + 1)
        )
    kept = {
        name: sum(one.count for one in shop.stock[name].shelf) if name in shop.stock else 0 for name in needs
    }
    for packs in product(*ranges):
        have = dict(kept)
        goods: dict[str, Decimal] = {}
        last = 0
        for (name, offer), count, day in zip(offers, packs, days, strict=True):
            have[name] += count * offer.pack
            if count:
                price = offer.price.amount
                for one in offer.breaks:
                    if count >= one.packs:
                        price = one.price.amount
                goods[offer.supplier] = goods.get(offer.supplier, Decimal(0)) + count * price
                last = max(last, day)
        if any(have[name] < need for name, need in needs.items()):
            continue
        cost = Decimal(0)
        for name, value in goods.items():
            supplier = shop.suppliers[name]
            if supplier.minimum_order and value < supplier.minimum_order.amount:
                break
            carriage = Decimal(0)
            for tier in reversed(supplier.carriage):
                if tier.below is None or value < tier.below.amount:
                    carriage = tier.price.amount
            cost += (value + carriage) * (RATE if supplier.currency == "EUR" else 1)
        else:
            yield cost, last


@pytest.mark.parametrize("block", range(10))
def test_a_plan_is_the_best_of_all_ways(block: int) -> None:
    for seed in range(block, CASES, 10):
        case = draw(seed)
        every = set(ways(case))
        for aim, best in (("cost", min(every)), ("soonest", min((day, cost) for cost, day in every)[::-1])):
            found = plan(case.shop, case.wants, aim, on=ON)  # type: ignore[arg-type]
            assert (found.cost, found.proved) == (best[0], True), (seed, aim)
            assert found.days == best[1], (seed, aim)
            holds(found, case)


def holds(found: Plan, case: Case) -> None:
    """What a plan says adds up: pieces, amounts, carriage, cost."""
    pieces: dict[str, int] = {}
    for line in found.lines:
        pieces[line.part] = pieces.get(line.part, 0) + line.pieces - line.left_over
        assert 0 <= line.left_over <= line.pieces
        assert line.amount.amount == line.price.amount * line.packs
    for one in found.taken:
        pieces[one.part] = pieces.get(one.part, 0) + one.count
    needs: dict[str, int] = {}
    for each in case.wants:
        needs[each.part] = needs.get(each.part, 0) + each.count
    assert pieces == needs
    cost = Decimal(0)
    for order in found.orders:
        assert order.goods.amount == sum(line.amount.amount for line in order.lines)
        assert order.carriage == order.supplier.carriage_of(order.goods)
        cost += order.total.amount * (RATE if order.supplier.currency == "EUR" else 1)
    assert cost == found.cost


NEAR = Supplier(supplier="near", name="Near", currency="GBP", lead=read_band("1 days"))


def test_the_shelf_is_taken_before_anything_is_bought() -> None:
    stock = Stock(
        stock="a", shelf=(Shelf(count=2, place="rack 1"), Shelf(count=9, place="rack 2", condition="used"))
    )
    shop = shop_of([NEAR], [part("a", Price(supplier="near", price=pounds(5)))], (stock,))
    found = plan(shop, [want("a", 5)], on=ON)
    assert [(one.place, one.count, one.stays) for one in found.taken] == [("rack 1", 2, 0)]
    assert [(line.packs, line.left_over) for line in found.lines] == [(3, 0)]


def test_used_pieces_go_only_where_used_ones_will_do() -> None:
    stock = Stock(stock="a", shelf=(Shelf(count=4), Shelf(count=3, condition="used")))
    shop = shop_of([NEAR], [part("a", Price(supplier="near", price=pounds(5)))], (stock,))
    found = plan(shop, [want("a", 2, used=True), want("a", 3)], on=ON)
    assert [(one.condition, one.count) for one in found.taken] == [("used", 2), ("new", 3)]
    assert not found.orders


def test_the_shelf_keeps_what_whole_packs_give_anyway() -> None:
    stock = Stock(stock="a", shelf=(Shelf(count=2),))
    shop = shop_of([NEAR], [part("a", Price(supplier="near", price=pounds(5), pack=4))], (stock,))
    found = plan(shop, [want("a", 5)], on=ON)
    assert [(one.count, one.stays) for one in found.taken] == [(1, 1)]
    assert [(line.packs, line.left_over) for line in found.lines] == [(1, 0)]


def test_several_builds_are_bought_for_together() -> None:
    shop = shop_of([NEAR], [part("a", Price(supplier="near", price=pounds(5), pack=4))])
    wants = [Wanted("a", "rod", 3, ("one",), "x"), Wanted("a", "rod", 5, ("two",), "y")]
    (line,) = plan(shop, wants, on=ON).lines
    assert (line.packs, line.left_over) == (2, 0)
    assert [(one.build, one.count, one.reasons) for one in line.wants] == [
        ("x", 3, ("one",)),
        ("y", 5, ("two",)),
    ]


def test_what_nobody_sells_is_told_part_by_part() -> None:
    shop = shop_of([NEAR], [part("a"), part("b"), part("c", Price(supplier="near", price=pounds(5)))])
    found = plan(shop, [want("a", 2), want("b", 1), want("c", 1)], on=ON)
    assert [(one.part, one.count) for one in found.short] == [("a", 2), ("b", 1)]
    told = [fault.message for fault in unsold(shop, found)]
    assert len(told) == 2
    assert told[0].startswith("nobody sells 'a', and 2 are wanted for rod of b")


def test_nothing_wanted_is_nothing_bought() -> None:
    found = plan(shop_of([], []), [], on=ON)
    assert (found.orders, found.cost, found.proved, found.days) == ((), 0, True, 0)


def test_an_expired_list_is_told_once_with_its_dates() -> None:
    late = Supplier(
        supplier="late", name="Late", currency="GBP", list_date=date(2025, 1, 1), list_expires=date(2026, 1, 1)
    )
    offer = Price(supplier="late", price=pounds(5))
    shop = shop_of([late], [part("a", offer), part("b", offer)])
    wants = [want("a", 1), want("b", 1)]
    with pytest.raises(Faults) as caught:
        plan(shop, wants, on=ON)
    (fault,) = caught.value.faults
    assert "the price list of 2025-01-01 of 'late' expired on 2026-01-01" in fault.message
    assert "a and 1 more" in fault.message
    assert plan(shop, wants, on=date(2026, 1, 1)).cost == 10  # its last day
    assert plan(shop, wants, on=ON, old_prices=True).cost == 10


def test_a_currency_without_a_rate_and_a_price_in_another_one_are_told_together() -> None:
    krone = Supplier(supplier="k", name="K", currency="NOK")
    shop = shop_of(
        [krone, NEAR],
        [
            part("a", Price(supplier="k", price=pounds(5, "NOK"))),
            part("b", Price(supplier="near", price=pounds(5, "EUR"))),
        ],
    )
    with pytest.raises(Faults) as caught:
        plan(shop, [want("a", 1), want("b", 1)], on=ON)
    told = " | ".join(fault.message for fault in caught.value.faults)
    assert "no rate for NOK" in told
    assert "the price of 'b' is in EUR, and near sells in GBP" in told


@pytest.mark.parametrize("aim", ["cost", "soonest"])
def test_a_lead_time_that_nobody_states_is_no_day(aim: Aim) -> None:
    silent = Supplier(supplier="silent", name="Silent", currency="GBP")
    shop = shop_of([silent], [part("a", Price(supplier="silent", price=pounds(5)))])
    found = plan(shop, [want("a", 1)], aim, on=ON)
    assert found.days is None
    assert found.whole_on is None


def test_the_soonest_is_not_bought_where_nobody_says_when() -> None:
    silent = Supplier(supplier="silent", name="Silent", currency="GBP")
    offers = Price(supplier="silent", price=pounds(1)), Price(supplier="near", price=pounds(9))
    shop = shop_of([silent, NEAR], [part("a", *offers)])
    assert plan(shop, [want("a", 1)], on=ON).cost == 1
    found = plan(shop, [want("a", 1)], "soonest", on=ON)
    assert (found.cost, found.days) == (9, 1)
