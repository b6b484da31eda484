"""An update that changes a verdict is told: verdicts are recorded, and held against those of today."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from compat.checking.since import otherwise, verdicts
from compat.version import __version__
from tests.cli.conftest import run
from tests.conftest import Tiny
from tests.look import check

__all__ = ["run"]


def test_verdicts_are_those_of_whole_checks(tiny: Tiny) -> None:
    library = tiny.load()
    found = verdicts(library)
    assert set(found) == {*library.shop.builds, *library.shop.variants}
    for name, worst in found.items():
        report = check(library.shop, library.book, name).report
        assert set(worst) == {finding.rule for finding in report.findings}
        assert all(worst[finding.rule] == finding.verdict for finding in report.findings
                   if [f.rule for f in report.findings].count(finding.rule) == 1)  # fmt: skip


def test_a_verdict_that_changes_is_told_and_nothing_else(run: Callable[..., Any], tiny: Tiny) -> None:
    said = run("lint", "--record", "--shop", tiny.folder)
    assert said.status == 0
    file = tiny.folder / "verdicts" / f"{__version__}.json"
    assert str(file) in said.out
    before = json.loads(file.read_text(encoding="utf-8"))
    nothing = run("lint", "--since", __version__, "--shop", tiny.folder)
    assert nothing.status == 0
    assert nothing.out.startswith("0 verdicts are otherwise")
    tiny.rule('never: piston.pin_retention == "floating"\nelse: caution')
    now = run("lint", "--since", __version__, "--shop", tiny.folder)
    struck = {name for name, worst in verdicts(tiny.load()).items() if worst.get("mine") == "caution"}
    told = now.out.splitlines()[1:]
    assert len(struck) >= 2
    assert now.status == 1
    assert {line.partition(":")[0] for line in told} == struck
    assert all(line.endswith("not judged -> caution") for line in told)
    data = json.loads(run("lint", "--since", __version__, "--json", "--shop", tiny.folder).out)
    assert {entry["build"] for entry in data["changed"]} == struck
    assert before == json.loads(file.read_text(encoding="utf-8"))


def test_a_rule_that_falls_silent_is_told_where_it_spoke_against(tiny: Tiny) -> None:
    before = {"a": {"x": "conflict", "y": "ok"}, "gone": {"x": "conflict"}}
    found = list(otherwise(before, {"a": {}, "new": {"x": "conflict"}}))  # type: ignore[arg-type]
    assert [(one.build, one.rule, one.before, one.now) for one in found] == [("a", "x", "conflict", "")]


def test_what_was_never_recorded_is_told(run: Callable[..., Any], tiny: Tiny) -> None:
    said = run("lint", "--since", "0.0.9", "--shop", tiny.folder)
    assert said.status == 2
    assert "compat lint --record" in said.err
    for version in ("../catalog/shop", "*", ""):
        assert run("lint", "--since", version or " ", "--shop", tiny.folder).status == 2
    tiny.write("verdicts/0.0.9.json", '{"a": {"x": "splendid"}}')
    said = run("lint", "--since", "0.0.9", "--shop", tiny.folder)
    assert said.status == 2
    assert "holds no verdicts" in said.err


def test_a_rule_that_is_gone_is_told_by_its_name_alone(run: Callable[..., Any], tiny: Tiny) -> None:
    tiny.rule('never: piston.pin_retention == "floating"\nelse: caution')
    assert run("lint", "--record", "--shop", tiny.folder).status == 0
    file = tiny.folder / "verdicts" / f"{__version__}.json"
    recorded = json.loads(file.read_text(encoding="utf-8"))
    build = next(name for name in recorded)
    recorded[build]["of-old"] = "shortfall"
    file.write_text(json.dumps(recorded), encoding="utf-8")
    said = run("lint", "--since", __version__, "--shop", tiny.folder).out.splitlines()
    assert said[0].startswith("1 verdict is otherwise")
    assert said[1] == f"{build}: of-old: shortfall -> not judged"
