"""The shop's terms: defaults for all of them, and a clear word for each that makes no sense."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from babel import localedata, numbers

from compat.library.opening import open_library
from compat.shop.currencies import MINOR_UNITS
from compat.shop.money import Money, Percent

SHOP = "catalog/shop.yaml"
RATE = "  labour_rate: 50 GBP\n"


def test_all_terms_have_a_default(tiny: Any) -> None:
    info = tiny.load().shop.info
    assert info.tax is None
    assert str(info.margin) == "0 %"
    assert info.validity.text() == "30 days"
    assert (info.paper, info.language, info.hours_a_day, info.days_a_week) == ("A4", "en_GB", Decimal(8), 5)
    assert info.rate_for("wiring") == info.rate_for(None) == Money(Decimal(50), "GBP")


def test_terms_are_read_and_kept_alike(tiny: Any) -> None:
    terms = """
  address: [Lantern Yard, 3 Quay Street]
  labour_rates: {wiring: 61.50 GBP}
  margin: 20 %
  margins: [{position: rod, margin: 12.5 %}, {supplier: quayside, at_least: 100 GBP, margin: 8 %}]
  tax: {name: VAT, goods: 20 %, labour: 9 %, margin_scheme: [dunmore]}
  rounding: {CHF: {step: 0.05, mode: half-even}}
  rates: {EUR: {rate: 0.8651, on: 2026-02-28}}
  validity: 14 days
  deposit: 33.3 %
  terms: Pay at once.
  numbers: {quote: "LY{year}{count:3}", order: "B{count}"}
  paper: Letter
  language: el_GR
