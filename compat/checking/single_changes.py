"""A build with one thing changed at a time: what moves a verdict, what a margin, and what nobody notices.

Every stated spec takes other values, every position every other part or none, every count one piece less.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field, replace
from operator import attrgetter
from typing import Any, Literal, get_args

from compat.checking.check import Checked
from compat.checking.outcome import Borne, Held, Outcome, Paired
from compat.checking.session import Session
from compat.record import record
from compat.shop.builds import ReadyBuild
from compat.shop.specs import Rows, Spec, SpecKind, SpecValue
from compat.units import Band

__all__ = ["KINDS", "Effect", "Kind", "SingleChange", "effect", "effects", "other_values", "single_changes"]

Kind = Literal["spec", "setup", "part", "empty", "count"]
KINDS: tuple[Kind, ...] = get_args(Kind)
Moves = Literal["verdict", "margin", "nothing"]
FACTORS = (0.5, 2.0, 0.9, 1.1)
"""What numbers are multiplied by, the coarse first: what notices those is found soonest."""


@record(slots=True)
class SingleChange:
    """One thing of a build said otherwise, and the build with it."""

    kind: Kind
    position: str
    name: str
    """The spec; empty for parts, empty places and counts."""
    to: str
    """What it becomes, in words."""
    ready: ReadyBuild = field(repr=False, compare=False)


@record(slots=True)
class Effect:
    """What a change moves: the furthest of verdicts, margins or nothing, and the findings that move so.

    A margin is a figure behind a verdict that stays, or what the build forces and renews.
    """

    change: SingleChange
    moves: Moves
    rules: tuple[str, ...]
    worse: bool
    """Whether a verdict that is not fine came in."""


def effects(session: Session, base: Checked, kinds: Iterable[Kind] = ()) -> Iterator[Effect]:
    """What every single change of a build moves.

    Parameters
    ----------
    session : Session
        The session.
    base : Checked
        The build as it stands.
    kinds : iterable of str
        Keep to changes of these kinds; all when left out.

    Yields
    ------
    Effect
        One for each change, in the order of `single_changes`.

    Examples
    --------
    >>> import compat
    >>> shop = compat.open_shop()
    >>> base = shop.check("street-turbo").checked
    >>> found = [effect for effect in effects(shop.session, base, ["count"])]
    >>> {effect.moves for effect in found}, found[0].change.position, found[0].change.to
    ({'verdict'}, 'main_cap', '4 pieces')
    """
    for change in single_changes(base, kinds):
        yield effect(session, base, change)


def effect(session: Session, base: Checked, change: SingleChange) -> Effect:
    """What one change of a checked build moves."""
    found = session.check(change.ready, base)
    outcomes, others = list(base.outcomes), list(found.outcomes)
    before, after = _verdicts(outcomes), _verdicts(others)
    if before != after:
        gone, come = before - after, after - before
        worse = any(verdict != "ok" for _, verdict in come)
        return Effect(change, "verdict", tuple(sorted({rule for rule, _ in (*gone, *come)})), worse)
    old, new = _margins(outcomes), _margins(others)
    rules = tuple(sorted(rule for rule in old.keys() & new.keys() if old[rule] != new[rule]))
    forced = (base.extras, base.renewed) != (found.extras, found.renewed)
    return Effect(change, "margin" if rules or forced else "nothing", rules, False)


def _verdicts(outcomes: Iterable[Outcome]) -> Counter[tuple[str, str]]:
    return Counter(map(attrgetter("rule", "verdict"), outcomes))


def _margins(outcomes: Iterable[Outcome]) -> Mapping[str, Any]:
    """The figures behind the verdicts, by rule."""
    found: dict[str, Any] = {}
    for outcome in outcomes:
        match outcome.seen:
            case Held(value, _, least, most):
                found[outcome.rule] = (value, least, most)
            case Borne(load, capacity):
                found[outcome.rule] = (load, capacity)
            case Paired(pairs):
                found[outcome.rule] = pairs
    return found


def single_changes(base: Checked, kinds: Iterable[Kind] = ()) -> Iterator[SingleChange]:
    """Every single change of a checked build.

    Parameters
    ----------
    base : Checked
        The build.
    kinds : iterable of str
        Keep to these kinds; all when left out.

    Yields
    ------
    SingleChange
        What cards state and the setup with other values, then other parts, no part, and a piece less.
    """
    wanted = set(kinds) or set(KINDS)
    settled = base.world.settled
    places = [position for position in settled.fitted if position != "fuel"]
    if "spec" in wanted:
        for position in settled.fitted:
            yield from _specs(base, position)
    if "setup" in wanted:
        yield from _setup(base)
    for position in places:
        if "part" in wanted:
            yield from _parts(base, position)
        if "empty" in wanted:
            yield SingleChange("empty", position, "", "nothing", settled.ready.fitting(**{position: None}))
        if "count" in wanted and (count := settled.count(position) - 1) > 0:
            build = replace(settled.build, counts={**settled.build.counts, position: count})
            yield SingleChange("count", position, "", f"{count} pieces", replace(settled.ready, build=build))


def _specs(base: Checked, position: str) -> Iterator[SingleChange]:
    settled = base.world.settled
    kinds = settled.shop.kinds[position]
    for name, spec in settled.shop.stated(position, settled.fitted[position].part.part).items():
        for told, value in other_values(kinds[name], spec.value):
            supposed = {(position, name): replace(spec, value=value)}
            yield SingleChange("spec", position, name, told, replace(settled.ready, supposed=supposed))


def _setup(base: Checked) -> Iterator[SingleChange]:
    settled = base.world.settled
    kinds = settled.shop.kinds.get("setup", {})
    for name, spec in settled.specs.by_position.get("setup", {}).items():
        for told, value in other_values(kinds[name], spec.value):
            setup: dict[str, Spec] = {**settled.ready.setup, name: replace(spec, value=value)}
            yield SingleChange("setup", "setup", name, told, replace(settled.ready, setup=setup))


def _parts(base: Checked, position: str) -> Iterator[SingleChange]:
    settled = base.world.settled
    own = settled.fitted[position].part.part
    for part in settled.shop.fillers[position]:
        if part != own:
            yield SingleChange("part", position, "", part, settled.ready.fitting(**{position: part}))


def other_values(kind: SpecKind, value: SpecValue) -> Iterator[tuple[str, SpecValue]]:
    """Other values that a spec could have, each with words for it.

    >>> from compat.shop.specs import declare
    >>> list(other_values(declare("input", ["logic", "power"]), "logic"))
    [('power', 'power')]
    >>> [told for told, _ in other_values(declare("stroke", "mm"), Band(0.087, 0.087, 0.087, unit="mm"))]
    ['x 0.5', 'x 2', 'x 0.9', 'x 1.1']
    """
    match value:
        case bool():
            yield "no" if value else "yes", not value
        case str():
            words = kind.words or (f"not {value}",)
            yield from ((word, word) for word in words if word != value)
        case Band() if not value.nominal:
            yield f"1 {kind.unit}".strip(), _unit_of(kind, value)
        case Band():
            yield from ((f"x {factor:g}", _scaled(value, factor)) for factor in FACTORS)
        case ():
            yield "another word", ("another word",)
        case (str(), *_):
            yield "another word", ("another word",)
            for word in value if len(value) > 1 else ():
                yield f"without {word}", tuple(str(other) for other in value if other != word)
        case _:
            yield from _tables(kind, value)  # type: ignore[arg-type]  # rows: lists of words are done above


def _unit_of(kind: SpecKind, value: Band) -> Band:
    from compat.units import unit

    one = unit(kind.unit).factor
    return Band(one, one, one, value.dimension, value.unit)


def _scaled(value: Band, factor: float) -> Band:
    low, high = sorted((value.low * factor, value.high * factor))
    return Band(value.nominal * factor, low, high, value.dimension, value.unit)


def _tables(kind: SpecKind, rows: Rows) -> Iterator[tuple[str, SpecValue]]:
    for column, (name, _) in enumerate(kind.columns):
        for factor in FACTORS:
            yield f"{name} x {factor:g}", tuple(_scaled_at(row, column, factor) for row in rows)


def _scaled_at(row: tuple[float, ...], column: int, factor: float) -> tuple[float, ...]:
    return (*row[:column], row[column] * factor, *row[column + 1 :])
