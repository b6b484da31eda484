"""A build that says less than it did: a part or work left out, a place as it was made, a word struck."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from contextlib import suppress
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from compat.shop.build_work import doing, standing_part
from compat.shop.builds import ReadyBuild, said_build
from compat.shop.models import Build, Option
from compat.shop.pieces import Measured
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.writing import as_said

__all__ = [
    "LEFT_OUT",
    "from_factory",
    "left_out",
    "stands_anyhow",
    "struck",
    "unmeasured",
    "unsaid",
    "without_work",
]

LEFT_OUT = "what stood here does not go with the parts chosen"
"""Why a place is left empty that something would stand in, where nobody gives a reason of their own."""


def left_out(ready: ReadyBuild, position: str, why: str | None = None) -> ReadyBuild:
    """The build with nothing in a position, and nothing said of what stood there.

    Parameters
    ----------
    ready : ReadyBuild
        The build; it stays as it is.
    position : str
        The position.
    why : str, optional
        Why it is left empty, else as the build says already, or `LEFT_OUT`. Where nothing would stand there
        anyhow nobody wants to know, and the build says nothing of the position any more.

    Returns
    -------
    ReadyBuild
        The build.

    Raises
    ------
    Faults
        When there is no such position, or it is none that could be left empty.

    Examples
    --------
    >>> import compat
    >>> ready = compat.open_shop().build("street-turbo")
    >>> left_out(ready, "crank_key", "no keyway").build.leave_out["crank_key"]
    'no keyway'
    >>> other = left_out(ready.fitting(friction_washer="bm-friction-washer-34"), "friction_washer")
    >>> "friction_washer" in {*other.build.fit, *other.build.leave_out}
    False
    """
    build = ready.fitting(**{position: None}).build
    bare = replace(
        build,
        leave_out=_but(build.leave_out, position),
        counts=_but(build.counts, position),
        brought=_but(build.brought, position),
        fits_because=_but(build.fits_because, position),
    )
    if stands_anyhow(ready, position):
        reason = (ready.build.leave_out.get(position) or LEFT_OUT) if why is None else why
        bare = replace(bare, leave_out={**bare.leave_out, position: reason})
    else:
        bare = replace(bare, options=tuple(_options(bare, keep={position})))
    specs = {key for key in ready.measured if key[0] == position}
    return unmeasured(replace(ready, build=bare), specs)


def stands_anyhow(ready: ReadyBuild, position: str) -> bool:
    """Whether something would stand in a position were nothing said of it: the factory's, or out of a box."""
    build = ready.build
    bare = replace(
        build,
        fit=_but(build.fit, position),
        take_from=tuple(
            replace(one, positions=tuple(p for p in one.positions if p != position)) for one in build.take_from
        ),
    )
    return bool(standing_part(ready.shop, bare, ready.variant, position))


def without_work(ready: ReadyBuild, works: Iterable[str]) -> ReadyBuild:
    """The build with some of its work not done, and what that work dragged in.

    Parameters
    ----------
    ready : ReadyBuild
        The build; it stays as it is.
    works : iterable of str
        Work that the build names.

    Returns
    -------
    ReadyBuild
        The build. What was measured on a spec that the work changes no longer holds, and is left out.

    Raises
    ------
    Faults
        When the build names no such work.

    Examples
    --------
    >>> import compat
    >>> ready = compat.open_shop().build("first-draft")
    >>> [done.work for done in without_work(ready, ["hone-torque-plate"]).build.work]
    ['bore-block']
    """
    gone = set(works)
    own = {one.work for one in ready.build.work}
    if unknown := sorted(gone - own):
        hint = nearest(unknown[0], own)
        spot = Spot(f"build {ready.build.build}: work", 0)
        raise Faults([Fault(spot, f"the build does no work '{unknown[0]}'{hint}")])
    build = replace(
        ready.build,
        work=tuple(one for one in ready.build.work if one.work not in gone),
        options=tuple(_options(ready.build, without_work=gone)),
    )
    changed = doing(ready, build)
    less = gone | (ready.forced.keys() - {work.work for work, _ in changed.sequence})
    specs = {change.spec for name in less for change in ready.shop.works[name].changes}
    return unmeasured(changed, {(place, spec) for place, _, spec in (one.partition(".") for one in specs)})


