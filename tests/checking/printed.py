"""What is printed of every build and variant of the demo shop, tried once for all tests that look at it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import compat
from compat.checking.check import Checked
from compat.shop.changing import Aim, Change, Do, Fit, Say
from compat.words.remedying import Remedier
from compat.words.report import Report

__all__ = ["BUILDS", "as_change", "opened", "printed"]

BUILDS = ("first-draft", "street-turbo", "long-stroke-20", "phase-upgrade", "endurance-ethanol",
          "fell-30-top-end", "tarn-20-base", "tarn-22-long", "tarn-20-phase", "tarn-20-turbo",
          "fell-30-base")  # fmt: skip


@cache
def opened() -> compat.OpenShop:
    """The demo shop."""
    return compat.open_shop()


@cache
def printed(name: str) -> tuple[Checked, Report]:
    """A build as it is checked, and its report with all remedies tried."""
    check = opened().check(name)
    return check.checked, Remedier(check.checked).report(check.report)


def as_change(entry: Mapping[str, str]) -> Change:
    """A change as the report has it."""
    if "position" in entry:
        return Fit(entry["position"], entry["part"])
    if "work" in entry:
        return Do(entry["work"], tuple((key, value) for key, value in entry.items() if key != "work"))
    if "leave_out" in entry:
        return Fit(entry["leave_out"], "")
    if "setup" in entry:
        return Say(entry["setup"], entry["value"])
    return Aim(entry["goal"], entry["value"])
