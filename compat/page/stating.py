"""Goal, setup and work of a build as fields of a form, and what such a form says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from compat.page.table import Typed
from compat.shop.builds import ReadyBuild
from compat.shop.models import Work
from compat.shop.words import DUTIES
from compat.shop.writing import as_said
from compat.words.wording import hours_text, plain

__all__ = [
    "GOAL",
    "Choice",
    "Done",
    "goal_fields",
    "said_goal",
    "said_setup",
    "said_values",
    "setup_fields",
    "work_fields",
    "works_done",
]

GOAL: Final[Mapping[str, tuple[str, str]]] = {
    "power": ("Power", "180 kW"),
    "at": ("Power at", "5800 rpm"),
    "torque": ("Torque", "305 N*m"),
    "torque_at": ("Torque at", "3800 rpm"),
    "boost": ("Boost", "100 kPa"),
    "rev_limit": ("Rev limit", "6500 rpm"),
    "fuel": ("Fuel", ""),
    "duty": ("Duty", ""),
    "altitude": ("Altitude", "300 m"),
    "air_temperature": ("Air temperature", "20 degC"),
}
"""Entries of a goal: what they are called on the page, and how one is written."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A field of a form."""

    name: str
    label: str
    value: str
    """As it stands, or as it was typed."""
    words: tuple[tuple[str, str], ...] = ()
    """What may be chosen: value and what it is called; none where anything may be typed."""
    hint: str = ""
    """How it is written, or what counts where nothing is."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """A piece of work that the build does, with its fields."""

    number: int
    work: Work
    hours: str
    fields: tuple[Choice, ...]


def goal_fields(ready: ReadyBuild, typed: Typed) -> list[Choice]:
    """The goal as fields."""
    said = as_said(ready.build.goal)
    whole = as_said(ready.goal)
    fields = []
    for entry, (label, example) in GOAL.items():
        words: tuple[tuple[str, str], ...] = ()
        if entry == "fuel":
            shop = ready.shop
            fuels = [(name, shop.parts[name].name) for name in shop.fillers.get("fuel", ())]
            words = (("", f"the factory's: {ready.variant.rated.fuel}"), *fuels)
        elif entry == "duty":
            words = tuple((duty, duty) for duty in DUTIES)
        usual = ready.goal.duty if entry == "duty" else ""
        value = typed.get(f"goal-{entry}", str(said.get(entry, usual)))
        fields.append(Choice(f"goal-{entry}", label, value, words, str(whole.get(entry, example))))
    return fields


def said_goal(form: Mapping[str, str]) -> dict[str, str]:
    """What a form says of the goal; what is left empty is not said."""
    said = {entry: form.get(f"goal-{entry}", "").strip() for entry in GOAL}
    return {entry: value for entry, value in said.items() if value}


def setup_fields(ready: ReadyBuild, typed: Typed) -> list[Choice]:
    """The setup as fields; nothing chosen is as the variant left the factory."""
    shop, said = ready.shop, as_said(ready.build.setup)
    factory = as_said(ready.variant.setup)
    fields = []
    for word, kind in shop.kinds.get("setup", {}).items():
        own = _text(factory[word]) if word in factory else "not stated"
        words: tuple[tuple[str, str], ...] = ()
        if kind.sort in ("choice", "flag"):
            choices = kind.words if kind.sort == "choice" else ("yes", "no")
            words = (("", f"as the factory: {own}"), *((one, plain(one)) for one in choices))
        name = f"setup-{word}"
        value = typed.get(name, _text(said[word]) if word in said else "")
        fields.append(Choice(name, plain(word).capitalize(), value, words, own, kind.meaning))
    return fields


def said_setup(ready: ReadyBuild, form: Mapping[str, str]) -> dict[str, Any]:
    """What a form says of the setup."""
    said: dict[str, Any] = {}
    for word, kind in ready.shop.kinds.get("setup", {}).items():
        value = form.get(f"setup-{word}", "").strip()
        if value:
            said[word] = [one.strip() for one in value.split(",")] if kind.sort == "list" else value
    return said


def works_done(ready: ReadyBuild, typed: Typed) -> list[Done]:
    """The work of the build in its order, each with its fields."""
    family = ready.shop.families[ready.variant.family]
    found = []
    for number, done in enumerate(ready.build.work):
        work = ready.shop.works[done.work]
        fields = tuple(work_fields(work, as_said(done.values), typed, f"work-{number}-"))
        found.append(Done(number, work, hours_text(work, family), fields))
    return found


def work_fields(work: Work, said: Mapping[str, Any], typed: Typed, start: str = "work-") -> Iterator[Choice]:
    """What a piece of work takes, as fields."""
    for name, parameter in work.takes.items():
        ends = [
            f"{word} {end}"
            for word, end in (("at least", parameter.at_least), ("at most", parameter.at_most))
            if end
        ]
        value = typed.get(f"{start}{name}", _text(said.get(name, "")))
        hint = parameter.default or f"in {parameter.unit}"
        yield Choice(f"{start}{name}", plain(name).capitalize(), value, (), hint, f"{', '.join(ends)}")


def said_values(work: Work, form: Mapping[str, str], start: str) -> dict[str, str]:
    """What a form states for a piece of work."""
    said = {name: form.get(f"{start}{name}", "").strip() for name in work.takes}
    return {name: value for name, value in said.items() if value}


def _text(value: Any) -> str:
    return (
        ", ".join(map(str, value)) if isinstance(value, Sequence) and not isinstance(value, str) else str(value)
    )