"""
    tiny.edit(SHOP, RATE, RATE + terms.strip("\n") + "\n")
    read = tiny.load().shop.info
    assert read.rates["EUR"].on == date(2026, 2, 28)
    assert read.rate_for("wiring") == Money(Decimal("61.50"), "GBP")
    assert read.deposit == Percent(Decimal("33.3"))
    assert read.deposit.share == Decimal("0.333")
    assert read.terms == ("Pay at once.",)
    assert read.margins[0].particular > read.margins[1].particular
    assert open_library(tiny.folder).shop.info == read
    assert open_library(tiny.folder).shop.info == read  # this time as it was kept


WRONG = [
    ("currency that is none", "rates: {EUX: {rate: 0.8, on: 2026-01-31}}", "EUX", "did you mean 'EUR'?"),
    ("own currency", "rates: {GBP: {rate: 1, on: 2026-01-31}}", "GBP: {r", "which the shop counts in"),
    ("rate of nothing", "rates: {EUR: {rate: 0, on: 2026-01-31}}", "rate: 0", "must be more than 0"),
    ("rate below zero", "rates: {EUR: {rate: -2, on: 2026-01-31}}", "rate: -2", "must be more than 0"),
    ("day that is none", "rates: {EUR: {rate: 2, on: 2026-02-30}}", "on: 2", "a day that no calendar has"),
    ("day in other words", "rates: {EUR: {rate: 2, on: 31.1.2026}}", "on: 3", "write year-month-day"),
    ("rate in dollars", "labour_rates: {wiring: 60 USD}", "wiring", "the shop counts in GBP"),
    ("labour below zero", "labour_rates: {wiring: -60 GBP}", "wiring", "'-60 GBP' is no price"),
    ("price too fine", "labour_rates: {wiring: 60.125 GBP}", "wiring", "GBP has 2 decimals"),
    ("margin beyond sense", "margin: 95 %", "margin", "'95 %' is beyond sense; the most is 90 %"),
    ("margin below zero", "margin: -5 %", "margin", "'-5 %' is below zero"),
    ("margin of what", "margin: 25", "margin", "write '25 %'"),
    ("tax beyond sense", "tax: {goods: 200 %}", "goods", "the most is 60 %"),
    ("word of tax", "tax: {good: 20 %}", "good", "did you mean 'goods'?"),
    ("deposit beyond all", "deposit: 101 %", "deposit", "the most is 100 %"),
    ("supplier of the scheme", "tax: {margin_scheme: [dunmoor]}", "dunmoor", "did you mean 'dunmore'?"),
    ("supplier of a margin", "margins: [{supplier: quaside, margin: 2 %}]", "supplier: quaside", "'quayside'?"),
    ("position of a margin", "margins: [{position: rodd, margin: 2 %}]", "position: rodd", "'rod'?"),
    ("margin for all", "margins: [{margin: 2 %}]", "{margin", "says no position, supplier or cost"),
    ("band upside down", "margins: [{at_least: 9 GBP, below: 9 GBP, margin: 2 %}]", "{at_l", "leaves nothing"),
    ("band in euros", "margins: [{at_least: 9 EUR, margin: 2 %}]", "at_least", "the shop counts in GBP"),
    (
        "two of a kind",
        "margins: [{at_least: 9 GBP, margin: 2 %}, {below: 10 GBP, margin: 3 %}]",
        "{below",
        "a second margin for what entry 1",
    ),
    ("step of nothing", "rounding: {GBP: {step: 0}}", "step", "must be more than 0"),
    ("step too fine", "rounding: {GBP: {step: 0.005}}", "step", "finer than the smallest coin"),
    ("mode", "rounding: {GBP: {step: 0.05, mode: half_up}}", "mode", "did you mean 'half-up'?"),
    ("no count", "numbers: {quote: 'Q-{year}'}", "quote", "needs {count} once"),
    ("folder in a number", "numbers: {quote: '../{count}'}", "quote", "letters, digits, hyphens"),
    ("one series for both", "numbers: {quote: 'X{count}', order: 'X{count:3}'}", "numbers", "the same numbers"),
    ("paper", "paper: A5", "paper", "'A5' is not one of A4, Letter"),
    ("language", "language: en-UK", "language", "write it like en_GB"),
    ("day of 25 hours", "hours_a_day: 25", "hours_a_day", "must be at most 24"),
    ("word", "deposits: 20 %", "deposits", "did you mean 'deposit'?"),
]


@pytest.mark.parametrize(("says", "word", "told"), [case[1:] for case in WRONG], ids=[c[0] for c in WRONG])
def test_what_makes_no_sense_is_told_where_it_stands(tiny: Any, says: str, word: str, told: str) -> None:
    tiny.edit(SHOP, RATE, f"{RATE}  {says}\n")
    (fault,) = tiny.faults()
    assert told in fault.message
    assert str(fault.spot) == tiny.place(SHOP, word)


def test_labour_that_has_no_rate(tiny: Any) -> None:
    tiny.edit("catalog/work.yaml", "  name: Wash\n", "  name: Wash\n  labour: wirring\n")
    assert "its `labour_rates` name none" in tiny.faults()[0].message
    tiny.edit(SHOP, RATE, RATE + "  labour_rates: {wiring: 60 GBP}\n")
    (fault,) = tiny.faults()
    assert "did you mean 'wiring'?" in fault.message
    assert str(fault.spot) == tiny.place("catalog/work.yaml", "labour: wirring")


def test_an_unknown_currency_of_a_price(tiny: Any) -> None:
    tiny.edit("catalog/parts/extra.yaml", "640 GBP", "640 GPB")
    assert [fault.message for fault in tiny.faults()] == [
        "'price' 'GPB' is no currency of ISO 4217; did you mean 'GBP'?"
    ] or tiny.faults()[0].message.startswith("'GPB' is no currency of ISO 4217")


def test_hours_go_with_the_engine(demo: Any) -> None:
    """Hours of the demo shop are for one of what `per` says: a V six is not charged as a four in line."""
    works, families = demo.shop.works, demo.shop.families
    for name, four, six in (("assemble", "14", "18"), ("deck-block", "1.5", "2.5"), ("calibrate", "12", "12")):
        assert works[name].hours_on(families["tarn"]) == Decimal(four)
        assert works[name].hours_on(families["fell"]) == Decimal(six)


def test_currencies_against_babel() -> None:
    """Codes and decimals of ISO 4217 against the Unicode CLDR, which counts cash and drops dead coins."""
    assert set(MINOR_UNITS) - numbers.list_currencies() <= {"XCG", "ZWG"}  # younger than some releases of CLDR
    in_use = {
        code
        for land in numbers.get_global("territory_currencies")
        for code in numbers.get_territory_currencies(land, tender=True)
    }
    # left the currency books of ISO 4217 since, or never stood in them
    assert in_use - set(MINOR_UNITS) <= {"ANG", "CUC", "HRK", "SLL", "ZWL", "BGN", "MRO", "STD", "VEF", "XUA"}
    differ = {code for code, digits in MINOR_UNITS.items() if numbers.get_currency_precision(code) != digits}
    assert all(numbers.get_currency_precision(code) == 0 for code in differ)
    assert {"GBP", "EUR", "USD", "CHF", "JPY", "KWD", "SEK", "CZK", "PLN"}.isdisjoint(differ)
    assert localedata.exists("en_GB")
