"""A rule and a figure as a person writes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from compat.record import record
from compat.shop.entry import Entry, hold_reason, nothing
from compat.shop.models import Thing

if TYPE_CHECKING:
    from compat.rulebook.fields import (
        Basis,
        Estimated,
        Headroom,
        Id,
        Name,
        Pairs,
        Reason,
        Remedy,
        Scatter,
        Text,
        Title,
    )

__all__ = ["AGAINST", "KEYS", "VERDICTS", "Figure", "NeedOf", "Rule", "RuleKind", "Unstated", "Verdict"]

Verdict = Literal["conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok"]
VERDICTS: tuple[Verdict, ...] = ("conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok")
"""Worst first."""
AGAINST: tuple[Verdict, ...] = VERDICTS[:3]
"""What speaks against a build: it cannot go together, falls short, or lacks something."""

RuleKind = Literal["limits", "match", "load", "need", "renew", "never", "note"]

KEYS: dict[str, RuleKind] = {
    "measure": "limits",
    "match": "match",
    "load": "load",
    "need": "need",
    "renew": "renew",
    "never": "never",
    "note": "note",
}
"""The key that tells a rule's kind."""

DEFAULT_ELSE: dict[RuleKind, Verdict] = {
    "limits": "conflict",
    "match": "conflict",
    "load": "shortfall",
    "need": "missing",
    "renew": "missing",
    "never": "conflict",
    "note": "caution",
}

ALLOWED: dict[RuleKind, frozenset[str]] = {
    "limits": frozenset({"measure", "at_least", "at_most", "below", "above", "unit"}),
    "match": frozenset({"match", "within"}),
    "load": frozenset({"load", "capacity", "headroom", "unit"}),
    "need": frozenset({"need"}),
    "renew": frozenset({"renew"}),
    "never": frozenset({"never"}),
    "note": frozenset({"note"}),
}

Outcome = Literal["conflict", "shortfall", "missing", "measure", "caution"]
"""What a rule may come to when it does not hold."""


@record(kw_only=True)
class NeedOf(Entry):
    """What a need rule asks for: a feature, a piece of work, or a filled position."""

    feature: Name | None = None
    work: Id | None = None
    position: Name | None = None
    count: Text | None = None
    matching: Mapping[str, str] = field(default_factory=nothing, metadata={"written": "with"})

    def hold(self) -> None:
        """Hold that exactly one thing is needed."""
        if sum(entry is not None for entry in (self.feature, self.work, self.position)) != 1:
            raise ValueError("says one of 'feature', 'work' and 'position'")


@record(kw_only=True)
class Rule(Thing):
    """A statement that must hold between positions."""

    kind = "rule"
    rule: Id
    instead_of: Id | None = None
    """The rule of a set that this one stands for in this shop."""
    reason: Text = ""
    """Why it does; every report repeats it."""
    title: Title
    where: Text | None = None
    measure: Text | None = None
    at_least: Text | None = None
    at_most: Text | None = None
    below: Outcome | None = None
    above: Outcome | None = None
    match: Pairs = ()
    within: Text | None = None
    load: Text | None = None
    capacity: Text | None = None
    headroom: Headroom | None = None
    need: NeedOf | None = None
    renew: Name | None = None
    never: Text | None = None
    note: Text | None = None
    otherwise: Outcome | None = field(default=None, metadata={"written": "else"})
    decides: bool = False
    unit: str | None = None
    at: Name | None = None
    """The position whose parts must be in before the bench can take the measure itself."""
    gauge: Text | None = None
    """What it is measured with there."""
    remedies: tuple[Remedy, ...] = ()
    why: Reason
    source: Reason

    def hold(self) -> None:
        """Hold that the rule is of one kind and has only what that kind takes."""
        hold_reason(self.instead_of, self.reason)
        given = {name for name in KEYS if getattr(self, name) not in (None, ())}
        if len(given) != 1:
            named = ", ".join(sorted(given)) or "none of them"
            raise ValueError(f"has one of {', '.join(KEYS)}; this one has {named}")
        for name in set().union(*ALLOWED.values()) - ALLOWED[self.sort]:
            if getattr(self, name) not in (None, ()):
                raise ValueError(f"'{name}' does not belong in a rule of kind {self.sort}")
        if self.sort == "limits" and self.at_least is None and self.at_most is None:
            raise ValueError("a limits rule needs 'at_least' or 'at_most'")
        if self.at is not None and self.sort != "limits":
            raise ValueError("'at' says where something is measured; it belongs to limits")
        if self.gauge is not None and self.at is None:
            raise ValueError("'gauge' goes with 'at', where it is measured")
        if self.sort == "load" and (self.capacity is None or self.headroom is None):
            raise ValueError("a load rule needs 'capacity' and 'headroom'")
        if isinstance(self.headroom, Mapping) and (
            lacking := {"street", "track", "endurance"} - set(self.headroom)
        ):
            raise ValueError(f"'headroom' lacks {', '.join(sorted(lacking))}")

    @cached_property
    def sort(self) -> RuleKind:
        """The kind of rule."""
        return next(kind for key, kind in KEYS.items() if getattr(self, key) not in (None, ()))

    @property
    def fails_as(self) -> Verdict:
        """Verdict when the statement does not hold."""
        return self.otherwise or DEFAULT_ELSE[self.sort]

    @cached_property
    def worst(self) -> Verdict:
        """The worst verdict that it can come to, whatever the build."""
        return min((v for v in (self.fails_as, self.below, self.above) if v), key=VERDICTS.index)

    def headroom_for(self, duty: str) -> float:
        """Headroom that a duty asks for; a sprint asks what a track does unless it says otherwise."""
        if isinstance(self.headroom, Mapping):
            return self.headroom.get(duty, self.headroom["track"])
        return self.headroom or 0.0


@record(kw_only=True)
class Unstated(Entry):
    """What a figure is taken as where something that it rests on is not stated, and why that may be."""

    take: Text
    basis: Basis
    why: Reason


@record(kw_only=True)
class Figure(Thing):
    """A derived figure: an expression, or a formula bound to specs."""

    kind = "figure"
    figure: Name
    instead_of: Name | None = None
    """The figure of a set that this one stands for in this shop; they have one name."""
    reason: Text = ""
    """Why it does; every report repeats it."""
    name: str = ""
    unit: str
    table: bool = False
    is_: Text | None = field(default=None, metadata={"written": "is"})
    formula: str | None = None
    takes: Mapping[Name, Text] = field(default_factory=nothing)
    unstated: Unstated | None = None
    basis: Estimated | None = None
    scatter: Scatter = 0.0
    source: str = ""
    note: str = ""
    sheet: bool = False
    """Told on the bench sheet."""

    def hold(self) -> None:
        """Hold that the figure is an expression or a formula, not both."""
        hold_reason(self.instead_of, self.reason)
        if (self.is_ is None) == (self.formula is None):
            raise ValueError("says either 'is' or 'formula'")
        if self.takes and self.formula is None:
            raise ValueError("'takes' belongs to a formula")
