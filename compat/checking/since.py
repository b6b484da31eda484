"""Verdicts on a shop's engines as one version of the program found them, and what another finds otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from compat.checking.check import Checked
from compat.checking.outcome import RANK
from compat.checking.session import Session
from compat.library.library import Library
from compat.record import record
from compat.rulebook.models import Verdict
from compat.shop.builds import as_build, prepare

__all__ = ["Otherwise", "Verdicts", "otherwise", "verdicts", "worst_of"]

Verdicts = Mapping[str, Mapping[str, Verdict]]
"""By build or variant and rule; a rule that does not apply has none."""


@record(slots=True)
class Otherwise:
    """A verdict that is no longer what it was."""

    build: str
    rule: str
    before: str
    """Empty where the rule did not apply, or was not there."""
    now: str
    """Empty where it does not apply any more, or is no longer there."""


def verdicts(library: Library) -> dict[str, dict[str, Verdict]]:
    """Check every build of a shop, and every variant at its own rating.

    Parameters
    ----------
    library : Library
        The shop.

    Returns
    -------
    dict
        The worst verdict of each rule, by build and rule.
    """
    shop = library.shop
    session = Session(shop, library.book, behind=library.answers)
    engines = {**{name: as_build(variant) for name, variant in shop.variants.items()}, **shop.builds}
    return {name: worst_of(session.check(prepare(shop, build))) for name, build in engines.items()}


def worst_of(checked: Checked) -> dict[str, Verdict]:
    """The worst verdict of each rule on one build, by rule."""
    worst: dict[str, Verdict] = {}
    for outcome in checked.outcomes:
        before = worst.get(outcome.rule)
        if before is None or RANK[outcome.verdict] < RANK[before]:
            worst[outcome.rule] = outcome.verdict
    return worst


def otherwise(before: Verdicts, now: Verdicts) -> Iterator[Otherwise]:
    """Tell every verdict that differs, of the builds that both know.

    Parameters
    ----------
    before, now : mapping
        Verdicts by build and rule.

    Yields
    ------
    Otherwise
        Build by build, what came out worse first. A rule that held and does not apply now, or the other way
        round, says nothing of an engine and is left out.

    Examples
    --------
    >>> [one.rule for one in otherwise({"a": {"x": "ok", "y": "ok"}}, {"a": {"x": "conflict", "z": "ok"}})]
    ['x']
    """
    for build in now:
        if build not in before:
            continue
        found = []
        for rule in {**now[build], **before[build]}:
            was, comes = before[build].get(rule, ""), now[build].get(rule, "")
            if (was or "ok") != (comes or "ok"):
                found.append(Otherwise(build, rule, was, comes))
        yield from sorted(found, key=lambda one: (RANK[one.now or "ok"], one.rule))  # type: ignore[index]
