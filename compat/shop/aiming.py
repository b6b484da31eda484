"""A build at another goal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

from compat.shop.models import Goal, Variant
from compat.shop.quantities import BOUNDS, within

if TYPE_CHECKING:
    from compat.shop.builds import ReadyBuild

__all__ = ["completed", "re_aimed"]

QUANTITIES = {
    one.name: BOUNDS[word] for one in fields(Goal) if (word := str(one.type).partition(" ")[0]) in BOUNDS
}
"""Bounds of each entry of a goal that is a quantity."""


def completed(goal: Goal, variant: Variant) -> Goal:
    """A goal with the variant's own rev limit and fuel where it names none."""
    if goal.rev_limit is not None and goal.fuel is not None:
        return goal
    return replace(
        goal,
        rev_limit=goal.rev_limit or variant.rated.rev_limit,
        fuel=goal.fuel or variant.rated.fuel,
    )


def re_aimed(ready: ReadyBuild, said: Mapping[str, Any]) -> ReadyBuild | None:
    """A build with some quantities of its goal said otherwise, and nothing else of it read again.

    Nothing else that a build is held for rests on these, so that it need not be held again.

    Parameters
    ----------
    ready : ReadyBuild
        The build.
    said : mapping
        Entries of the goal, by the names that a build file has for them.

    Returns
    -------
    ReadyBuild or None
        The build; None where something is said that only its reader can tell of: what is no quantity, does not
        suit, or bears on an option that has a goal of its own.
    """
    if not said.keys() <= QUANTITIES.keys() or any(option.goal for option in ready.build.options):
        return None
    try:
        typed: dict[str, Any] = {
            name: within(*QUANTITIES[name], raw) for name, raw in said.items() if isinstance(raw, str)
        }
        goal = replace(ready.build.goal, **typed)
    except ValueError:
        return None
    if len(typed) < len(said):
        return None
    build = replace(ready.build, goal=goal)
    return replace(ready, build=build, goal=completed(goal, ready.variant))
