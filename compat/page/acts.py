"""What one press does to a build: a tried remedy, a renewal, a word struck, work moved, a part put back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from compat.checking.check import Checked
from compat.checking.extras import Extra
from compat.checking.world import BuildWorld
from compat.shop.build_work import with_more
from compat.shop.builds import ReadyBuild, prepare, said_build
from compat.shop.changing import Change, Do, change_of, with_changes
from compat.shop.saying_less import unsaid
from compat.shop.source import Fault, Faults, Spot, nearest
from compat.shop.writing import as_said
from compat.words.ways import changes_told
from compat.words.wording import in_sentence, listed

__all__ = [
    "Act",
    "as_form",
    "completed",
    "done",
    "from_form",
    "from_sister",
    "saying",
    "to_put_in",
    "told",
]

Act = Mapping[str, str]
"""A change as `compat.shop.changing.as_entry` writes it, or ``renew`` and positions, or ``move`` and a piece of
work that comes too soon."""

SAYABLE: Final = ("measured", "fits_because", "leave_out", "brought", "counts")
"""Entries of a build of which one word at a time is said on the page."""
MOST: Final = 40
"""Changes in one press."""


def as_form(acts: Iterable[Act]) -> str:
    """Acts as a form carries them."""
    return json.dumps([dict(act) for act in acts], ensure_ascii=False, separators=(",", ":"))


def from_form(text: str) -> tuple[Act, ...]:
    """Acts that a form brings.

    Raises
    ------
    Faults
        When they are none.
    """
    try:
        acts = json.loads(text)
    except (ValueError, RecursionError):
        acts = None
    plain = (
        isinstance(acts, list)
        and 0 < len(acts) <= MOST
        and all(
            isinstance(act, dict) and act and all(isinstance(word, str) for word in act.values())
            for act in acts
        )
    )
    if not plain:
        raise Faults([Fault(Spot("act", 0), "says no change of a build")])
    return tuple(acts)


def done(ready: ReadyBuild, acts: Sequence[Act]) -> ReadyBuild:
    """The build with acts done.

    Raises
    ------
    Faults
        When one of them names what is not known, or does not suit.
    """
    changes: list[Change] = []
    for act in acts:
        if not {"renew", "move"} & act.keys():
            changes.append(_change(ready, act))
    try:
        changed = with_changes(ready, changes) if changes else ready
    except ValueError as wrong:
        raise Faults([Fault(Spot(f"build {ready.build.build}: work", 0), str(wrong))]) from None
    for act in acts:
        match act:
            case {"renew": places}:
                changed = _renewing(changed, places.split())
            case {"move": work}:
                changed = _moved(changed, work)
    return prepare(ready.shop, changed.build).measured_as(changed)


def _change(ready: ReadyBuild, act: Act) -> Change:
    spot = Spot(f"build {ready.build.build}", 0)
    try:
        change = change_of(act)
    except ValueError as wrong:
        raise Faults([Fault(spot, str(wrong))]) from None
    if isinstance(change, Do) and change.work not in ready.shop.works:
        hint = nearest(change.work, ready.shop.works)
        raise Faults([Fault(spot, f"work '{change.work}' is not known{hint}")])
    return change


def told(world: BuildWorld, units: str, acts: Sequence[Act]) -> str:
    """What acts do, as a sentence without its full stop; all that they name is known."""
    positions, works = world.settled.shop.positions, world.settled.shop.works
    changes = [change_of(act) for act in acts if not {"renew", "move"} & act.keys()]
    says = [changes_told(world, units, changes)] if changes else []
    for act in acts:
        match act:
            case {"renew": places}:
                names = [in_sentence(positions[place].name) for place in places.split()]
                says.append(f"Renew {listed(names)}")
            case {"move": work}:
                says.append(f"Do {in_sentence(works[work].name)} later")
    return "; ".join(says)


def _renewing(ready: ReadyBuild, places: Sequence[str]) -> ReadyBuild:
    if unknown := [place for place in places if place not in ready.shop.positions]:
        hint = nearest(unknown[0], ready.shop.positions)
        spot = Spot(f"build {ready.build.build}: renew", 0)
        raise Faults([Fault(spot, f"position '{unknown[0]}' is not known{hint}")])
    if ready.build.renew == "all":
        return ready
    return ready.changed(renew=list(dict.fromkeys([*ready.build.renew, *places])))


def _moved(ready: ReadyBuild, work: str) -> ReadyBuild:
    """The build with a piece of work after all that it must follow."""
    order = [one for one in ready.build.work if one.work != work]
    if len(order) == len(ready.build.work):
        raise Faults([Fault(Spot(f"build {ready.build.build}: work", 0), f"does no '{work}'")])
    moved = [one for one in ready.build.work if one.work == work]
    return with_more(ready.changed(work=as_said(order)), {}, moved)


def saying(ready: ReadyBuild, entry: str, word: str, value: str) -> ReadyBuild:
    """The build with one word of an entry said otherwise; said no more where there is no value.

    Raises
    ------
    Faults
        When it is no such entry, or the word or value does not suit.
    """
    if entry not in SAYABLE:
        raise Faults([Fault(Spot(f"build {ready.build.build}", 0), f"'{entry}' is not said here")])
    said = dict(as_said(ready.build))
    there = dict(said.get(entry, {}))
    if value:
        there[word] = value
    else:
        there.pop(word, None)
    return said_build(ready.shop, {**said, entry: there}).measured_as(ready)


def from_sister(ready: ReadyBuild, position: str, variant: str) -> ReadyBuild:
    """The build with a sister variant's part in a position.

    Raises
    ------
    Faults
        When there is no such variant or position, or it has no part there.
    """
    said = unsaid(ready, position)
    taken = said.get("take_from", [])
    if not any(one["variant"] == variant for one in taken):
        taken = [*taken, {"variant": variant, "positions": []}]
    said["take_from"] = [
        {**one, "positions": [*one["positions"], position]} if one["variant"] == variant else one
        for one in taken
    ]
    return said_build(ready.shop, said).measured_as(ready)


def to_put_in(checked: Checked) -> list[Extra]:
    """What the check adds, nothing holds back, and the build does not say yet."""
    settled = checked.world.settled
    return [
        extra
        for extra in checked.extras
        if not extra.held and not (extra.joint and settled.renews(extra.position))
    ]


def completed(checked: Checked) -> ReadyBuild:
    """The build with all in it that the check adds: parts, work and renewals; not what is held back.

    Raises
    ------
    Faults
        When that does not go together with what the build says.
    """
    ready = checked.world.settled.ready
    free = to_put_in(checked)
    fit = {extra.position: extra.name for extra in free if extra.position and not extra.joint}
    renewed = [extra.position for extra in free if extra.joint]
    changed = with_more(ready, fit, [extra.name for extra in free if not extra.position])
    if renewed:
        changed = _renewing(changed, renewed)
    return prepare(ready.shop, changed.build).measured_as(changed)
