"""The worked cases of the demo family: figures by hand, findings by the trade.

The expected figures in worked/expected.yaml were worked by hand from the family's table, not taken
from the program; the findings are common practice, no source.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from compat import Check
from compat.rulebook.values import Number
from compat.units import read_band

WORKED = Path(__file__).parent / "worked"
CASES: list[dict[str, Any]] = yaml.safe_load((WORKED / "expected.yaml").read_text(encoding="utf-8"))
STANDS_OUT = ("conflict", "shortfall", "missing", "unknown")


def si(text: object) -> float:
    return read_band(str(text)).nominal


def cases(key: str) -> list[Any]:
    return [pytest.param(case, id=case["build"]) for case in CASES if key in case]


def test_every_build_file_has_its_expectation() -> None:
    files = {path.stem for path in WORKED.glob("*.yaml")} - {"expected"}
    assert files == {case["build"] for case in CASES}


@pytest.mark.parametrize("case", cases("figures"))
def test_figures(case: dict[str, Any], checked: dict[str, Check]) -> None:
    world = checked[case["build"]].world
    for name, expected in case["figures"].items():
        value = world.figure(name)
        assert isinstance(value, Number), (name, value)
        assert value.x == pytest.approx(si(expected["value"]), abs=si(expected["within"])), name
        if "worst" in expected:
            assert world.worst(value) == pytest.approx(si(expected["worst"]), rel=0.02), name
        if "likely" in expected:
            assert world.likely(value) == pytest.approx(si(expected["likely"]), rel=0.02), name
        if "most" in expected:
            assert world.contributor(value) == expected["most"], name


@pytest.mark.parametrize("case", cases("findings"))
def test_findings(case: dict[str, Any], checked: dict[str, Check]) -> None:
    found = {finding.rule: finding for finding in checked[case["build"]].report.findings}
    for expected in case["findings"]:
        assert expected["rule"] in found, f"{expected['rule']} gives no finding"
        finding = found[expected["rule"]]
        assert finding.verdict == expected["verdict"], finding.because
        if "value" in expected:
            assert finding.value == pytest.approx(expected["value"], abs=0.005), finding.because


@pytest.mark.parametrize("case", cases("absent"))
def test_nothing_stands_out_where_it_should_not(case: dict[str, Any], checked: dict[str, Check]) -> None:
    standing_out = {f.rule for f in checked[case["build"]].report.findings if f.verdict in STANDS_OUT}
    assert not standing_out & set(case["absent"])


@pytest.mark.parametrize("case", cases("verdict"))
def test_worst_verdict(case: dict[str, Any], checked: dict[str, Check]) -> None:
    assert checked[case["build"]].report.summary.verdict == case["verdict"]
