"""The report: what it carries, that it adds up, and that the same question always has the same answer."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter

import pytest

from compat import Check
from compat.library.library import Library
from compat.paper.schemas import report_json
from compat.rulebook.models import VERDICTS
from compat.units import unit
from tests.look import check, published

FINDING = (
    "rule", "verdict", "title", "positions", "parts", "value", "low", "high", "limit", "load", "capacity",
    "headroom", "unit", "because", "remedies", "source", "why",
)  # fmt: skip
REPORT = (
    "build", "variant", "goal", "summary", "findings", "extra_parts", "extra_work", "opened_joints", "unknown",
)  # fmt: skip


def test_json_has_the_keys_that_others_read(checked: dict[str, Check]) -> None:
    for result in checked.values():
        data = json.loads(report_json(result.report))
        assert set(REPORT) <= set(data)
        assert {"verdict", *VERDICTS} <= set(data["summary"])
        for finding in data["findings"]:
            assert set(FINDING) <= set(finding)
        for entry in data["extra_parts"]:
            assert {"part", "count", "because"} <= set(entry)
        for entry in data["unknown"]:
            assert {"spec", "part", "rules"} <= set(entry)


def test_json_keeps_to_its_published_schema(checked: dict[str, Check]) -> None:
    """Check with jsonschema where it is at hand (JSON Schema 2020-12)."""
    jsonschema = pytest.importorskip("jsonschema")
    validator = jsonschema.Draft202012Validator(published()["report"])
    for name in ("first-draft", "fell-30-base"):
        result = checked[name]
        validator.validate(json.loads(report_json(result.report)))


def test_findings_come_worst_first_and_are_counted(checked: dict[str, Check], mixed: list[Check]) -> None:
    for result in [*checked.values(), *mixed]:
        report = result.report
        ranks = [VERDICTS.index(finding.verdict) for finding in report.findings]
        assert ranks == sorted(ranks)
        assert report.summary.counts == {
            verdict: Counter(f.verdict for f in report.findings)[verdict] for verdict in VERDICTS
        }
        assert report.summary.verdict == (report.findings[0].verdict if report.findings else "ok")
        bad = {finding.verdict for finding in report.findings} & {"conflict", "shortfall", "missing"}
        assert report.clean == (not bad)


def test_findings_name_real_parts_of_the_build(checked: dict[str, Check], demo: Library) -> None:
    for result in checked.values():
        fitted = {entry.part.part for entry in result.world.settled.fitted.values()}
        for finding in result.report.findings:
            assert set(finding.parts) <= fitted | set(demo.shop.parts)
            assert set(finding.positions) <= set(demo.shop.positions), finding.rule
            assert len(finding.positions) == len(set(finding.positions))
            assert finding.why
            assert finding.source
            if finding.unit:
                unit(finding.unit)


def test_each_rule_speaks_once(checked: dict[str, Check], demo: Library) -> None:
    for result in checked.values():
        counts = Counter(finding.rule for finding in result.report.findings if finding.rule in demo.book.rules)
        assert not {rule: count for rule, count in counts.items() if count > 1}


def test_unknown_gathers_what_the_findings_lack(checked: dict[str, Check], mixed: list[Check]) -> None:
    gathered = 0
    for result in [*checked.values(), *mixed]:
        lacking: dict[str, set[str]] = {}
        for finding in result.report.findings:
            for spec in finding.unstated:
                lacking.setdefault(spec, set()).add(finding.rule)
        assert {entry.spec: set(entry.rules) for entry in result.report.unknown} == lacking
        for entry in result.report.unknown:
            fitted = result.world.settled.fitted.get(entry.spec.partition(".")[0])
            assert entry.part == (fitted.part.part if fitted else "")
            gathered += 1
    assert gathered


def test_extra_parts_and_work_are_not_in_the_build_and_close_its_needs(
    checked: dict[str, Check], demo: Library
) -> None:
    for result in checked.values():
        settled = result.world.settled
        fitted = {entry.part.part: position for position, entry in settled.fitted.items()}
        renewed = {entry.part for entry in (result.checked.ahead or result.checked).renewed}
        for entry in result.report.extra_parts:
            assert entry.part not in fitted or entry.part in renewed
            assert entry.count >= 1
            assert entry.because
            assert entry.position in demo.shop.parts[entry.part].fills
        named = {work.work for work, _ in settled.works}
        assert not {entry.work for entry in result.report.extra_work} & named
        # no place is filled twice by what is added
        places = [entry.position for entry in result.report.extra_parts if entry.part not in renewed]
        assert len(places) == len(set(places))
        assert not set(places) & set(settled.fitted)


def test_goal_is_said_with_what_the_variant_fills_in(checked: dict[str, Check]) -> None:
    goal = checked["street-turbo"].report.goal
    assert goal["power"] == "180 kW"
    assert goal["duty"] == "street"
    assert goal["fuel"] == "pump-98"
    assert "rev_limit" in checked["deck-stack-base"].report.goal


def test_checking_leaves_the_shop_as_it_was(demo: Library) -> None:
    """A check after many others says what it said at first."""
    first = report_json(check(demo.shop, demo.book, "first-draft").report)
    for name in [*demo.shop.variants, *demo.shop.builds]:
        check(demo.shop, demo.book, name)
    assert report_json(check(demo.shop, demo.book, "first-draft").report) == first


def test_two_processes_with_other_hash_seeds_print_the_same() -> None:
    """Nothing hangs on the order of a set: Python salts the hash of text in each process."""
    script = (
        "import compat\n"
        "from compat.paper.schemas import report_json\n"
        "shop = compat.open_shop()\n"
        "for name in ('first-draft', 'fell-30-base'):\n"
        "    print(report_json(shop.check(name).report))\n"
    )
    printed = set()
    for seed in ("0", "4242"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, check=True)
        printed.add(done.stdout)
    assert len(printed) == 1
    assert len(printed.pop()) > 10_000
