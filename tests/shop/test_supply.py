"""Suppliers' terms, price breaks, the shelf and what a customer brings: read, refused and shown."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from compat.library.opening import open_library
from compat.shop.models import Carriage, Money, Price, Supplier
from tests.conftest import Tiny

SUPPLIER = "  name: Quayside Parts\n  currency: GBP\n"
TERMS = """\
  name: Quayside Parts
  currency: GBP
  carriage: [{below: 50 GBP, price: 8.50 GBP}, {below: 200 GBP, price: 4 GBP}]
  minimum_order: 20 GBP
  lead: 3 days
  list_date: 2026-01-05
  list_expires: 2027-01-04
"""


def test_terms_of_a_supplier_are_read_and_kept(tiny: Tiny) -> None:
    tiny.edit("catalog/shop.yaml", SUPPLIER, TERMS)
    library = tiny.load()
    kept = open_library(tiny.folder)
    supplier = library.shop.suppliers["quayside"]
    assert kept.shop.suppliers["quayside"] == supplier
    assert str(supplier.minimum_order) == "20.00 GBP"
    assert supplier.list_expires is not None
    assert supplier.list_expires.isoformat() == "2027-01-04"
    price = Price(supplier="quayside", price=Money.read("1 GBP"))
    assert not supplier.expired(price, supplier.list_expires)
    assert supplier.expired(price, supplier.list_expires + timedelta(days=1))


LISTS = """\
  name: Quayside Parts
  currency: GBP
  list_expires: 2027-01-04
  lists:
    rods: {date: 2026-01-05, expires: 2026-06-30}
