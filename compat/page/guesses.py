"""How often a password may be guessed wrong."""

from __future__ import annotations

from collections import OrderedDict, deque
from collections.abc import Callable
from threading import Lock
from time import monotonic
from typing import Final

__all__ = ["Guesses"]

FROM_ONE: Final = 6
"""Guesses from one address within `WITHIN`."""
FROM_ALL: Final = 60
"""Guesses within `WITHIN` from all addresses from which nobody ever signed in."""
WITHIN: Final = 600.0
"""Time after which a guess no longer counts [s]."""
ADDRESSES: Final = 10_000


class Guesses:
    """Counts guesses of passwords: each is taken before it is held against the hash, so that none is free.

    Parameters
    ----------
    clock : callable
        Time that only goes forward [s].

    Examples
    --------
    >>> guesses = Guesses(clock=lambda: 0.0)
    >>> [guesses.take("192.0.2.1") for _ in range(7)]
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 600.0]
    >>> guesses.take("192.0.2.2")
    0.0
    """

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._of: OrderedDict[str, deque[float]] = OrderedDict()
        self._all: deque[float] = deque()
        self._known: OrderedDict[str, None] = OrderedDict()
        self._lock = Lock()

    def take(self, address: str) -> float:
        """Take a guess: 0 where it may be made, else how long it must wait [s]."""
        with self._lock:
            now = self._clock()
            mine = self._of.pop(address, None) or deque()
            self._of[address] = mine
            while len(self._of) > ADDRESSES:
                self._of.popitem(last=False)
            bounds = [(mine, FROM_ONE)] + ([] if address in self._known else [(self._all, FROM_ALL)])
            for taken, most in bounds:
                while taken and now - taken[0] >= WITHIN:
                    taken.popleft()
                if len(taken) >= most:
                    return WITHIN - (now - taken[0])
            for taken, _ in bounds:
                taken.append(now)
            return 0.0

    def was_right(self, address: str) -> None:
        """The guess was right: what this address took is forgiven, and no crowd elsewhere shuts it out."""
        with self._lock:
            self._of.pop(address, None)
            self._known[address] = None
            self._known.move_to_end(address)
            while len(self._known) > ADDRESSES:
                self._known.popitem(last=False)
