"""What was said in Python rather than in a file, with places all the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from compat.shop.source import Node, Spot

__all__ = ["Said"]


class Said(Node):
    """What was said in Python; faults name the build and the entry in place of a line."""

    __slots__ = ()

    def spot_of(self, path: Sequence[str | int]) -> Spot:
        """The entry that the path leads to; of a number and a name for one entry, the one that was said."""
        data, told = self.data, []
        for step in path:
            if isinstance(step, int) and isinstance(data, Mapping) and data:
                continue
            told.append(str(step))
            data = data.get(step) if isinstance(data, Mapping) else None
        return Spot(f"{self.file}: {'.'.join(told)}" if told else self.file, 0)
