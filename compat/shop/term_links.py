"""The shop's terms held against each other, and what its things say of them: currencies, rates, margins."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from compat.shop.currencies import smallest
from compat.shop.models import Work
from compat.shop.money import Money
from compat.shop.source import nearest
from compat.shop.terms import ShopInfo

__all__ = ["check_labour", "check_terms"]

Tell = Callable[[list[str | int], str], None]
"""Takes a fault, with the path to the words that it is about."""


def check_terms(info: ShopInfo, known: Callable[[str], Iterable[str]], tell: Tell) -> None:
    """Hold the shop's terms against each other, and against the suppliers and positions there are.

    Parameters
    ----------
    info : ShopInfo
        The shop.
    known : callable
        Gives the ids of a kind.
    tell : callable
        Gets every fault.
    """
    own = info.currency
    for path, money in _amounts(info):
        if money.currency != own:
            tell(path, f"'{path[-1]}' is in {money.currency}; the shop counts in {own}")
    if own in info.rates:
        tell(["rates", own], f"'rates' gives one for {own}, which the shop counts in")
    for currency, rounding in info.rounding.items():
        if rounding.step % smallest(currency):
            message = f"'step' of {rounding.step} {currency} is finer than the smallest coin"
            tell(["rounding", currency, "step"], message)
    for gauge in info.gauges:
        if gauge not in (gauges := tuple(known("gauge"))):
            message = f"'{gauge}' is no gauge that a spec is measured with{nearest(gauge, gauges)}"
            tell(["gauges", gauge], message)
    named: list[tuple[list[str | int], str, str | None]] = []
    named += [(["margins", n, "supplier"], "supplier", one.supplier) for n, one in enumerate(info.margins)]
    named += [(["margins", n, "position"], "position", one.position) for n, one in enumerate(info.margins)]
    if info.tax is not None:
        used = enumerate(info.tax.margin_scheme)
        named += [(["tax", "margin_scheme", n], "supplier", supplier) for n, supplier in used]
    for path, kind, name in named:
        if name is not None and name not in (names := tuple(known(kind))):
            tell(path, f"{kind} '{name}' is not known{nearest(name, names)}")
    for number, one in enumerate(info.margins):
        twin = next((n for n, other in enumerate(info.margins[:number]) if one.overlaps(other)), None)
        if twin is not None:
            tell(["margins", number], f"is a second margin for what entry {twin + 1} of the list is for")


def _amounts(info: ShopInfo) -> Iterator[tuple[list[str | int], Money]]:
    yield ["labour_rate"], info.labour_rate
    for labour, rate in info.labour_rates.items():
        yield ["labour_rates", labour], rate
    for number, margin in enumerate(info.margins):
        for key, money in (("at_least", margin.at_least), ("below", margin.below)):
            if money is not None:
                yield ["margins", number, key], money


def check_labour(work: Work, rates: Mapping[str, Money], tell: Tell) -> None:
    """Hold that the kind of labour that a piece of work names is one that the shop has a rate for."""
    if work.labour is not None and work.labour not in rates:
        hint = nearest(work.labour, rates) if rates else "; its `labour_rates` name none"
        tell(["labour"], f"labour '{work.labour}' is none that the shop states a rate for{hint}")
