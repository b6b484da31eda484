"""How many pieces an option puts in, as far as it can be said without the rest of the build."""

from __future__ import annotations

from collections.abc import Iterable

from compat.planning.space import Option, Space
from compat.units import Band

__all__ = ["MANY", "pieces_of"]

MANY = 1000
"""Pieces that stand for as many as there may be."""


def pieces_of(space: Space, position: str, option: Option) -> tuple[int, int]:
    """The fewest and the most pieces that an option may come to in its position.

    Parameters
    ----------
    space : Space
        The space.
    position : str
        The position.
    option : Option
        One of its options that puts a part there.

    Returns
    -------
    tuple of int
        Equal where the option alone, or nothing at all, decides.
    """
    shop, variant = space.shop, space.base.variant
    found = list(_takes(space, position, option))
    stated = space.base.build.counts.get(position)
    if stated is not None:
        found.append(stated)
    return (min(found), max(found)) if found else (0, shop.count(variant, position))


def _takes(space: Space, position: str, option: Option) -> Iterable[int]:
    shop, variant = space.shop, space.base.variant
    usual = shop.count(variant, position)
    if position not in shop.counted_apart:
        return [usual]
    place = shop.positions[position]
    if place.each_serves is not None and position not in variant.counts:
        entry = space.fitted(position, option)
        each = shop.stated(position, entry.part.part).get(place.each_serves) if entry is not None else None
        if each is not None and isinstance(each.value, Band) and each.value.nominal >= 1:
            return [-(-usual // round(each.value.nominal))]
    counted_by = shop.counted_by.get(position)
    if counted_by is None:
        return [usual]
    owner, spec = counted_by
    number = space.number.get(owner)
    if number is None or space.bringers.get(owner) or any(owner == p for p, _ in space.base.measured):
        return [1, MANY]
    owners = space.base.build.counts.get(owner, shop.count(variant, owner))
    found = []
    for its in space.decisions[number].options:
        entry = space.fitted(owner, its)
        said = shop.stated(owner, entry.part.part).get(spec) if entry is not None else None
        known = said is not None and isinstance(said.value, Band)
        found.append(max(1, round(said.value.nominal)) * owners if known else usual)  # type: ignore[union-attr]
    if owner in space.base.build.counts:
        found += [n * shop.count(variant, owner) // max(owners, 1) for n in found]
    changed = any(
        (change.position, change.spec) == counted_by
        for changes in space.book.changes.values()
        for change in changes
    )
    return [*found, 1, MANY] if changed else found
