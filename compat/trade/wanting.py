"""What a build buys, piece by piece, each with the reasons for it; and what the customer brings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from compat.checking.check import Checked
from compat.checking.extras import Extra
from compat.words.needs import forced_by
from compat.words.wording import in_sentence

__all__ = ["Brought", "Wanted", "brought", "wanted"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Pieces of a part for one position of one build."""

    part: str
    position: str
    count: int
    reasons: tuple[str, ...]
    build: str
    used: bool = False
    """Whether used pieces will do: those taken from a sister variant."""
    held: tuple[str, ...] = ()
    """Rules that speak against it; until they are settled it is not bought."""


@dataclass(frozen=True, slots=True)
class Brought:
    """Pieces that the customer brings, so that they are neither bought nor ordered."""

    part: str
    position: str
    count: int
    state: str
    """The state they are in, as the build says it; empty where it says nothing."""
    build: str
    boxed: tuple[str, ...] = ()
    """Parts that come in its box, and so are brought with it."""


def wanted(checked: Checked, *, held: bool = False) -> tuple[Wanted, ...]:
    """Give all that a build buys.

    Parameters
    ----------
    checked : Checked
        What checking the build found.
    held : bool
        Whether to give what is held back, and nothing else, in place of what may be bought.

    Returns
    -------
    tuple of Wanted
        Chosen parts, parts of sister variants, then what the build needs more and what its opened joints
        consume. Not what comes in the box of another part, and not what the customer brings. The fuel of the
        goal is burnt and not bought.
    """
    build = checked.world.settled.build
    extra = {entry.position: entry for entry in _extras(checked)}
    if held:
        return tuple(
            Wanted(entry.name, position, entry.count, _reasons(checked, entry), build.build, held=entry.held)
            for position, entry in extra.items()
            if entry.held and position not in build.brought
        )
    found = [one for one in _own(checked, extra) if one.count]
    found += [
        Wanted(entry.name, position, entry.count, _reasons(checked, entry), build.build)
        for position, entry in extra.items()
        if not entry.held and entry.count
    ]
    bought = _unboxed(checked, found)
    return tuple(one for one in bought if one.position not in build.brought)


def brought(checked: Checked) -> tuple[Brought, ...]:
    """Give what the customer brings.

    Parameters
    ----------
    checked : Checked
        What checking the build found.

    Returns
    -------
    tuple of Brought
        In the order of the build; what it would buy in that place, or the part that stands there.
    """
    settled = checked.world.settled
    extra = {entry.position: entry for entry in _extras(checked)}
    found = []
    for position, state in settled.build.brought.items():
        entry = settled.fitted.get(position)
        if position in extra:
            part, count = extra[position].name, extra[position].count
        elif entry is not None:
            part, count = entry.part.part, settled.count(position)
        else:
            continue
        boxed = settled.shop.parts[part].includes
        found.append(Brought(part, position, count, state, settled.build.build, boxed))
    return tuple(found)


def _extras(checked: Checked) -> Iterator[Extra]:
    return (entry for entry in checked.extras if entry.position)


def _own(checked: Checked, extra: Iterable[str]) -> Iterator[Wanted]:
    """What the build itself names: chosen parts and those of sister variants."""
    settled = checked.world.settled
    build, renewed = settled.build, frozenset(extra)
    for position in build.fit:
        if position != "fuel":
            part = settled.fitted[position].part.part
            yield Wanted(part, position, settled.count(position), ("chosen in the build",), build.build)
    for taken in build.take_from:
        for position in taken.positions:
            # what is renewed in that place is bought new, and the sister's piece is not
            if position in ("fuel", "setup") or position in renewed:
                continue
            part = settled.fitted[position].part.part
            reason = f"taken from {taken.variant}"
            yield Wanted(part, position, settled.count(position), (reason,), build.build, used=True)


def _reasons(checked: Checked, extra: Extra) -> tuple[str, ...]:
    because = forced_by(checked.world.settled, extra)
    if extra.joint:
        return (f"renewed: {in_sentence(because)}",)
    return (f"asked by '{because}'" if extra.demand is not None and extra.demand.rule else because,)


def _boxed(checked: Checked, part: str) -> Counter[str]:
    """How many places are filled from the box of a part, by what is in it and in the boxes inside it."""
    parts = checked.world.settled.shop.parts
    waiting, unpacked = list(parts[part].includes), {part}
    inside: Counter[str] = Counter()
    while waiting:
        other = waiting.pop()
        inside[other] += 1
        if other not in unpacked:
            unpacked.add(other)
            waiting += parts[other].includes
    return inside


def _unboxed(checked: Checked, found: Sequence[Wanted]) -> Iterator[Wanted]:
    """What is bought by itself: not what comes in the box of another part."""
    boxes = {one.part: _boxed(checked, one.part) for one in found}
    left: Counter[str] = Counter()
    spared = set()
    # the box that holds another's holds more than that: it is opened first
    for one in sorted(found, key=lambda one: -boxes[one.part].total()):
        if left[one.part]:
            left[one.part] -= 1
            spared.add(one.position)
        else:
            left += boxes[one.part]
    return (one for one in found if one.position not in spared)
