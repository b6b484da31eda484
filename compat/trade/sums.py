"""Lines of a quote added up: net, tax at each rate, total."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from compat.shop.currencies import smallest
from compat.shop.terms import ShopInfo
from compat.trade.money import EXACT, round_money
from compat.trade.quoted import Line, TaxLine

__all__ = ["Sums", "sums"]


@dataclass(frozen=True, slots=True)
class Sums:
    """Lines added up: every figure is a sum of printed ones."""

    net: Decimal
    taxes: tuple[TaxLine, ...]
    tax: Decimal
    total: Decimal


def sums(info: ShopInfo, lines: Iterable[Line]) -> Sums:
    """Add up the lines of a quote.

    Parameters
    ----------
    info : ShopInfo
        The shop, for its rounding.
    lines : iterable of Line
        The lines.

    Returns
    -------
    Sums
        Net is the sum of the amounts, tax at each rate is taken of all its amounts together and rounded,
        the total is net and taxes.
    """
    bases: dict[Decimal, Decimal] = {}
    net = Decimal(0)
    for line in lines:
        net = EXACT.add(net, line.amount)
        if not line.margin_scheme:
            rate = line.tax_rate.normalize() + 0
            bases[rate] = EXACT.add(bases.get(rate, Decimal(0)), line.amount)
    taxes = tuple(
        TaxLine(rate, base, round_money(info, EXACT.multiply(base, rate)))
        for rate, base in sorted(bases.items(), reverse=True)
        if rate
    )
    tax = sum((line.tax for line in taxes), Decimal(0).quantize(smallest(info.currency)))
    net = net.quantize(smallest(info.currency))
    return Sums(net, taxes, tax, net + tax)
