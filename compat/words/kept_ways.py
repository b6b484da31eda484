"""What came of trying remedies, kept for other runs: a build that nobody changed need not be tried again.

It hangs on the program, on every byte that the shop was read from, and on the build as it stands. Where one of
these cannot be named, nothing is kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from hashlib import blake2b
from typing import Any

from compat.checking.check import Checked
from compat.record import record
from compat.words.report import Finding, WayOut

__all__ = ["KeptWays", "Told"]

ENTRIES = ("ways_out", "remedies", "advice", "moving")


@record(slots=True)
class Told:
    """What trying says of one finding."""

    ways_out: tuple[WayOut, ...]
    remedies: tuple[str, ...]
    advice: tuple[str, ...]
    moving: tuple[WayOut, ...] = ()
    """What would only move the trouble, where nothing else settles it."""


class KeptWays:
    """Ways out of the findings of one check, where answers of heavy formulas are kept.

    Parameters
    ----------
    checked : Checked
        The check.
    system : {"metric", "imperial"}
        Units of the sentences.
    thorough : bool
        Whether something is tried for cautions that rest on a long calculation, too.
    """

    def __init__(self, checked: Checked, system: str, thorough: bool) -> None:
        settled = checked.world.settled
        stamps = settled.shop.stamp, settled.book.stamp
        self._behind = checked.world.answers.behind if all(stamps) else None
        self._about = "" if self._behind is None else repr((stamps, system, thorough, _name(settled.ready)))

    def told(self, finding: Finding) -> Told | None:
        """What was kept of a finding as it is before anything is tried."""
        plain = self._get(finding)
        if not isinstance(plain, dict) or plain.keys() != {*ENTRIES}:
            return None
        ways, remedies, advice, moving = (plain[entry] for entry in ENTRIES)
        return Told(_ways(ways), tuple(remedies), tuple(advice), _ways(moving))

    def tell(self, finding: Finding, told: Told) -> None:
        """Keep what came of it."""
        said = (_plain(told.ways_out), told.remedies, told.advice, _plain(told.moving))
        self._put(finding, dict(zip(ENTRIES, said, strict=True)))

    def clearing(self, position: str, rules: Sequence[str]) -> tuple[WayOut, ...] | None:
        """What was kept of what clears several findings at once."""
        plain = self._get((position, rules))
        return _ways(plain) if isinstance(plain, list) else None

    def clear(self, position: str, rules: Sequence[str], ways: Iterable[WayOut]) -> None:
        """Keep what clears them."""
        self._put((position, rules), _plain(ways))

    def _get(self, asked: object) -> Any | None:
        return None if self._behind is None else self._behind.get(f"{self._about} {asked!r}")

    def _put(self, asked: object, answer: Any) -> None:
        if self._behind is not None:
            self._behind.put(f"{self._about} {asked!r}", answer)


def _name(ready: object) -> str:
    """A short name for a build as it stands, never the same for another: its parts, work, goal and measures."""
    return blake2b(repr(ready).encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()


def _plain(ways: Iterable[WayOut]) -> list[Any]:
    return [
        (way.says, [dict(change) for change in way.changes], way.clears, way.raises, way.asks) for way in ways
    ]


def _ways(plain: Iterable[Sequence[Any]]) -> tuple[WayOut, ...]:
    return tuple(
        WayOut(says, tuple(changes), tuple(clears), tuple(raises), tuple(asks))
        for says, changes, clears, raises, asks in plain
    )
