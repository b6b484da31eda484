"""What every picture is made of: numbers of the report and figures of the check, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from compat.checking.check import Checked
from compat.rulebook.values import Absent, Missing, Number, Value
from compat.units import preferred, unit
from compat.words.report import Finding, Report
from compat.words.telling import Teller
from compat.words.wording import plain, told

__all__ = ["Amount", "Listing", "Nothing", "Source", "axis", "label", "percent", "rough", "written"]


class Nothing(Exception):
    """There is nothing to draw; the message says why."""


@dataclass(frozen=True, slots=True)
class Amount:
    """One number of a picture, in the reader's unit; or why there is none."""

    name: str
    value: float | None = None
    unit: str = ""
    half: float = 0.0
    gap: str = ""

    def __str__(self) -> str:
        """The number with the digits it is worth, and its unit."""
        return written(self.value, self.unit, self.half) if self.value is not None else f"not known: {self.gap}"


@dataclass(frozen=True, slots=True)
class Listing:
    """Numbers of a picture as a table of texts, for who reads rather than looks."""

    heading: str
    titles: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]


def written(value: float, name: str = "", half: float = 0.0) -> str:
    """A number that is in a reader's unit already, with its unit.

    >>> written(132.4, "kN"), written(12.345, "psi"), written(151664.0, "rpm", 4730.0)
    ('132.4 kN', '12.3 psi', '151700 rpm')
    """
    own = unit(name)
    return told(own.to_si(value), name, half * own.factor)


def rough(value: float, name: str = "") -> str:
    """The same for a number that a model may be off by a few per cent: no digit that means nothing.

    >>> rough(1293.5, "psi"), rough(46.36, "kN")
    ('1290 psi', '46.4 kN')
    """
    return written(value, name, 0.1 * abs(value))


def label(name: str) -> str:
    """A unit as it is written for a reader.

    >>> label("N*m"), label("delta_degF"), label("")
    ('N*m', 'degF (difference)', '')
    """
    return written(1.0, name).partition(" ")[2]


def axis(name: str, wanted: str) -> str:
    """The name of an axis with its unit.

    >>> axis("Engine speed", "rpm"), axis("Pressure ratio", "")
    ('Engine speed [rpm]', 'Pressure ratio')
    """
    return f"{name} [{label(wanted)}]" if label(wanted) else name


def percent(share: float | None, asked: str = "-") -> str:
    """A share in whole hundredths.

    >>> percent(0.254), percent(None)
    ('25 %', '-')
    """
    return asked if share is None else f"{round(100 * share) + 0} %"


class Source:
    """One checked build as pictures read it, in one system of units.

    Parameters
    ----------
    checked : Checked
        The build, checked.
    system : str
        ``metric`` or ``imperial``.
    """

    def __init__(self, checked: Checked, system: str = "metric") -> None:
        self.checked = checked
        self.world = checked.world
        self.shop = checked.world.settled.shop
        self.book = checked.world.settled.book
        self.system = system

    @cached_property
    def report(self) -> Report:
        """The report, from which findings and their numbers come."""
        from compat.words.reporting import report

        return report(self.checked, self.system)

    @cached_property
    def loads(self) -> Sequence[Finding]:
        """Of the report what holds a load against a capacity."""
        from compat.words.reporting import bears_load, findings_of

        return findings_of(self.checked, bears_load, self.system)

    @property
    def build(self) -> str:
        """Id of the build."""
        return self.world.settled.build.build

    @property
    def subject(self) -> str:
        """The build by its name and id."""
        name = self.world.settled.build.name
        return f"{name} ({self.build})" if name and name != self.build else self.build

    def unit(self, metric: str) -> str:
        """The reader's unit in place of a metric one."""
        return preferred("" if metric == "number" else metric, self.system)

    def given(self, values: Iterable[float], metric: str) -> tuple[float, ...]:
        """SI values in the reader's unit."""
        own = unit(self.unit(metric))
        return tuple(own.from_si(value) for value in values)

    def amount(self, value: Value | float, metric: str, name: str) -> Amount:
        """A value as expressions give it [SI], in the reader's unit."""
        own = unit(self.unit(metric))
        if isinstance(value, float | int):
            return Amount(name, own.from_si(value), self.unit(metric))
        if isinstance(value, Number):
            return Amount(name, own.from_si(value.x), self.unit(metric), self.world.worst(value) / own.factor)
        gap = Teller(self.world, self.system).gap(value) if isinstance(value, Missing) else "not a number"
        return Amount(name, unit=self.unit(metric), gap=gap)

    def figure(self, name: str) -> Amount:
        """A figure of the rulebook; the shop's rulebook may lack it, and the build what it speaks of."""
        bound = self.book.figures.get(name)
        if bound is None:
            return Amount(plain(name), gap=f"the rulebook has no figure {name}")
        title = bound.figure.name or plain(name)
        try:
            return self.amount(self.world.figure(name), bound.figure.unit, title)
        except Absent as absent:
            return Amount(title, gap=f"no {plain(absent.position)} is fitted")

    def si(self, name: str) -> float | None:
        """A figure of the rulebook in SI, where it is a number."""
        if name not in self.book.figures:
            return None
        value = self.world.figure_or_absent(name)
        return value.x if isinstance(value, Number) else None

    def goal(self, name: str, metric: str, title: str) -> Amount:
        """An entry of the goal."""
        return self.amount(self.world.goal(name), metric, title)

    def arguments(self, figure: str) -> dict[str, float]:
        """What the formula of a figure is given on this build [SI].

        Raises
        ------
        Nothing
            When the rulebook has no such figure, or something that it takes is not known.
        """
        bound = self.book.figures.get(figure)
        if bound is None or bound.formula is None:
            raise Nothing(f"the rulebook makes no figure {figure} by a formula, and the picture rests on it")
        given: dict[str, float] = {}
        for key, expression in bound.arguments.items():
            try:
                value = expression.run(self.world)
            except Absent as absent:
                if key in bound.formula.optional:
                    continue
                raise Nothing(f"no {plain(absent.position)} is fitted, and the picture rests on it") from None
            if isinstance(value, Missing):
                raise Nothing(f"{plain(key)} is not known; {Teller(self.world, self.system).gap(value)}")
            given[key] = value.x if isinstance(value, Number) else value  # type: ignore[assignment]
        return given
