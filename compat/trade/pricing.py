"""What a build costs and what is asked for it: parts by the buying plan, labour, outwork, carriage, tax."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from compat.checking.check import Checked
from compat.shop.currencies import smallest
from compat.shop.models import Family, Price, Work
from compat.shop.money import Money, Percent
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults
from compat.shop.terms import Rounding, ShopInfo
from compat.shop.words import SYSTEMS
from compat.trade.buying import unsold
from compat.trade.money import EXACT, in_own, lacking_rates, round_money, rounded, rounding_of
from compat.trade.plans import Line as Bought
from compat.trade.plans import Ordered, Plan, Taken
from compat.trade.quoted import Line, OwnLine, Source
from compat.trade.wanting import Wanted

__all__ = ["Pricer", "final_works"]

ONE = Decimal(1)


def final_works(checked: Checked) -> tuple[Work, ...]:
    """All work that a build does, in its order: its own, what that drags in, and what the build needs more.

    What is held back by a finding is left out.
    """
    held = {extra.name for extra in checked.extras if extra.held and not extra.position}
    world = checked.world if checked.ahead is None else checked.ahead.world
    return tuple(work for work, _ in world.settled.sequence if work.work not in held)


class Pricer:
    """Prices things of one shop by its terms.

    Parameters
    ----------
    shop : Shop
        The shop.

    Raises
    ------
    Faults
        When the shop has no entry of its own.
    """

    def __init__(self, shop: Shop) -> None:
        if shop.info is None:
            raise Faults(lacking_rates(shop, ()))
        self.shop = shop
        self.info: ShopInfo = shop.info
        self.tax = shop.info.tax

    # margins

    def margin(self, position: str, supplier: str, cost: Decimal) -> Percent:
        """The part of a price that is not its cost.

        Parameters
        ----------
        position : str
            Where the part goes, or what work is done on.
        supplier : str
            Who sells it or does it.
        cost : Decimal
            Of one piece, in the shop's currency.

        Returns
        -------
        Percent
            Of the entries of `margins` that fit the most particular: one that names the position goes before
            one that names the supplier, and that before one with only a band of cost; else the shop's own.
        """
        fitting = [
            one
            for one in self.info.margins
            if one.position in (None, position)
            and one.supplier in (None, supplier)
            and (one.at_least is None or cost >= one.at_least.amount)
            and (one.below is None or cost < one.below.amount)
        ]
        most = max(fitting, key=lambda one: one.particular, default=None)
        share: Percent = self.info.margin if most is None else most.margin
        return share

    def asked(self, cost: Decimal, margin: Percent) -> Decimal:
        """The price of which a margin leaves the cost; exact to far more places than any coin has."""
        return EXACT.divide(cost, ONE - margin.share)

    def coin(self, amount: Decimal) -> Decimal:
        """A price of one, to the smallest coin."""
        step = smallest(self.info.currency)
        mode = rounding_of(self.info, self.info.currency).mode
        return rounded(amount, Rounding(step=step, mode=mode)).quantize(step, context=EXACT)

    def line(self, quantity: Decimal, unit_price: Decimal) -> Decimal:
        """The amount of a line."""
        return round_money(self.info, EXACT.multiply(quantity, unit_price))

    def rate(self, kind: str) -> Decimal:
        """Tax on goods, labour or outwork, as a part of one."""
        if self.tax is None:
            return Decimal(0)
        share: Percent = getattr(self.tax, kind)
        return share.share

    # goods

    def scheme(self, supplier: str) -> bool:
        """Whether a supplier's goods are sold under the margin scheme."""
        return self.tax is not None and supplier in self.tax.margin_scheme

    def goods(self, price: Money, pack: int, position: str, supplier: str) -> tuple[Decimal, Decimal, Percent]:
        """What a pack costs, what is asked for it, and the margin in that.

        Under the margin scheme the tax on the margin is added to the price and stands inside it (Directive
        2006/112/EC, articles 313 and 315; from memory).
        """
        cost = in_own(self.info, price)
        margin = self.margin(position, supplier, EXACT.divide(cost, Decimal(pack)))
        asked = self.asked(cost, margin)
        if self.scheme(supplier):
            asked = cost + EXACT.multiply(asked - cost, ONE + self.rate("goods"))
        return cost, self.coin(asked), margin

    def hidden(self, line_amount: Decimal, cost: Decimal) -> Decimal:
        """Tax inside the price of used goods: of the margin with its tax, the tax."""
        rate = self.rate("goods")
        inside = EXACT.divide(EXACT.multiply(max(line_amount - cost, Decimal(0)), rate), ONE + rate)
        return round_money(self.info, inside)

    def parts(self, plan: Plan) -> Iterator[Line]:
        """Lines of all that a plan buys or takes from the shelf.

        Raises
        ------
        Faults
            When nobody sells a part, or a currency has no rate.
        """
        faults = [*unsold(self.shop, plan)]
        currencies = {order.supplier.currency for order in plan.orders}
        currencies |= {o.price.currency for taken in plan.taken for o in self.shop.parts[taken.part].sold_by}
        currencies |= {cost.currency for taken in plan.taken if (cost := self._own_cost(taken)) is not None}
        faults += lacking_rates(self.shop, currencies)
        for taken in plan.taken:
            if self._own_cost(taken) is None and not self.shop.parts[taken.part].sold_by:
                spot = self.shop.spot("stock", taken.part, "stock")
                lacking = "neither its `cost` there nor a `sold_by` is stated"
                message = f"'{taken.part}' is taken from the shelf; {lacking}"
                faults.append(Fault(spot, message))
        if faults:
            raise Faults(faults)
        for order in plan.orders:
            for line in order.lines:
                yield self.bought(order, line)
        for taken in plan.taken:
            yield self.shelved(taken)

    def bought(self, order: Ordered, line: Bought) -> Line:
        """A line of an order as the customer pays for it: packs are sold whole."""
        supplier = order.supplier.supplier
        want = line.wants[0]
        cost, price, margin = self.goods(line.price, line.pack, want.position, supplier)
        unit = "piece" if line.pack == 1 else f"pack of {line.pack}"
        over = (
            f"{line.left_over} of {line.pieces} left over, which go with the engine" if line.left_over else ""
        )
        others = [o for o in self.shop.parts[line.part].sold_by if o is not line.offer]
        return self._goods(
            line.part, line.wants, unit, cost, price, margin, over,
            Source(supplier, Decimal(line.packs), str(line.price), line.code), self._offers(others),
        )  # fmt: skip

    def shelved(self, taken: Taken) -> Line:
        """Pieces from the shelf, at what they cost; where that is not stated, at what one costs to replace."""
        offer = self._replacing(taken)
        want = taken.wants[0]
        cost, _, margin = self.goods(offer.price, offer.pack, want.position, offer.supplier)
        each = EXACT.divide(cost, Decimal(offer.pack))
        asked = self.asked(each, margin)
        if self.scheme(offer.supplier):
            asked = each + EXACT.multiply(asked - each, ONE + self.rate("goods"))
        price, note = self.coin(asked), "used" if taken.condition == "used" else ""
        others = self._offers(self.shop.parts[taken.part].sold_by)
        place = taken.place or "the shelf"
        each_asked = f"{offer.price}{f' for {offer.pack}' if offer.pack > 1 else ''}"
        source = Source(offer.supplier, Decimal(taken.count), each_asked, shelf=f"{place} ({taken.condition})")
        return self._goods(taken.part, taken.wants, "piece", each, price, margin, note, source, others)

    def _own_cost(self, taken: Taken) -> Money | None:
        entries = self.shop.stock[taken.part].shelf if taken.part in self.shop.stock else ()
        same = (one for one in entries if (one.place, one.condition) == (taken.place, taken.condition))
        return next((one.cost for one in same if one.cost is not None), None)

    def _replacing(self, taken: Taken) -> Price:
        cost = self._own_cost(taken)
        if cost is not None:
            return Price(supplier="", price=cost)
        offers = self.shop.parts[taken.part].sold_by
        used = [offer for offer in offers if self.scheme(offer.supplier)] if taken.condition == "used" else []
        return min(used or offers, key=lambda o: EXACT.divide(in_own(self.info, o.price), Decimal(o.pack)))

    def _offers(self, offers: Iterable[Price]) -> tuple[str, ...]:
        return tuple(
            f"{offer.supplier} {offer.code} {offer.price}{f' for {offer.pack}' if offer.pack > 1 else ''}"
            for offer in offers
        )

    def _goods(
        self,
        part: str,
        wants: Sequence[Wanted],
        unit: str,
        cost: Decimal,
        price: Decimal,
        margin: Percent,
        note: str,
        source: Source,
        others: tuple[str, ...],
    ) -> Line:
        amount = self.line(source.quantity, price)
        whole = round_money(self.info, EXACT.multiply(source.quantity, cost))
        scheme = self.scheme(source.supplier)
        hidden = self.hidden(amount, whole) if scheme else Decimal(0)
        reasons = tuple(dict.fromkeys(reason for want in wants for reason in want.reasons))
        return Line(
            self.shop.parts[part].name,
            "part",
            self.system(wants[0].position),
            source.quantity,
            unit,
            price,
            amount,
            Decimal(0) if scheme else self.rate("goods"),
            part,
            wants[0].position,
            scheme,
            note,
            OwnLine(whole, (source,), str(margin), hidden, others, reasons),
        )

    def together(self, lines: Iterable[Line]) -> list[Line]:
        """Lines of one part at one price as one, wherever the pieces come from."""
        found: dict[tuple[object, ...], Line] = {}
        for line in lines:
            key = (line.id, line.position, line.unit, line.unit_price, line.tax_rate, line.margin_scheme)
            other = found.get(key)
            found[key] = line if other is None else self._one(other, line)
        return [*found.values()]

    def _one(self, one: Line, other: Line) -> Line:
        quantity = one.quantity + other.quantity
        assert one.own is not None
        assert other.own is not None
        own = replace(
            one.own,
            cost=one.own.cost + other.own.cost,
            sources=(*one.own.sources, *other.own.sources),
            hidden_tax=one.own.hidden_tax + other.own.hidden_tax,
            reasons=tuple(dict.fromkeys((*one.own.reasons, *other.own.reasons))),
        )
        notes = "; ".join(dict.fromkeys(note for note in (one.note, other.note) if note))
        amount = self.line(quantity, one.unit_price)
        return replace(one, quantity=quantity, amount=amount, note=notes, own=own)

    def carriage(self, plan: Plan) -> Line | None:
        """What bringing all of it costs, passed on as it is."""
        cost = sum((in_own(self.info, order.carriage) for order in plan.orders), Decimal(0))
        if not cost:
            return None
        amount = self.line(ONE, price := self.coin(cost))
        sources = tuple(
            Source(order.supplier.supplier, ONE, str(order.carriage))
            for order in plan.orders
            if order.carriage.amount
        )
        own = OwnLine(round_money(self.info, cost), sources, "0 %")
        rate = self.rate("goods")
        return Line("Carriage of the parts", "carriage", "", ONE, "lot", price, amount, rate, own=own)

    # work

    def work(self, work: Work, family: Family) -> Line:
        """A piece of work: by the shop at its rate for that kind, or by a supplier.

        Raises
        ------
        Faults
            When a supplier does it and neither it nor the work states a price.
        """
        hours = work.hours_on(family)
        if work.done_by == "shop":
            price = self.coin(self.info.rate_for(work.labour).amount)
            return Line(
                work.name, "labour", self.system(work.on), hours, "h", price, self.line(hours, price),
                self.rate("labour"), work.work, work.on, own=OwnLine(Decimal(0).quantize(price)),
            )  # fmt: skip
        supplier = self.shop.suppliers[work.done_by]
        if work.price is not None:
            asked = Money(work.price.amount * work.number(family), work.price.currency)
        elif supplier.rate is not None:
            asked = Money(EXACT.multiply(supplier.rate.amount, hours), supplier.rate.currency)
        else:
            message = (
                f"does '{work.work}', and states no `rate` for an hour of work; nor has the work a `price`"
            )
            raise Faults([Fault(self.shop.spot("supplier", work.done_by, "supplier"), message)])
        if faults := lacking_rates(self.shop, [asked.currency]):
            raise Faults(faults)
        cost = in_own(self.info, asked)
        margin = self.margin(work.on, work.done_by, cost)
        price = self.coin(self.asked(cost, margin))
        told = f"{work.price} each" if work.price is not None else f"{supplier.rate} an hour, {hours} h"
        return Line(
            work.name, "outwork", self.system(work.on), ONE, "job", price, self.line(ONE, price),
            self.rate("outwork"), work.work, work.on,
            own=OwnLine(round_money(self.info, cost), (Source(work.done_by, ONE, told),), str(margin)),
        )  # fmt: skip

    def works(self, works: Iterable[Work], family: Family) -> list[Line]:
        """Lines of work; everything that lacks a price is told at once.

        Raises
        ------
        Faults
            With all of that.
        """
        faults: dict[Fault, None] = {}
        lines = []
        for work in works:
            try:
                lines.append(self.work(work, family))
            except Faults as found:
                faults |= dict.fromkeys(found.faults)
        if faults:
            raise Faults([*faults])
        return lines

    def system(self, position: str) -> str:
        """The system of the engine that a position belongs to."""
        return self.shop.positions[position].system

    def lines(self, checked: Checked, plan: Plan) -> tuple[Line, ...]:
        """All lines of a build, by system of the engine; in each the parts before the work.

        Raises
        ------
        Faults
            With everything that has no price.
        """
        family = self.shop.families[checked.world.settled.variant.family]
        faults: list[Fault] = []
        found: list[Line] = []
        makers: tuple[Callable[[], Iterable[Line]], ...] = (
            lambda: self.together(self.parts(plan)),
            lambda: self.works(final_works(checked), family),
        )
        for make in makers:
            try:
                found += make()
            except Faults as told:
                faults += told.faults
        if faults:
            raise Faults(faults)
        order = {system: number for number, system in enumerate(SYSTEMS)}
        found.sort(key=lambda line: (order[line.system], line.kind != "part"))
        carriage = self.carriage(plan)
        return (*found, *([carriage] if carriage is not None else []))
