"""What a build offers instead: the build with one of its options taken, and held against its shop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from compat.shop.build_work import put_in
from compat.shop.models import Build, Goal, Option, TakeFrom
from compat.shop.shop import Shop
from compat.shop.source import Fault, Node, Spot, nearest
from compat.shop.writing import as_said

__all__ = ["hold_options", "with_option"]

Where = Callable[[Sequence[str | int]], Spot]


def with_option(shop: Shop, build: Build, option: Option, where: Where, faults: list[Fault]) -> Build | None:
    """The build as it is when an option is taken.

    Parameters
    ----------
    shop : Shop
        The shop, which says where its work belongs.
    build : Build
        The build that offers it.
    option : Option
        The option.
    where : callable
        Where the option's entries were written.
    faults : list of Fault
        Gets what cannot be.

    Returns
    -------
    Build or None
        The build, still to be held against its shop; None where it cannot be made.
    """
    before = len(faults)
    done = {one.work for one in build.work}
    for number, name in enumerate(option.without_work):
        if name not in done:
            faults.append(
                Fault(where(["without_work", number]), f"the build does no work '{name}'{nearest(name, done)}")
            )
    for number, one in enumerate(option.work):
        if one.work not in shop.works:
            hint = nearest(one.work, shop.works)
            faults.append(Fault(where(["work", number]), f"work '{one.work}' is not known{hint}"))
        elif one.work in done and one.work not in option.without_work:
            faults.append(
                Fault(
                    where(["work", number]),
                    f"the build does '{one.work}' already; name it in `without_work` too",
                )
            )
    chosen = {*build.fit, *build.leave_out, *(p for taken in build.take_from for p in taken.positions)}
    for number, position in enumerate(option.keep):
        if position not in chosen:
            hint = nearest(position, chosen)
            message = f"the build keeps the variant's own '{position}' anyhow{hint}"
            faults.append(Fault(where(["keep", number]), message))
    goal = _goal(build, option, where, faults)
    if goal is None or len(faults) > before:
        return None
    spoken_of = {*option.fit, *option.leave_out, *option.keep}
    kept = tuple(one for one in build.work if one.work not in option.without_work)
    return replace(
        build,
        fit={**{p: part for p, part in build.fit.items() if p not in spoken_of}, **option.fit},
        take_from=tuple(
            TakeFrom(variant=one.variant, positions=left)
            for one in build.take_from
            if (left := tuple(p for p in one.positions if p not in spoken_of))
        ),
        leave_out={
            **{p: why for p, why in build.leave_out.items() if p not in spoken_of},
            **option.leave_out,
        },
        brought={p: state for p, state in build.brought.items() if p not in spoken_of},
        fits_because={p: why for p, why in build.fits_because.items() if p not in spoken_of},
        counts={**build.counts, **option.counts},
        work=put_in(shop, kept, option.work),
        setup={**build.setup, **option.setup},
        # what was measured on a part says nothing of another in its place
        measured={name: raw for name, raw in build.measured.items() if name.partition(".")[0] not in spoken_of},
        goal=goal,
        options=(),
    )


def hold_options(
    shop: Shop,
    build: Build,
    where: Where,
    faults: list[Fault],
    hold: Callable[[Shop, Build, Where, list[Fault]], object],
) -> None:
    """Hold that what a build offers instead could be built: every name known, every value typed.

    Parameters
    ----------
    shop, build
        The shop, and the build, which is sound by itself.
    where : callable
        Where the build's entries were written.
    faults : list of Fault
        Gets what is wrong.
    hold : callable
        Holds a build against its shop.
    """
    for number, option in enumerate(build.options):
        there = partial(_within, where, ["options", number])
        changed = with_option(shop, build, option, there, faults)
        if changed is not None:
            hold(shop, changed, there, faults)


def _within(where: Where, path: Sequence[str | int], inner: Sequence[str | int]) -> Spot:
    return where([*path, *inner])


class _Entry(Node):
    """The goal of an option, whose faults stand where the option's own words do."""

    __slots__ = ("where",)

    def __init__(self, data: Any, where: Where) -> None:
        super().__init__(data, "option")
        self.where = where

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """Where an entry of the goal was written."""
        return self.where(["goal", *path])


def _goal(build: Build, option: Option, where: Where, faults: list[Fault]) -> Goal | None:
    if not option.goal:
        return build.goal
    from compat.shop.reading import validate

    said = {**as_said(build.goal), **option.goal}
    found: Goal | None = validate(Goal, _Entry(said, where), faults, "goal")
    return found
