"""What a change made better and what worse, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from compat.checking.check import Checked
from compat.checking.outcome import RANK
from compat.checking.since import otherwise, worst_of
from compat.trade.least import least
from compat.words.report import Report

__all__ = ["Moved", "Turn", "moved"]


@dataclass(frozen=True, slots=True)
class Turn:
    """A finding that a change brought, took or altered."""

    rule: str
    title: str
    before: str
    """Verdict before it; empty where nothing was said, or all was fine."""
    now: str


@dataclass(frozen=True, slots=True)
class Moved:
    """What a change did."""

    better: tuple[Turn, ...]
    worse: tuple[Turn, ...]
    places: frozenset[str]
    """Positions in which another part stands than before."""
    price: Decimal
    """How much more the build comes to at the least, in the shop's currency; below nought less."""


def moved(before: Checked, now: Checked, said_before: Report, said_now: Report) -> Moved:
    """Tell what a change did to a build.

    Parameters
    ----------
    before, now : Checked
        The build without it, and with it.
    said_before, said_now : Report
        What is told of both; for the titles.

    Returns
    -------
    Moved
        Rules that ceased to speak or speak less gravely, and those that came up or speak more gravely, the
        gravest first.
    """
    titles = {finding.rule: finding.title for said in (said_before, said_now) for finding in said.findings}
    turns = list(_turns(before, now, titles))
    return Moved(
        tuple(sorted((one for one in turns if _rank(one.now) > _rank(one.before)), key=_gravest)),
        tuple(sorted((one for one in turns if _rank(one.now) < _rank(one.before)), key=_gravest)),
        _places(before, now),
        least(now).whole - least(before).whole,
    )


def _turns(before: Checked, now: Checked, titles: Mapping[str, str]) -> Iterator[Turn]:
    for one in otherwise({"": worst_of(before)}, {"": worst_of(now)}):
        fine = ("ok", "")
        yield Turn(
            one.rule,
            titles.get(one.rule, one.rule),
            "" if one.before in fine else one.before,
            "" if one.now in fine else one.now,
        )


def _places(before: Checked, now: Checked) -> frozenset[str]:
    was, is_now = (
        {place: entry.part.part for place, entry in one.world.settled.fitted.items()} for one in (before, now)
    )
    return frozenset(place for place in was.keys() | is_now.keys() if was.get(place) != is_now.get(place))


def _rank(verdict: str) -> int:
    return RANK[verdict or "ok"]  # type: ignore[index]  # words of verdicts, as checks have them


def _gravest(turn: Turn) -> tuple[int, str]:
    return min(_rank(turn.before), _rank(turn.now)), turn.title
