"""The quote of a build, made of one check and the one buying plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from compat.checking.check import Checked
from compat.checking.session import Session
from compat.rulebook.models import AGAINST
from compat.shop.builds import ReadyBuild, prepare
from compat.shop.options import with_option
from compat.shop.shop import Shop
from compat.shop.source import Fault, Faults, Spot
from compat.shop.terms import ShopInfo
from compat.shop.writing import as_said
from compat.trade.doubt import DOUBTFUL, Doubts
from compat.trade.lead import lead
from compat.trade.money import round_money, rounding_of
from compat.trade.plans import Plan
from compat.trade.priced import Priced, price
from compat.trade.pricing import Pricer, final_works
from compat.trade.quoted import Against, Doubt, OptionPrice, Own, Paper, Quote
from compat.trade.reuse import final_world, inspected, reused
from compat.trade.wanting import brought
from compat.units import DAY
from compat.words.house import judged_by
from compat.words.once import told_once
from compat.words.report import Finding, Report
from compat.words.reporting import report
from compat.words.wording import in_sentence

__all__ = ["Quoted", "doubts_of", "make_quote", "quote_without_doubts"]


@dataclass(frozen=True)
class Quoted:
    """A quote with what it was made of."""

    quote: Quote
    checked: Checked
    report: Report
    plan: Plan

    @property
    def in_doubt(self) -> bool:
        """Whether anything is left that only a measurement settles, or that is not known."""
        return any(outcome.verdict in DOUBTFUL for outcome in self.checked.outcomes)

    def doubting(self, doubts: tuple[Doubt, ...], most: Decimal) -> Quoted:
        """The same with what is in doubt, and what that costs at most."""
        return replace(self, quote=replace(self.quote, doubts=doubts, doubt_most=most))


def make_quote(session: Session, ready: ReadyBuild, on: date) -> Quoted:
    """Quote a build.

    Parameters
    ----------
    session : Session
        Where it is checked, and its options after it.
    ready : ReadyBuild
        The build.
    on : date
        The day of the quote: prices and rates are those of that day.

    Returns
    -------
    Quoted
        The quote, without a number, and the check and plan it rests on. Where something stands against the
        build the quote says so; whether it may be given out is for the caller to decide.

    Raises
    ------
    Faults
        When something has no price: a part that nobody sells, a currency without a rate, outwork without a
        price, a list that has expired.
    """
    made = quote_without_doubts(session, ready, on)
    return made.doubting(*Doubts(session, made.checked, Pricer(session.shop)).all(made.report))


def quote_without_doubts(session: Session, ready: ReadyBuild, on: date) -> Quoted:
    """Quote a build, but for what is in doubt: that takes long, since other parts are tried (`doubts_of`).

    Parameters
    ----------
    session, ready, on
        As for `make_quote`.

    Returns
    -------
    Quoted
        The quote with no doubts; all of it, where nothing is `in_doubt`.

    Raises
    ------
    Faults
        When something has no price.
    """
    checked = session.check(ready)
    pricer = Pricer(session.shop)
    priced = price(pricer, checked, on)
    said = report(checked, fine=False)
    return Quoted(_Maker(session, checked, said, pricer, priced, on).quote(), checked, said, priced.plan)


def doubts_of(session: Session, ready: ReadyBuild) -> tuple[tuple[Doubt, ...], Decimal]:
    """Find what is measured before a quote is confirmed, and what it costs if it fails.

    Parameters
    ----------
    session : Session
        Where the build is checked, and other parts are tried.
    ready : ReadyBuild
        The build.

    Returns
    -------
    tuple of tuple of Doubt and Decimal
        The doubts; what they cost at most if all of them fail, before tax.
    """
    checked = session.check(ready)
    return Doubts(session, checked, Pricer(session.shop)).all(report(checked, fine=False))


class _Maker:
    def __init__(
        self, session: Session, checked: Checked, said: Report, pricer: Pricer, priced: Priced, on: date
    ) -> None:
        self.session = session
        self.checked = checked
        self.report = said
        self.pricer = pricer
        self.priced = priced
        self.on = on
        self.shop: Shop = session.shop
        self.info: ShopInfo = pricer.info
        self.settled = final_world(checked).settled
        self.family = self.shop.families[self.settled.variant.family]

    def quote(self) -> Quote:
        info, total, build = self.info, self.priced.sums, self.settled.build
        tax = info.tax
        rounding = rounding_of(info, info.currency)
        fuel = self.settled.fitted.get("fuel")
        notes = {name for name, bound in self.settled.book.rules.items() if bound.rule.sort == "note"}
        cautions = [finding for finding in self.report.findings if finding.verdict == "caution"]
        return Quote(
            number="",
            date=self.on,
            valid_until=self.on + timedelta(days=round(info.validity.nominal / DAY)),
            currency=info.currency,
            rounding=f"{rounding.step} {rounding.mode}",
            build=build.build,
            name=build.name,
            customer=build.customer,
            engine=self.settled.variant.name,
            goal=as_said(self.settled.goal),
            lines=self.priced.lines,
            net=total.net,
            taxes=total.taxes,
            tax_name=tax.name if tax is not None else "",
            tax_number=tax.number if tax is not None else "",
            tax=total.tax,
            total=total.total,
            deposit=round_money(info, total.total * info.deposit.share),
            deposit_share=info.deposit.share,
            lead=lead(info, self.priced.plan, final_works(self.checked), self.family, self.shop.suppliers),
            fuel=fuel.part.name if fuel is not None else "",
            verdict=self.report.summary.verdict,
            against=tuple(_against(f) for f in self.report.findings if f.verdict in AGAINST),
            reused=reused(self.checked),
            inspected=tuple(inspected(self.checked)),
            brought=tuple(self.brought()),
            doubt_most=self.pricer.coin(Decimal(0)),
            options=tuple(self.options()),
            held_back=tuple(self.held_back()),
            left_over=tuple(
                f"{line.what}: {line.note}" for line in self.priced.lines if "left over" in line.note
            ),
            not_included=(*self.not_bought(), *info.not_included),
            cautions=tuple(_against(finding) for finding in cautions if finding.rule not in notes),
            standing=tuple(f"{one.title}: {one.because}" for one in cautions if one.rule in notes),
            judged_by=judged_by(self.report),
            terms=info.terms,
            paper=Paper(info.name, info.address, info.signature, info.paper, info.language),
            own=self.own(),
        )

    def brought(self) -> Iterator[str]:
        for one in brought(self.checked):
            state = f": {one.state}" if one.state else ": its state is not said"
            yield f"{one.count} x {self.shop.parts[one.part].name}{state}"

    def held_back(self) -> Iterator[str]:
        for part in self.report.extra_parts:
            if part.held_back:
                yield f"{part.count} x {part.name}: {part.held_back}"
        for work in self.report.extra_work:
            if work.held_back:
                yield f"{work.name}: {work.held_back}"

    def not_bought(self) -> Iterator[str]:
        """What somebody might think is in it."""
        fuel = self.settled.fitted.get("fuel")
        if fuel is not None:
            yield f"the fuel itself, {in_sentence(fuel.part.name)}"
        if self.priced.lines and not any(line.kind == "labour" for line in self.priced.lines):
            yield "work: parts only"

    # options

    def options(self) -> Iterator[OptionPrice]:
        for number, option in enumerate(self.settled.build.options):
            faults: list[Fault] = []
            where = partial(_at, Spot(f"build {self.settled.build.build}: options.{number}", 0))
            changed = with_option(self.shop, self.checked.world.settled.build, option, where, faults)
            if changed is None:
                raise Faults(faults)
            ready = prepare(self.shop, changed, where)
            yield self.option(option.name, self.session.check(ready, self.checked))

    def option(self, name: str, checked: Checked) -> OptionPrice:
        said = report(checked, fine=False)
        if not checked.clean:
            against = [finding for finding in said.findings if finding.verdict in AGAINST]
            why = told_once((finding.title, finding.because) for finding in against)
            return OptionPrice(name, False, why=tuple(why))
        try:
            priced = price(self.pricer, checked, self.on)
        except Faults as found:
            raise Faults(
                [replace(fault, message=f"{fault.message} (option '{name}')") for fault in found.faults]
            ) from None
        unproven = tuple(f.title for f in said.findings if f.verdict in ("measure", "unknown"))
        total = priced.sums.total
        return OptionPrice(name, True, total - self.priced.sums.total, total, not_proven=unproven)

    # the shop's own copy

    def own(self) -> Own:
        lines = [line.own for line in self.priced.lines if line.own is not None]
        zero = self.pricer.coin(self.priced.sums.net * 0)
        cost = sum((line.cost for line in lines), zero)
        hidden = sum((line.hidden_tax for line in lines), zero)
        return Own(
            cost=cost,
            earned=self.priced.sums.net - cost - hidden,
            hidden_tax=hidden,
            carriage=tuple(
                f"{order.supplier.supplier}: goods {order.goods}, carriage {order.carriage}"
                for order in self.priced.plan.orders
            ),
            rates=tuple(
                f"1 {code} = {rate.rate} {self.info.currency} on {rate.on}"
                for code, rate in self.info.rates.items()
            ),
            lacks=tuple(self.lacks()),
            findings=tuple(_against(f) for f in self.report.findings if f.verdict != "ok"),
        )

    def lacks(self) -> Iterator[str]:
        """What the terms do not state that a quote wants, and what it does without."""
        info = self.info
        if not info.address:
            yield "catalog/shop.yaml states no `address`: the quote has the shop's name alone"
        if info.tax is None:
            yield "catalog/shop.yaml states no `tax`: none is asked, and the quote says so"
        if not info.margin.value and not info.margins:
            yield "catalog/shop.yaml states no `margin`: parts and outwork are sold at what they cost"
        if not info.terms:
            yield "catalog/shop.yaml states no `terms`"
        for code, rate in info.rates.items():
            if (self.on - rate.on).days > 90:
                yield f"the rate of {code} is of {rate.on}, {(self.on - rate.on).days} days before this quote"


def _at(spot: Spot, path: Sequence[str | int]) -> Spot:
    """Every fault of an option stands where the option does."""
    return spot


def _against(finding: Finding) -> Against:
    return Against(finding.rule, finding.verdict, finding.title, finding.because)
