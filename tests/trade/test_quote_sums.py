"""Lines add up to what is printed, in every rounding and currency; a sheet's formulas come to the same."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from compat.paper.rounding import rounded_formula
from compat.shop.money import Money, Percent
from compat.shop.shop import Shop
from compat.shop.terms import Rounding, ShopInfo, Tax
from compat.trade.pricing import Pricer
from compat.trade.quoted import Line
from compat.trade.sums import sums

CURRENCIES = {"GBP": 2, "JPY": 0, "KWD": 3, "CHF": 2}
STEPS = {
    "GBP": ["0.01", "0.05", "0.1", "1"], "JPY": ["1", "5", "100"], "KWD": ["0.001", "0.005", "0.25"],
    "CHF": ["0.05", "0.01", "0.5"],
}  # fmt: skip
MODES = ["half-up", "half-even", "up", "down"]


@st.composite
def quotes(draw: st.DrawFn) -> tuple[ShopInfo, list[tuple[Decimal, Decimal, Decimal, bool]], Decimal]:
    """A shop with its rounding; quantity, price, tax and scheme of each line; the deposit."""
    currency = draw(st.sampled_from(sorted(CURRENCIES)))
    step, mode = draw(st.sampled_from(STEPS[currency])), draw(st.sampled_from(MODES))
    places = CURRENCIES[currency]
    lines = draw(
        st.lists(
            st.tuples(
                st.one_of(
                    st.integers(1, 200).map(Decimal),
                    st.decimals("0.125", 60, places=3, allow_nan=False),
                ),
                st.decimals(0, 9999, places=places, allow_nan=False),
                st.sampled_from(["0", "0.05", "0.055", "0.19", "0.2", "0.255"]).map(Decimal),
                st.booleans(),
            ),
            max_size=30,
        )
    )
    info = ShopInfo(
        shop="s", name="S", currency=currency, labour_rate=Money(Decimal(1), currency), tax=Tax(),
        rounding={currency: Rounding(step=Decimal(step), mode=mode)},
        deposit=Percent(draw(st.decimals(0, 100, places=2, allow_nan=False))),
    )  # fmt: skip
    return info, lines, Decimal(step)


def nearest(amount: Fraction, step: Fraction, mode: str) -> Fraction:
    """Rounding in whole fractions, by its definition."""
    steps = amount / step
    low = Fraction(math.floor(steps))
    match mode:
        case "up":
            found = low if steps == low else low + 1
        case "down":
            found = low
        case "half-up":
            found = low + (steps - low >= Fraction(1, 2))
        case _:
            found = Fraction(round(steps))  # Python's own takes halves to the even
    return found * step


def reckon(formula: str, **cells: Decimal) -> float:
    """Work a formula out in binary fractions, with rounding that knows of no decimal ones."""

    def shift(x: float, places: float, how: object) -> float:
        scale = 10.0 ** int(places)
        return math.copysign(how(abs(x) * scale) / scale, x)  # type: ignore[operator]

    words = {
        "ROUND": lambda x, d: shift(x, d, lambda y: math.floor(y + 0.5)),
        "ROUNDUP": lambda x, d: shift(x, d, math.ceil),
        "ROUNDDOWN": lambda x, d: shift(x, d, math.floor),
        "MOD": lambda x, y: x - y * math.floor(x / y),
        "ABS": abs,
        "IF": lambda test, yes, no: yes if test else no,
    }
    text = re.sub(r"(?<![<>=])=(?!=)", "==", formula)
    return float(eval(text, {"__builtins__": {}}, {**words, **{k: float(v) for k, v in cells.items()}}))


@settings(max_examples=500)
@given(quotes())
def test_lines_add_up_in_every_rounding(
    made: tuple[ShopInfo, list[tuple[Decimal, Decimal, Decimal, bool]], Decimal],
) -> None:
    info, drawn, step = made
    mode, pricer = info.rounding[info.currency].mode, Pricer(Shop(info=info))
    lines = [
        Line("x", "part", "fuel", q, "piece", p, pricer.line(q, p), rate * (not used), margin_scheme=used)
        for q, p, rate, used in drawn
    ]  # fmt: skip
    told = f"{step} {mode}"
    for line in lines:
        exact = Fraction(line.quantity) * Fraction(line.unit_price)
        assert Fraction(line.amount) == nearest(exact, Fraction(step), mode)
        formula = rounded_formula("q*u", line.quantity, told)
        assert round(reckon(formula, q=line.quantity, u=line.unit_price), 6) == float(line.amount), formula
    found = sums(info, lines)
    assert found.net == sum(line.amount for line in lines)
    assert found.total == found.net + found.tax == found.net + sum(line.tax for line in found.taxes)
    untaxed = sum((line.amount for line in lines if line.margin_scheme or not line.tax_rate), Decimal(0))
    assert sum((line.base for line in found.taxes), Decimal(0)) + untaxed == found.net
    for line in found.taxes:
        exact = Fraction(line.base) * Fraction(line.rate)
        assert Fraction(line.tax) == nearest(exact, Fraction(step), mode)
        formula = rounded_formula("b*r", None, told)
        assert round(reckon(formula, b=line.base, r=line.rate), 6) == float(line.tax), formula
    places = CURRENCIES[info.currency]
    for amount in (found.net, found.tax, found.total, *(line.amount for line in lines)):
        assert (amount / step) % 1 == 0
        assert -amount.as_tuple().exponent == places  # type: ignore[operator]


@given(
    st.decimals("0.01", 99999, places=2, allow_nan=False),
    st.decimals(0, 90, places=2, allow_nan=False),
    st.sampled_from(["0", "0.05", "0.19", "0.2", "0.27"]),
)
def test_a_margin_is_a_part_of_the_price(cost: Decimal, margin: Decimal, rate: str) -> None:
    """A price less its cost is the margin asked, to half a penny; that of used goods hides its tax."""
    tax = Tax(goods=Percent(Decimal(rate) * 100), margin_scheme=("shelf",))
    info = ShopInfo(
        shop="s",
        name="S",
        currency="GBP",
        labour_rate=Money(Decimal(1), "GBP"),
        margin=Percent(margin),
        tax=tax,
    )
    pricer = Pricer(Shop(info=info))
    _, price, _ = pricer.goods(Money(cost, "GBP"), 1, "rod", "maker")
    exact = Fraction(cost) / (1 - Fraction(margin) / 100)
    assert abs(Fraction(price) - exact) <= Fraction(1, 200)
    _, used, _ = pricer.goods(Money(cost, "GBP"), 1, "rod", "shelf")
    hidden = pricer.hidden(used, cost)
    # what stays with the shop after the tax on the margin is what a new part would leave it
    assert abs(Fraction(used) - Fraction(hidden) - exact) <= Fraction(1, 100)
    assert abs(
        Fraction(hidden) - (Fraction(used) - Fraction(cost)) * Fraction(rate) / (1 + Fraction(rate))
    ) <= (Fraction(1, 200))


def test_tax_inside_a_second_hand_price() -> None:
    """Bought at 1000, sold at 1120: tax at 20 % is a sixth of the margin, 20 (VAT Notice 718; from memory)."""
    tax = Tax(goods=Percent(Decimal(20)), margin_scheme=("shelf",))
    info = ShopInfo(shop="s", name="S", currency="GBP", labour_rate=Money(Decimal(1), "GBP"), tax=tax)
    assert Pricer(Shop(info=info)).hidden(Decimal(1120), Decimal(1000)) == Decimal("20.00")
