"""The counter draft of the demo: every planted mistake is found, and nothing else stands out.

The mistakes are those a counter conversation really makes; common practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from compat.library.library import Library
from tests.look import checked_once

PLANTED: list[dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parent / "planted_first_draft.yaml").read_text(encoding="utf-8")
)
STANDS_OUT = ("conflict", "shortfall", "missing", "unknown")


@pytest.fixture(scope="module")
def found(demo: Library) -> set[tuple[str, str]]:
    report = checked_once("first-draft").report
    return {(finding.rule, finding.verdict) for finding in report.findings}


@pytest.mark.parametrize("planted", PLANTED, ids=[planted["mistake"][:40] for planted in PLANTED])
def test_planted_mistake_is_found(planted: dict[str, Any], found: set[tuple[str, str]]) -> None:
    assert {(entry["rule"], entry["verdict"]) for entry in planted["findings"]} <= found


def test_nothing_else_stands_out(found: set[tuple[str, str]]) -> None:
    planted = {(entry["rule"], entry["verdict"]) for mistake in PLANTED for entry in mistake["findings"]}
    assert {entry for entry in found if entry[1] in STANDS_OUT} == planted


def test_a_dozen_mistakes_of_different_kinds() -> None:
    assert len(PLANTED) >= 12
    assert len({entry["verdict"] for mistake in PLANTED for entry in mistake["findings"]}) == len(STANDS_OUT)
