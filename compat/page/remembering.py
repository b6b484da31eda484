"""What was worked out of something that never changes, remembered for as long as it is asked for."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, Final, TypeVar

__all__ = ["Remembered"]

Found = TypeVar("Found")

MOST: Final = 256


class Remembered:
    """What was worked out of builds, checks and shops, each of them known by itself and not by what it holds.

    Parameters
    ----------
    most : int
        Of so many things; that which was asked for longest ago is forgotten first.

    Examples
    --------
    >>> known, thing = Remembered(), [1, 2]
    >>> known.of(thing, "sum", lambda: sum(thing)), known.of(thing, "sum", lambda: 0)
    (3, 3)
    """

    def __init__(self, most: int = MOST) -> None:
        self.most = most
        self._known: OrderedDict[int, tuple[object, dict[Hashable, Any]]] = OrderedDict()
        self._lock = Lock()

    def forget(self) -> None:
        """Forget all of it."""
        with self._lock:
            self._known.clear()

    def of(self, about: object, what: Hashable, find: Callable[[], Found]) -> Found:
        """What is remembered of a thing, found where it is not; two who ask at once may both find it."""
        with self._lock:
            # held with what is known of it, so that no other thing can come to have its number
            _, known = self._known.setdefault(id(about), (about, {}))
            self._known.move_to_end(id(about))
            while len(self._known) > self.most:
                self._known.popitem(last=False)
        if what not in known:
            known[what] = find()
        found: Found = known[what]
        return found
