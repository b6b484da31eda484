"""Judging a rule on measured pieces: each pairing by itself, then what of them can be put together.

A piece that was measured is in the engine as it is; its spread is no tolerance that might turn out well. So a
rule holds where every pairing that can come about is proven in, and fails where pieces that cannot be spared,
or every way to put them together, are proven out. Between the two it is to be measured, or selected.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence

from compat.checking.conformity import Decision, Doubt, decide, doubt_of
from compat.checking.matching import share_out
from compat.checking.outcome import RANK, Borne, Gap, Held, Outcome, Pairing, Pieced
from compat.checking.pairing import Key, Rows, rows_of
from compat.checking.spread import Spread
from compat.checking.world import BuildWorld
from compat.record import record
from compat.rulebook.models import Verdict
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Missing, Number

__all__ = ["Room", "Weighed", "Weigher", "is_out", "judge_pieces", "pairings_of", "together"]

MOST_PAIRINGS = 5_000
"""Beyond so many pairings the extremes of each spec stand for its pieces."""
MOST_HEAVY = 8
"""And beyond so many where each is the answer of a formula that takes long."""
MOST_ENDS = 6
"""So many specs are mixed at their ends where a rule has no number that they move."""
MOST_STEPS = 20_000
"""So long a way of putting three kinds of pieces together is looked for; then it is left to be measured."""


@record(slots=True)
class Room:
    """What is left to one limit."""

    side: str
    fails: Verdict
    """What it is to lie beyond it."""
    limit: float
    margin: float
    """Inside above zero."""
    room: Number
    """The margin with its sensitivities, those that value and limit share counted once."""


@record(slots=True)
class Weighed:
    """What a rule measures, and what is left to each of its limits."""

    value: Number
    rooms: tuple[Room, ...]
    gap: Missing | None
    """Limits that are not known."""


Weigher = Callable[[BuildWorld, BoundRule], Weighed | Missing | None]
Judge = Callable[[BuildWorld, BoundRule], Outcome | None]


def judge_pieces(
    world: BuildWorld, rule: BoundRule, measured: Sequence[Key], once: Judge, weigh: Weigher
) -> Outcome | None:
    """Judge a rule that rests on measured pieces.

    Parameters
    ----------
    world : BuildWorld
        The build.
    rule : BoundRule
        The rule.
    measured : sequence
        The specs it rests on that were measured piece by piece.
    once, weigh : callable
        How a rule is judged, and its limits are weighed, where every spec is one value.

    Returns
    -------
    Outcome or None
        The outcome; None where the rule applies to no pairing.
    """
    rows = rows_of(world, measured)
    whole = once(world, rule)
    if whole is None and not _moves_condition(world, rule, measured):
        return None
    heavy = world.settled.book.takes_long(rule)
    if rows.count > (MOST_HEAVY if heavy else MOST_PAIRINGS):
        return _worst([whole, *(once(other, rule) for other in _extremes(rows, rule))])
    if heavy:
        return _worst([once(rows.world_of(pairing), rule) for pairing in rows.pairings()])
    if rule.rule.sort != "limits":
        return _worst([once(rows.world_of(pairing), rule) for pairing in rows.pairings()])
    found = pairings_of(rows, rule, weigh)
    if not found:
        return None
    return _limits(rows, rule, found, whole)


def _moves_condition(world: BuildWorld, rule: BoundRule, measured: Sequence[Key]) -> bool:
    """Whether the rule may apply to some pieces and not to others."""
    if rule.where is None:
        return False
    return not set(world.settled.book.gather([rule.where]).specs).isdisjoint(measured)


def _worst(outcomes: Iterable[Outcome | None]) -> Outcome | None:
    """The worst outcome; of several alike the first."""
    there = [outcome for outcome in outcomes if outcome is not None]
    return min(there, key=lambda outcome: (RANK[outcome.verdict], _left(outcome)), default=None)


def _left(outcome: Outcome) -> float:
    """How much is left to what is asked, to compare outcomes of one rule."""
    match outcome.seen:
        case Held() as held:
            ends = [held.value - held.least] if held.least is not None else []
            ends += [held.most - held.value] if held.most is not None else []
            return min(ends, default=0.0)
        case Borne(headroom=float(headroom)):
            return headroom
    return 0.0


def _extremes(rows: Rows, rule: BoundRule) -> list[BuildWorld]:
    """Worlds with the pieces that move a rule furthest each way; which way each spec moves it is tried.

    Where a rule has no number that moves, the ends of what was measured are mixed.
    """
    ends: dict[Key, tuple[int, int]] = {}
    for row in rows.rows:
        for key in row.keys:
            spec = rows.world.gauged[key]
            card = spec.card.middle if spec.card is not None else 0.0
            middles = [0.5 * (p.low + p.high) if p is not None else card for p in spec.pieces]
            order = sorted(range(len(middles)), key=middles.__getitem__)
            ends[key] = order[0], order[-1]
    if _number(rows.world, rule) is None:
        mixed = list(ends)[:MOST_ENDS]
        low = {key: end for key, (end, _) in ends.items()}
        mixtures = itertools.product((0, 1), repeat=len(mixed))
        return [
            rows.world_with({**low, **{key: ends[key][way] for key, way in zip(mixed, mixture, strict=True)}})
            for mixture in mixtures
        ]
    rising = {}
    for key, pair in ends.items():
        low_at, high_at = (_number(rows.world_with({key: end}), rule) for end in pair)
        rising[key] = low_at is None or high_at is None or high_at >= low_at
    return [rows.world_with({key: ends[key][up if rising[key] else 1 - up] for key in ends}) for up in (0, 1)]


def _number(world: BuildWorld, rule: BoundRule) -> float | None:
    """What a rule looks at, as a number: what it measures, or capacity over load."""
    try:
        if rule.measure is not None:
            value = rule.measure.run(world)
            return value.x if isinstance(value, Number) else None
        if rule.load is None or rule.capacity is None:
            return None
        load, capacity = rule.load.run(world), rule.capacity.run(world)
    except Absent:
        return None
    if isinstance(load, Number) and isinstance(capacity, Number) and load.x > 0:
        return capacity.x / load.x
    return None


# limits, pairing by pairing


def pairings_of(rows: Rows, rule: BoundRule, weigh: Weigher) -> tuple[Pairing, ...]:
    """What comes of limits for each pairing to which they apply."""
    found = []
    for at in rows.pairings():
        world = rows.world_of(at)
        weighed = weigh(world, rule)
        if weighed is not None:
            found.append(_pairing(at, rows.numbers(at), weighed, world))
    return tuple(found)


def _pairing(
    at: tuple[int, ...], numbers: tuple[tuple[str, int], ...], weighed: Weighed | Missing, world: BuildWorld
) -> Pairing:
    if isinstance(weighed, Missing):
        return Pairing(
            at, numbers, "unknown", "undecided", "", 0.0, Doubt(), 0.0, 0.0, 0.0, None, None, weighed
        )
    worst: tuple[int, float, Verdict, Decision, str, Doubt] | None = None
    for room in weighed.rooms:
        doubt = doubt_of(room.room.g, world.half)
        margin = room.margin - doubt.places
        decision = decide(margin, doubt.gauge, doubt.tolerance)
        verdict: Verdict = "ok"
        if room.fails == "caution":
            # what only earns a caution asks for no better gauge
            decision, verdict = ("out", "caution") if margin < 0 else ("in", "ok")
        elif decision == "out":
            verdict = room.fails
        elif decision == "undecided":
            verdict = "measure"
        elif margin < doubt.gauge + doubt.tolerance + doubt.model:
            verdict = "caution"  # a model may be off by that much; no piece in hand can settle it
        rank = RANK[verdict]
        if worst is None or (rank, margin) < worst[:2]:
            worst = rank, margin, verdict, decision, room.side, doubt
    assert worst is not None
    _, margin, verdict, decision, side, doubt = worst
    limits = {room.side: room.limit for room in weighed.rooms}
    gap = weighed.gap if verdict in ("ok", "caution", "measure") else None
    return Pairing(
        at,
        numbers,
        "unknown" if gap is not None else verdict,
        decision,
        side if verdict != "ok" else "",
        weighed.value.x,
        doubt_of(weighed.value.g, world.half),
        doubt.gauge,
        doubt.tolerance,
        margin,
        limits.get("below"),
        limits.get("above"),
        gap,
    )


def _limits(rows: Rows, rule: BoundRule, found: tuple[Pairing, ...], whole: Outcome | None) -> Outcome:
    """What comes of all pairings together."""
    saved = together(rows, found)
    free = tuple(row.name for row in rows.rows if row.free)
    failing = [pairing for pairing in found if is_out(pairing)]
    unknown = [pairing for pairing in found if pairing.gap is not None]
    if unknown and not (failing and not saved):
        gap = unknown[0].gap
        for pairing in unknown[1:]:
            assert gap is not None
            assert pairing.gap is not None
            gap = gap | pairing.gap
        assert gap is not None
        return Outcome(rule.rule.rule, "unknown", Gap(gap))
    decides = min(range(len(found)), key=lambda n: (RANK[found[n].verdict], found[n].margin))
    worst = found[decides]
    # pieces that can be put together so that none is out are to be selected, not thrown away
    verdict: Verdict = "measure" if failing and saved else worst.verdict
    known = [pairing for pairing in found if pairing.gap is None]
    low = min(pairing.value - pairing.doubt.whole for pairing in known)
    high = max(pairing.value + pairing.doubt.whole for pairing in known)
    half = 0.5 * (high - low)
    seen = whole.seen if whole is not None else None
    spread = seen.spread if isinstance(seen, Held) else Spread()
    limit = worst.least if _nearer_below(worst) else worst.most
    held = Pieced(
        0.5 * (low + high),
        Spread(half, half, min(half, spread.likely) if spread.likely else half, spread.most),
        worst.least,
        worst.most,
        worst.side,
        limit if limit is not None else 0.0,
        worst.margin < 0,
        (),
        found,
        decides,
        free,
        saved,
    )
    return Outcome(rule.rule.rule, verdict, held)


def _nearer_below(pairing: Pairing) -> bool:
    if pairing.least is None or pairing.most is None:
        return pairing.most is None
    if pairing.side:
        return pairing.side == "below"
    return pairing.value - pairing.least <= pairing.most - pairing.value


def is_out(pairing: Pairing) -> bool:
    """Whether a pairing is proven out; a caution is told and keeps nobody from building."""
    return pairing.gap is None and pairing.decision == "out" and pairing.verdict != "caution"


# putting them together


def together(rows: Rows, found: Sequence[Pairing]) -> bool:
    """Whether the pieces can be put together, each in one place, with no pairing that is proven out.

    Parameters
    ----------
    rows : Rows
        What can be chosen.
    found : sequence of Pairing
        What comes of each pairing.

    Returns
    -------
    bool
        False only where that is proven: by maximum matching for two kinds of pieces, by search for more.
    """
    out = {pairing.at for pairing in found if is_out(pairing)}
    if not out:
        return True
    kinds = [(row.axis, row.size) for row in rows.rows]
    shared = max(set(kinds), key=kinds.count)
    group = [number for number, kind in enumerate(kinds) if kind == shared]
    free = [number for number in group if rows.rows[number].free]
    if len(group) < 2 or not free:
        return False  # whatever is out stands where it stands
    # pieces that count otherwise meet all of these
    barred = {tuple(at[number] for number in group) for at in out}
    size = shared[1]
    if len(group) == 2:
        suits = [[other for other in range(size) if (seat, other) not in barred] for seat in range(size)]
        return not share_out([1] * size, suits, [1] * size)
    return _search(barred, size, len(group) - 1)


def _search(barred: set[tuple[int, ...]], size: int, kinds: int) -> bool:
    """Whether each seat gets one piece of every kind, and no barred mixture comes about."""
    steps = 0
    used: list[set[int]] = [set() for _ in range(kinds)]

    def seat(number: int) -> bool:
        nonlocal steps
        if number == size:
            return True
        for mixture in itertools.product(*(range(size) for _ in range(kinds))):
            steps += 1
            if steps > MOST_STEPS * size:
                return True
            if (number, *mixture) in barred or any(one in had for one, had in zip(mixture, used, strict=True)):
                continue
            for one, had in zip(mixture, used, strict=True):
                had.add(one)
            if seat(number + 1):
                return True
            for one, had in zip(mixture, used, strict=True):
                had.discard(one)
        return False

    return seat(0)
