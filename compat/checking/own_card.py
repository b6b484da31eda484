"""Cards of parts that contradict themselves: what a rule says of one part alone, wherever it stands."""

from __future__ import annotations

from collections.abc import Iterator

from compat.checking.built import settle
from compat.checking.judging import judge
from compat.checking.settle import Fitted
from compat.checking.world import BuildWorld
from compat.library.library import Library
from compat.rulebook.rulebook import BoundRule, Rulebook
from compat.shop.builds import as_build, prepare
from compat.shop.source import Spot

__all__ = ["contradictory"]


def contradictory(library: Library) -> Iterator[tuple[Spot, str]]:
    """Give the parts whose own specs, and nothing beside them, come to a conflict.

    Parameters
    ----------
    library : Library
        The shop.

    Yields
    ------
    tuple of Spot and str
        Where the part was written, and which rule its card breaks.
    """
    shop, book = library.shop, library.book
    rules: dict[str, list[BoundRule]] = {}
    for rule in book.rules.values():
        if position := _alone(book, rule):
            rules.setdefault(position, []).append(rule)
    worlds = [settle(shop, book, prepare(shop, as_build(variant))) for variant in shop.variants.values()]
    for position, asked in rules.items():
        for name in shop.fillers[position]:
            world = _home(worlds, position, name)
            if world is None:
                continue
            entry = Fitted(shop.parts[name], "chosen", "")
            tried = world.trying({position: entry}, frozenset(book.figures))
            for rule in asked:
                outcome = judge(tried, rule)
                if outcome is not None and outcome.verdict == "conflict":
                    text = f"part '{name}' contradicts itself: its card alone breaks '{rule.rule.rule}'"
                    yield shop.spot("part", name), text


def _alone(book: Rulebook, rule: BoundRule) -> str:
    """The one position whose specs a rule looks at, if it looks at nothing else."""
    if rule.rule.sort in ("need", "renew", "note"):
        return ""
    names = book.gather(rule.expressions())
    if names.goals or names.features or names.works or names.joints:
        return ""
    places = {position for position, _ in names.specs} | set(names.positions)
    return places.pop() if len(places) == 1 and len({spec for _, spec in names.specs}) > 1 else ""


def _home(worlds: list[BuildWorld], position: str, part: str) -> BuildWorld | None:
    """An engine of the part's family that has the position, where there is one."""
    for world in worlds:
        settled = world.settled
        if position in settled.fitted and part not in settled.shop.strangers[settled.variant.family]:
            return world
    return None
