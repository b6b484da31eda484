"""What else would meet a need than what the check adds by itself: each tried with the needs closed again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from compat.checking.closing import close_needs
from compat.checking.helping import Helping
from compat.checking.judged import judge_again
from compat.checking.needs import Demand
from compat.checking.outcome import OUT, RANK, Met, Outcome
from compat.checking.remedying import Remedy
from compat.checking.supply import Cards
from compat.checking.trials import FINE, UNKNOWN, Effect, Trials
from compat.shop.changing import Change, Do, Fit, Say

__all__ = ["DOZEN", "met_by"]

DOZEN = 12
"""So many changes are tried for one need: each is a whole build."""


def met_by(
    trials: Trials, helping: Helping, cards: Cards, needs: Iterable[Outcome], rule: str, met: Met
) -> tuple[tuple[Remedy, ...], bool]:
    """Find what meets a need beside what the check adds for it.

    Parameters
    ----------
    trials : Trials
        The build.
    helping : Helping
        Which of the remedies that rules and features name can be of use.
    cards : Cards
        What parts and works offer and ask.
    needs : iterable of Outcome
        What came of all needs of the build.
    rule : str
        The need, as findings name it.
    met : Met
        What is asked, and what the check adds.

    Returns
    -------
    remedies : tuple of Remedy
        Changes with which the need is met, each tried, that bring up less than they clear: for each remedy of
        rule or feature the best, in their order; then the best part that offers it, then the best that does
        without.
    whole : bool
        Whether there was nothing more to try.
    """
    before = _ranks(needs)
    found: list[Remedy] = []
    left, whole = DOZEN, True
    for group in _groups(trials, helping, met):
        tried: list[tuple[int, int, int, Remedy]] = []
        whole = whole and len(group) <= left
        for change in islice(group, left):
            left -= 1
            effect = _effect(trials, cards, before, (change,))
            if effect is not None and rule in effect.clears and len(effect.raises) < len(effect.clears):
                tried.append((len(effect.raises), -len(effect.clears), len(tried), Remedy((change,), effect)))
        if tried:
            best = min(tried)
            alike = sum(one[:2] == best[:2] for one in tried) - 1
            if all(best[3].changes != one.changes for one in found):
                found.append(Remedy(best[3].changes, best[3].effect, alike))
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


def _effect(
    trials: Trials, cards: Cards, before: Mapping[str, int], changes: tuple[Change, ...]
) -> Effect | None:
    """What else comes up and goes, needs among it; None where there is no such build."""
    found = trials.of(changes)
    if found is None:
        return None
    world, moved = found
    judged = judge_again(trials.judged, world, moved)
    asked = sorted(moved.rules & trials.book.judged.keys())
    before = {**before, **{name: trials.rank(trials.judged.outcomes.get(name)) for name in asked}}
    after = _ranks(close_needs(world, judged, cards).outcomes)
    after |= {name: trials.rank(judged.outcomes.get(name)) for name in asked}
    names = sorted(before.keys() | after.keys())
    both = [(name, before.get(name, FINE), after.get(name, FINE)) for name in names]
    clears = tuple(name for name, was, now in both if was <= UNKNOWN < now)
    raises = tuple(name for name, was, now in both if now <= UNKNOWN < was or now < was <= OUT)
    return Effect(clears, raises, 0)


def _ranks(outcomes: Iterable[Outcome]) -> dict[str, int]:
    """The worst that came of each need."""
    found: dict[str, int] = {}
    for outcome in outcomes:
        found[outcome.rule] = min(found.get(outcome.rule, FINE), RANK[outcome.verdict])
    return found
