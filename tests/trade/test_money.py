"""Conversion and rounding of money, against whole numbers of the smallest coin."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compat.shop.money import Money
from compat.shop.terms import Rate, Rounding, ShopInfo
from compat.trade.money import NoRate, in_own, lacking_rates, round_money, rounded

amounts = st.decimals(-999_999_999, 999_999_999, places=6, allow_nan=False)
steps = st.sampled_from(["0.001", "0.01", "0.02", "0.05", "0.1", "0.25", "0.03", "1", "5", "100"]).map(Decimal)


def shop(currency: str = "GBP", **more: object) -> ShopInfo:
    return ShopInfo(shop="s", name="S", currency=currency, labour_rate=Money(Decimal(1), currency), **more)


@given(amounts, steps, st.sampled_from(["half-up", "half-even", "up", "down"]))
def test_a_rounded_amount_is_the_nearest_whole_step(amount: Decimal, step: Decimal, mode: str) -> None:
    found = rounded(amount, Rounding(step=step, mode=mode))
    off = (Fraction(found) - Fraction(amount)) / Fraction(step)
    assert (Fraction(found) / Fraction(step)).denominator == 1
    away = off * (1 if amount >= 0 else -1)
    match mode:
        case "up":
            assert 0 <= away < 1
        case "down":
            assert -1 < away <= 0
        case "half-up":
            assert -Fraction(1, 2) < away <= Fraction(1, 2)
        case "half-even":
            whole = Fraction(found) / Fraction(step)
            assert abs(off) < Fraction(1, 2) or (abs(off) == Fraction(1, 2) and whole % 2 == 0)


@given(amounts, st.decimals("0.000001", 100_000, places=6, allow_nan=False))
def test_conversion_is_exact(amount: Decimal, rate: Decimal) -> None:
    info = shop(rates={"EUR": Rate(rate=rate, on=date(2026, 1, 1))})
    assert Fraction(in_own(info, Money(amount, "EUR"))) == Fraction(amount) * Fraction(rate)
    assert in_own(info, Money(amount, "GBP")) == amount


def test_a_currency_without_a_rate() -> None:
    with pytest.raises(NoRate, match="no rate is stated for SEK"):
        in_own(shop(), Money(Decimal(1), "SEK"))


def test_every_lacking_rate_is_told(demo: object) -> None:
    faults = lacking_rates(demo.shop, ["SEK", "EUR", "GBP", "PLN"])  # type: ignore[attr-defined]
    assert [str(fault.spot).rpartition("/")[2].split(":")[0] for fault in faults] == ["shop.yaml"] * 2
    assert ["PLN" in faults[0].message, "SEK" in faults[1].message] == [True, True]


@pytest.mark.parametrize(
    ("currency", "amount", "found"),
    [
        ("JPY", "1234.5", "1235"),
        ("KWD", "1.2345", "1.235"),
        ("GBP", "2.675", "2.68"),
        ("EUR", "-2.675", "-2.68"),
    ],
)
def test_minor_units(currency: str, amount: str, found: str) -> None:
    """Decimals of the yen, the dinar and the rest by ISO 4217."""
    assert str(round_money(shop(currency), Decimal(amount))) == found


def test_a_step_of_the_smallest_coin_in_cash() -> None:
    """Five centimes is the smallest coin of the franc: common practice, no source."""
    info = shop("CHF", rounding={"CHF": Rounding(step=Decimal("0.05"))})
    found = [str(round_money(info, Decimal(text))) for text in ("1.02", "1.025", "1.07", "1.075", "-1.025")]
    assert found == ["1.00", "1.05", "1.05", "1.10", "-1.05"]
