"""Where in an assembly each caution of a report matters."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from compat.checking.world import BuildWorld
from compat.words.once import told_once
from compat.words.report import Finding

__all__ = ["cautions_at"]

FEW = 5
"""A caution that speaks of more positions than this is about the engine, not about a step."""


def cautions_at(
    world: BuildWorld, findings: Iterable[Finding], order: Mapping[str, int], again: Collection[str]
) -> dict[str, tuple[str, ...]]:
    """Give the cautions by the position at whose step they are told.

    Parameters
    ----------
    world : BuildWorld
        The build.
    findings : iterable of Finding
        What its report says.
    order : mapping
        Place of every filled position in the order of assembly.
    again : collection of str
        Positions whose parts go in.

    Returns
    -------
    dict
        Under a position, the last of the few that it speaks of; of one that speaks of a joint, where that
        joint's first part goes in; under an empty name what belongs to no step.
    """
    found: dict[str, list[tuple[str, str]]] = {}
    for finding in findings:
        if finding.verdict == "caution":
            place = _place(world, finding, order, again)
            found.setdefault(place, []).append((finding.title, f"{finding.because.removesuffix('.')}."))
    return {place: tuple(told_once(said)) for place, said in found.items()}


def _place(world: BuildWorld, finding: Finding, order: Mapping[str, int], again: Collection[str]) -> str:
    here = [position for position in finding.positions if position in again]
    if 0 < len(finding.positions) <= FEW:
        return max(here, key=order.__getitem__) if here else ""
    rule = world.settled.book.rules.get(finding.rule)
    if rule is None or len(finding.positions) > FEW:
        return ""
    joints = world.settled.shop.joints
    for joint in world.settled.book.grounds(rule).joints:
        behind = [position for position in joints[joint].behind if position in again]
        if joint in world.joints and behind:
            return min(behind, key=order.__getitem__)
    return ""
