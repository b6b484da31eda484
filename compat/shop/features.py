"""What things say of features: which they offer, and which they need."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry, nothing

if TYPE_CHECKING:
    from compat.shop.fields import Count, Counted, Name

__all__ = ["Need", "Offer"]


@record(kw_only=True)
class Offer(Entry):
    """A feature that something offers: so many units with every piece fitted, or with the whole set."""

    only = "feature"
    feature: Name
    count: Count = 1
    per: Counted = "piece"
    matching: Mapping[str, str] = field(default_factory=nothing, metadata={"written": "with"})
    when: str | None = None

    def units(self, pieces: int) -> int:
        """Units that so many pieces offer.

        >>> Offer(feature="coolant_boss", count=2).units(2)
        4
        >>> Offer(feature="tray_mount", count=4, per="set").units(10)
        4
        """
        return self.count * (pieces if self.per == "piece" else 1)


@record(kw_only=True)
class Need(Entry):
    """A feature that something needs; any one of several will do when `any_of` is given.

    `count` is what every piece asks, or the whole set; pieces that work in pairs share a unit by two.
    """

    only = "feature"
    feature: Name | None = None
    any_of: tuple[Name, ...] = ()
    count: Count = 1
    per: Counted = "piece"
    shared_by: Count = 1
    matching: Mapping[str, str] = field(default_factory=nothing, metadata={"written": "with"})
    when: str | None = None

    def hold(self) -> None:
        """Hold that exactly one of feature and any_of is given, and that only pieces share."""
        if (self.feature is None) == (not self.any_of):
            raise ValueError("says either 'feature' or 'any_of'")
        if self.shared_by > 1 and self.per == "set":
            raise ValueError("'shared_by' belongs to what goes with every piece, not to a set")

    def units(self, pieces: int) -> int:
        """Units that so many pieces ask for.

        >>> driver = Need(feature="ecu_injector_driver", shared_by=2)
        >>> driver.units(6), driver.units(3), Need(feature="knock_boss", count=2, per="set").units(2)
        (3, 2, 2)
        """
        return self.count * (-(-pieces // self.shared_by) if self.per == "piece" else 1)

    @property
    def features(self) -> tuple[str, ...]:
        """Every feature that would meet the need."""
        return (self.feature,) if self.feature else self.any_of
