"""What could be wrong in a shop's own builds with no finding: every spec, part, place and count tried alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from compat.checking.lint import Remark
from compat.checking.session import Session
from compat.checking.single_changes import KINDS, Effect, Kind, effect, single_changes
from compat.library.library import Library, build_of_id

__all__ = ["Tried", "try_all", "unnoticed"]

SpecId = tuple[str, str]


@dataclass
class Tried:
    """What came of trying every single change of some builds."""

    builds: list[str] = field(default_factory=list)
    changes: int = 0
    noticed: dict[SpecId, str] = field(default_factory=dict)
    """By position and spec the furthest that any value of it moved: ``verdict``, ``margin`` or ``nothing``."""
    silent: list[tuple[str, Effect]] = field(default_factory=list)
    """Strangers, empty places and counts that gave no finding, with the build."""


def try_all(
    library: Library, builds: Iterable[str] = (), kinds: Iterable[Kind] = (), *, to_the_end: bool = False
) -> Tried:
    """Try every single change of the shop's variants and builds.

    Parameters
    ----------
    library : Library
        The shop.
    builds : iterable of str
        Ids of builds and variants; all of the shop when left out.
    kinds : iterable of str
        Keep to changes of these kinds; all when left out.
    to_the_end : bool
        Try a spec that moves a margin until some value on some build moves a verdict.

    Returns
    -------
    Tried
        What was noticed. A spec that was is not tried again.
    """
    shop = library.shop
    session = Session(shop, library.book, answers=65536)
    found = Tried()
    wanted = set(kinds) or set(KINDS)
    enough = ("verdict",) if to_the_end else ("verdict", "margin")
    for name in list(builds) or [*shop.variants, *shop.builds]:
        base = session.check(build_of_id(shop, name))
        found.builds.append(name)
        strangers = shop.strangers[base.world.settled.variant.family]
        for change in single_changes(base, wanted):
            key = (change.position, change.name)
            if change.kind in ("spec", "setup"):
                if found.noticed.get(key) in enough:
                    continue
            elif change.kind == "part" and change.to not in strangers:
                continue
            tried = effect(session, base, change)
            found.changes += 1
            if change.kind not in ("spec", "setup"):
                found.silent += [] if tried.worse else [(name, tried)]
            elif tried.moves != "nothing" or key not in found.noticed:
                found.noticed[key] = tried.moves
    return found


def unnoticed(library: Library, builds: Iterable[str] = (), kinds: Iterable[Kind] = ()) -> list[Remark]:
    """What could be wrong in a shop's builds without any finding.

    Parameters
    ----------
    library : Library
        The shop, already read without fault.
    builds : iterable of str
        Ids of builds and variants; all of the shop when left out.
    kinds : iterable of str
        Keep to changes of these kinds; all when left out.

    Returns
    -------
    list of Remark
        Specs of which no value moves a verdict or a margin on any of the builds, but those kept for paper alone
        or said to be unnoticed for a reason; reasons given for specs that are noticed after all; and strangers,
        empty places and counts that give no finding.
    """
    shop, tried = library.shop, try_all(library, builds, kinds)
    remarks = []
    for (position, name), moves in tried.noticed.items():
        kind = shop.kinds[position][name]
        spot = shop.spot("position", position, "specs", name)
        if moves == "nothing" and not kind.sheet and not kind.unnoticed:
            where = f"on {', '.join(tried.builds[:3])}{', ...' * (len(tried.builds) > 3)}"
            text = (
                f"spec '{position}.{name}' may be anything: no value of it moves a verdict or a margin {where}"
            )
            remarks.append(Remark(spot, text))
        elif moves != "nothing" and kind.unnoticed:
            text = f"spec '{position}.{name}' is noticed, and says why it is not: {kind.unnoticed}"
            remarks.append(Remark(spot, text))
    for build, entry in tried.silent:
        spot = shop.spot("position", entry.change.position)
        text = f"{entry.change.to} in position '{entry.change.position}' gives no finding on {build}"
        remarks.append(Remark(spot, text))
    return sorted(set(remarks))
