"""Numbers, quantities, sizes and prices as suppliers write them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.lists.csv_reading import decoded, separator_of
from compat.lists.grid import formula_like
from compat.lists.sizing import grown, size_steps
from compat.lists.values import price, quantity, slug, whole_number
from compat.shop.specs import declare
from compat.units import read_band

MM = declare("bore", "mm")


# 1 in = 25.4 mm exactly (international yard and pound agreement, 1959)
@pytest.mark.parametrize(
    ("text", "unit", "decimal", "held", "millimetres"),
    [
        ("86,00", "mm", ",", "86.00 mm", 86.0),
        ("86,00 ±0,01", "mm", ",", "86.00 mm ±0.01", 86.0),
        ("51 +0,013/-0", "mm", ",", "51 mm +0.013/-0", 51.0),
        ("86.00mm", None, ".", "86.00 mm", 86.0),
        ("3 3/8 in", "mm", ".", "3 3/8 in", 85.725),
        ('3 3/8"', "mm", ".", "3 3/8 in", 85.725),
        ("3-3/8", "in", ".", "3 3/8 in", 85.725),
        ("3⅜″", None, ".", "3 3/8 in", 85.725),
        ("1/2", "in", ",", "1/2 in", 12.7),
        ("1.204,5", "mm", ",", "1204.5 mm", 1204.5),
        ("1,204.5", "mm", ".", "1204.5 mm", 1204.5),
        ("2,4 – 2,6", "mm", ",", "2.4..2.6 mm", 2.5),
        ("8,6 cm", "mm", ",", "8.6 cm", 86.0),
        (".5", "in", ".", "0.5 in", 12.7),
    ],
)
def test_a_quantity_is_held_as_a_person_writes_it(
    text: str, unit: str | None, decimal: str, held: str, millimetres: float
) -> None:
    said = quantity(text, unit, decimal, MM)
    assert said == held
    assert read_band(said).nominal * 1000 == pytest.approx(millimetres, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "decimal", "why"),
    [
        ("86.00", "mm", ",", "no number with a decimal comma"),
        ("1,2,3", "mm", ",", "no number with a decimal comma"),
        ("12.34,5", "mm", ",", "no number with a decimal comma"),
        ("86,0", "mm", ".", "no number with a decimal point"),
        ("0,047", "in", ".", "no number with a decimal point"),
        ("5.905", "in", ",", "thousands of inches"),
        ('2.008"', "mm", ",", "thousands of inches"),
        ("86 kg", "mm", ".", "is a mass"),
        ("86", None, ".", "says no unit"),
        ("-5", "mm", ".", "below zero"),
        ("wide", "mm", ".", "no quantity"),
        ("3/0", "in", ".", "divides by zero"),
        ("nan", "mm", ".", "finite"),
    ],
)
def test_what_is_no_such_quantity_is_refused(text: str, unit: str | None, decimal: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        quantity(text, unit, decimal, MM)


# minor units by ISO 4217
@pytest.mark.parametrize(
    ("text", "currency", "decimal", "amount"),
    [
        ("£12.50", "GBP", ".", "12.50"),
        ("GBP 1,140.50", "GBP", ".", "1140.50"),
        ("1.140,50 €", "EUR", ",", "1140.50"),
        ("EUR 99,-", "EUR", ",", "99.00"),
        ("1 204,50 €", "EUR", ",", "1204.50"),
        ("1'204.50 Fr.", "CHF", ".", "1204.50"),
        ("¥12,400", "JPY", ".", "12400"),
        ("12400円", "JPY", ".", "12400"),
        ("$8", "USD", ".", "8.00"),
        ("129 kr", "SEK", ",", "129.00"),
        ("1.234,567", "KWD", ",", "1234.567"),
        ("12.5", "GBP", ".", "12.50"),
    ],
)
def test_a_price_is_read_with_its_sign(text: str, currency: str, decimal: str, amount: str) -> None:
    assert price(text, currency, decimal) == Decimal(amount)


@pytest.mark.parametrize(
    ("text", "currency", "why"),
    [
        ("€12.50", "GBP", "is in €, and this list is in GBP"),
        ("12.50 USD", "GBP", "is in USD, and this list is in GBP"),
        ("12.505", "GBP", "finer than the smallest coin"),
        ("12.5", "JPY", "finer than the smallest coin"),
        ("0.00", "GBP", "is nothing, which no part costs"),
        ("-5", "GBP", "below zero"),
        ("2026-01-05", "GBP", "is a date, and no price"),
        ("call us", "GBP", "is no price"),
        ("12 50", "GBP", "a space stands where no thousands end"),
        ("12.50 per 3", "GBP", "is no price"),
        ("99999999999", "GBP", "is no price"),
    ],
)
def test_what_is_no_such_price_is_refused(text: str, currency: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        price(text, currency, ".")


@pytest.mark.parametrize(
    ("text", "split", "unit", "decimal", "found"),
    [
        ("STD/+0.25/+0.50", "/", "mm", ".", [("STD", ""), ("+0.25", "0.25 mm"), ("+0.50", "0.50 mm")]),
        ("Std / +0,25 mm", "/", "mm", ",", [("Std", ""), ("+0,25 mm", "0.25 mm")]),
        ("STD; .010; .020", ";", "in", ".", [("STD", ""), (".010", "0.010 in"), (".020", "0.020 in")]),
        ("0 / 1/64 in", "/", "mm", ".", [("0", ""), ("1/64 in", "1/64 in")]),
    ],
)
def test_sizes_of_a_row(text: str, split: str, unit: str, decimal: str, found: list[tuple[str, str]]) -> None:
    assert size_steps(text, split, {}, unit, decimal) == found


@pytest.mark.parametrize("text", ["STD/STD", "STD//+0.25", "STD/big", "STD/0", "STD/+0.25 kg"])
def test_sizes_that_are_none(text: str) -> None:
    with pytest.raises(ValueError, match=r"size|twice|nothing"):
        size_steps(text, "/", {}, "mm", ".")


@given(
    st.decimals(1, 200, places=3), st.decimals("0.005", 3, places=3), st.sampled_from(["1", "0.5", "-1"]),
    st.sampled_from(["mm", "in"]), st.sampled_from(["mm", "in"]),
)  # fmt: skip
def test_a_spec_grows_by_its_share_of_the_size(
    base: Decimal, size: Decimal, share: str, own: str, other: str
) -> None:
    made = grown(f"{base} {own}", f"{size} {other}", Decimal(share))
    number, unit = made.split()
    inch = Fraction(254, 10)
    to_mm = {"mm": Fraction(1), "in": inch}
    expected = (Fraction(base) * to_mm[own] + Fraction(size) * Fraction(share) * to_mm[other]) / to_mm[own]
    assert unit == own
    assert abs(Fraction(number) - expected) <= Fraction(1, 1_000_000)
    if own == other and share != "0.5":
        assert Fraction(number) == expected


@pytest.mark.parametrize("page", ["cp1252", "cp850", "mac_roman"])
def test_a_code_page_is_made_out_by_its_letters(page: str) -> None:
    text = "Größe;Kühler;Überzug für Zylinder;Stößel Länge;Preis £ 12\n" * 3
    assert decoded(text.encode(page), "list.csv")[0] == text


def test_utf_8_and_16_say_so_themselves() -> None:
    for page in ("utf-8", "utf-8-sig", "utf-16"):
        assert decoded("Länge;Ø".encode(page), "x") == ("Länge;Ø", "")


def test_the_separator_is_what_cuts_all_lines_alike() -> None:
    assert separator_of("Code;Size;Price\nA;1,5;2,50\nB;2,5;3,50\n") == ";"
    assert separator_of("Code,Name\nA,x; y\nB,z\n") == ","
    assert separator_of("Title of a list\n\nCode\tName\tPrice\nA\tb, c\t1,2\n") == "\t"


def test_what_a_spreadsheet_would_run() -> None:
    for text in ("=1+1", " =cmd|' /C calc'!A0", "@SUM(A1)", "+cmd|x", "-2+3+cmd|' /C'!A0"):
        assert formula_like(text)
    for text in ("+0.25", "-1.5 cm^3", "- ", "STD/+0.25", "a=b", "+10 %"):
        assert not formula_like(text)


def test_a_count_of_pieces() -> None:
    assert [whole_number(text, "a pack", 1000) for text in ("4", "4 Stk.", "set of 6", "8,0")] == [4, 4, 6, 8]
    for text in ("0", "many", "4-6", "1001", "2.5"):
        with pytest.raises(ValueError, match="no number of pieces"):
            whole_number(text, "a pack", 1000)


@given(st.text(max_size=100))
def test_an_id_is_one_whatever_it_is_made_of(text: str) -> None:
    made = slug(text)
    assert made == slug(made)
    assert len(made) <= 80
    assert made == "" or all(word.isalnum() and word.isascii() for word in made.split("-"))
