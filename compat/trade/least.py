"""What a build comes to at the least, while it is being chosen: piece by piece, no carriage, no tax."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compat.checking.check import Checked
from compat.shop.source import Faults
from compat.trade.pricing import Pricer, final_works
from compat.trade.wanting import wanted
from compat.trade.wares import least_price

__all__ = ["Least", "least"]


@dataclass(frozen=True, slots=True)
class Least:
    """What a build comes to at the least, in the shop's currency."""

    currency: str
    parts: Decimal
    """Every piece that is bought, at the least that anybody sells one for; not what the customer brings."""
    unsold: tuple[str, ...]
    """Parts that nobody sells, or only in a currency without a rate: they are not in it."""
    hours: Decimal
    """Of all work, the shop's own and outwork."""
    work: Decimal | None
    """What the work comes to; None where some of it has no price."""

    @property
    def whole(self) -> Decimal:
        """Parts and work together, as far as they have a price."""
        return self.parts + (self.work or Decimal(0))


def least(checked: Checked) -> Least:
    """Add up what a build comes to at the least.

    Parameters
    ----------
    checked : Checked
        What checking the build found; what is held back by a finding is not in the sum.

    Returns
    -------
    Least
        The sum. A quote comes to more: whole packs, carriage, margin and tax are in that.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> found = least(shop.session.check(shop.build("street-turbo")))
    >>> found.currency, found.parts > 1000, found.unsold
    ('GBP', True, ())
    """
    shop = checked.world.settled.shop
    family = shop.families[checked.world.settled.variant.family]
    parts, unsold = Decimal(0), []
    for want in wanted(checked):
        each = least_price(shop, want.part)
        if each is None:
            unsold.append(want.part)
        else:
            parts += each * want.count
    works = final_works(checked)
    hours = sum((work.hours_on(family) for work in works), Decimal(0))
    currency = shop.info.currency if shop.info is not None else ""
    try:
        work = sum((line.amount for line in Pricer(shop).works(works, family)), Decimal(0))
    except Faults:
        work = None
    return Least(currency, parts, tuple(dict.fromkeys(unsold)), hours, work)
