"""What of a settled build offers which feature."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Set

from compat.checking.settle import Settled
from compat.shop.models import Offer

__all__ = ["FeatureOffers"]


class FeatureOffers:
    """The parts that stand in a build and the work done on it, by what they offer.

    Parameters
    ----------
    settled : Settled
        The build.
    works : set of str
        Its work, chosen or dragged in.
    """

    def __init__(self, settled: Settled, works: Set[str]) -> None:
        self.pieces: dict[tuple[str, str], tuple[int, ...]] = {("work", name): (1,) for name in works}
        """By kind and name what offers something, with the pieces in each position it stands in."""
        for name, times in Counter(work.work for work, _ in settled.works).items():
            self.pieces["work", name] = (1,) * times
        pieces = settled.pieces()
        for position, entry in settled.fitted.items():
            if entry.part.offers and (count := pieces[position]):
                key = ("part", entry.part.part)
                self.pieces[key] = (*self.pieces.get(key, ()), count)
        self._of: dict[str, list[tuple[str, str, int, Offer]]] = {}
        for kind, name in self.pieces:
            for number, offer in enumerate(settled.shop.of_kind(kind)[name].offers):
                self._of.setdefault(offer.feature, []).append((kind, name, number, offer))

    def of(self, feature: str) -> Iterable[tuple[str, str, int, Offer]]:
        """Kind, name, number among its offers, and the offer, of all that offers a feature."""
        return self._of.get(feature, ())
