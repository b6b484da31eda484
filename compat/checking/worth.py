"""Which specs are worth stating or measuring: how many rules hang on each."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from compat.record import record
from compat.rulebook.rulebook import Rulebook
from compat.shop.shop import Shop
from compat.shop.specs import SpecKind

__all__ = ["AskedSpec", "asked_at", "how_measured", "most_telling"]


@record(slots=True)
class AskedSpec:
    """A spec that rules ask of the part in a position."""

    spec: str
    kind: SpecKind
    rules: tuple[str, ...]
    """Rules that hang on it, itself or through figures, in the order of their files."""


def asked_at(shop: Shop, book: Rulebook, position: str) -> list[AskedSpec]:
    """Specs that rules ask of a part, most telling first.

    Parameters
    ----------
    shop, book
        What the shop knows.
    position : str
        Where the part stands.

    Returns
    -------
    list of AskedSpec
        By falling number of rules, then as the vocabulary has them; none that no rule hangs on.
    """
    found = []
    for name, kind in shop.kinds[position].items():
        resting = book.influence.of([("spec", position, name)]).rules
        if resting:
            found.append(AskedSpec(name, kind, tuple(rule for rule in book.rules if rule in resting)))
    return sorted(found, key=lambda asked: -len(asked.rules))


def how_measured(kind: SpecKind) -> str:
    """What a spec is and how it is found, in words; empty where its name says all.

    >>> from compat.shop.specs import declare
    >>> how_measured(declare("bore", {"unit": "mm", "is": "of it", "gauge": "bore gauge", "each": "cylinders"}))
    'of it; bore gauge, for each of the cylinders'
    """
    measured = kind.gauge
    if measured and kind.at:
        measured += f", at the {', '.join(kind.at)}"
    if measured and kind.each:
        measured += f", for each of the {kind.each.replace('_', ' ')}"
    words = f"one of {', '.join(kind.words)}" if kind.sort == "choice" else ""
    return "; ".join(filter(None, (kind.meaning, words, measured)))


def most_telling(unknown: Mapping[str, Collection[str]], most: int = 5) -> list[tuple[str, int]]:
    """The unstated specs on which most verdicts hang, with how many.

    Parameters
    ----------
    unknown : mapping
        Rules that could not be decided, by the spec that they want.
    most : int
        So many are given.

    Returns
    -------
    list of (str, int)
        The greatest number first; of specs on which as many hang, that first which alone decides more of them.

    Examples
    --------
    >>> most_telling({"rod.mass": ["a", "b"], "rod.section": ["b"], "pin.mass": ["a"]}, 2)
    [('rod.mass', 2), ('pin.mass', 1)]
    """
    wanting: dict[str, int] = {}
    for rules in unknown.values():
        for rule in rules:
            wanting[rule] = wanting.get(rule, 0) + 1
    alone = {spec: sum(wanting[rule] == 1 for rule in rules) for spec, rules in unknown.items()}
    order = sorted(unknown, key=lambda spec: (-len(unknown[spec]), -alone[spec], spec))
    return [(spec, len(unknown[spec])) for spec in order[:most]]
