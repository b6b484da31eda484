"""What one checked build costs: bought by the one plan, priced line by line, added up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from compat.checking.check import Checked
from compat.trade.buying import plan
from compat.trade.plans import Plan
from compat.trade.pricing import Pricer
from compat.trade.quoted import Line
from compat.trade.sums import Sums, sums
from compat.trade.wanting import wanted

__all__ = ["Priced", "price"]


@dataclass(frozen=True, slots=True)
class Priced:
    """A build's buying plan, its lines and their sums."""

    plan: Plan
    lines: tuple[Line, ...]
    sums: Sums


def price(pricer: Pricer, checked: Checked, on: date) -> Priced:
    """Price a checked build: what a quote of that day would ask for it.

    Parameters
    ----------
    pricer : Pricer
        The terms of its shop.
    checked : Checked
        What checking the build found; what is held back by a finding is not in the price.
    on : date
        The day: prices and rates are those of that day.

    Returns
    -------
    Priced
        Plan, lines and sums.

    Raises
    ------
    Faults
        When something has no price: a part that nobody sells, a currency without a rate, outwork without a
        price, a list that has expired.
    """
    found = plan(pricer.shop, wanted(checked), on=on)
    lines = pricer.lines(checked, found)
    return Priced(found, lines, sums(pricer.info, lines))
