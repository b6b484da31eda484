"""A build at the middle of every tolerance: enough to know whether a rule fails, and a good deal quicker.

A limit is broken, and a load not carried, by the numbers at the middle of their tolerances; how far they may
lie off decides between fine, a caution and what is to be measured (`compat.checking.judging`). Only a match
without `within` asks for tolerances, and pieces that were measured one by one do: these are asked in a full
world.
"""

from __future__ import annotations

from compat.checking.built import joined
from compat.checking.settle import Settled, settle_parts
from compat.checking.world import BuildWorld
from compat.planning.space import Space
from compat.rulebook.rulebook import BoundRule
from compat.rulebook.values import Number, Value
from compat.shop.builds import ReadyBuild
from compat.units import Band

__all__ = ["Nominal", "needs_tolerance", "settle_nominal", "world_of"]


class Nominal(BuildWorld):
    """A world whose numbers carry no tolerance."""

    def _read_spec(self, position: str, name: str) -> Value:
        spec = self.settled.specs.at(position, name)
        if spec is not None and isinstance(spec.value, Band):
            return Number(spec.value.middle)
        return super()._read_spec(position, name)

    def leaf(self, name: str, band: Band) -> Number:
        """A number at the middle of its tolerance."""
        return Number(super().leaf(name, band).x)

    def _scattered(self, value: Number, relative: float, leaf: str) -> Number:
        return value


def needs_tolerance(rule: BoundRule) -> bool:
    """Whether tolerances decide if a rule fails."""
    return rule.rule.sort == "match" and rule.within is None


def world_of(space: Space, settled: Settled, *, tolerance: bool) -> BuildWorld:
    """A world of a settled build; the quick one where nothing asks for tolerances."""
    kind = BuildWorld if tolerance or space.base.measured else Nominal
    return kind(settled, space.session.answers)


def settle_nominal(space: Space, ready: ReadyBuild) -> BuildWorld:
    """Settle a build whole, at the middle of every tolerance."""
    return joined(world_of(space, settle_parts(space.shop, space.book, ready), tolerance=False))
