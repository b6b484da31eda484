"""What else would meet a need than what the check adds by itself: each tried with the needs closed again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from compat.checking.helping import Helping
from compat.checking.needs import Demand
from compat.checking.outcome import Met
from compat.checking.remedying import Remedy
from compat.checking.trials import Trials
from compat.shop.changing import Change, Do, Fit, Say

__all__ = ["DOZEN", "met_by"]

DOZEN = 12
"""So many changes are tried for one need: each is a whole build."""


def met_by(trials: Trials, helping: Helping, rule: str, met: Met) -> tuple[tuple[Remedy, ...], bool]:
    """Find what meets a need beside what the check adds for it.

    Parameters
    ----------
    trials : Trials
        The build.
    helping : Helping
        Which of the remedies that rules and features name can be of use.
    rule : str
        The need, as findings name it.
    met : Met
        What is asked, and what the check adds.

    Returns
    -------
    remedies : tuple of Remedy
        Changes with which the need is met, each tried in full, that leave less against the build: for each
        remedy of rule or feature the best, in their order; then the best part that offers it, then the best
        that does without.
    whole : bool
        Whether there was nothing more to try.
    """
    found: list[Remedy] = []
    left, whole = DOZEN, True
    for group in _groups(trials, helping, met):
        tried: list[tuple[tuple[int, int, int], int, Remedy]] = []
        whole = whole and len(group) <= left
        for change in islice(group, left):
            left -= 1
            effect = trials.in_full((change,))
            if rule in effect.clears and effect.betters:
                tried.append((effect.weight, len(tried), Remedy((change,), effect)))
        if tried:
            weight, _, best = min(tried, key=lambda one: one[:2])
            alike = sum(one[0] == weight for one in tried) - 1
            if all(best.changes != one.changes for one in found):
                found.append(Remedy(best.changes, best.effect, alike))
    return tuple(found), whole


def _groups(trials: Trials, helping: Helping, met: Met) -> Iterator[Sequence[Change]]:
    """What each remedy comes down to."""
    demand, shop = met.demand, trials.shop
    entries = (
        trials.book.rules[demand.rule].rule.remedies
        if demand.rule
        else [
            entry for name in demand.features if name in shop.features for entry in shop.features[name].remedies
        ]
    )
    added = set(met.provider.fills) if met.provider else set()
    for entry in entries:
        key, name = next((key, name) for key, name in entry.items() if key != "with")
        if not helping.can_be(key, name, entry.get("with", "")) or (met.provider and name == met.provider.name):
            continue
        if key == "work":
            yield [Do(name)]
        elif key == "leave_out":
            yield [Fit(name, "")]
        elif key == "set":
            word, _, value = name.partition("=")
            yield [Say(word, value)]
        elif key in ("swap", "add") and name not in added:
            part = None if name in shop.positions else name
            place = name if part is None else next(p for p in shop.parts[name].fills)
            names = trials.candidates(place) if part is None else [part]
            yield [Fit(place, one) for one in sorted(names, key=lambda one: not _offers(trials, demand, one))]
    fitted = trials.settled.fitted
    offering = {
        name
        for feature in demand.features
        for kind, name, _ in shop.offerers.get(feature, ())
        if kind == "part"
    }
    places = {place for name in offering for place in shop.parts[name].fills} - added
    yield [
        Fit(place, part)
        for place in fitted
        if place in places
        for part in trials.candidates(place)
        if part in offering and _offers(trials, demand, part)
    ]
    yield [
        Fit(place, part)
        for place, entry in fitted.items()
        if entry.part.part == demand.owner
        for part in trials.candidates(place)
        if all(need.feature not in demand.features for need in shop.parts[part].needs)
    ]


def _offers(trials: Trials, demand: Demand, part: str) -> bool:
    offers = (offer for offer in trials.shop.parts[part].offers if offer.feature in demand.features)
    return any(all(offer.matching.get(key, word) == word for key, word in demand.matching) for offer in offers)
