"""What is measured on the bench, when, and within which limits: pieces by themselves, and clearances."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from compat.checking.conformity import doubt_of, gauge_leaf
from compat.checking.world import BuildWorld
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Absent, Number
from compat.shop.specs import Spec, SpecKind
from compat.units import Band, unit
from compat.words.deciding import Deciding
from compat.words.report import Finding
from compat.words.wording import spec_name

__all__ = ["Clearance", "Gauged", "clearances", "gauged"]

LENGTH = unit("mm").dimension
VOLUME = unit("cm^3").dimension
MASS = unit("g").dimension


@dataclass(frozen=True, slots=True)
class Gauged:
    """A spec that is measured on every piece in hand."""

    what: str
    """position.spec."""
    name: str
    position: str
    gauge: str
    pieces: int
    """How often it is measured: once on each piece, or as often as the engine has what it counts."""
    places: tuple[str, ...]
    unit: str
    stated: Spec | None
    """What the card or the work makes it; None where nobody has stated it."""


@dataclass(frozen=True, slots=True)
class Clearance:
    """A limits rule that the bench can answer, with the numbers of its finding."""

    finding: Finding
    at: str
    """The position whose parts are in when it is measured."""
    direct: bool
    """Whether it is read on the assembled parts; else it is worked out from what was gauged."""
    rests_on: tuple[str, ...]
    """What is gauged for it, as position.spec."""
    gauge: str = ""
    """What it is read with, where it is read direct."""
    uncertainty: float | None = None
    """Expanded uncertainty (k = 2) that the shop's gauges leave it, in the finding's unit; None: not known."""

    @property
    def proven(self) -> tuple[float | None, float | None] | None:
        """Limits that a measured value must keep to be proven within those of the rule, in the finding's unit.

        The limits narrowed by the uncertainty on either side: the decision rule of ISO 14253-1. None where the
        uncertainty is not known; the lower is above the upper where gauges are too coarse to prove anything.
        """
        if self.uncertainty is None:
            return None
        least, most = self.finding.at_least, self.finding.at_most
        return (
            None if least is None else least + self.uncertainty,
            None if most is None else most - self.uncertainty,
        )


def gauged(world: BuildWorld, position: str, asked: Collection[str] = ()) -> tuple[Gauged, ...]:
    """Give everything that the bench measures on the parts of a position, in the order of the vocabulary.

    Parameters
    ----------
    world : BuildWorld
        The build.
    position : str
        A filled position.
    asked : collection of str
        Specs as position.spec that nobody has stated and that rules ask for.

    Returns
    -------
    tuple of Gauged
        What is stated of it or asked.
    """
    settled = world.settled
    numbers = settled.shop.families[settled.variant.family].numbers
    found = []
    for name, kind in settled.shop.kinds[position].items():
        what, stated = f"{position}.{name}", settled.specs.at(position, name)
        if kind.gauge and (what in asked if stated is None else not _is_none(kind, stated)):
            pieces = {str(number): count for number, count in numbers.items()}.get(kind.each)
            found.append(
                Gauged(what, spec_name(settled.shop, position, name), position, kind.gauge,
                       settled.count(position) if pieces is None else pieces, kind.at, kind.unit, stated)
            )  # fmt: skip
    return tuple(found)


def _is_none(kind: SpecKind, stated: Spec) -> bool:
    """Whether a value of nothing says that there is nothing to measure: no keyway."""
    return bool(kind.zero) and isinstance(stated.value, Band) and stated.value.low == stated.value.high == 0


def clearances(
    world: BuildWorld, findings: Iterable[Finding], order: Mapping[str, int], again: Collection[str]
) -> dict[str, list[Clearance]]:
    """Give every clearance that the bench can measure, by the position at which it can.

    Parameters
    ----------
    world : BuildWorld
        The build.
    findings : iterable of Finding
        What its report says; the numbers are theirs.
    order : mapping
        Place of every filled position in the order of assembly.
    again : collection of str
        Positions whose parts go in.

    Returns
    -------
    dict
        Clearances by position: where the rule says so, else at the last of the parts that it hangs on; none of
        which nothing is taken apart.
    """
    book, deciding = world.settled.book, Deciding(world)
    found: dict[str, list[Clearance]] = {}
    for finding in findings:
        rule = book.rules.get(finding.rule)
        if rule is None or rule.measure is None:
            continue
        rests_on = _specs(deciding, rule.measure)
        measured = tuple(spec for spec in rests_on if _gauge(world, spec))
        said = rule.rule.at
        if said is None and not (measured and _of_the_bench(rule, world)):
            continue
        late = [place for place in {spec.partition(".")[0] for spec in rests_on} if place in again]
        if said is not None and said in again:
            at = said
        elif late:
            at = max(late, key=lambda place: order[place])
        else:
            continue  # nothing that it hangs on is taken apart
        gauge = rule.rule.gauge or ""
        doubt = _doubt(world, rule, measured) if said is None else _own_doubt(world, gauge, rule.unit)
        found.setdefault(at, []).append(Clearance(finding, at, said is not None, measured, gauge, doubt))
    return found


def _own_doubt(world: BuildWorld, gauge: str, name: str) -> float | None:
    """What the shop's gauge may be off, in a unit; None where the shop does not say, or of another kind."""
    info = world.settled.shop.info
    stated = info.gauges.get(gauge) if info is not None else None
    own = unit(name)
    return stated.nominal / own.factor if stated is not None and stated.dimension == own.dimension else None


def _doubt(world: BuildWorld, rule: BoundRule, measured: tuple[str, ...]) -> float | None:
    """What all gauges together leave a value that is worked out from the pieces, in its rule's unit.

    Combined as `compat.checking.conformity` does. None where a gauge is not known, or how much it weighs.
    """
    assert rule.measure is not None
    try:
        value = rule.measure.run(world)
    except Absent:
        return None
    if not isinstance(value, Number):
        return None
    slopes: Mapping[str, float] = value.g or {}
    alone = rule.measure.tree[0] == "spec"
    weights: dict[str, float] = {}
    half: dict[str, float] = {}
    for spec in measured:
        slope = 1.0 if alone else slopes.get(spec)
        position, _, name = spec.partition(".")
        kind = world.settled.shop.kinds[position][name]
        off = _own_doubt(world, kind.gauge, kind.unit)
        if slope is None or off is None:
            return None
        leaf = gauge_leaf(kind.gauge, spec, 1)
        weights[leaf], half[leaf] = slope, off * unit(kind.unit).factor
    return doubt_of(weights, half).gauge / unit(rule.unit).factor


def _of_the_bench(rule: BoundRule, world: BuildWorld) -> bool:
    """Whether a rule measures something that a gauge shows, and no estimate or model comes in between."""
    figures, _ = world.settled.book.rests_on(rule)
    return not figures and unit(rule.unit).dimension in (LENGTH, VOLUME, MASS)


def _gauge(world: BuildWorld, spec: str) -> str:
    position, _, name = spec.partition(".")
    return world.settled.shop.kinds[position][name].gauge if position in world.settled.shop.kinds else ""


def _specs(deciding: Deciding, expression: Expression) -> tuple[str, ...]:
    """Specs that a value hangs on, through figures."""
    known = deciding.world.settled.book.figures
    found: dict[str, None] = {}
    seen: set[str] = set()
    queue = sorted(deciding.names([expression]))
    for name in queue:
        if name in known:
            if name not in seen:
                seen.add(name)
                queue += sorted(deciding.names(deciding.made_of(name)))
        elif not name.startswith("goal."):
            found[name] = None
    return tuple(sorted(found))
