"""Money of several currencies: converted at the shop's stated rates, rounded as the shop rounds."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_UP, Context, Decimal

from compat.shop.currencies import smallest
from compat.shop.money import Money
from compat.shop.shop import Shop
from compat.shop.source import Fault, Spot
from compat.shop.terms import Rounding, ShopInfo

__all__ = ["EXACT", "NoRate", "in_own", "lacking_rates", "round_money", "rounded", "rounding_of"]

EXACT = Context(prec=60)
"""Wide enough that no product or sum of money is ever cut short."""

MODES = {"half-up": ROUND_HALF_UP, "half-even": ROUND_HALF_EVEN, "up": ROUND_UP, "down": ROUND_DOWN}


class NoRate(LookupError):
    """The shop states no rate for a currency."""

    def __init__(self, currency: str) -> None:
        super().__init__(f"no rate is stated for {currency}")
        self.currency = currency


def in_own(info: ShopInfo, money: Money) -> Decimal:
    """An amount in the shop's own currency, exact, not rounded.

    Parameters
    ----------
    info : ShopInfo
        The shop, with its rates.
    money : Money
        The amount, in any currency.

    Returns
    -------
    Decimal
        The same in the shop's currency.

    Raises
    ------
    NoRate
        When the shop states no rate for its currency.
    """
    if money.currency == info.currency:
        return money.amount
    rate = info.rates.get(money.currency)
    if rate is None:
        raise NoRate(money.currency)
    return EXACT.multiply(money.amount, rate.rate)


def lacking_rates(shop: Shop, currencies: Iterable[str]) -> list[Fault]:
    """A fault for each currency that the shop's terms state no rate for.

    Parameters
    ----------
    shop : Shop
        The shop.
    currencies : iterable of str
        Currencies that prices are in.

    Returns
    -------
    list of Fault
        Empty when all can be converted.
    """
    info = shop.info
    if info is None:
        message = "has no entry `shop:`, which says in what currency it counts and what an hour costs"
        return [Fault(Spot("catalog/shop.yaml", 0), message)]
    spot = shop.spot("shop", info.shop, "rates" if info.rates else "currency")
    return [
        Fault(
            spot,
            f"states no rate for {currency}, which prices are in; write what one costs: "
            f"`rates: {{{currency}: {{rate: 1.25, on: 2026-01-31}}}}`",
        )
        for currency in sorted({*currencies} - {info.currency, *info.rates})
    ]


def rounding_of(info: ShopInfo, currency: str) -> Rounding:
    """How amounts of a currency are rounded: as the shop says, else to the smallest coin, half up."""
    return info.rounding.get(currency) or Rounding(step=smallest(currency))


def rounded(amount: Decimal, rounding: Rounding) -> Decimal:
    """An amount at the nearest step.

    Parameters
    ----------
    amount : Decimal
        Any amount, below zero too: half up and up lead away from zero, so that a sum taken back is the same.
    rounding : Rounding
        Step and mode.

    Returns
    -------
    Decimal
        A whole number of steps, written with the decimals of the step.

    Examples
    --------
    >>> rounded(Decimal("10.025"), Rounding(step=Decimal("0.05")))
    Decimal('10.05')
    >>> rounded(Decimal("10.025"), Rounding(step=Decimal("0.01"), mode="half-even"))
    Decimal('10.02')
    """
    steps = EXACT.divide(amount, rounding.step).quantize(Decimal(1), MODES[rounding.mode], context=EXACT)
    return EXACT.multiply(steps, rounding.step)


def round_money(info: ShopInfo, amount: Decimal) -> Decimal:
    """An amount in the shop's own currency, rounded as the shop rounds, with all decimals of its coins.

    >>> from compat.shop.money import Money
    >>> shop = ShopInfo(shop="s", name="S", currency="GBP", labour_rate=Money.read("50 GBP"))
    >>> round_money(shop, Decimal("1.005"))
    Decimal('1.01')
    """
    found = rounded(amount, rounding_of(info, info.currency))
    return found.quantize(smallest(info.currency), context=EXACT)