def unmeasured(ready: ReadyBuild, specs: Set[tuple[str, str]]) -> ReadyBuild:
    """The build without what was measured on some specs: what it was measured on is no longer so."""
    if specs.isdisjoint(ready.measured):
        return ready
    pieces = {key[0] for key in specs if isinstance(ready.measured.get(key), Measured)}
    build = replace(
        ready.build,
        measured={n: raw for n, raw in ready.build.measured.items() if tuple(n.split(".")) not in specs},
        selected={place: order for place, order in ready.build.selected.items() if place not in pieces},
    )
    kept = {key: spec for key, spec in ready.measured.items() if key not in specs}
    return replace(ready, build=build, measured=MappingProxyType(kept))


def struck(ready: ReadyBuild, entry: str, word: str) -> ReadyBuild:
    """The build with one word of an entry said no more.

    Parameters
    ----------
    ready : ReadyBuild
        The build; it stays as it is.
    entry : str
        The entry: ``renew``, ``counts``, ``measured`` ...
    word : str
        The position, work or spec that it speaks of.

    Returns
    -------
    ReadyBuild
        The build.

    Raises
    ------
    Faults
        When the entry says nothing of it, or the build then does not go with its shop.
    """
    said = dict(as_said(ready.build))
    there = said.get(entry)
    if isinstance(there, dict) and word in there:
        said[entry] = _but(there, word)
    elif entry == "take_from" and there:
        said[entry] = _sisters(there, word)
    elif isinstance(there, list) and word in _names(there):
        said[entry] = [one for one, name in zip(there, _names(there), strict=True) if name != word]
    else:
        raise Faults([Fault(Spot(f"build {ready.build.build}: {entry}", 0), f"says nothing of '{word}'")])
    return said_build(ready.shop, said).measured_as(ready)


def from_factory(ready: ReadyBuild, position: str) -> ReadyBuild:
    """The build with what the variant left the factory with in a position.

    Raises
    ------
    Faults
        When the build then does not go with its shop.
    """
    return said_build(ready.shop, unsaid(ready, position)).measured_as(ready)


def unsaid(ready: ReadyBuild, position: str) -> dict[str, Any]:
    """What a build says, but for what it says of the part in a position."""
    said = dict(as_said(ready.build))
    for entry in ("fit", "leave_out", "fits_because", "counts", "brought", "selected"):
        if position in said.get(entry, {}):
            said[entry] = _but(said[entry], position)
    said["take_from"] = _sisters(said.get("take_from", ()), position)
    said["measured"] = {
        spec: value for spec, value in said.get("measured", {}).items() if not spec.startswith(f"{position}.")
    }
    return said


def _but(entry: Mapping[str, Any], word: str) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key != word}


def _names(entries: Iterable[Any]) -> list[str]:
    return [one if isinstance(one, str) else str(one.get("work", "")) for one in entries]


def _sisters(taken: Iterable[Mapping[str, Any]], place: str) -> list[dict[str, Any]]:
    left = ({**one, "positions": [p for p in one["positions"] if p != place]} for one in taken)
    return [one for one in left if one["positions"]]


def _options(
    build: Build, keep: Set[str] = frozenset(), without_work: Set[str] = frozenset()
) -> Iterator[Option]:
    """What the customer may have instead, without what the build does by itself from now on."""
    for option in build.options:
        kept = tuple(one for one in option.keep if one not in keep)
        undone = tuple(one for one in option.without_work if one not in without_work)
        with suppress(ValueError):  # nothing is left of it
            yield replace(option, keep=kept, without_work=undone)
