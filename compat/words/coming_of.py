"""What brought a finding that speaks of parts which nobody chose: the changed part behind it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from compat.checking.check import Checked
from compat.checking.needs import Demand
from compat.checking.outcome import Met

__all__ = ["Origins"]


class Origins:
    """Traces needs, and what is added for them, back to the parts that a build changed.

    Parameters
    ----------
    checked : Checked
        What checking the build found.
    """

    def __init__(self, checked: Checked) -> None:
        self.checked = checked
        self.settled = checked.world.settled
        self.shop = self.settled.shop

    @cached_property
    def asked_by(self) -> dict[str, Demand]:
        """Parts and work that the check adds, with what asked for each."""
        ahead = self.checked.ahead
        return {} if ahead is None else {provider.name: demand for provider, demand in ahead.added}

    def of_added(self, names: Iterable[str], known: frozenset[str] = frozenset()) -> Iterator[str]:
        """Changed parts that what is added comes of, through what was added before it."""
        for name in names:
            demand = self.asked_by.get(name)
            if demand is not None and name not in known:
                yield from self.of_demand(demand, known | {name})

    def of_demand(self, demand: Demand, known: frozenset[str] = frozenset()) -> Iterator[str]:
        """Changed parts that ask for something, or that a rule asks it for."""
        if not demand.rule:
            if demand.owner in self.asked_by:
                yield from self.of_added([demand.owner], known)
            else:
                yield demand.owner
            return
        fitted = self.settled.fitted
        for position in self.settled.book.positions_of(self.settled.book.rules[demand.rule]):
            if position in fitted and self.settled.changed(position):
                yield fitted[position].part.part

    def of_need(self, met: Met) -> Iterator[str]:
        """Changed parts that an open need comes of: who asks, and who offers too little of it."""
        if met.shortage is None:
            return
        if met.demand.owner in self.asked_by:
            yield from self.of_added([met.demand.owner])
        yield from self.of_features(met.demand.features)

    def of_features(self, features: Iterable[str]) -> Iterator[str]:
        """Changed parts that offer some features, or stand where the variant's own part did."""
        for feature in features:
            yield from self._offering.get(feature, ())

    @cached_property
    def _offering(self) -> Mapping[str, Sequence[str]]:
        """By feature the changed parts that have to do with it."""
        found: dict[str, list[str]] = {}
        for position, entry in self.settled.fitted.items():
            if not self.settled.changed(position):
                continue
            own = self.settled.variant.parts.get(position)
            cards = [entry.part, *([self.shop.parts[own]] if own is not None else [])]
            for feature in {offer.feature for card in cards for offer in card.offers}:
                found.setdefault(feature, []).append(entry.part.part)
        return found
