"""What is measured before a quote is confirmed, and what it costs if it fails: remedies, tried and priced."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import islice

from compat.checking.asking import Asker
from compat.checking.check import Checked
from compat.checking.helping import Helping
from compat.checking.outcome import OUT, RANK, Outcome
from compat.checking.session import Session
from compat.checking.trials import candidates
from compat.rulebook.rulebook import BoundRule
from compat.shop.models import Work
from compat.shop.source import Faults
from compat.trade.money import EXACT, NoRate, in_own
from compat.trade.pricing import Pricer, final_works
from compat.trade.quoted import Doubt, Way
from compat.words.report import Report
from compat.words.wording import in_sentence, remedy_text

__all__ = ["DOUBTFUL", "Doubts"]

Remedy = tuple[str, str]
"""Word and name, as rules have them."""

DOUBTFUL = ("measure", "unknown")
"""Verdicts that leave a quote in doubt."""

ASKED, TRIED = 40, 12
"""So many other parts of a position are asked about a finding, the cheapest first, and so many of those that
mend it are tried in the build."""


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
        self.session = session
        self.asker = Asker(session, checked)
        self.against = _against(checked)
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
        doubts: list[Doubt] = []
        dearest: dict[Remedy, Decimal] = {}
        for outcome in self.checked.outcomes:
            if outcome.verdict not in DOUBTFUL:
                continue
            finding = said[outcome.rule, outcome.verdict]
            ways = [*self.ways(outcome)]
            costs = {key: way.price for key, way in ways if way.price is not None}
            if costs:
                worst = max(costs, key=costs.__getitem__)
                dearest[worst] = costs[worst]
            doubts.append(
                Doubt(
                    outcome.rule,
                    finding.title,
                    finding.verdict,
                    finding.because,
                    tuple(way for _, way in ways),
                    min(costs.values(), default=None),
                    max(costs.values(), default=None),
                )
            )
        zero = self.pricer.coin(Decimal(0))
        return tuple(doubts), sum(dearest.values(), zero)

    def ways(self, outcome: Outcome) -> Iterator[tuple[Remedy, Way]]:
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
                yield (key, name), found

    def way(self, key: str, name: str, bound: BoundRule) -> Way | None:
        """One remedy with its price; None where no part of the shop is one."""
        if key in ("do", "relax", "raise", "set", "leave_out"):
            return Way(remedy_text(self.shop, key, name).rstrip("."))
        if key == "work":
            work = self.shop.works[name]
            if name in self.done:
                return Way(f"{work.name}, which is in this quote already", self.pricer.coin(Decimal(0)))
            return Way(work.name, self.work(work))
        place = name if name in self.shop.positions else self.shop.parts[name].fills[0]
        parts = [name] if name in self.shop.parts else self.others(place)
        mending = (part for part in parts if self.mends(bound, place, part))
        part = next((part for part in islice(mending, TRIED) if self.fits(place, part)), None)
        if part is None:
            return None
        other = in_sentence(self.shop.positions[place].name)
        return Way(f"Another {other}: {self.shop.parts[part].name}", self.part(place, part))

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
        """Other parts for a place that are sold, the cheapest first."""
        found = [
            (price, part)
            for part in candidates(self.settled, place)
            if (price := self.part(place, part)) is not None
        ]
        return [part for _, part in sorted(found)][:ASKED]

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

    def fits(self, place: str, part: str) -> bool:
        """Whether the build with the part in it has nothing against it that it has not now."""
        try:
            found = self.session.check(self.settled.ready.fitting(**{place: part}), self.checked)
        except Faults:
            return False
        return _against(found) <= self.against


def _against(checked: Checked) -> set[str]:
    return {outcome.rule for outcome in checked.outcomes if RANK[outcome.verdict] <= OUT}
