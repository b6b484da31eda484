"""A build with other parts in some of its positions."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from compat.shop.build_links import BuildLinker
from compat.shop.build_work import standing_part
from compat.shop.models import Build, TakeFrom
from compat.shop.said import Said
from compat.shop.source import Fault, Faults

if TYPE_CHECKING:
    from compat.shop.builds import ReadyBuild

__all__ = ["refitted"]


def refitted(ready: ReadyBuild, parts: Mapping[str, str | None]) -> ReadyBuild:
    """A build with other parts in some positions; None leaves one empty, with no reason given.

    What is set up and worked stays as it was read, with the places where it was written; what was measured on a
    part that goes, goes with it.

    Parameters
    ----------
    ready : ReadyBuild
        The build.
    parts : mapping
        Part by position.

    Returns
    -------
    ReadyBuild
        A new build; the other stays as it is.

    Raises
    ------
    Faults
        When a position or part is not known, or the part does not fill the position.
    """
    faults: list[Fault] = []
    chosen = {position: part for position, part in parts.items() if part is not None}
    dropped = [position for position, part in parts.items() if part is None]
    linker = BuildLinker(ready.shop, ready.build, Said({}, f"build {ready.build.build}").spot_of, faults)
    for position, part in chosen.items():
        linker.fills(["fit", position], position, part)
    if chosen.pop("fuel", ready.goal.fuel) != ready.goal.fuel:
        linker.fault(["fit", "fuel"], f"the goal burns '{ready.goal.fuel}'; change it by `aiming(fuel=...)`")
    linker.left_out((["leave_out", position], position) for position in dropped)
    if faults:
        raise Faults(faults)
    said = _saying(ready, chosen, dropped, parts)
    if not any(position in parts for position, _ in ready.measured):
        return replace(ready, build=said)
    # what was measured on the part that stood there says nothing of another
    gone = {
        key
        for key in ready.measured
        if key[0] in parts and parts[key[0]] != standing_part(ready.shop, ready.build, ready.variant, key[0])
    }
    places = {position for position, _ in gone}
    said = replace(
        said,
        measured={name: raw for name, raw in said.measured.items() if tuple(name.split(".")) not in gone},
        selected={place: order for place, order in said.selected.items() if place not in places},
    )
    left = {key: spec for key, spec in ready.measured.items() if key not in gone}
    return replace(ready, build=said, measured=MappingProxyType(left))


def _saying(
    ready: ReadyBuild, chosen: Mapping[str, str], dropped: Sequence[str], parts: Mapping[str, str | None]
) -> Build:
    """What its file would say of what is fitted, left out and taken from sisters."""
    build = ready.build
    fit = {position: part for position, part in build.fit.items() if position not in dropped}
    kept = {position: why for position, why in build.leave_out.items() if position not in chosen}
    return replace(
        build,
        fit={**fit, **chosen},
        take_from=_without(build.take_from, parts),
        leave_out={**dict.fromkeys(dropped, ""), **kept},
        # why one part fits says nothing of another
        fits_because={
            place: why
            for place, why in build.fits_because.items()
            if place not in parts or parts[place] == _chosen(ready, place)
        },
    )


def _chosen(ready: ReadyBuild, position: str) -> str | None:
    """The part that the build itself puts into a position, bought or of a sister."""
    build = ready.build
    sisters = (ready.shop.variants[taken.variant] for taken in build.take_from if position in taken.positions)
    return build.fit.get(position) or next((sister.parts[position] for sister in sisters), None)


def _without(taken: Sequence[TakeFrom], positions: Container[str]) -> tuple[TakeFrom, ...]:
    """What is taken from sisters, but for some positions."""
    found = (replace(one, positions=tuple(p for p in one.positions if p not in positions)) for one in taken)
    return tuple(one for one in found if one.positions)
