"""Which joints a build opens, and what is renewed at each."""

from __future__ import annotations

from compat.checking.outcome import Renewed
from compat.checking.settle import Settled, Touch
from compat.checking.world import BuildWorld
from compat.shop.models import Joint

__all__ = ["opened_joints", "renewals"]


def opened_joints(settled: Settled) -> dict[str, Touch]:
    """Give every joint that the build opens, with the first reason.

    Parameters
    ----------
    settled : Settled
        The build.

    Returns
    -------
    dict
        Reason by joint, in the order found: first those in front of what changes, then those that must be
        opened to reach them.
    """
    joints = settled.shop.joints
    found: dict[str, Touch] = {}
    for position, reason in settled.touched():
        for joint in settled.shop.joints_before.get(position, ()):
            found.setdefault(joint, reason)
    for work, _ in settled.sequence:
        for name in work.opens:
            found.setdefault(name, Touch("work", work.work))
    queue = list(found)
    for name in queue:
        for other in joints[name].opens:
            if other not in found:
                found[other] = Touch("to reach", name)
                queue.append(other)
    return found


def renewals(world: BuildWorld, joint: Joint) -> list[Renewed]:
    """Give what opening a joint consumes in this build.

    Parameters
    ----------
    world : BuildWorld
        The build.
    joint : Joint
        An opened joint.

    Returns
    -------
    list of Renewed
        Each consumed piece at the count needed; covered when the build buys it new or says it renews it.
    """
    settled = world.settled
    found = []
    for number, renewal in enumerate(joint.renews):
        entry = settled.fitted.get(renewal.position)
        if entry is None or (settled.outside and renewal.position in settled.outside.positions):
            continue
        if not world.holds("joint", joint.joint, "renews", number):
            continue
        count = renewal.count or settled.count(renewal.position)
        said = settled.renews(renewal.position)
        found.append(Renewed(joint.joint, renewal.position, entry.part.part, count, entry.bought or said))
    return found
