"""A build settled whole: parts in place, work done, joints opened."""

from __future__ import annotations

from collections.abc import Mapping

from compat.checking.answers import Answers
from compat.checking.joints import opened_joints
from compat.checking.settle import Fitted, settle_parts
from compat.checking.working import do_work, misplaced
from compat.checking.world import BuildWorld
from compat.rulebook.rulebook import Rulebook
from compat.shop.builds import ReadyBuild
from compat.shop.entry import NOTHING
from compat.shop.shop import Shop

__all__ = ["joined", "settle"]


def settle(
    shop: Shop,
    book: Rulebook,
    ready: ReadyBuild,
    answers: Answers | None = None,
    like: Mapping[str, Fitted] = NOTHING,
) -> BuildWorld:
    """Settle a build and give its world, work applied.

    Parameters
    ----------
    shop, book
        What the shop knows.
    ready : ReadyBuild
        The build.
    answers : Answers, optional
        What formulas said before.
    like : mapping
        What stands in a build of the shop that differs little.

    Returns
    -------
    BuildWorld
        The world that expressions see.
    """
    return joined(BuildWorld(settle_parts(shop, book, ready, like), answers))


def joined(world: BuildWorld) -> BuildWorld:
    """A world of parts in place, with its work done and its joints opened; the same world."""
    world.working = (*misplaced(world.settled.ready), *do_work(world))
    world.joints = opened_joints(world.settled)
    return world
