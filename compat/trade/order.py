"""Making an order: what several builds buy, merged and planned, with the reasons for each line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from compat.checking.check import Checked
from compat.rulebook.models import VERDICTS
from compat.shop.currencies import smallest
from compat.shop.models import Money, ShopInfo
from compat.shop.shop import Shop
from compat.shop.source import Faults
from compat.trade.buying import plan, unsold
from compat.trade.money import EXACT, in_own, round_money
from compat.trade.ordered import (
    Against,
    FromShelf,
    HeldBack,
    Order,
    OrderedBuild,
    OrderLine,
    SupplierOrder,
    ToBring,
)
from compat.trade.plans import Aim, Line, Ordered
from compat.trade.wanting import Wanted, brought, wanted
from compat.words.house import judged_by
from compat.words.report import Report
from compat.words.wording import plain

__all__ = ["make_order"]

STANDS = VERDICTS[: VERDICTS.index("unknown") + 1]
"""Verdicts that stand against ordering, worst first."""


def make_order(
    builds: Sequence[tuple[Checked, Report]], aim: Aim = "cost", *, on: date, old_prices: bool = False
) -> Order:
    """Make the order of one build or of several of one shop.

    Parameters
    ----------
    builds : sequence of tuple of Checked and Report
        What checking each found, and the report of it; one at least.
    aim : {"cost", "soonest"}
        Least total cost, or the earliest day that everything is in.
    on : date
        The day of the order.
    old_prices : bool
        Whether prices of lists that have expired are reckoned with all the same.

    Returns
    -------
    Order
        The order, without a number. What is held back is in it apart, and not ordered.

    Raises
    ------
    Faults
        When nobody sells something, or a price cannot be reckoned with: everything of that at once.
    """
    shop = builds[0][0].world.settled.shop
    info = shop.info
    wants = [want for checked, _ in builds for want in wanted(checked)]
    found = plan(shop, wants, aim, on=on, old_prices=old_prices)
    if faults := unsold(shop, found):
        raise Faults(faults)
    assert info is not None  # without one no price can be reckoned with
    several = len({want.build for want in wants}) > 1
    suppliers = tuple(_to(info, order, on, several) for order in found.orders)
    return Order(
        number="",
        date=on,
        shop=info.name,
        address=info.address,
        currency=info.currency,
        builds=tuple(_build(checked, said) for checked, said in builds),
        aim=aim,
        proved=found.proved,
        suppliers=suppliers,
        total=sum((order.total_own for order in suppliers), Decimal(0)),
        in_on=found.whole_on,
        shelf=tuple(
            FromShelf(t.part, t.name, t.count, t.place, t.condition, t.stays, _reasons(t.wants, several))
            for t in found.taken
        ),
        brought=tuple(_brought(shop, [checked for checked, _ in builds])),
        held_back=tuple(held for checked, said in builds for held in _held(shop, checked, said)),
        paper=info.paper,
        language=info.language,
    )


def _build(checked: Checked, said: Report) -> OrderedBuild:
    against = tuple(
        Against(finding.verdict, finding.title, finding.because)
        for finding in said.findings
        if finding.verdict in STANDS
    )
    return OrderedBuild(said.build, said.name, checked.verdict, against, judged_by(said))


def _to(info: ShopInfo, order: Ordered, on: date, several: bool) -> SupplierOrder:
    supplier = order.supplier
    rate = info.rates.get(supplier.currency) if supplier.currency != info.currency else None
    days = order.days
    return SupplierOrder(
        supplier=supplier.supplier,
        name=supplier.name,
        place=supplier.place,
        currency=supplier.currency,
        lines=tuple(_line(line, on, several) for line in order.lines),
        goods=_exact(order.goods),
        carriage=_exact(order.carriage),
        total=_exact(order.total),
        total_own=round_money(info, in_own(info, order.total)),
        rate=None if rate is None else rate.rate,
        rate_on=None if rate is None else rate.on,
        in_on=None if days is None else on + timedelta(days=days),
        list_date=_list_date(order),
        expired=order.expired(on),
        note=_why_more(order),
    )


def _list_date(order: Ordered) -> date | None:
    """The one date of the lists that its prices stand in, the eldest where they are of several."""
    dated = [day for day, _ in order.list_days]
    known = [day for day in dated if day is not None]
    return min(known) if known and len(known) == len(dated) else None


def _exact(money: Money) -> Decimal:
    """An amount with all decimals of its coins; none is lost, since no price is finer."""
    return money.amount.quantize(smallest(money.currency), context=EXACT)


def _line(line: Line, on: date, several: bool) -> OrderLine:
    return OrderLine(
        part=line.part,
        name=line.name,
        code=line.code,
        packs=line.packs,
        pack=line.pack,
        price=_exact(line.price),
        amount=_exact(line.amount),
        reasons=_reasons(line.wants, several),
        pieces=line.pieces,
        left_over=line.left_over,
        days=line.days,
        in_on=None if line.days is None else on + timedelta(days=line.days),
        note=_cheaper(line),
    )


def _cheaper(line: Line) -> str:
    """Why more packs are ordered than are needed, where their own price says it."""
    needed = line.packs - line.spare
    if not line.spare or needed * line.offer.of(needed).amount < line.amount.amount:
        return ""
    return f"{line.packs} cost no more than {needed}, since from so many on one costs {line.price}"


def _why_more(order: Ordered) -> str:
    """Why more is ordered than is needed, where the order as a whole says it."""
    spare = [line for line in order.lines if line.spare and not _cheaper(line)]
    if not spare:
        return ""
    supplier, goods = order.supplier, order.goods.amount
    for line in spare:
        needed = line.packs - line.spare
        goods -= line.amount.amount - needed * line.offer.of(needed).amount
    least = supplier.minimum_order
    if least is not None and goods < least.amount:
        why = f"it takes no order below {least}"
    else:
        why = f"carriage would else be {supplier.carriage_of(Money(goods, supplier.currency))}"
    said = ", ".join(f"{line.spare} more of {line.code or line.part}" for line in spare)
    return f"Ordered beyond what is needed: {said}; {why}."


def _reasons(wants: Iterable[Wanted], several: bool) -> tuple[str, ...]:
    """For what, how many and why; of several builds also for which."""
    return tuple(
        f"{f'{want.build}, ' * several}{plain(want.position)}{f', {want.count} pieces' * (want.count > 1)}: "
        f"{' and '.join(want.reasons)}"
        for want in wants
    )


def _brought(shop: Shop, builds: Iterable[Checked]) -> Iterator[ToBring]:
    for checked in builds:
        for one in brought(checked):
            yield ToBring(
                one.part, shop.parts[one.part].name, one.position, one.count, one.state, one.build, one.boxed
            )


def _held(shop: Shop, checked: Checked, said: Report) -> Iterator[HeldBack]:
    until = {entry.position: entry.held_back for entry in said.extra_parts}
    for want in wanted(checked, held=True):
        yield HeldBack(
            want.part,
            shop.parts[want.part].name,
            want.position,
            want.count,
            want.build,
            want.reasons,
            until[want.position],
        )
