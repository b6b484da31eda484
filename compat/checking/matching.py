"""Sharing out units that serve one each: a flow with capacities, from who asks to who offers.

Each who asks in turn is served as far as it can be, others moving over to other units where they have some;
nobody gives up what it has. Paths are the shortest and carry as many pieces as fit on them, so their number
hangs on how many ask and offer, not on the pieces (Edmonds and Karp 1972, J. ACM 19, 248).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from compat.record import record

__all__ = ["Crowd", "share_out"]


@record
class Crowd:
    """Who competes for too few units, and what there is for them; all by number."""

    asking: tuple[int, ...]
    offered: tuple[int, ...]


def share_out(wanted: Sequence[int], suits: Sequence[Sequence[int]], stock: Sequence[int]) -> dict[int, Crowd]:
    """Share units out, and say who goes short.

    Parameters
    ----------
    wanted : sequence of int
        Units that each asks for.
    suits : sequence of sequence of int
        Numbers of the offers that suit each, first choice first.
    stock : sequence of int
        Units of each offer.

    Returns
    -------
    dict
        For each that goes short a crowd that asks for more than all that suits any of it (it violates Hall's
        condition). As many units as can be are given.

    Examples
    --------
    >>> share_out([1, 1], [[0], [0, 1]], [1, 1])
    {}
    >>> share_out([600, 999], [[0], [0]], [999])
    {1: Crowd(asking=(0, 1), offered=(0,))}
    """
    sharing = _Sharing(suits, stock)
    short = [number for number, units in enumerate(wanted) if sharing.serve(number, units) < units]
    return {number: sharing.crowd(number) for number in short}


class _Sharing:
    def __init__(self, suits: Sequence[Sequence[int]], stock: Sequence[int]) -> None:
        self.suits = suits
        self.free = list(stock)
        self.given: defaultdict[int, dict[int, int]] = defaultdict(dict)
        """For each offer the units that each who asks has of it."""

    def serve(self, number: int, units: int) -> int:
        """Give one as many units as can be, and say how many."""
        served = 0
        for offer in self.suits[number]:  # what nobody has is the shortest path of all
            if found := min(self.free[offer], units - served):
                self.free[offer] -= found
                self.given[offer][number] = found
                served += found
        while served < units:
            found = self.path(number, units - served)
            if not found:
                break
            served += found
        return served

    def path(self, start: int, most: int) -> int:
        """Move units along the shortest path from one who asks to an offer that has some left."""
        before: dict[int, tuple[int, int | None]] = {}
        waiting: list[tuple[int, int | None]] = [(start, None)]
        seen = {start}
        for asking, via in waiting:
            for offer in self.suits[asking]:
                if offer in before:
                    continue
                before[offer] = (asking, via)
                if self.free[offer]:
                    return self.move(offer, before, most)
                for other in self.given[offer]:
                    if other not in seen:
                        seen.add(other)
                        waiting.append((other, offer))
        return 0

    def move(self, end: int, before: dict[int, tuple[int, int | None]], most: int) -> int:
        steps: list[tuple[int, int | None, int]] = []
        offer: int | None = end
        while offer is not None:
            asking, previous = before[offer]
            steps.append((asking, previous, offer))
            offer = previous
        units = min(
            most,
            self.free[end],
            *(self.given[given_up][asking] for asking, given_up, _ in steps if given_up is not None),
        )
        self.free[end] -= units
        for asking, given_up, taken in steps:
            self.given[taken][asking] = self.given[taken].get(asking, 0) + units
            if given_up is not None:
                self.given[given_up][asking] -= units
                if not self.given[given_up][asking]:
                    del self.given[given_up][asking]
        return units

    def crowd(self, start: int) -> Crowd:
        """Who and what lies on alternating paths from one who goes short."""
        asking, reach = {start: None}, dict[int, None]()
        waiting = [start]
        for number in waiting:
            for offer in self.suits[number]:
                if offer in reach:
                    continue
                reach[offer] = None
                for other in self.given[offer]:
                    if other not in asking:
                        asking[other] = None
                        waiting.append(other)
        return Crowd(tuple(sorted(asking)), tuple(sorted(reach)))
