"""What lies outside the scope of a build, so that nothing there is asked for."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from compat.checking.needs import Demand
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.rulebook.values import Missing
from compat.shop.shop import Shop
from compat.shop.words import INSIDE

__all__ = ["Outside", "outside"]


def outside(shop: Shop, book: Rulebook, scope: str) -> Outside | None:
    """What lies outside a scope; None where nothing of the shop does.

    Parameters
    ----------
    shop, book
        What the shop knows.
    scope : str
        A scope, as a build says it.

    Returns
    -------
    Outside or None
        Tells of rules, features and gaps whether they are outside.
    """
    inside = INSIDE[scope]
    positions = frozenset(name for name, place in shop.positions.items() if place.system not in inside)
    return Outside(shop, book, positions) if positions else None


class Outside:
    """Tells what is outside a scope.

    Parameters
    ----------
    shop, book
        What the shop knows.
    positions : frozenset of str
        Positions that lie outside.
    """

    def __init__(self, shop: Shop, book: Rulebook, positions: frozenset[str]) -> None:
        self.shop = shop
        self.book = book
        self.positions = positions
        self._features: dict[str, bool] = {}

    def rule(self, rule: BoundRule) -> bool:
        """Whether a rule speaks of nothing but what lies outside."""
        about = self.book.speaks_of(rule)
        if about:
            return about <= self.positions
        need = rule.rule.need
        return need is not None and need.feature is not None and self.feature(need.feature)

    @cached_property
    def rules(self) -> frozenset[str]:
        """Every rule that speaks of nothing but what lies outside."""
        return frozenset(name for name, rule in self.book.rules.items() if self.rule(rule))

    def feature(self, feature: str) -> bool:
        """Whether all who could offer a feature, or fill a position (``position:rod``), lie outside."""
        kind, _, place = feature.partition(":")
        if place:
            return kind == "position" and place in self.positions
        if feature not in self._features:
            offerers = self.shop.offerers.get(feature, ())
            self._features[feature] = bool(offerers) and all(
                self._lies(kind, name) for kind, name, _ in offerers
            )
        return self._features[feature]

    def _lies(self, kind: str, name: str) -> bool:
        places = self.shop.parts[name].fills if kind == "part" else (self.shop.works[name].on,)
        return self.positions.issuperset(places)

    def asks_in_vain(self, demand: Demand) -> bool:
        """Whether what is asked for could only come from outside, or is asked by what lies there."""
        owner = self.shop.parts.get(demand.owner) if not demand.rule else None
        if owner is not None and self.positions.issuperset(owner.fills):
            return True
        return all(map(self.feature, demand.features))

    def gap(self, gap: Missing) -> bool:
        """Whether all that is not stated is a spec of something outside."""
        return bool(gap.specs) and self.specs(gap.specs)

    def specs(self, specs: Iterable[str]) -> bool:
        """Whether all specs are of something outside."""
        return all(spec.partition(".")[0] in self.positions for spec in specs)
