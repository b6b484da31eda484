"""An update that changes a verdict is told: verdicts are recorded, and held against those of today."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from jsonschema import Draft202012Validator

from compat.checking.since import otherwise, verdicts
from compat.paper.schemas import schemas
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
    assert (data["new"], data["gone"]) == ([], [])
    assert not list(Draft202012Validator(schemas()["since"]).iter_errors(data))
    assert before == json.loads(file.read_text(encoding="utf-8"))


def test_a_rule_that_falls_silent_is_told_where_it_spoke_against(tiny: Tiny) -> None:
    before = {"a": {"x": "conflict", "y": "ok"}, "gone": {"x": "conflict"}}
    found = list(otherwise(before, {"a": {}, "new": {"x": "conflict"}}))  # type: ignore[arg-type]
    assert [(one.build, one.rule, one.before, one.now) for one in found] == [("a", "x", "conflict", "")]


def test_engines_that_came_and_went_are_data_too(run: Callable[..., Any], tiny: Tiny) -> None:
    known = verdicts(tiny.load())
    came = next(iter(known))
    told = {**{name: worst for name, worst in known.items() if name != came}, "went": {"x": "conflict"}}
    tiny.write("verdicts/0.0.9.json", json.dumps(told))
    said = run("lint", "--since", "0.0.9", "--json", "--shop", tiny.folder)
    data = json.loads(said.out)
    assert said.status == 0
    assert data == {"since": "0.0.9", "changed": [], "new": [came], "gone": ["went"]}
    assert not list(Draft202012Validator(schemas()["since"]).iter_errors(data))


def test_what_would_be_passed_over_is_refused(run: Callable[..., Any], tiny: Tiny) -> None:
    said = run("lint", "--record", "--since", "0.0.9", "--deep", "--json", "--shop", tiny.folder)
    assert said.status == 2
    for option in ("--since", "--deep", "--json"):
        assert f"{option} says nothing beside --record" in said.err
    assert not (tiny.folder / "verdicts").exists()
    said = run("lint", "--since", "0.0.9", "--sarif", "--shop", tiny.folder)
    assert said.status == 2
    assert "--sarif says nothing beside --since" in said.err
    assert run("lint", "--since", "", "--shop", tiny.folder).status == 2


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
