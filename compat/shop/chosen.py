"""What a build chooses: parts of a sister variant, work with its sizes, and what may be had instead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from compat.record import record
from compat.shop.entry import Entry, nothing

if TYPE_CHECKING:
    from compat.shop.fields import Id, LeftOut, Name, Pieces, Raw

__all__ = ["Option", "TakeFrom", "WorkDone"]


@record(kw_only=True)
class TakeFrom(Entry):
    """Parts taken from a sister variant, position by position."""

    variant: Id
    positions: tuple[Name, ...]


@record(kw_only=True)
class WorkDone(Entry):
    """A piece of work chosen for a build, with what it takes (a depth, a size)."""

    only = "work"
    rest = "values"
    work: Id
    values: Mapping[str, Raw] = field(default_factory=nothing)
    """What the build states for the work."""


@record(kw_only=True)
class Option(Entry):
    """A change of a build that the customer may have instead, checked and priced beside it.

    What it fits or leaves out goes before what the build says of that place; its work is put in where it
    belongs.
    """

    name: str
    fit: Mapping[Name, Id] = field(default_factory=nothing)
    keep: tuple[Name, ...] = ()
    """Positions in which the variant's own part stays then."""
    leave_out: LeftOut = field(default_factory=nothing)
    counts: Mapping[Name, Pieces] = field(default_factory=nothing)
    work: tuple[WorkDone, ...] = ()
    without_work: tuple[Id, ...] = ()
    """Work of the build that is not done then."""
    setup: Mapping[Name, Raw] = field(default_factory=nothing)
    goal: Mapping[str, Raw] = field(default_factory=nothing)
    """Entries of the goal that are others then."""

    def hold(self) -> None:
        """Hold that it has a name to be offered by, and changes something."""
        if not self.name.strip():
            raise ValueError("'name' is empty; say what is offered")
        said = (self.fit, self.keep, self.leave_out, self.counts, self.work, self.without_work, self.setup)
        if not any(said) and not self.goal:
            raise ValueError("changes nothing; say what it fits, leaves out, does or aims at")
