"""Sizes on cards that are nothing like those of their like: mostly another unit, or a point that slipped."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import median_low

from compat.shop.shop import Shop
from compat.shop.source import Spot
from compat.units import Band, show

__all__ = ["outlying"]

TIMES = 20.0
"""So many times more or less than the middle of its like is another unit: inches for millimetres, thousands.
An own choice: kinds that one position takes differ by less, a switch from a sensor."""
LIKE = 3
"""How many others must say it: of fewer nobody can tell which of them is wrong."""


def outlying(shop: Shop) -> Iterator[tuple[Spot, str]]:
    """Give the sizes that are many times more or less than the middle one of all parts of their position.

    Parameters
    ----------
    shop : Shop
        The shop. What may be below zero is left out, as it comes near nothing.

    Yields
    ------
    tuple of Spot and str
        Where the part was written, and what its card says beside what the others say.
    """
    for position, names in shop.fillers.items():
        said: dict[str, list[tuple[str, Band]]] = {}
        kinds = shop.kinds[position]
        for name in names if len(names) > LIKE else ():
            for spec, stated in shop.stated(position, name).items():
                band = stated.value
                if isinstance(band, Band) and band.nominal > 0 and not kinds[spec].signed:
                    said.setdefault(spec, []).append((name, band))
        for spec, cards in said.items():
            if len(cards) <= LIKE:
                continue
            middle = median_low([band.nominal for _, band in cards])
            for name, band in cards:
                if not middle / TIMES <= band.nominal <= middle * TIMES:
                    usual = show(middle, kinds[spec].unit)
                    text = f"'{name}' states {spec} {band.text()}, and its like about {usual}: another unit?"
                    yield shop.spot("part", name, "specs", spec), text
