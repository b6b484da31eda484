"""An order to one supplier as UN/CEFACT Cross Industry Order, which its system reads (Order-X 1.0, comfort).

Sources, from memory but for the schema that the tests hold it against: UN/CEFACT SCRDM Cross Industry Order
D20B (SCRDMCCBDACIOMessageStructure 100); Order-X 1.0 of FNFE-MPE and FeRD for profile and document type; UNECE
Recommendation 20 for unit codes (H87, a piece) and Recommendation 21 behind an X for packages (XPK, a package);
UNCL 1001 (220, an order), UNCL 1225 (9, original), UNCL 7161 (FC, freight service); UNCL 2379 for dates (102,
CCYYMMDD); ISO 4217 for currencies.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from xml.etree.ElementTree import Element, SubElement, indent, register_namespace, tostring

from compat.paper.visible import visible
from compat.trade.ordered import Order, OrderLine, SupplierOrder

__all__ = ["order_xml"]

RSM = "urn:un:unece:uncefact:data:SCRDMCCBDACIOMessageStructure:100"
RAM = "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:128"
UDT = "urn:un:unece:uncefact:data:standard:UnqualifiedDataType:128"
QDT = "urn:un:unece:uncefact:data:standard:QualifiedDataType:128"
PROFILE = "urn:order-x.eu:1p0:comfort"
PIECE, PACKAGE = "H87", "XPK"
NO_NUMBER = "DRAFT"
"""What stands for the number of an order that has none."""


def order_xml(order: Order, supplier: str) -> str:
    """The order to one supplier as XML.

    Parameters
    ----------
    order : Order
        The order.
    supplier : str
        One of its suppliers.

    Returns
    -------
    str
        A Cross Industry Order. Quantities are pieces, with the number of packs beside them; a price is that of
        a pack, and says for how many pieces it is.
    """
    own = next(one for one in order.suppliers if one.supplier == supplier)
    for prefix, space in (("rsm", RSM), ("ram", RAM), ("udt", UDT), ("qdt", QDT)):
        register_namespace(prefix, space)
    root = Element(f"{{{RSM}}}SCRDMCCBDACIOMessageStructure")
    context = _in(root, "ExchangedDocumentContext", RSM)
    _in(_in(context, "GuidelineSpecifiedDocumentContextParameter"), "ID", text=PROFILE)
    head = _in(root, "ExchangedDocument", RSM)
    _in(head, "ID", text=order.number or NO_NUMBER)
    _in(head, "TypeCode", text="220")
    _day(_in(head, "IssueDateTime"), order.date)
    _in(head, "PurposeCode", text="9")
    trade = _in(root, "SupplyChainTradeTransaction", RSM)
    for number, line in enumerate(own.lines, start=1):
        _line(trade, number, line)
    _header(trade, order, own)
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _in(parent: Element, name: str, space: str = RAM, text: str | None = None, **attributes: str) -> Element:
    element = SubElement(parent, f"{{{space}}}{name}", attributes)
    if text is not None:
        element.text = visible(text)
    return element


def _day(parent: Element, day: date) -> None:
    _in(parent, "DateTimeString", UDT, f"{day:%Y%m%d}", format="102")


def _amount(parent: Element, name: str, amount: Decimal) -> None:
    _in(parent, name, text=f"{amount:f}")


def _line(trade: Element, number: int, line: OrderLine) -> None:
    item = _in(trade, "IncludedSupplyChainTradeLineItem")
    _in(_in(item, "AssociatedDocumentLineDocument"), "LineID", text=str(number))
    product = _in(item, "SpecifiedTradeProduct")
    if line.code:
        _in(product, "SellerAssignedID", text=line.code)
    _in(product, "BuyerAssignedID", text=line.part)
    _in(product, "Name", text=line.name)
    price = _in(_in(item, "SpecifiedLineTradeAgreement"), "NetPriceProductTradePrice")
    _amount(price, "ChargeAmount", line.price)
    _in(price, "BasisQuantity", text=str(line.pack), unitCode=PIECE)
    delivery = _in(item, "SpecifiedLineTradeDelivery")
    _in(delivery, "RequestedQuantity", text=str(line.pieces), unitCode=PIECE)
    if line.pack > 1:
        _in(delivery, "PackageQuantity", text=str(line.packs), unitCode=PACKAGE)
        _in(delivery, "PerPackageUnitQuantity", text=str(line.pack), unitCode=PIECE)
    settled = _in(item, "SpecifiedLineTradeSettlement")
    _amount(_in(settled, "SpecifiedTradeSettlementLineMonetarySummation"), "LineTotalAmount", line.amount)


def _header(trade: Element, order: Order, own: SupplierOrder) -> None:
    agreement = _in(trade, "ApplicableHeaderTradeAgreement")
    seller = _in(agreement, "SellerTradeParty")
    _in(seller, "ID", text=own.supplier)
    _in(seller, "Name", text=own.name)
    _in(_in(agreement, "BuyerTradeParty"), "Name", text=order.shop)
    delivery = _in(trade, "ApplicableHeaderTradeDelivery")
    if own.in_on is not None:
        event = _in(delivery, "RequestedDeliverySupplyChainEvent")
        _day(_in(event, "OccurrenceDateTime"), own.in_on)
    settlement = _in(trade, "ApplicableHeaderTradeSettlement")
    _in(settlement, "OrderCurrencyCode", text=own.currency)
    if own.carriage:
        charge = _in(settlement, "SpecifiedTradeAllowanceCharge")
        _in(_in(charge, "ChargeIndicator"), "Indicator", UDT, "true")
        _amount(charge, "ActualAmount", own.carriage)
        _in(charge, "ReasonCode", text="FC")
        _in(charge, "Reason", text="Carriage")
    sums = _in(settlement, "SpecifiedTradeSettlementHeaderMonetarySummation")
    _amount(sums, "LineTotalAmount", own.goods)
    if own.carriage:
        _amount(sums, "ChargeTotalAmount", own.carriage)
    _amount(sums, "TaxBasisTotalAmount", own.total)
    _amount(sums, "GrandTotalAmount", own.total)
