"""Who could be added for a feature to builds of one variant, first choice first."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from heapq import merge

from compat.shop.models import Part, Variant
from compat.shop.shop import Shop

__all__ = ["ranked"]


def ranked(shop: Shop, variant: Variant, features: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Parts and work that offer one of some features.

    First what the variant left the factory with, then what the feature's own remedies name, then parts by
    price, then work by hours.

    Parameters
    ----------
    shop : Shop
        The shop.
    variant : Variant
        What the builds start from.
    features : tuple of str
        The features; ``position:id`` for a filled position, ``work:id`` for done work.

    Yields
    ------
    tuple of str
        Part and position, or work and nothing; the work on whatever it is done on.
    """
    hints = {
        entry[key]: number
        for feature in features
        if feature in shop.features
        for number, entry in enumerate(shop.features[feature].remedies)
        for key in ("add", "work")
        if key in entry
    }
    works, price = _works_offering(shop, features), shop.least_price
    own = _own(shop, variant, features)
    yield from own
    for number in sorted(set(hints.values())):
        names = [name for name, place in hints.items() if place == number]
        for name in sorted((n for n in names if n in shop.parts), key=lambda n: (price(n), n)):
            yield from _places(shop.parts[name], variant, features, own)
        yield from _by_hours(shop, variant, works.intersection(names))
    tried = set(hints)
    for candidate in merge(*(shop.cheapest(feature) for feature in features)):
        if candidate.part not in tried and _suits(variant, candidate.families):
            tried.add(candidate.part)
            yield from _places(shop.parts[candidate.part], variant, features, own)
    yield from _by_hours(shop, variant, works.difference(hints))


def _own(shop: Shop, variant: Variant, features: tuple[str, ...]) -> dict[tuple[str, str], None]:
    """The variant's own parts that offer one of the features, each where it stood."""
    found: dict[tuple[str, str], None] = {}
    for feature in features:
        kind, _, name = feature.partition(":")
        if kind == "position":
            found |= dict.fromkeys([(variant.parts[name], name)] if name in variant.parts else [])
        elif kind != "work":
            names = {thing for owner, thing, _ in shop.offerers[feature] if owner == "part"}
            found |= dict.fromkeys((part, place) for place, part in variant.parts.items() if part in names)
    return found


def _suits(variant: Variant, families: tuple[str, ...]) -> bool:
    return not families or variant.family in families


def _places(
    part: Part, variant: Variant, features: tuple[str, ...], said: Container[tuple[str, str]]
) -> Iterator[tuple[str, str]]:
    """The positions in which a part offers one of the features, when it suits the engine at all."""
    if not _suits(variant, part.families):
        return
    places: dict[str, None] = {}
    for feature in features:
        kind, _, name = feature.partition(":")
        if kind == "position":
            places |= dict.fromkeys([name] if name in part.fills else [])
        elif any(offer.feature == feature for offer in part.offers):
            places |= dict.fromkeys(part.fills)
    yield from ((part.part, place) for place in places if (part.part, place) not in said)


def _works_offering(shop: Shop, features: Iterable[str]) -> set[str]:
    works: set[str] = set()
    for feature in features:
        kind, _, name = feature.partition(":")
        if kind == "work":
            works.add(name)
        elif kind != "position":
            works |= {thing for owner, thing, _ in shop.offerers[feature] if owner == "work"}
    return works


def _by_hours(shop: Shop, variant: Variant, works: Iterable[str]) -> Iterator[tuple[str, str]]:
    family = shop.families[variant.family]
    found = (shop.works[name] for name in works)
    yield from ((w.work, "") for w in sorted(found, key=lambda work: (work.hours_on(family), work.work)))
