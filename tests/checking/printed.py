"""What is printed of every build and variant of the demo shop, tried once for all tests that look at it."""

from __future__ import annotations

from functools import cache

import compat
from compat.checking.check import Checked
from compat.words.remedying import Remedier
from compat.words.report import Report

__all__ = ["BUILDS", "opened", "printed"]

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
