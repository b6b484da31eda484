"""Wrong builds, each a demo build with one thing changed: what a rule says of it."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from compat import OpenShop
from compat.shop.writing import as_said
from tests.look import demo_shop

__all__ = ["BASE", "LONG", "PHASE", "TURBO", "V6", "Wrong", "holds", "verdict", "wrong"]

BASE, PHASE, TURBO, LONG, V6 = "tarn-20-base", "tarn-20-phase", "tarn-20-turbo", "tarn-22-long", "fell-30-base"
Wrong = tuple[str, str, dict[str, Any], str, str]
"""Name of the interplay, what the build starts from, what it says otherwise, the rule, its verdict."""


@cache
def shop() -> OpenShop:
    demo = demo_shop()
    return OpenShop(demo.shop, demo.book)


def verdict(start: str, rule: str, **says: Any) -> str:
    """The worst that a rule says of a build, of all that it says; empty where it does not apply."""
    ready = shop().build(start)
    said = as_said(ready.build)
    for word, given in says.items():
        merged = isinstance(given, dict) and isinstance(said.get(word), dict)
        said[word] = {**said[word], **given} if merged else given
    found = shop().session.check(ready.changed(**said)).outcomes
    order = ("conflict", "shortfall", "missing", "unknown", "measure", "caution", "ok")
    verdicts = {outcome.verdict for outcome in found if outcome.rule == rule}
    return next((one for one in order if one in verdicts), "")


def wrong(*cases: Wrong) -> Any:
    """Parametrise a test by wrong builds, each named by its interplay and rule."""
    return pytest.mark.parametrize(
        ("start", "says", "rule", "expected"),
        [pytest.param(*case[1:], id=f"{case[0]}-{case[3]}-{number}") for number, case in enumerate(cases)],
    )


def holds(start: str, says: dict[str, Any], rule: str, expected: str) -> None:
    """The rule says so of the wrong build, and not of the one it was made from."""
    assert verdict(start, rule) != expected
    assert verdict(start, rule, **says) == expected
