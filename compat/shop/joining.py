"""Two people's changes of one build put together, entry by entry, and what both changed shown side by side.

What a build says is taken apart into entries that stand for themselves: each entry of the goal and the setup,
each piece of work, each position with all that is said of what stands in it. An entry that one side alone
changed is as that side has it; one that both changed to the same is as both have it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from compat.record import record

__all__ = ["Joined", "Key", "Sides", "join"]

Key: TypeAlias = tuple[str, ...]
"""An entry: ``("goal", "power")``, ``("place", "piston")``, ``("work", "bore-block")``, ``("note",)``."""

Said: TypeAlias = Mapping[str, Any]
Flat: TypeAlias = dict[Key, Any]

OF_A_PLACE = ("fit", "leave_out", "fits_because", "brought", "counts", "selected")
"""Entries of a build that speak of a position each; with `take_from` they are one entry."""
BY_WORD = ("goal", "setup", "measured")
"""Entries of which every word stands for itself."""
IN_ORDER = {"work": "work", "options": "name"}
"""Lists of things, and what names each thing."""


@record(slots=True)
class Sides:
    """An entry as it was and as each side has it; None where it is not said."""

    key: Key
    was: Any
    mine: Any
    theirs: Any


@record(slots=True)
class Joined:
    """What became of two changes of one build."""

    said: Said
    """All that only one side changed, and of `both` what was chosen, else what was mine."""
    both: tuple[Sides, ...]
    """Entries that both changed, each otherwise."""
    mine: tuple[Sides, ...]
    """Entries that I alone changed."""
    theirs: tuple[Sides, ...]
    """Entries that the other side alone changed."""


def join(was: Said, mine: Said, theirs: Said, chosen: Mapping[Key, str] | None = None) -> Joined:
    """Put two changes of one build together.

    Parameters
    ----------
    was : mapping
        The build as both sides read it, as its file says it (`compat.shop.writing.as_said`).
    mine, theirs : mapping
        The build as each side has it.
    chosen : mapping, optional
        Of entries that both changed, which is taken: ``mine`` or ``theirs``.

    Returns
    -------
    Joined
        The build, and where each changed entry of it came from. It is not held against any shop.

    Examples
    --------
    >>> was = {"goal": {"power": "100 kW", "at": "6000 rpm"}, "fit": {"rod": "a"}}
    >>> mine = {"goal": {"power": "120 kW", "at": "6000 rpm"}, "fit": {"rod": "b"}}
    >>> theirs = {"goal": {"power": "100 kW", "at": "6200 rpm"}, "fit": {"rod": "c"}}
    >>> found = join(was, mine, theirs)
    >>> found.said, [(one.key, one.theirs) for one in found.both]
    ({'goal': {'power': '120 kW', 'at': '6200 rpm'}, 'fit': {'rod': 'b'}}, [(('place', 'rod'), {'fit': 'c'})])
    """
    chosen = chosen or {}
    a, b, c = _flat(was), _flat(mine), _flat(theirs)
    taken: Flat = {}
    both: list[Sides] = []
    from_me: list[Sides] = []
    from_them: list[Sides] = []
    for key in {**c, **b, **a}:
        old, my, their = a.get(key), b.get(key), c.get(key)
        value = my
        if my == their:
            pass
        elif my == old:
            value = their
            from_them.append(Sides(key, old, my, their))
        elif their == old:
            from_me.append(Sides(key, old, my, their))
        else:
            both.append(Sides(key, old, my, their))
            if chosen.get(key) == "theirs":
                value = their
        if value is not None:
            taken[key] = value
    for entry, name in IN_ORDER.items():
        old, my, their = (_order(said.get(entry, ()), name) for said in (was, mine, theirs))
        key = (entry, "in its order")
        kept = {each[1] for each in taken if each[0] == entry}
        merged, torn = _in_order((old, my, their), kept, prefer_theirs=chosen.get(key) == "theirs")
        if torn:
            both.append(Sides(key, ", ".join(old), ", ".join(my), ", ".join(their)))
        for number, thing in enumerate(merged):
            taken[entry, thing] = (number, taken[entry, thing])
    return Joined(_whole(taken), tuple(both), tuple(from_me), tuple(from_them))


def _flat(said: Said) -> Flat:
    found: Flat = {}
    places: dict[str, dict[str, Any]] = {}
    for entry, value in said.items():
        if entry in OF_A_PLACE:
            for place, word in value.items():
                places.setdefault(place, {})[entry] = word
        elif entry == "take_from":
            for taken in value:
                for place in taken["positions"]:
                    places.setdefault(place, {})[entry] = taken["variant"]
        elif entry == "renew" and not isinstance(value, str):
            for place in value:
                places.setdefault(place, {})[entry] = True
        elif entry in BY_WORD:
            found |= {(entry, word): one for word, one in value.items()}
        elif entry in IN_ORDER:
            found |= {(entry, thing): one for thing, one in _named(value, IN_ORDER[entry]).items()}
        else:
            found[(entry,)] = value
    return found | {("place", place): one for place, one in places.items()}


def _whole(taken: Flat) -> dict[str, Any]:
    """The build of its entries."""
    said: dict[str, Any] = {}
    sisters: dict[str, list[str]] = {}
    renewed: list[str] = []
    lists: dict[str, list[tuple[int, Any]]] = {}
    for key, value in taken.items():
        match key:
            case ("place", place):
                for entry, word in value.items():
                    if entry == "take_from":
                        sisters.setdefault(word, []).append(place)
                    elif entry == "renew":
                        renewed.append(place)
                    else:
                        said.setdefault(entry, {})[place] = word
            case (entry, word) if entry in BY_WORD:
                said.setdefault(entry, {})[word] = value
            case (entry, _) if entry in IN_ORDER:
                lists.setdefault(entry, []).append(value)
            case (entry, *_):
                said[entry] = value
    if sisters:
        said["take_from"] = [{"variant": sister, "positions": places} for sister, places in sisters.items()]
    if renewed and "renew" not in said:
        said["renew"] = renewed
    for entry, things in lists.items():
        said[entry] = [thing for _, thing in sorted(things, key=lambda one: one[0])]
    return said


def _named(things: Sequence[Any], name: str) -> dict[str, Any]:
    """Things of a list by their names; one that comes again has its number behind it."""
    return dict(zip(_order(things, name), things, strict=True))


def _order(things: Sequence[Any], name: str) -> list[str]:
    found: list[str] = []
    for thing in things:
        word = str(thing[name] if isinstance(thing, Mapping) else thing)
        again = sum(one == word or one.startswith(f"{word} (") for one in found)
        found.append(f"{word} ({again + 1})" if again else word)
    return found


def _in_order(
    orders: tuple[list[str], list[str], list[str]], kept: set[str], *, prefer_theirs: bool
) -> tuple[list[str], bool]:
    """The order of a list of which both sides had one, and whether both put it into another, each otherwise."""
    was, mine, theirs = orders
    common = {*was} & {*mine} & {*theirs}
    a, b, c = ([one for one in side if one in common] for side in (was, mine, theirs))
    torn = b != a and c != a and b != c
    first, second = (mine, theirs) if (b != a and not (torn and prefer_theirs)) else (theirs, mine)
    order = [one for one in first if one in kept]
    for number, one in enumerate(second):
        if one in kept and one not in order:
            before = [other for other in second[:number] if other in order]
            order.insert(order.index(before[-1]) + 1 if before else 0, one)
    return order, torn
