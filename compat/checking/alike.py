"""Cards of parts that leave off what the cards of all their like state: mostly an oversight."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from compat.shop.shop import Shop
from compat.shop.source import Spot

__all__ = ["left_off"]

Said = tuple[str, str]
"""How a card speaks of something (states, offers, needs), and the spec or feature."""

Choices = frozenset[tuple[str, object]]
"""What a part is in every choice that its card makes: alike are parts that differ in none."""


def left_off(shop: Shop) -> Iterator[tuple[Spot, str]]:
    """Give what all others of a position, two at least and alike in every choice, say and one part leaves off.

    Parameters
    ----------
    shop : Shop
        The shop.

    Yields
    ------
    tuple of Spot and str
        Where the part was written, and what its card leaves off.
    """
    for position, names in shop.fillers.items():
        if len(names) > 2:
            yield from _in_position(shop, position, names)


def _in_position(shop: Shop, position: str, names: Iterable[str]) -> Iterator[tuple[Spot, str]]:
    said = {name: _said(shop, position, name) for name in names}
    groups: dict[Choices, list[str]] = {}
    for name in names:
        groups.setdefault(_choices(shop, position, name), []).append(name)
    counted = {
        choices: Counter(each for name in members for each in said[name]) for choices, members in groups.items()
    }
    for choices, members in groups.items():
        like = [other for other in groups if _alike(dict(choices), other)]
        number = sum(len(groups[other]) for other in like)
        if number < 3:
            continue
        total = Counter[Said]()
        for other in like:
            total.update(counted[other])
        # what all but one say, only that one can have left off
        of_all_but_one = sorted(each for each, times in total.items() if times == number - 1)
        for name in members:
            if said[name].issuperset(of_all_but_one):
                continue
            others = {other for group in like for other in groups[group]} - {name}
            yield from _remarks(
                shop, position, name, [n for n in names if n in others], of_all_but_one, said[name]
            )


def _remarks(
    shop: Shop, position: str, name: str, like: list[str], of_all: Iterable[Said], own: set[Said]
) -> Iterator[tuple[Spot, str]]:
    lacking = [each for each in of_all if each not in own and each[1] not in shop.parts[name].leaves_out]
    one_of_several = _alternatives(shop, name, like) if lacking else set()
    for how, what in lacking:
        if (how, what) not in one_of_several:
            others = f"{', '.join(like[:3])}{', ...' * (len(like) > 3)}"
            text = f"part '{name}' {how} no {what}; all others like it in {position} do: {others}"
            yield shop.spot("part", name), text


def _choices(shop: Shop, position: str, name: str) -> Choices:
    kinds = shop.kinds[position]
    stated = shop.stated(position, name).items()
    return frozenset((key, spec.value) for key, spec in stated if kinds[key].sort in ("choice", "flag"))


def _alike(own: Mapping[str, object], other: Choices) -> bool:
    return all(own.get(key, value) == value for key, value in other)


def _alternatives(shop: Shop, name: str, like: list[str]) -> set[Said]:
    """Features that would do for a need of others in place of the one that this part asks."""
    own = {feature for need in shop.parts[name].needs for feature in need.features}
    needs = [need for other in like for need in shop.parts[other].needs if not own.isdisjoint(need.features)]
    return {("needs", feature) for need in needs for feature in need.features}


def _said(shop: Shop, position: str, name: str) -> set[Said]:
    """What a card says: specs of the position that decide something, features that it offers and needs."""
    part, kinds = shop.parts[name], shop.kinds[position]
    found = {("states", spec) for spec in shop.stated(position, name) if not kinds[spec].sheet}
    found |= {("offers", offer.feature) for offer in part.offers}
    return found | {("needs", feature) for need in part.needs for feature in need.features}
