"""What is measured before a quote is confirmed, and what it costs if it fails: remedies, tried and priced."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from compat.checking.asking import Asker
from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.outcome import Outcome
from compat.checking.session import Session
from compat.rulebook.rulebook import BoundRule
from compat.shop.models import Work
from compat.shop.source import Faults
from compat.trade.money import EXACT, NoRate, in_own
from compat.trade.pricing import Pricer, final_works
from compat.trade.quoted import Doubt
from compat.words.report import Report
from compat.words.wording import in_sentence, remedy_text

__all__ = ["Doubts"]

TRIED = 6
"""So many other parts of a position are tried on a finding, the cheapest first."""


@dataclass(frozen=True, slots=True)
class _Way:
    key: str
    name: str
    says: str
    price: Decimal | None


class Doubts:
    """Prices what may come of the findings that only a measurement settles.

    Parameters
    ----------
    session : Session
        Where other parts are tried.
    checked : Checked
        What checking the build found.
    pricer : Pricer
        The shop's prices.
    """

    def __init__(self, session: Session, checked: Checked, pricer: Pricer) -> None:
        self.checked = checked
        self.pricer = pricer
        self.shop = session.shop
        self.settled = checked.world.settled
        self.family = self.shop.families[self.settled.variant.family]
        added = () if checked.ahead is None else checked.ahead.added
        self.helping = Helping(checked.world, {provider.name for provider, _ in added})
        self.asker = Asker(session, checked)
        self.done = {work.work for work in final_works(checked)}

    def all(self, report: Report) -> tuple[tuple[Doubt, ...], Decimal]:
        """Give every doubt, and what it costs at most if all of them fail.

        Parameters
        ----------
        report : Report
            The same findings in words.

        Returns
        -------
        tuple of tuple of Doubt and Decimal
            The doubts; the sum of the dearest way of each, a way that mends several counted once; before tax.
        """
        said = {(finding.rule, finding.verdict): finding for finding in report.findings}
        doubts, dearest = [], {}
        for outcome in self.checked.outcomes:
            if outcome.verdict not in ("measure", "unknown"):
                continue
            finding = said[outcome.rule, outcome.verdict]
            ways = [*self.ways(outcome)]
            priced = [way for way in ways if way.price is not None]
            costs = [way.price for way in priced if way.price is not None]
            if priced:
                worst = max(priced, key=lambda way: way.price or 0)
                dearest[worst.key, worst.name] = worst.price or Decimal(0)
            doubts.append(
                Doubt(
                    outcome.rule,
                    finding.title,
                    finding.verdict,
                    finding.because,
                    tuple(way.says for way in ways),
                    min(costs, default=None),
                    max(costs, default=None),
                )
            )
        zero = self.pricer.coin(Decimal(0))
        return tuple(doubts), sum(dearest.values(), zero)

    def ways(self, outcome: Outcome) -> Iterator[_Way]:
        """What helps if it fails, with what that costs."""
        bound = self.settled.book.rules.get(outcome.rule)
        if bound is None:
            return
        named = [*self.helping.those(bound.rule.remedies, bound, outcome)]
        if not named:
            named = [("swap", p) for p in self.settled.book.positions_of(bound) if p in self.settled.fitted][:1]
        for key, name in named:
            found = self.way(key, name, bound)
            if found is not None:
                yield found

    def way(self, key: str, name: str, bound: BoundRule) -> _Way | None:
        """One remedy with its price; None where no part of the shop is one."""
        says = remedy_text(self.shop, key, name, self.family).rstrip(".")
        if key == "work" and name in self.done:
            return _Way(key, name, f"{says}: in this quote already", self.pricer.coin(Decimal(0)))
        if key == "work":
            return self._priced(key, name, says, self.work(self.shop.works[name]))
        if key == "do":
            return _Way(key, name, f"{says}: not priced beforehand", None)
        place = name if name in self.shop.positions else self.shop.parts[name].fills[0]
        parts = [name] if name in self.shop.parts else self.others(place)
        for part in parts:
            if self.mends(bound, place, part):
                says = (
                    f"fit another {in_sentence(self.shop.positions[place].name)}: {self.shop.parts[part].name}"
                )
                return self._priced(key, place, says[:1].upper() + says[1:], self.part(place, part))
        return None

    def _priced(self, key: str, name: str, says: str, price: Decimal | None) -> _Way:
        if price is None:
            return _Way(key, name, f"{says}: no price is stated", None)
        return _Way(key, name, f"{says}: {price:,} {self.pricer.info.currency}", price)

    def work(self, work: Work) -> Decimal | None:
        """What a piece of work costs with all that it drags in, but for what is done anyway."""
        names, waiting = {work.work: work}, [work]
        while waiting:
            for other in waiting.pop().forces:
                if other not in names and other not in self.done:
                    names[other] = self.shop.works[other]
                    waiting.append(self.shop.works[other])
        try:
            lines = self.pricer.works(names.values(), self.family)
        except Faults:
            return None
        return sum((line.amount for line in lines), self.pricer.coin(Decimal(0)))

    def others(self, place: str) -> list[str]:
        """Other parts for a place that are sold and made for this engine, the cheapest first."""
        strangers = self.shop.strangers[self.family.family]
        fitted = self.settled.fitted.get(place)
        own = fitted.part.part if fitted else ""
        found = [
            (price, part)
            for part in self.shop.fillers[place]
            if part != own and part not in strangers and (price := self.part(place, part)) is not None
        ]
        return [part for _, part in sorted(found)][:TRIED]

    def part(self, place: str, part: str) -> Decimal | None:
        """What so many of a part as the place takes cost, at its cheapest offer; packs are sold whole."""
        count = self.settled.count(place, part)
        prices = []
        for offer in self.shop.parts[part].sold_by:
            packs = -(-count // offer.pack)
            try:
                in_own(self.pricer.info, offer.price)
            except NoRate:
                continue
            _, price, _ = self.pricer.goods(offer.of(packs), offer.pack, place, offer.supplier)
            prices.append(self.pricer.line(EXACT.create_decimal(packs), price))
        return min(prices, default=None)

    def mends(self, bound: BoundRule, place: str, part: str) -> bool:
        """Whether the finding comes out sound with the part in place."""
        try:
            found = self.asker.ask(bound.rule.rule, {place: part})
        except Faults:
            return False
        return found is None or found.verdict in ("ok", "caution")
