"""The build as expressions see it: specs, goal and figures with their sensitivities, each computed once.

A world is filled as it is asked and never changes its answers: threads that ask it together may compute the
same answer twice, and get the same.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Set
from copy import copy
from dataclasses import replace
from functools import cached_property

from compat.checking.answers import Answers
from compat.checking.calls import Call, call_of
from compat.checking.feature_offers import FeatureOffers
from compat.checking.outcome import Outcome
from compat.checking.settle import Fitted, Settled, Specs, Touch
from compat.checking.spread import MODEL, Spread, spread_of, worst_of
from compat.record import record
from compat.rulebook.expressions import Expression
from compat.rulebook.rulebook import BoundFigure
from compat.rulebook.scope import GOAL
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.shop.builds import ReadyBuild
from compat.shop.models import Goal
from compat.shop.pieces import Measured
from compat.shop.specs import Spec
from compat.units import Band

__all__ = ["MODEL", "BuildWorld", "Spread", "WorkedOut"]


@record(slots=True)
class WorkedOut:
    """Figures that were computed, with the half widths that they rest on."""

    figures: Mapping[str, Value | Absent]
    half: Mapping[str, float]
    rough: bool
    """Whether what they may be off was left out."""

    def without(self, moved: Set[str]) -> WorkedOut:
        """Those of them that nothing has moved."""
        if moved.isdisjoint(self.figures):
            return self
        still = {name: value for name, value in self.figures.items() if name not in moved}
        return WorkedOut(still, self.half, self.rough)


class BuildWorld:
    """Answers what an expression asks of one settled build; keeps every answer."""

    def __init__(self, settled: Settled, answers: Answers | None = None) -> None:
        self.settled = settled
        self.answers = Answers() if answers is None else answers
        """What formulas said before, kept by whoever checks many builds."""
        self.half: dict[str, float] = {}
        """Half width of every toleranced leaf met so far, by its name."""
        self.joints: Mapping[str, Touch] = {}
        """Every joint that the build opens, with the reason."""
        self.working: tuple[Outcome, ...] = ()
        """What came of its work: the order it is done in, and the bounds of what it takes."""
        self._specs: dict[tuple[str, str], Value] = {}
        self._figures: dict[str, Value | Absent] = {}
        self._calls: dict[str, Call | Missing] = {}
        """Formulas by what they were asked with: the words, which are one object each, and not their values."""
        self._goals: dict[str, Value] = {}
        self._offered: dict[str, int] = {}
        self.works = frozenset(work.work for work, _ in settled.works) | frozenset(settled.forced)
        """Work of the build, chosen or dragged in."""
        self._parameters: dict[str, Value] = {}
        self.gauged: dict[tuple[str, str], Measured] = {}
        """Specs that were measured piece by piece."""
        self.beside: dict[Hashable, BuildWorld] = {}
        """Worlds that hold pieces of it, by which: what one rule works out there the next need not."""
        self._before: BuildWorld | None = None
        self._moved: Set[str] = frozenset()
        self.rough = False
        """Whether it is asked for middle values only: what figures may be off is left out."""
        family = settled.shop.families[settled.variant.family]
        self._family: dict[str, float | str] = {str(name): float(n) for name, n in family.numbers.items()}
        self._family["firing_order"] = family.firing_order

    # what the language asks

    def spec(self, position: str, name: str) -> Value:
        """Value of a spec at the middle of its tolerance; raises Absent when the position is empty."""
        key = (position, name)
        value = self._specs.get(key)
        if value is None:
            value = self._specs[key] = self._read_spec(position, name)
        return value

    def _read_spec(self, position: str, name: str) -> Value:
        spec = self.settled.specs.at(position, name)
        if spec is None:
            if position not in self.settled.fitted and position != "setup":
                raise Absent(position)
            return Missing(frozenset({f"{position}.{name}"}))
        if isinstance(spec.value, Band):
            leaf = self.settled.book.leaf((position, name), spec.value)
            if leaf.half:
                self.half[leaf.name] = leaf.half
            return leaf.number
        return spec.value

    def leaf(self, name: str, band: Band) -> Number:
        """A number that carries its own tolerance."""
        if band.low == band.high:
            return Number(band.nominal)
        self.half[name] = band.half_width
        return Number(band.middle, {name: 1.0})

    def goal(self, name: str) -> Value:
        """One entry of the goal."""
        if name not in self._goals:
            goal = self.settled.goal
            if name == "duty":
                self._goals[name] = goal.duty
            else:
                band = getattr(goal, GOAL[name][1])
                self._goals[name] = (
                    Missing(frozenset({f"goal.{name}"})) if band is None else self.leaf(f"goal.{name}", band)
                )
        return self._goals[name]

    def parameter(self, name: str) -> Value:
        """A value that the piece of work in hand takes."""
        return self._parameters.get(name, Missing(frozenset({name})))

    def engine(self, name: str) -> float | str:
        """A number of the family, or its firing order."""
        return self._family[name]

    def fitted(self, position: str) -> bool:
        """Whether the position is filled."""
        return position in self.settled.fitted

    def count(self, position: str) -> int:
        """How many pieces stand in the position."""
        if position not in self.settled.fitted:
            return 0
        return self.settled.count(position)

    def changed(self, position: str) -> bool:
        """Whether the part is another than the variant's."""
        return self.settled.changed(position)

    def kept(self, position: str) -> bool:
        """Whether pieces that ran before stay: neither bought for this build nor renewed in it."""
        entry = self.settled.fitted.get(position)
        return entry is not None and not entry.bought and not self.settled.renews(position)

    def measured(self, position: str, name: str) -> bool:
        """Whether the value of a spec was measured, on this build or for its part's card."""
        spec = self.settled.specs.at(position, name)
        return spec is not None and spec.basis == "measured"

    def done(self, work: str) -> bool:
        """Whether the work is part of the build, chosen or dragged in."""
        return work in self.works

    def opened(self, joint: str) -> bool:
        """Whether the build opens the joint."""
        return joint in self.joints

    def sister(self, position: str) -> str:
        """Variant the fitted part comes from, when not the build's own."""
        entry = self.settled.fitted.get(position)
        return entry.sister if entry else ""

    def offered(self, feature: str) -> int:
        """Units of a feature that the build offers."""
        if feature not in self._offered:
            self._offered[feature] = 0  # a condition that asks for its own feature finds none
            self._offered[feature] = sum(
                offer.units(pieces)
                for kind, name, number, offer in self._feature_offers.of(feature)
                if self.holds(kind, name, "offers", number)
                for pieces in self._feature_offers.pieces[kind, name]
            )
        return self._offered[feature]

    @cached_property
    def _feature_offers(self) -> FeatureOffers:
        return FeatureOffers(self.settled, self.works)

    def holds(self, kind: str, name: str, field: str, number: int) -> bool:
        """Whether a condition in a thing's file holds; one left undecided holds for all but offers."""
        condition = self.settled.book.conditions.get((kind, name, field, number))
        return condition is None or self.decide(condition, undecided=field != "offers")

    def decide(self, condition: Expression, *, undecided: bool) -> bool:
        """Whether a condition holds; not where it speaks of an empty position."""
        try:
            value = condition.run(self)
        except Absent:
            return False
        return undecided if isinstance(value, Missing) else value is True

    # figures

    def figure(self, name: str) -> Value:
        """Value of a derived figure with its sensitivities."""
        value = self._figures.get(name)
        if value is None and self._before is not None and name not in self._moved:
            value = self._before.figure_or_absent(name)
            self._figures[name] = value
            if isinstance(value, Number) and value.g and not value.g.keys() <= self.half.keys():
                self.half |= {leaf: self._before.half[leaf] for leaf in value.g}  # worked out there just now
        if value is None:
            try:
                value = self._compute(self.settled.book.figures[name])
            except Absent as absent:
                value = Absent(absent.position)  # one that was raised holds on to all that it came through
            self._figures[name] = value
        if isinstance(value, Absent):
            raise Absent(value.position)
        return value

    def figure_or_absent(self, name: str) -> Value | Absent:
        """A figure, or which empty position it names."""
        try:
            return self.figure(name)
        except Absent as absent:
            return Absent(absent.position)

    def taken(self, name: str) -> Missing | None:
        """Why a figure is taken as its entry says, in place of what it is made of; None where it is not."""
        figure = self.settled.book.figures[name]
        try:
            value = self._own(figure) if figure.unstated is not None else None
        except Absent:
            return None
        return value if isinstance(value, Missing) else None

    def asked(self) -> list[str]:
        """Figures asked for so far, by name."""
        return sorted(self._figures.copy())

    def _own(self, figure: BoundFigure) -> Value:
        """What a figure's expression or formula gives."""
        return figure.expression.run(self) if figure.expression is not None else self._formula(figure)

    def _compute(self, figure: BoundFigure) -> Value:
        value = self._own(figure)
        if figure.unstated is not None and isinstance(value, Missing):
            value = figure.unstated.run(self)
        scatter = figure.figure.scatter
        if scatter and isinstance(value, Number):
            return self._scattered(value, scatter, f"{MODEL}of {figure.figure.figure}")
        return value

    def _scattered(self, value: Number, relative: float, leaf: str) -> Number:
        # one relative deviation for every figure of the same model: it errs the same way wherever it is used
        self.half[leaf] = relative
        g = dict(value.g or {})
        g[leaf] = g.get(leaf, 0.0) + value.x
        return Number(value.x, g)

    def _formula(self, figure: BoundFigure) -> Value:
        call = self._asked(figure)
        if isinstance(call, Missing):
            return call
        formula = call.formula
        result = call.result(figure.result, self.worst, rough=self.rough)
        if isinstance(result, Number) and (spread := formula.scatter.get(figure.result)):
            result = self._scattered(
                result, spread, f"{MODEL}{formula.name}{'.' * bool(figure.result)}{figure.result}"
            )
        return result

    def _asked(self, figure: BoundFigure) -> Call | Missing:
        """What a figure asks a formula: one call for all that ask it with the same words."""
        formula = figure.formula
        assert formula is not None
        call = self._calls.get(figure.asks)
        if call is None:
            call = self._calls[figure.asks] = call_of(self.answers, formula, figure.arguments, self)
        return call

    # tolerance

    def spread(self, value: Number) -> Spread:
        """How far the value may lie from its middle, each way of looking at it."""
        return spread_of(value, self.half)

    def worst(self, value: Number) -> float:
        """Worst-case half width: sum of |sensitivity| x tolerance (JCGM 100, 5.1.3 taken linearly)."""
        return worst_of(value, self.half)

    def likely(self, value: Number) -> float:
        """Root-sum-square half width (JCGM 100, 5.1.2)."""
        return self.spread(value).likely

    def contributor(self, value: Number) -> str:
        """Leaf that contributes most to the tolerance."""
        return self.spread(value).most

    # work

    def under(self, ready: ReadyBuild) -> BuildWorld:
        """The same engine under another build's name; what is known of one is known of the other."""
        other = copy(self)
        other.settled = replace(self.settled, ready=ready)
        return other

    def trying(
        self,
        fit: Mapping[str, Fitted],
        moved: Set[str],
        works: frozenset[str] = frozenset(),
        *,
        rough: bool = False,
    ) -> BuildWorld:
        """The same engine with other parts in some positions, more work said to be done, and nothing else anew.

        For one question at a time: work, boxes, joints and offers stay as they are, so only questions that
        rest on none of these get the answer of a whole build (`compat.checking.asking` knows which).
        """
        settled = self.settled
        fitted, specs = dict(settled.fitted), dict(settled.specs.by_position)
        for position, entry in fit.items():
            fitted[position] = entry
            specs[position] = settled.shop.stated(position, entry.part.part)
        other = copy(self)
        other.beside = {}
        other.settled = Settled(settled.shop, settled.book, settled.ready, fitted, Specs(specs))
        other.half = dict(self.half)
        other._specs, other._figures, other._calls, other._offered = {}, {}, {}, {}
        other.works = self.works | works
        if self.gauged:  # what was measured was measured on the part that stood there
            other.gauged = {key: spec for key, spec in self.gauged.items() if key[0] not in fit}
        other._before, other._moved = self, moved
        other.rough = rough
        other.__dict__.pop("_feature_offers", None)
        return other

    def holding(
        self, specs: Mapping[tuple[str, str], Value], half: Mapping[str, float], moved: Set[str]
    ) -> BuildWorld:
        """The same engine with other values of some specs, for one question, and which figures they move."""
        other = copy(self)
        other.beside = {}
        other.half = {**self.half, **half}
        other._specs = {**self._specs, **specs}
        other._figures, other._calls = {}, {}
        other._before, other._moved = self, moved
        other.gauged = {}
        return other

    def aiming(self, goal: Goal, moved: Set[str]) -> BuildWorld:
        """The same engine with other numbers in its goal, for one question, and which figures they move.

        Parts, work, joints and offers stay as they are: what a whole build would settle otherwise is not seen.
        """
        other = copy(self)
        other.beside = {}
        other.settled = replace(self.settled, ready=replace(self.settled.ready, goal=goal))
        other.half = dict(self.half)
        other._goals, other._figures, other._calls = {}, {}, {}
        other._before, other._moved = self, moved
        return other

    def take_over(self, before: BuildWorld, moved: Set[str]) -> None:
        """Take over every figure that another build computed, but those whose grounds have moved."""
        self._calls.clear()
        self.beside.clear()
        self._figures = {name: value for name, value in before._figures.copy().items() if name not in moved}
        self.half = before.half.copy() | self.half

    def worked_out(self, names: Iterable[str]) -> WorkedOut:
        """Some figures, so far as they were computed."""
        found = ((name, self._figures.get(name)) for name in names)
        figures = {name: value for name, value in found if value is not None}
        numbers = [value for value in figures.values() if isinstance(value, Number)]
        half = {leaf: self.half[leaf] for number in numbers for leaf in number.g or ()}
        return WorkedOut(figures, half, self.rough)

    def take_beside(self, other: WorkedOut) -> None:
        """Take over figures that were computed beside it."""
        self._figures |= other.figures
        self.half |= other.half

    def take(self, work: str, values: Mapping[str, Band]) -> None:
        """Take a piece of work in hand, with what the build states for it."""
        self._parameters = {name: self.leaf(f"{work}.{name}", band) for name, band in values.items()}

    def state(self, position: str, name: str, spec: Spec | None) -> None:
        """State a spec anew, None: it is no longer known; what was worked out of the old one is forgotten."""
        self.settled.specs.set(position, name, spec)
        self._specs.pop((position, name), None)
        self.half.pop(f"{position}.{name}", None)
        self._figures.clear()
        self._calls.clear()
        self.beside.clear()
