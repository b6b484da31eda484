"""What whoever asks for a better build may say: what is kept, avoided and aimed at, and for how long."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fnmatch import fnmatchcase
from typing import Literal, get_args

from compat.shop.builds import ReadyBuild
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot, nearest

__all__ = ["AIMS", "Aim", "Terms", "faults_of", "hold_terms"]

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
    """Parts that are not used, by their ids; ``hg-*`` is all whose ids begin so, but for those that `keep`
    holds where the build has them."""
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


def hold_terms(shop: Shop, ready: ReadyBuild, terms: Terms) -> Terms:
    """Hold terms against a shop and a build.

    Parameters
    ----------
    shop : Shop
        The shop.
    ready : ReadyBuild
        The build that they are for.
    terms : Terms
        As they are said.

    Returns
    -------
    Terms
        With each word of `avoid` that names several parts in place of it those parts.

    Raises
    ------
    Faults
        With everything that is not known or makes no sense.
    """
    if faults := [Fault(Spot("asked", 0), message) for message in faults_of(shop, ready, terms)]:
        raise Faults(faults)
    return replace(terms, avoid=frozenset(part for word in terms.avoid for part in _parts(shop, word)))


def faults_of(shop: Shop, ready: ReadyBuild | None, terms: Terms) -> Iterator[str]:
    """Everything that is not known or makes no sense; what only a build tells, where there is one."""
    yield from _unknown(shop, terms)
    if terms.budget is not None and (wrong := _no_price(terms.budget)):
        yield f"a budget of {terms.budget} is {wrong}"
    if not terms.seconds > 0:
        yield f"{terms.seconds:g} seconds to search in are none"
    if not 0 <= terms.gap < 1:
        yield f"a gap of {terms.gap:g} is no share below one"
    for word, price in sorted(terms.prices.items()):
        if wrong := _no_price(price):
            yield f"price of a wish: {price} for giving up '{word}' is {wrong}"
    if terms.aim not in AIMS:
        yield f"aim '{terms.aim}' is not known; known are {', '.join(AIMS)}"
    if terms.aim == "headroom" and terms.budget is None:
        yield "the greatest headroom is asked for; say within what budget"
    if ready is not None:
        yield from _against(shop, ready, terms)


def _no_price(amount: Decimal) -> str:
    """Why an amount can be no price; empty where it can."""
    if not amount.is_finite():
        return "no amount"
    return "below zero" if amount < 0 else ""


def _unknown(shop: Shop, terms: Terms) -> Iterator[str]:
    """Words that name nothing, or something else than is asked for."""
    known = {*shop.positions, *shop.works, *shop.kinds.get("setup", {})} - {"setup", "fuel"}
    for what, words in (("keep", terms.keep), ("price of a wish", terms.prices)):
        for word in sorted(words):
            if word in shop.parts:
                places = "' or '".join(shop.parts[word].fills)
                yield f"{what}: '{word}' is a part; name its position, '{places}'"
            elif word in ("fuel", "goal"):
                yield f"{what}: the goal stays as it is, its fuel too"
            elif word not in known:
                yield f"{what}: '{word}' is no position, work or word of the setup{nearest(word, known)}"
    for word in sorted(terms.avoid):
        if word in shop.suppliers:
            yield f"avoid: '{word}' is a supplier; name it with --avoid-supplier (avoid_suppliers)"
        elif word in shop.positions:
            yield f"avoid: '{word}' is a position; name parts of it"
        elif "*" in word and not any(_parts(shop, word)):
            yield f"avoid: no part is called '{word}'"
        elif "*" not in word and word not in shop.parts:
            yield f"avoid: part '{word}' is not known{nearest(word, shop.parts)}"
    for name in sorted(terms.avoid_suppliers):
        if name not in shop.suppliers:
            said = "is a part, no supplier" if name in shop.parts else "is not known"
            yield f"avoid: supplier '{name}' {said}{nearest(name, shop.suppliers)}"


def _parts(shop: Shop, word: str) -> Iterator[str]:
    """Parts of an id, or of any that a star makes of it."""
    if "*" in word:
        yield from (part for part in shop.parts if fnmatchcase(part, word))
    elif word in shop.parts:
        yield word


def _against(shop: Shop, ready: ReadyBuild, terms: Terms) -> Iterator[str]:
    """Terms that contradict one another, or speak of what the build does not."""
    for word in sorted(terms.keep & shop.positions.keys()):
        if (part := ready.part_in(word)) in terms.avoid:
            yield f"'{word}' is kept, and that is '{part}', which is avoided: leave one of the two out"
    build = ready.build
    taken = {place for one in build.take_from for place in one.positions}
    spoken = {*build.fit, *build.leave_out, *taken, *build.setup, *(done.work for done in build.work)}
    for word in sorted(terms.prices):
        if word not in spoken and word in {*shop.positions, *shop.works, *shop.kinds.get("setup", ())}:
            yield f"price of a wish: the build says nothing of '{word}', so that nothing is given up with it"
