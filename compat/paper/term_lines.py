"""A shop's terms as lines that a person reads."""

from __future__ import annotations

from collections.abc import Iterator

from compat.shop.terms import Margin, ShopInfo, Tax
from compat.words.wording import listed, plain

__all__ = ["term_lines"]


def term_lines(info: ShopInfo) -> Iterator[tuple[int, str]]:
    """Give what a shop asks for and on what terms, line by line with depth.

    Parameters
    ----------
    info : ShopInfo
        The shop.

    Yields
    ------
    tuple of int and str
        Depth and text.
    """
    yield 1, f"labour {info.labour_rate} an hour; money in {info.currency}"
    for labour, asked in info.labour_rates.items():
        yield 2, f"{plain(labour)} {asked}"
    yield 1, f"margin {info.margin} of the price"
    for one in sorted(info.margins, key=lambda margin: margin.particular, reverse=True):
        yield 2, _margin(one)
    yield 1, _tax(info.tax) if info.tax is not None else "no tax is stated, so none is asked"
    if info.tax is not None and info.tax.margin_scheme:
        yield 2, f"used goods of {listed(info.tax.margin_scheme)}: on the margin alone, inside the price"
    for currency, rate in info.rates.items():
        yield 1, f"1 {currency} is {rate.rate} {info.currency}, on {rate.on}"
    for currency, rounding in info.rounding.items():
        yield 1, f"{currency} is rounded to {rounding.step}, {rounding.mode.replace('-', ' ')}"
    yield 1, f"a quote holds for {info.validity.text()}; deposit {info.deposit} of the total"
    yield 1, f"numbers: quotes {info.numbers.quote}, orders {info.numbers.order}"
    for gauge, uncertainty in info.gauges.items():
        yield 1, f"{gauge}: off by {uncertainty.text()} at most (k = 2)"
    yield 1, f"paper {info.paper}; dates and numbers as in {info.language}"
    if info.uses:
        yield 1, f"takes the program's sets {listed(info.uses)}"
    for rule, why in info.leave_out.items():
        yield 2, f"without {rule}: {why}"
    yield 1, f"works {info.hours_a_day} hours a day, {info.days_a_week} days a week"
    for title, lines in (
        ("address", info.address),
        ("signs", info.signature),
        ("terms", info.terms),
        ("not included", info.not_included),
    ):
        for line in lines:
            yield 1, f"{title}: {line}"


def _margin(one: Margin) -> str:
    """One margin, with what it is for."""
    said = (
        (plain(one.position or ""), one.position),
        (f"from {one.supplier}", one.supplier),
        (f"at a cost from {one.at_least}", one.at_least),
        (f"at a cost below {one.below}", one.below),
    )
    return f"{' '.join(text for text, stated in said if stated)}: {one.margin}"


def _tax(tax: Tax) -> str:
    number = f" ({tax.number})" if tax.number else ""
    return f"{tax.name}{number}: goods {tax.goods}, labour {tax.labour}, outwork {tax.outwork}"
