"""A rulebook read, compiled and checked, and the graph of what rests on what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, fields
from functools import cached_property
from itertools import chain
from operator import attrgetter
from types import MappingProxyType
from typing import TYPE_CHECKING

from compat.engineering import Formula
from compat.record import record
from compat.rulebook.expressions import Expression
from compat.rulebook.influence import Influence, influence
from compat.rulebook.models import Figure, Rule
from compat.rulebook.trees import Names
from compat.rulebook.values import Number
from compat.shop.entry import nothing
from compat.shop.graph import Edge, Key, digraph
from compat.shop.shop import Spots
from compat.shop.source import Spot
from compat.shop.specs import SpecValue
from compat.units import Band, Dimension

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["BoundChange", "BoundFigure", "BoundRule", "Condition", "Limit", "Rulebook", "WorkBound"]

Condition = tuple[str, str, str, int]
"""Where a condition stands: kind and id of the thing, its field, and the index in it."""


@record
class Limit:
    """A limit of a rule: a fixed band or an expression."""

    text: str
    band: Band | None = None
    expression: Expression | None = None

    @cached_property
    def fixed(self) -> Number | None:
        """The limit as a number when it is a fixed one."""
        return Number(self.band.nominal) if self.band else None


@record
class BoundFigure:
    """A figure with its expression, or its formula and what the formula takes."""

    figure: Figure
    dimension: Dimension
    expression: Expression | None = None
    formula: Formula | None = None
    result: str = ""
    arguments: Mapping[str, Expression] = field(default_factory=nothing)
    unstated: Expression | None = None
    """What it is taken as where something that it rests on is not stated."""

    def expressions(self) -> Iterable[Expression]:
        """Every expression of the figure."""
        return (*self.own, self.unstated) if self.unstated else self.own

    @cached_property
    def asks(self) -> str:
        """What it asks its formula with: one word for all figures that ask with the same expressions."""
        formula = "" if self.formula is None else self.formula.name
        return " ".join([formula, *(f"{name}:{id(entry)}" for name, entry in self.arguments.items())])

    @property
    def own(self) -> tuple[Expression, ...]:
        """What the figure is made of where all is stated."""
        return (self.expression,) if self.expression else tuple(self.arguments.values())


@record
class BoundRule:
    """A rule with its expressions compiled."""

    rule: Rule
    where: Expression | None = None
    measure: Expression | None = None
    at_least: Limit | None = None
    at_most: Limit | None = None
    pairs: tuple[tuple[Expression, Expression], ...] = ()
    within: float | None = None
    load: Expression | None = None
    capacity: Expression | None = None
    count: Expression | None = None
    matching: Mapping[str, Expression] = field(default_factory=nothing)
    """What a need must agree on, where a spec says it."""
    never: Expression | None = None
    unit: str = ""

    def expressions(self, conditions: bool = True) -> Iterable[Expression]:
        """Every expression of the rule; without the condition when asked."""
        if self.where and conditions:
            yield self.where
        for pair in self.pairs:
            yield from pair
        for entry in (self.measure, self.load, self.capacity, self.count, self.never):
            if entry:
                yield entry
        yield from self.matching.values()
        for limit in (self.at_least, self.at_most):
            if limit and limit.expression:
                yield limit.expression


@record
class WorkBound(BoundRule):
    """The bounds of what a piece of work takes, in words of its own: what it takes, and the part in hand."""


@record
class BoundChange:
    """What a piece of work does to one spec."""

    position: str
    spec: str
    adds: bool
    expression: Expression | None
    value: SpecValue | None
    tolerance: tuple[float, float] | None


@record(slots=True)
class Grounds:
    """What the outcome of a rule can hang on, through all its figures."""

    specs: tuple[tuple[str, str], ...]
    places: tuple[str, ...]
    """Positions of the specs, and those named themselves."""
    positions: tuple[str, ...]
    """Positions named themselves: whether they are filled, how often, with what."""
    works: tuple[str, ...]
    joints: tuple[str, ...]
    features: tuple[str, ...]
    goal: bool
    """Whether it hangs on the goal; a load does, by the headroom that the duty asks."""


@record(slots=True)
class Leaf:
    """A stated quantity as the language sees it: its band, its name, the number, and the half width."""

    band: Band
    name: str
    number: Number
    half: float


@record
class Rulebook:
    """All rules and figures, checked against a shop; never changed.

    What it works out of them is kept in tables that are filled as they are first asked for. Whoever fills
    them fills in the same, so threads need not wait for each other.
    """

    rules: Mapping[str, BoundRule] = field(default_factory=nothing)
    figures: Mapping[str, BoundFigure] = field(default_factory=nothing)
    conditions: Mapping[Condition, Expression] = field(default_factory=nothing)
    changes: Mapping[str, tuple[BoundChange, ...]] = field(default_factory=nothing)
    bounds: Mapping[str, Mapping[str, WorkBound]] = field(default_factory=nothing)
    """By work, the bounds of what it takes: for each parameter that has any, as a rule of limits."""
    nodes: Mapping[tuple[str, str], Spots] = field(default_factory=nothing, compare=False, repr=False)
    """Where each rule and figure was written."""
    _reach: dict[str, Names] = field(default_factory=dict, init=False, repr=False, compare=False)
    _names: dict[str, Names] = field(default_factory=dict, init=False, repr=False, compare=False)
    _positions: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _about: dict[str, frozenset[str]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _estimates: dict[str, tuple[tuple[str, ...], tuple[tuple[str, str], ...]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _grounds: dict[str, Grounds] = field(default_factory=dict, init=False, repr=False, compare=False)
    _leaves: dict[tuple[str, str], Leaf] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Put every table behind a proxy that takes nothing."""
        for one in fields(self):
            table = getattr(self, one.name)
            if one.init and type(table) is dict:
                object.__setattr__(self, one.name, MappingProxyType(table))

    @cached_property
    def stamp(self) -> str:
        """What stands for every byte that it was read from; empty where that is not known."""
        return ""

    def leaf(self, key: tuple[str, str], band: Band) -> Leaf:
        """A spec as a number that carries its own tolerance; kept, since most builds state the same."""
        leaf = self._leaves.get(key)
        if leaf is None or leaf.band is not band:
            name = ".".join(key)
            number = Number(band.middle, {name: 1.0} if band.low != band.high else None)
            leaf = self._leaves[key] = Leaf(band, name, number, band.half_width)
        return leaf

    @cached_property
    def of_work(self) -> Mapping[str, WorkBound]:
        """The bounds of all work, by the id that their outcomes have."""
        return {rule.rule.rule: rule for bounds in self.bounds.values() for rule in bounds.values()}

    def asked(self, name: str) -> BoundRule:
        """The rule, or the bound of work, that an outcome names."""
        return self.rules[name] if name in self.rules else self.of_work[name]

    def spot(self, kind: str, name: str, *path: str | int) -> Spot:
        """Where a rule or figure, or something inside it, was written."""
        node = self.nodes.get((kind, name))
        return node.spot_of(path) if node else Spot("?")

    def reach(self, figure: str) -> Names:
        """Everything a figure rests on, through other figures."""
        if figure not in self._reach:
            self._reach[figure] = self.gather(self.figures[figure].expressions())
        return self._reach[figure]

    def gather(self, expressions: Iterable[Expression]) -> Names:
        """Everything that expressions name, directly and through figures, each once and in order."""
        entries = []
        for expression in expressions:
            entries.append(expression.names)
            entries += [self.reach(figure) for figure in dict.fromkeys(expression.names.figures)]
        return self._merge(entries)

    def takes_long(self, rule: BoundRule) -> bool:
        """Whether a rule rests on a formula that takes long."""
        return self.long_calls(rule) > 0

    def long_calls(self, rule: BoundRule) -> int:
        """How many formulas that take long a rule asks, each with its own words."""
        number = self.influence.number.get(rule.rule.rule)
        # the bound of a piece of work is a rule that no change is asked of
        return self.count_long(rule) if number is None else self.influence.long[number]

    def count_long(self, rule: BoundRule) -> int:
        """The same, counted anew."""
        figures = map(self.figures.__getitem__, self.gather(rule.expressions()).figures)
        return len({one.asks for one in figures if one.formula is not None and one.formula.heavy})

    @staticmethod
    def _merge(entries: Sequence[Names]) -> Names:
        merged = (dict.fromkeys(chain.from_iterable(map(head, entries))) for head in HEADS)
        return Names(*map(tuple, merged))

    def _named(self, rule: BoundRule) -> Names:
        """Everything a rule names beside its condition."""
        if rule.rule.rule not in self._names:
            self._names[rule.rule.rule] = self.gather(rule.expressions(conditions=False))
        return self._names[rule.rule.rule]

    def positions_of(self, rule: BoundRule) -> list[str]:
        """Positions that a rule speaks of."""
        if rule.rule.rule not in self._positions:
            self._positions[rule.rule.rule] = self._find_positions(rule)
        return list(self._positions[rule.rule.rule])

    def speaks_of(self, rule: BoundRule) -> frozenset[str]:
        """Positions that a rule itself is about: those that it names, else those that its figures do."""
        name = rule.rule.rule
        if name not in self._about:
            self._about[name] = self._find_about(rule)
        return self._about[name]

    def _find_about(self, rule: BoundRule) -> frozenset[str]:
        need = rule.rule.need.position if rule.rule.need is not None else None
        expressions, seen = list(rule.expressions()), set[str]()
        while True:
            names = self._merge([expression.names for expression in expressions])
            found = {*(position for position, _ in names.specs), *names.positions} - {"setup"}
            if need is not None:
                found.add(need)
            figures = [figure for figure in names.figures if figure not in seen]
            if found or not figures:
                return frozenset(found)
            seen.update(figures)
            expressions = [each for figure in figures for each in self.figures[figure].expressions()]

    def loaded(self, rule: BoundRule) -> Iterator[str]:
        """Positions that a load is about, nearest first: of what bears it, then of the load itself."""
        for expression in (rule.capacity, rule.load):
            ahead = [expression] if expression is not None else []
            while ahead:
                for each in ahead:
                    yield from (position for position, _ in each.names.specs)
                    yield from each.names.positions
                figures = [self.figures[name] for each in ahead for name in each.names.figures]
                ahead = [below for figure in figures for below in figure.own]

    def grounds(self, rule: BoundRule) -> Grounds:
        """Everything that the outcome of a rule can hang on, its condition included."""
        name = rule.rule.rule
        if name not in self._grounds:
            found = self._named(rule)
            if rule.where:
                found = self._merge([self.gather([rule.where]), found])
            places = dict.fromkeys([*found.positions, *(position for position, _ in found.specs)])
            self._grounds[name] = Grounds(
                specs=found.specs,
                places=tuple(places),
                positions=found.positions,
                works=found.works,
                joints=found.joints,
                features=found.features,
                goal=bool(found.goals) or rule.rule.sort == "load",
            )
        return self._grounds[name]

    def rests_on(self, rule: BoundRule) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
        """Figures marked as estimates, and specs, that a rule's numbers rest on."""
        if rule.rule.rule not in self._estimates:
            names = self._named(rule)
            figures = tuple(n for n in names.figures if self.figures[n].figure.basis == "estimate")
            self._estimates[rule.rule.rule] = (figures, names.specs)
        return self._estimates[rule.rule.rule]

    def _find_positions(self, rule: BoundRule) -> tuple[str, ...]:
        names = self._named(rule)
        found = [*(position for position, _ in names.specs), *names.positions]
        if not found and rule.where:
            names = self.gather([rule.where])
            found = [*(position for position, _ in names.specs), *names.positions]
        return tuple(position for position in dict.fromkeys(found) if position != "setup")

    @cached_property
    def judged(self) -> Mapping[str, BoundRule]:
        """Rules that are judged each by itself."""
        return self._sorted[0]

    @cached_property
    def needs(self) -> Mapping[str, BoundRule]:
        """Rules that ask for something to be there."""
        return self._sorted[1]

    @cached_property
    def renews(self) -> Mapping[str, BoundRule]:
        """The rule that speaks of what a joint consumes, by the joint."""
        return self._sorted[2]

    @cached_property
    def _sorted(self) -> tuple[Mapping[str, BoundRule], Mapping[str, BoundRule], Mapping[str, BoundRule]]:
        """All rules, gone through once."""
        judged, needs, renews = dict[str, BoundRule](), dict[str, BoundRule](), dict[str, BoundRule]()
        for name, bound in self.rules.items():
            if bound.rule.renew:
                renews[bound.rule.renew] = bound
            elif bound.rule.sort == "need":
                needs[name] = bound
            else:
                judged[name] = bound
        return judged, needs, renews

    @cached_property
    def influence(self) -> Influence:
        """What rests on what: the grounds of rules and figures turned round."""
        return influence(self)

    def edges(self) -> Iterator[Edge]:
        """What every figure and rule rests on, in the words of its expressions."""
        for name, figure in self.figures.items():
            yield from _rests("figure", name, figure.expressions())
        for name, rule in self.rules.items():
            yield from _rests("rule", name, rule.expressions())

    @cached_property
    def graph(self) -> nx.MultiDiGraph[Key]:
        """Which specs, goal entries, figures and other things every figure and rule rests on."""
        return digraph(self.edges(), self.names())

    def names(self) -> dict[Key, str]:
        """Name of every rule and figure."""
        rules = {("rule", name): bound.rule.title for name, bound in self.rules.items()}
        return rules | {("figure", name): bound.figure.name or name for name, bound in self.figures.items()}


HEADS = tuple(attrgetter(one.name) for one in fields(Names))
"""Under which heads an expression names things."""

GROUNDS = (
    ("figures", "figure"),
    ("goals", "goal"),
    ("positions", "position"),
    ("features", "feature"),
    ("works", "work"),
    ("joints", "joint"),
)
"""Heads of names in an expression, and the kind of thing that each names."""


def _rests(kind: str, name: str, expressions: Iterable[Expression]) -> Iterator[Edge]:
    for expression in expressions:
        for position, spec in expression.names.specs:
            yield Edge(kind, name, "rests on", "spec", f"{position}.{spec}")
        for head, other in GROUNDS:
            for ground in getattr(expression.names, head):
                yield Edge(kind, name, "rests on", other, ground)