"""


def test_a_price_holds_as_long_as_its_own_list(tiny: Tiny) -> None:
    tiny.edit("catalog/shop.yaml", SUPPLIER, LISTS)
    supplier = tiny.load().shop.suppliers["quayside"]
    price = Price(supplier="quayside", price=Money.read("1 GBP"), list="rods")
    assert supplier.list_days(price) == (date(2026, 1, 5), date(2026, 6, 30))
    assert not supplier.expired(price, date(2026, 6, 30))
    assert supplier.expired(price, date(2026, 7, 1))


def test_a_price_of_a_list_that_its_supplier_lost_is_told(tiny: Tiny) -> None:
    tiny.edit("catalog/shop.yaml", SUPPLIER, LISTS)
    tiny.edit("catalog/parts/extra.yaml", "supplier: quayside", "supplier: quayside, list: rods")
    open_library(tiny.folder)
    tiny.edit("catalog/shop.yaml", "    rods:", "    bolts:")
    assert [fault.message for fault in tiny.faults()] == ["'rods' is none of the `lists` of 'quayside'"]
    tiny.edit("catalog/parts/extra.yaml", "list: rods", "list: blots")
    assert "did you mean 'bolts'?" in tiny.faults()[0].message


def test_a_list_ends_no_earlier_than_it_begins(tiny: Tiny) -> None:
    tiny.edit("catalog/shop.yaml", SUPPLIER, LISTS.replace("2026-06-30", "2025-06-30"))
    assert "'expires' on 2025-06-30, before its 'date' 2026-01-05" in tiny.faults()[0].message


@pytest.mark.parametrize(
    ("goods", "carriage"), [("0.01", "8.50"), ("49.99", "8.50"), ("50", "4"), ("199.99", "4"), ("200", "0")]
)
def test_carriage_goes_by_the_value_of_the_goods(goods: str, carriage: str) -> None:
    tiers = (
        Carriage(below=Money.read("50 GBP"), price=Money.read("8.50 GBP")),
        Carriage(below=Money.read("200 GBP"), price=Money.read("4 GBP")),
    )
    supplier = Supplier(supplier="a", name="A", currency="GBP", carriage=tiers)
    assert supplier.carriage_of(Money(Decimal(goods), "GBP")).amount == Decimal(carriage)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("carriage: [{below: 50 EUR, price: 8 GBP}]", "'carriage' is in EUR; the supplier sells in GBP"),
        (
            "carriage: [{below: 50 GBP, price: 8 GBP}, {below: 50 GBP, price: 4 GBP}]",
            "wants more than 50.00 GBP",
        ),
        ("carriage: [8 GBP, {below: 50 GBP, price: 4 GBP}]", "without 'below' that is not the last"),
        ("carriage: [{below: 50 GBP, price: -8 GBP}]", "'-8 GBP' is no price"),
        (
            "carriage: [{belwo: 50 GBP, price: 8 GBP}]",
            "'belwo' is not known in a supplier; did you mean 'below'?",
        ),
        ("minimum_order: 20 EUR", "'minimum_order' is in EUR; the supplier sells in GBP"),
        ("lead: -3 days", "below zero"),
        ("list_expires: 2026-02-30", "a day that no calendar has"),
        ("list_expires: soon", "no date"),
        ("list_date: 2026-02-01\n  list_expires: 2026-01-01", "before its 'list_date'"),
    ],
)
def test_terms_that_cannot_be_are_told_where_they_stand(tiny: Tiny, line: str, says: str) -> None:
    tiny.edit("catalog/shop.yaml", SUPPLIER, f"{SUPPLIER}  {line}\n")
    (fault,) = tiny.faults()
    assert says in fault.message
    assert fault.spot.file == "catalog/shop.yaml"
    assert fault.spot.line >= 6


STOCK = "- stock: hob-rod\n  shelf: [{place: rack 2, count: 3}, {place: rack 9, count: 4, condition: used}]\n"


def test_the_shelf_is_read_kept_and_shown(tiny: Tiny) -> None:
    tiny.write("catalog/stock.yaml", STOCK)
    kept = open_library(tiny.folder)
    assert kept.shop.stock["hob-rod"] == tiny.load().shop.stock["hob-rod"]
    assert kept.shop.names()["stock", "hob-rod"] == "3 new at rack 2, 4 used at rack 9"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("stock: hob-rod", "stock: hob-rdo", "part 'hob-rdo' is not known; did you mean 'hob-rod'?"),
        ("count: 3", "count: -3", "must be at least 0, not -3"),
        ("count: 3", "count: three", "wants a whole number"),
        ("condition: used", "condition: usde", "not one of new, used; did you mean 'used'?"),
        (
            "shelf: [{place: rack 2, count: 3}, {place: rack 9, count: 4, condition: used}]",
            "shelf: []",
            "at least one",
        ),
    ],
)
def test_a_shelf_that_cannot_be_is_told_where_it_stands(tiny: Tiny, old: str, new: str, says: str) -> None:
    tiny.write("catalog/stock.yaml", STOCK.replace(old, new))
    (fault,) = tiny.faults()
    assert says in fault.message
    assert fault.spot.file == "catalog/stock.yaml"


@pytest.mark.parametrize(
    ("breaks", "says"),
    [
        ("[{packs: 1, price: 9 GBP}]", "wants more packs than 1"),
        ("[{packs: 4, price: 12 GBP}]", "asks 12.00 GBP a pack for 4, and 10.00 GBP for fewer"),
        ("[{packs: 4, price: 9 EUR}]", "a price in EUR beside one in GBP"),
        ("[{packs: 0, price: 9 GBP}]", "at least 1"),
        ("[{packs: 4, price: 9 GBP}, {packs: 3, price: 8 GBP}]", "wants more packs than 4 next, not 3"),
    ],
)
def test_price_breaks_that_cannot_be_are_told(tiny: Tiny, breaks: str, says: str) -> None:
    sold = f"[{{supplier: quayside, price: 10 GBP, breaks: {breaks}}}]"
    part = f"- part: spare\n  name: Spare\n  fills: rod\n  sold_by: {sold}\n"
    tiny.write("catalog/parts/more.yaml", part)
    (fault,) = tiny.faults()
    assert says in fault.message
    assert fault.spot.file == "catalog/parts/more.yaml"


def test_what_is_brought_must_be_a_place_that_a_part_fills(tiny: Tiny) -> None:
    head = "- build: own\n  name: Own\n  variant: hob-13\n  goal: {power: 50 kW, at: 6000 rpm}\n"
    tiny.write("catalog/builds/own.yaml", f"{head}  brought: {{rdo: used and checked, fuel: half a tank}}\n")
    told = [fault.message for fault in tiny.faults()]
    assert told == [
        "position 'rdo' is not known; did you mean 'rod'?",
        "'fuel' is no part that could be brought",
    ]
