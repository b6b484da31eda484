"""`check --measured` and `why --measured` as they are typed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.cli.conftest import Run, run  # noqa: F401  the fixture
from tests.look import published

BORES = [
    f"block.bore_diameter,{n},,{v},mm,0.001,bore gauge,," for n, v in enumerate((86.010, 86.0, 86.0, 86.0), 1)
]
SKIRTS = [
    f"piston.skirt_diameter,{n},,{v},mm,0.001,micrometer,,"
    for n, v in enumerate((85.950, 85.951, 85.966, 85.952), 1)
]
Write = Callable[..., Path]


def test_the_report_shows_who_goes_where(run: Run, written: Write) -> None:  # noqa: F811
    ran = run(
        "check", "street-turbo", "--measured", written(*BORES), "--measured", written(*SKIRTS, name="p.csv")
    )
    assert ran.status == 0
    plain = " ".join(ran.out.split())
    assert "MEASURED PIECES, BY THE RULE OF ISO 14253-1" in plain
    assert "cylinder 1 with piston 3 0.0440 mm ±0.0014 in" in plain
    assert "write it in the build: `selected: {piston: [3, " in plain
    assert "3 of 16 pairings are out, and the pieces can be put together without: select each piston." in plain


def test_json_holds_to_its_schema(run: Run, written: Write) -> None:  # noqa: F811
    ran = run("check", "street-turbo", "--json", "--measured", written(*BORES, *SKIRTS))
    report = json.loads(ran.out)
    schema = published()["report"]
    assert next(Draft202012Validator(schema).iter_errors(report), None) is None
    # what is said of a scope, and of rules of the house, is left out where there is neither
    assert set(report) == set(schema["properties"]) - {"scoped", "house"}
    fit = next(fit for fit in report["measured"]["fits"] if fit["rule"] == "piston-skirt-clearance")
    assert (fit["where"], fit["pieces"], fit["decision"], fit["unit"]) == (
        "cylinder 1",
        {"piston": 3},
        "in",
        "mm",
    )
    assert (fit["value"], fit["at_least"], fit["at_most"]) == pytest.approx((0.044, 0.04, 0.07))
    assert report["measured"]["selected"][0]["order"]["piston"][0] == 3


def test_without_measured_pieces_nothing_is_said_of_them(run: Run) -> None:  # noqa: F811
    ran = run("check", "street-turbo", "--json", "--quick")
    assert "measured" not in json.loads(ran.out)


def test_faults_end_with_two(run: Run, written: Write) -> None:  # noqa: F811
    path = written("block.bore_diameter,1,,8.6,mm,0.002,g,,", "block.bore_diamter,1,,86,mm,0.002,g,,")
    ran = run("check", "street-turbo", "--measured", path)
    assert ran.status == 2
    assert ran.out == ""
    assert ran.err.splitlines() == [
        f"{path}:2:24: '8.6' is outside anything possible: the card says 85.5 mm +0.008/-0",
        f"{path}:3:1: spec 'bore_diamter' is not declared for position 'block'; did you mean 'bore_diameter'?",
        "2 faults; nothing was checked.",
    ]


def test_why_of_measured_pieces(run: Run, written: Write) -> None:  # noqa: F811
    ran = run("why", "street-turbo", "piston-skirt-clearance", "--measured", written(*BORES, *SKIRTS))
    assert ran.status == 0
    assert "pairings are out" in " ".join(ran.out.split())


def test_a_selection_that_is_written_down_is_proven(run: Run, written: Write, tmp_path: Path) -> None:  # noqa: F811
    """Measured, selected, written in the build, checked again: every fit is proven in."""
    import compat

    path = written(*BORES, *SKIRTS)
    first = json.loads(run("check", "street-turbo", "--json", "--quick", "--measured", path).out)
    order = first["measured"]["selected"][0]["order"]["piston"]
    shop = compat.open_shop(cache=False)
    found = shop.check(shop.build("street-turbo").changed(selected={"piston": order}).measuring(path))
    verdicts = {finding.rule: finding.verdict for finding in found.report.findings}
    assert verdicts["piston-skirt-clearance"] == "ok"
