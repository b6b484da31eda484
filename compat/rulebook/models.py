"""A rule and a figure as a person writes them."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, WithJsonSchema

from compat.shop.fields import DUTIES, Id, Name, Remedy
from compat.shop.models import Thing
from compat.shop.source import nearest

__all__ = ["KEYS", "VERDICTS", "Figure", "NeedOf", "Rule", "RuleKind", "Verdict"]

Verdict = Literal["conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok"]
VERDICTS: tuple[Verdict, ...] = ("conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok")
"""Worst first."""

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
Text = Annotated[str, Field(max_length=2000)]


class NeedOf(BaseModel):
    """What a need rule asks for: a feature, a piece of work, or a filled position."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)
    feature: Name | None = None
    work: Id | None = None
    position: Name | None = None
    count: Text | None = None
    matching: dict[str, str] = Field(default_factory=dict, alias="with")

    def model_post_init(self, _: Any) -> None:
        """Hold that exactly one thing is needed."""
        if sum(entry is not None for entry in (self.feature, self.work, self.position)) != 1:
            raise ValueError("says one of 'feature', 'work' and 'position'")


def _pairs(raw: Any) -> Any:
    pairs = [raw] if isinstance(raw, list) and raw and all(isinstance(entry, str) for entry in raw) else raw
    if not isinstance(pairs, list) or any(not isinstance(pair, list) or len(pair) != 2 for pair in pairs):
        raise ValueError("wants pairs: [[piston.pin_diameter, rod.small_end_bore], ...]")
    return pairs


def _share(raw: Any) -> float:
    try:
        share = float(raw)
    except (TypeError, ValueError):
        share = math.nan
    if not math.isfinite(share):
        raise ValueError("wants a number, or a number for each duty")
    if not -0.9 <= share <= 100:
        raise ValueError(f"must be between -0.9 and 100, not {raw}")
    return share


def _headroom(raw: Any) -> float | dict[str, float]:
    if not isinstance(raw, dict):
        return _share(raw)
    for duty in raw:
        if duty not in DUTIES:
            raise ValueError(f"'{duty}' is not one of {', '.join(DUTIES)}{nearest(duty, DUTIES)}")
    return {duty: _share(share) for duty, share in raw.items()}


_SHARE = {"type": "number", "minimum": -0.9, "maximum": 100}
Headroom = Annotated[
    float | dict[str, float],
    PlainValidator(_headroom),
    WithJsonSchema(
        {
            "description": "capacity / load - 1 that is asked, for every duty or each",
            "anyOf": [
                _SHARE,
                {
                    "type": "object",
                    "properties": dict.fromkeys(DUTIES, _SHARE),
                    "required": [duty for duty in DUTIES if duty != "sprint"],
                    "additionalProperties": False,
                },
            ],
        }
    ),
]


class Rule(Thing):
    """A statement that must hold between positions."""

    kind = "rule"
    rule: Id
    title: Annotated[str, Field(min_length=3, max_length=120)]
    where: Text | None = None
    measure: Text | None = None
    at_least: Text | None = None
    at_most: Text | None = None
    below: Outcome | None = None
    above: Outcome | None = None
    unit: str | None = None
    match: Annotated[
        tuple[tuple[Text, Text], ...],
        BeforeValidator(_pairs),
        WithJsonSchema({"type": "array", "items": {"type": ["string", "array"]}}),
    ] = ()
    within: Text | None = None
    load: Text | None = None
    capacity: Text | None = None
    headroom: Headroom | None = None
    need: NeedOf | None = None
    renew: Name | None = None
    never: Text | None = None
    note: Text | None = None
    otherwise: Outcome | None = Field(None, alias="else")
    remedies: tuple[Remedy, ...] = ()
    why: Annotated[str, Field(min_length=3)]
    source: Annotated[str, Field(min_length=3)]

    def model_post_init(self, _: Any) -> None:
        """Hold that the rule is of one kind and has only what that kind takes."""
        given = {name for name in KEYS if getattr(self, name) not in (None, ())}
        if len(given) != 1:
            named = ", ".join(sorted(given)) or "none of them"
            raise ValueError(f"has one of {', '.join(KEYS)}; this one has {named}")
        for name in set().union(*ALLOWED.values()) - ALLOWED[self.sort]:
            if getattr(self, name) not in (None, ()):
                raise ValueError(f"'{name}' does not belong in a rule of kind {self.sort}")
        if self.sort == "limits" and self.at_least is None and self.at_most is None:
            raise ValueError("a limits rule needs 'at_least' or 'at_most'")
        if self.sort == "load" and (self.capacity is None or self.headroom is None):
            raise ValueError("a load rule needs 'capacity' and 'headroom'")
        if isinstance(self.headroom, dict) and (
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

    def headroom_for(self, duty: str) -> float:
        """Headroom that a duty asks for; a sprint asks what a track does unless it says otherwise."""
        if isinstance(self.headroom, dict):
            return self.headroom.get(duty, self.headroom["track"])
        return self.headroom or 0.0


class Figure(Thing):
    """A derived figure: an expression, or a formula bound to specs."""

    kind = "figure"
    figure: Name
    name: str = ""
    unit: str
    is_: Text | None = Field(None, alias="is")
    formula: str | None = None
    takes: dict[Name, Text] = Field(default_factory=dict)
    basis: Literal["estimate"] | None = None
    scatter: Annotated[float, Field(ge=0, le=2)] = 0.0
    source: str = ""
    note: str = ""
    table: bool = False

    def model_post_init(self, _: Any) -> None:
        """Hold that the figure is an expression or a formula, not both."""
        if (self.is_ is None) == (self.formula is None):
            raise ValueError("says either 'is' or 'formula'")
        if self.takes and self.formula is None:
            raise ValueError("'takes' belongs to a formula")
