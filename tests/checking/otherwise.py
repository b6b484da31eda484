"""Builds that say otherwise than a demo build, and what the rules of one matter make of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from compat import Check, OpenShop
from compat.checking.outcome import RANK
from compat.rulebook.values import Number
from compat.shop.writing import as_said
from compat.words.report import Finding
from tests.look import demo_shop

__all__ = ["DEMO", "STREET", "Says", "figure", "found", "goal", "otherwise", "sizes", "step"]

STREET = "street-turbo"
DEMO = OpenShop(demo_shop().shop, demo_shop().book)
Says = Mapping[str, Any]


def sizes(**specs: str) -> dict[str, Any]:
    """Specs measured, written ``position__spec``."""
    return {"measured": {name.replace("__", "."): size for name, size in specs.items()}}


def goal(**entries: str) -> dict[str, Any]:
    return {"goal": entries}


def otherwise(start: str, says: Says, shop: OpenShop = DEMO) -> Check:
    """A build checked that says otherwise than the one it is made from."""
    ready = shop.build(start)
    said = as_said(ready.build)
    for word, given in says.items():
        merged = isinstance(given, dict) and isinstance(said.get(word), dict)
        said[word] = {**said[word], **given} if merged else given
    return shop.check(ready.changed(**said))


def found(start: str, says: Says, shop: OpenShop = DEMO) -> dict[str, Finding]:
    return {finding.rule: finding for finding in otherwise(start, says, shop).report.findings}


def step(start: str, rules: tuple[str, ...], says: Says, shop: OpenShop = DEMO) -> str:
    """The worst that the rules of one matter say."""
    findings = found(start, says, shop)
    told = [findings[rule].verdict for rule in rules if rule in findings]
    return min(told, key=RANK.__getitem__) if told else ""


def figure(start: str, name: str, says: Says) -> float:
    value = otherwise(start, says).world.figure(name)
    assert isinstance(value, Number), value
    return value.x
