"""Loads of a build's load rules as its goal moves, for the tests that hold their directions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

import compat
from compat.checking.judging import judge
from compat.checking.outcome import Borne
from tests.look import settle

__all__ = ["ENGINES", "SAME", "borne", "falling", "goal_of", "loads", "steps_of"]

ENGINES = ("street-turbo", "endurance-ethanol", "tarn-20-base", "tarn-20-turbo", "fell-30-base")
SAME = 1e-4
"""What the search for the charge and the split of the back pressure leave over."""


def borne(shop: compat.OpenShop, build: compat.Build) -> dict[str, Borne]:
    """Load and capacity by load rule, of a build as it stands: neither needs nor a report have a part in it."""
    world = settle(shop.things, shop.book, build)
    outcomes = (judge(world, rule) for rule in shop.book.judged.values() if rule.load is not None)
    return {one.rule: one.seen for one in outcomes if one is not None and isinstance(one.seen, Borne)}


def loads(shop: compat.OpenShop, build: compat.Build) -> dict[str, float]:
    return {rule: one.load for rule, one in borne(shop, build).items()}


def steps_of(
    shop: compat.OpenShop, name: str, entry: str, values: Iterable[str], **fixed: str
) -> list[dict[str, float]]:
    build = shop.build(name)
    return [loads(shop, build.aiming(**{entry: value, **fixed})) for value in values]


def falling(steps: list[dict[str, float]], allowed: Mapping[str, str]) -> dict[str, tuple[float, float]]:
    return {
        rule: (before[rule], after[rule])
        for before, after in pairwise(steps)
        for rule in before.keys() & after.keys()
        if after[rule] < before[rule] * (1 - SAME) and rule not in allowed
    }


def goal_of(shop: compat.OpenShop, name: str) -> tuple[float, float]:
    """Power [kW] and torque [N*m] of the goal."""
    world = settle(shop.things, shop.book, name)
    return world.goal("power").x / 1e3, world.figure("torque").x  # type: ignore[union-attr]
