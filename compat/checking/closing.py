"""Closing what a build leaves open: needs by added parts and work; what opened joints consume."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import replace

from compat.checking.adding import Closure, close
from compat.checking.joints import renewals
from compat.checking.judged import Judged
from compat.checking.needs import Book, Demand, Supply
from compat.checking.outcome import OUT, RANK, Met, Outcome, Renewed, RenewedAt
from compat.checking.supply import Cards, Market
from compat.checking.trying import Key, Tried, TryingOut
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.influence import Moved
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import Rulebook
from compat.shop.entry import NOTHING
from compat.shop.models import Part
from compat.shop.shop import Shop

__all__ = ["Needs", "close_needs", "left_open", "renew"]


@record(slots=True)
class Here:
    """What decides beside offers and needs which parts and work can be added."""

    filled: frozenset[str]
    names: frozenset[str]
    excluded: frozenset[str]
    counts: Mapping[str, int]


@record
class Needs:
    """The needs of a build: what is offered and asked, what came of each, and what was added."""

    supplies: list[Supply]
    demands: list[Demand]
    here: Here
    outcomes: tuple[Outcome, ...]
    closure: Closure
    tried: Mapping[Key, Tried]
    """What came of the parts and work that were tried."""


def close_needs(
    world: BuildWorld,
    judged: Judged,
    cards: Cards | None = None,
    before: Needs | None = None,
    moved: Moved | None = None,
) -> Needs:
    """Close the needs of a build.

    Parameters
    ----------
    world : BuildWorld
        The build.
    judged : Judged
        What came of its rules, and which need rules ask.
    cards : Cards, optional
        What parts and works offer and ask, kept by whoever checks many builds.
    before : Needs, optional
        The needs of a build that differs little; they stand where nothing that they rest on differs.
    moved : Moved, optional
        In what it differs.

    Returns
    -------
    Needs
        An outcome for each need, and what was added for them.
    """
    market = Market(world, cards)
    rules = (rule for name, rule in world.settled.book.needs.items() if name in judged.asking)
    supplies, demands = market.supplies(), market.demands(rules)
    present = [entry.part.part for entry in world.settled.fitted.values()] + market.works()
    here = Here(
        frozenset(world.settled.fitted),
        frozenset(present),
        frozenset(market.excluded()),
        world.settled.build.counts,
    )
    picks, otherwise = NOTHING, frozenset[str]()
    if before is None or moved is None:
        trials, closure = TryingOut(market, judged), None
    else:
        trials = TryingOut(market, judged, before.tried, _moved_where_tried(before, here, market, moved))
        closure = _as_before(before, supplies, demands)
        # nobody is asked to help where nothing is open, so offers and needs decide by themselves
        if closure is None or closure.opened:
            same = _same_providers(before, here, trials, moved)
            if closure is not None and not (same and all(map(trials.stands, before.tried))):
                closure = None
            if closure is None and same:
                picks, otherwise = before.closure.picks, _otherwise(before, supplies, demands)
    if closure is None:
        closure = close(
            supplies, demands, here.filled, present, market.providers, here.excluded, trials, picks, otherwise
        )
        if before is not None and picks:
            closure.looked_at.update(before.closure.looked_at)  # by those whose picks stand
    if before is not None and closure is before.closure:
        outcomes = before.outcomes
    else:
        outcomes = tuple(_outcomes(world.settled.book, demands, closure))
    return Needs(supplies, demands, here, outcomes, closure, trials.results())


def left_open(world: BuildWorld, asking: Set[str], cards: Cards) -> frozenset[str]:
    """Needs that a build as it stands leaves open, as findings name them; nobody is added for them.

    Parameters
    ----------
    world : BuildWorld
        The build.
    asking : set of str
        Need rules that ask.
    cards : Cards
        What parts and works offer and ask.

    Returns
    -------
    frozenset of str
        Rules, and needs of parts and work; those alone that fail where they stay open.
    """
    market, book = Market(world, cards), world.settled.book
    rules = (rule for name, rule in book.needs.items() if name in asking)
    short, _ = Book(market.supplies()).open(market.demands(rules))
    closure = Closure(opened=short)
    found = _outcomes(book, [shortage.demand for shortage in short], closure)
    return frozenset(one.rule for one in found if RANK[one.verdict] <= OUT)


def _outcomes(book: Rulebook, demands: Iterable[Demand], closure: Closure) -> Iterator[Outcome]:
    """What came of each need."""
    added = {id(demand): provider for provider, demand in closure.added}
    opened = {id(shortage.demand): shortage for shortage in closure.opened}
    for demand in demands:
        rule = demand.rule
        if not rule and demand.features[0].startswith("work:"):
            continue
        shortage = opened.get(id(demand))
        verdict: Verdict = "ok"
        if shortage is not None:
            verdict = book.rules[rule].rule.fails_as if rule else "missing"
        name = rule or f"need-{demand.features[0].replace('_', '-')}"
        provider = added.get(id(demand))
        if provider is None and shortage is not None:  # what is added for another need may do for this one too
            others = (other for other, _ in closure.added if any(map(demand.suits, other.supplies)))
            provider = next(others, None)
        yield Outcome(name, verdict, Met(demand, shortage, provider))


def _as_before(before: Needs, supplies: list[Supply], demands: list[Demand]) -> Closure | None:
    """What was added before, where it would be added again for all that offers and needs say."""
    closure = before.closure
    if len(supplies) != len(before.supplies) or not all(map(Supply.like, supplies, before.supplies)):
        return None
    if demands == before.demands:
        return closure
    # a need that is met by what nobody uses up has no part in what follows
    short, live = Book(supplies).open(demands)
    if short != closure.opened or len(live) != len(closure.live):
        return None
    if live != closure.live and any(shortage.competing for shortage in closure.shortages):
        return None
    if not all(map(Demand.like, live, closure.live)):
        return None
    now = dict(zip(map(id, closure.live), live, strict=True))
    added = [(provider, now.get(id(demand), demand)) for provider, demand in closure.added]
    return replace(closure, opened=short, live=live, added=added)


def _moved_where_tried(before: Needs, here: Here, market: Market, moved: Moved) -> Moved:
    """What may come out otherwise for what is tried: of a part that stands nowhere the build says too little.

    In a place that stands empty nothing is counted, and what a part offers on conditions nobody offers.
    """
    shop, hangs_on = market.shop, market.cards.hangs_on
    counts = _recounted(shop, moved)
    said = {place for place, _ in here.counts.items() ^ before.here.counts.items()}
    counts |= said | {place for place, (by, _) in shop.counted_by.items() if by in said}
    facts = [("count", place) for place in counts]
    for name in before.closure.looked_at:
        thing = shop.parts[name] if name in shop.parts else shop.works[name]
        pieces = isinstance(thing, Part) and not counts.isdisjoint(thing.fills)  # each offers for itself
        if pieces or not hangs_on(name).isdisjoint(moved.facts):
            facts += [("feature", offer.feature) for offer in thing.offers]
    if not facts:
        return moved
    more = market.settled.book.influence.of(facts)
    return Moved(moved.rules | more.rules, moved.figures | more.figures, moved.facts)


def _recounted(shop: Shop, moved: Moved) -> set[str]:
    """Positions that may take another number of pieces by a spec that moved."""
    return {place for place, spec in shop.counted_by.items() if ("spec", *spec) in moved.facts}


def _otherwise(before: Needs, supplies: list[Supply], demands: list[Demand]) -> frozenset[str]:
    """Features that are offered, or asked, otherwise than before."""
    offered, was_offered = _by_feature(supplies), _by_feature(before.supplies)
    of_offers = (
        name for name in offered.keys() | was_offered.keys() if offered.get(name) != was_offered.get(name)
    )
    # what asks the same mostly is one object, and needs no holding against each other
    by_id = {id(demand): demand for demand in (*demands, *before.demands)}
    asked, was_asked = Counter(map(id, demands)), Counter(map(id, before.demands))
    moved = (asked - was_asked) + (was_asked - asked)
    return frozenset(of_offers) | {feature for number in moved for feature in by_id[number].features}


def _by_feature(supplies: Iterable[Supply]) -> Mapping[str, list[tuple[object, ...]]]:
    """What is offered of each feature, in the order in which it is shared out; whose it is does not matter."""
    found: dict[str, list[tuple[object, ...]]] = {}
    for one in supplies:
        found.setdefault(one.feature, []).append((one.count, one.matching, one.used_up))
    return found


def _same_providers(before: Needs, here: Here, trials: TryingOut, moved: Moved) -> bool:
    """Whether whoever was thought of before could be added again, in the same places and with the same card."""
    there, looked_at, shop = before.here, before.closure.looked_at, trials.market.shop
    if here.excluded != there.excluded or here.counts != there.counts:
        return False
    places = set(here.filled ^ there.filled)
    if places and not places.isdisjoint(work.on for work in shop.works.values()):
        return False  # work on it can be done now, or no more
    places |= _recounted(shop, moved)
    names, hangs_on = here.names ^ there.names, trials.market.cards.hangs_on
    return (
        names.isdisjoint(looked_at)
        and all(places.isdisjoint(shop.parts[name].fills) for name in looked_at if name in shop.parts)
        and all(names.isdisjoint(provider.never_with) for provider in looked_at.values())
        and all(hangs_on(name).isdisjoint(moved.facts) for name in looked_at)
    )


def renew(world: BuildWorld) -> tuple[tuple[Outcome, ...], tuple[Renewed, ...]]:
    """Judge what every opened joint consumes.

    Returns
    -------
    tuple
        An outcome for each joint that a rule speaks of, and all that is renewed. A piece that two opened
        joints consume is asked for at the first.
    """
    rules = world.settled.book.renews
    outcomes: list[Outcome] = []
    everything: list[Renewed] = []
    seen: set[str] = set()
    for name, reason in world.joints.items():
        renewed = tuple(renewals(world, world.settled.shop.joints[name]))
        everything += renewed
        rule = rules.get(name)
        if rule is not None and renewed:
            lacking = tuple(entry for entry in renewed if not entry.covered and entry.position not in seen)
            verdict: Verdict = rule.rule.fails_as if lacking else "ok"
            outcomes.append(Outcome(rule.rule.rule, verdict, RenewedAt(name, reason, renewed, lacking)))
        seen |= {entry.position for entry in renewed}
    return tuple(outcomes), tuple(everything)
