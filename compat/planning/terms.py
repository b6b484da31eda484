"""What whoever asks for a better build may say: what is kept, avoided and aimed at, and for how long."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal, get_args

from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest

__all__ = ["AIMS", "Aim", "Terms", "hold_terms"]

Aim = Literal["money", "time", "changes", "headroom"]
"""Least money; the earliest day; the fewest changes; the greatest least headroom within a budget."""
AIMS: tuple[Aim, ...] = get_args(Aim)


@dataclass(frozen=True, kw_only=True)
class Terms:
    """On what terms a build is put right.

    Examples
    --------
    >>> Terms(keep=frozenset({"crankshaft"})).aim
    'money'
    """

    keep: frozenset[str] = frozenset()
    """Positions, work and words of the setup that stay as the build has them."""
    avoid: frozenset[str] = frozenset()
    """Parts that are not used, but where the build itself names them and `keep` holds them."""
    avoid_suppliers: frozenset[str] = frozenset()
    """Suppliers that nothing is bought from."""
    stock_only: bool = False
    """Whether what is bought must lie on the shelf."""
    budget: Decimal | None = None
    """What parts and work may cost together, in the shop's currency."""
    aim: Aim = "money"
    seconds: float = 30.0
    """How long may be searched, on the clock."""
    gap: float = 0.0
    """By what share the best may be beaten for the search to end before it is proved."""
    unknown_too: bool = False
    """Whether a build that leaves something unknown will do."""
    on: date | None = None
    """Day of the order; today when left out."""
    others: int = 2
    """So many next-best builds are looked for."""
    prices: Mapping[str, Decimal] = field(default_factory=dict)
    """What giving up a wish costs, by position, work or word of the setup, where it is not as usual."""

    @property
    def day(self) -> date:
        """The day of the order."""
        return self.on or date.today()


def hold_terms(shop: Shop, ready: ReadyBuild, terms: Terms) -> None:
    """Hold terms against a shop and a build.

    Raises
    ------
    Faults
        With everything that is not known or makes no sense.
    """
    faults: list[Fault] = []

    def fault(message: str) -> None:
        faults.append(Fault(Spot("asked", 0), message))

    known = {*shop.positions, *shop.works, *shop.kinds.get("setup", {})} - {"setup", "fuel"}
    for what, words in (("keep", terms.keep), ("prices", terms.prices)):
        for word in sorted(words):
            if word not in known:
                hint = nearest(word, known)
                fault(f"{what}: '{word}' is no position, work or word of the setup{hint}")
    for part in sorted(terms.avoid):
        if part not in shop.parts:
            fault(f"avoid: part '{part}' is not known{nearest(part, shop.parts)}")
    for name in sorted(terms.avoid_suppliers):
        if name not in shop.suppliers:
            fault(f"avoid: supplier '{name}' is not known{nearest(name, shop.suppliers)}")
    if terms.budget is not None and terms.budget < 0:
        fault(f"a budget of {terms.budget} is below zero")
    if terms.seconds <= 0:
        fault(f"{terms.seconds:g} seconds to search in are none")
    if not 0 <= terms.gap < 1:
        fault(f"a gap of {terms.gap:g} is no share below one")
    if any(price < 0 for price in terms.prices.values()):
        fault("the price of giving up a wish is below zero")
    if terms.aim not in AIMS:
        fault(f"aim '{terms.aim}' is not known{nearest(terms.aim, AIMS)}")
    if terms.aim == "headroom" and terms.budget is None:
        fault("the greatest headroom is asked for; say within what budget")
    if faults:
        raise Faults(faults)
