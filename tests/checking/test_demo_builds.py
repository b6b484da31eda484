"""The demo's variants and good builds go together: nothing conflicts, falls short, is missing or unknown."""

from __future__ import annotations

import pytest

from compat.library.library import Library
from tests.look import checked_once, demo_shop

DEMO = demo_shop()
GOOD = [*DEMO.shop.variants, *(name for name in DEMO.shop.builds if name != "first-draft")]


@pytest.mark.parametrize("name", GOOD)
def test_goes_together(name: str, demo: Library) -> None:
    report = checked_once(name).report
    good = ("ok", "caution", "measure")
    standing_out = {finding.rule: finding.because for finding in report.findings if finding.verdict not in good}
    assert not standing_out


def test_there_are_enough_builds() -> None:
    assert len(DEMO.shop.builds) >= 6


def test_v6_counts_its_parts_by_bank_and_cylinder(demo: Library) -> None:
    expected = {
        "cylinder_head": 2,
        "head_gasket": 2,
        "camshaft_inlet": 2,
        "piston": 6,
        "rod_fastener": 12,
        "main_cap": 4,
        "tappet": 24,
    }
    v6 = demo.shop.variants["fell-30-base"]
    assert {position: demo.shop.count(v6, position) for position in expected} == expected
