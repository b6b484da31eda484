"""The commands: exit statuses, what they print, and that every thing of a shop can be shown."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

import compat

Run = Callable[..., Any]
ROOT = Path(__file__).parents[2]


def program(*words: object, **settings: str) -> subprocess.CompletedProcess[str]:
    """Run `compat` as a program of its own, its output into a pipe."""
    plain = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "COMPAT_SHOP")}
    return subprocess.run(
        [sys.executable, "-m", "compat", *map(str, words)],
        env={**plain, "PYTHONPATH": str(ROOT), **settings},
        capture_output=True,
        encoding="utf-8",
        timeout=30,
        check=False,
    )


# check


@pytest.mark.parametrize(("build", "status"), [("hob-13", 0), ("hob-15", 0), ("sport", 3), ("mixed", 1)])
def test_check_tells_by_its_status(build: str, status: int, tiny: Any, run: Run) -> None:
    ran = run("check", build, "--shop", tiny.folder)
    assert ran.status == status
    assert ran.err == ""
    assert ("does NOT go together" in ran.out.splitlines()[0]) is (status == 1)
    assert ("is NOT proven" in ran.out.splitlines()[0]) is (status == 3)
    assert "a named, qualified person signs" in " ".join(ran.out.split())


@pytest.mark.parametrize(("build", "status"), [("hob-13", 0), ("sport", 0), ("mixed", 1)])
def test_unknowns_are_accepted_where_that_is_said(build: str, status: int, tiny: Any, run: Run) -> None:
    """The status alone changes: what is said of the build stays."""
    plain = run("check", build, "--shop", tiny.folder)
    accepted = run("check", build, "--shop", tiny.folder, "--accept-unknown")
    assert accepted.status == status
    assert accepted.out == plain.out


@pytest.mark.parametrize(
    ("build", "status", "proven"), [("hob-13", 0, True), ("sport", 3, False), ("mixed", 1, False)]
)
def test_json_and_python_tell_whether_it_is_proven(
    build: str, status: int, proven: bool, tiny: Any, run: Run
) -> None:
    ran = run("check", build, "--shop", tiny.folder, "--json")
    assert ran.status == status
    summary = json.loads(ran.out)["summary"]
    assert summary["proven"] is proven
    assert (summary["verdict"] == "unknown") is (status == 3)
    found = compat.open_shop(tiny.folder).check(build)
    assert (found.proven, found.report.summary.proven) == (proven, proven)
    assert found.clean is (status != 1)


def test_a_goal_without_its_boost_is_not_proven(run: Run) -> None:
    """A factory turbo engine that nobody says the boost of: nothing is found wrong, and most is not known."""
    text = "- build: own\n  name: Own\n  variant: tarn-20-turbo\n  goal: {power: 140 kW, at: 5600 rpm}\n"
    ran = run("check", "-", typed=text)
    assert ran.status == 3
    assert re.match(r"own is NOT proven: nothing found wrong, but \d{2,} open questions\.", ran.out)
    assert run("check", "-", "--accept-unknown", typed=text).status == 0
    known = text.replace("5600 rpm}", "5600 rpm, boost: 70 kPa}")
    assert run("check", "-", typed=known).status == 0


def test_what_is_to_be_measured_is_no_unknown(run: Run) -> None:
    found = json.loads(run("check", "fell-30-top-end", "--json").out)["summary"]
    assert found["measure"] > 0
    assert found["proven"] is True
    assert run("check", "fell-30-top-end").status == 0


def test_check_names_what_stands_against_the_build(tiny: Any, run: Run) -> None:
    out = run("check", "mixed", "--shop", tiny.folder).out
    for rule in ("pin-running-clearance", "quench", "need-knock-boss", "need-analogue-input", "renew-head"):
        assert f"[{rule}]" in out
    assert "tap-knock-boss" in out
    assert "-0.023 mm" in out
    assert "[skirt-clearance]" not in out
    everything = run("check", "mixed", "--shop", tiny.folder, "--all").out
    assert "[skirt-clearance]" in everything


def test_check_in_imperial_units(tiny: Any, run: Run) -> None:
    out = run("check", "mixed", "--shop", tiny.folder, "--units", "imperial").out
    assert "-0.0009 in" in out
    assert " mm" not in out.split("EXTRA")[0]


def test_check_with_its_loads(tiny: Any, run: Run) -> None:
    out = run("check", "sport", "--shop", tiny.folder, "--loads").out
    assert "Compression ratio" in out
    assert "11.18" in out
    assert "Rod at the rev limit" in out


def test_check_by_the_path_of_a_file(tiny: Any, run: Run) -> None:
    tiny.write("draft.yaml", tiny.text("catalog/builds/sport.yaml").replace("build: sport", "build: draft"))
    ran = run("check", tiny.folder / "draft.yaml", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (3, "")
    assert ran.out.startswith("draft")


def test_the_working_folder_is_the_shop_when_it_is_one(
    tiny: Any, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tiny.folder)
    assert run("check", "hob-13").status == 0
    monkeypatch.chdir(tiny.folder / "catalog")
    assert run("check", "hob-13").status == 2
    monkeypatch.setenv("COMPAT_SHOP", str(tiny.folder))
    assert run("check", "hob-13").status == 0


# why


@pytest.mark.parametrize(
    ("build", "rule", "holds"),
    [
        (
            "sport",
            "pin-running-clearance",
            ("20.012 mm ±0.003", "catalog/parts/extra.yaml:8", "common practice"),
        ),
        ("mixed", "quench", ("-4.60 mm", "hob-crank-long")),
        ("mixed", "need-knock-boss", ("MISSING", "tap-knock-boss")),
        ("mixed", "renew-head", ("MISSING", "hob-gasket")),
        ("hob-13", "pin-running-clearance", ("does not apply",)),
        ("sport", "rod-strength", ("estimate",)),
    ],
)
def test_why_shows_the_chain(build: str, rule: str, holds: tuple[str, ...], tiny: Any, run: Run) -> None:
    ran = run("why", build, rule, "--depth", "all", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (0, "")
    for text in holds:
        assert text in ran.out


def test_why_of_every_rule_on_every_build(tiny: Any, run: Run) -> None:
    library = tiny.load()
    for build in (*library.shop.builds, *library.shop.variants):
        for rule in library.book.rules:
            ran = run("why", build, rule, "--depth", "all", "--shop", tiny.folder)
            assert (ran.status, ran.err) == (0, ""), (build, rule)
            assert ran.out.strip()


# lint


def test_lint_of_a_clean_shop(tiny: Any, run: Run) -> None:
    ran = run("lint", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("Lantern Yard: no faults. 2 variants, 12 positions, 16 parts")


OVERSIGHTS = yaml.safe_load((Path(__file__).parent / "bad" / "oversights.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", [pytest.param(case, id=case["case"]) for case in OVERSIGHTS])
def test_lint_remarks_on_an_oversight(case: dict[str, Any], tiny: Any, run: Run) -> None:
    for edit in (case, *([case["and"]] if "and" in case else [])):
        tiny.edit(edit["in"], edit["for"], edit["put"])
    ran = run("lint", "--shop", tiny.folder)
    assert (ran.status, ran.err) == (1, "")
    ((word, says),) = case["says"].items()
    file, rest = word.split(": ", 1) if word.startswith("catalog/") else (case["in"], word)
    place = tiny.place(file, rest)
    assert any(line.startswith(f"{place}: ") and says in line for line in ran.out.splitlines()), ran.out


# show


def test_everything_in_the_shop_can_be_shown(tiny: Any, run: Run) -> None:
    library = tiny.load()
    names = {name for _, name in library.shop.nodes} | set(library.book.rules) | set(library.book.figures)
    assert "lantern-yard" in names
    for name in sorted(names):
        ran = run("show", name, "--shop", tiny.folder)
        assert (ran.status, ran.err) == (0, ""), name
        assert name in ran.out.splitlines()[0]


def test_everything_in_the_demo_can_be_shown(demo: Any) -> None:
    from compat.paper.entries import entry_lines

    for kind, name in (*demo.shop.nodes, *demo.book.nodes):
        for system in ("metric", "imperial"):
            lines = list(entry_lines(demo, kind, name, system))
            assert lines[0][0] == 0
            assert all(text and "None" not in text for _, text in lines), (kind, name)


def test_show_a_part(tiny: Any, run: Run) -> None:
    out = run("show", "sport-rod", "--shop", tiny.folder).out
    for text in ("fills rod", "510 g", "measured; one of four", "640.00 GBP", "10 days", "130.000 mm ±0.02"):
        assert text in out
    assert "5.1181 in" in run("show", "sport-rod", "--shop", tiny.folder, "--units", "imperial").out


def test_show_of_something_unknown(tiny: Any, run: Run) -> None:
    ran = run("show", "sport-rood", "--shop", tiny.folder)
    assert (ran.status, ran.out) == (2, "")
    assert "nothing in the shop is called 'sport-rood'; did you mean 'sport-rod'?" in ran.err


# odd words on the command line


@pytest.mark.parametrize(
    "words",
    [
        ("chekc",),
        ("check",),
        ("check", "hob-13", "--units", "imperiel"),
        ("check", "hob-13", "--unit", "metric"),
        ("check", "hob-13", "again"),
        ("check", "hob-13", "--shop"),
        ("check", "hob-13", "--shop", "nowhere"),
        ("check", ""),
        ("check", "no such thing"),
        ("check", "x" * 5000),
        ("check", "x" * 5000 + ".yaml"),
        ("check", "/dev/null"),
        ("why", "hob-13"),
        ("why", "hob-13", "no-such-rule"),
        ("why", "no-such-build", "quench"),
        ("show",),
        ("show", ""),
        ("lint", "--json=yes"),
        ("schemas",),
        ("calc", "no_such_formula"),
        ("calc", "swept_volume", "bore"),
        ("calc", "--find", "no such word anywhere"),
    ],
    ids=lambda words: " ".join(words)[:40],
)
def test_odd_words_end_in_a_message(words: tuple[str, ...], tiny: Any, run: Run, monkeypatch: Any) -> None:
    monkeypatch.chdir(tiny.folder)
    ran = run(*words)
    assert ran.status == 2
    assert ran.err.strip()
    assert len(ran.err) < 2500


def test_schemas_into_a_file_is_refused(tiny: Any, run: Run) -> None:
    ran = run("schemas", tiny.folder / "catalog/shop.yaml")
    assert ran.status == 2
    assert "File exists" in ran.err


# pipes, windows, colours


@pytest.mark.parametrize(
    "command", [("check", "mixed"), ("lint",), ("show", "block"), ("check", "mixed", "--json")]
)
def test_output_into_a_pipe_is_plain(command: tuple[str, ...]) -> None:
    ran = program(*command, "--shop", ROOT / "tests/tiny")
    assert "\x1b" not in ran.stdout
    assert ran.stderr == ""
    assert max(map(len, ran.stdout.splitlines())) <= 200


def test_a_reader_that_goes_away_is_no_fault() -> None:
    command = f"{sys.executable} -m compat calc | head -n 1"
    ran = subprocess.run(
        ["sh", "-c", command],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        encoding="utf-8",
        timeout=30,
        check=False,
    )
    assert ran.stderr == ""
    assert len(ran.stdout.splitlines()) == 1


def test_a_terminal_without_the_letter() -> None:
    ran = program("show", "hob-rod", "--shop", ROOT / "tests/tiny", PYTHONIOENCODING="ascii")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "130.000 mm ?0.03" in ran.stdout


@pytest.mark.parametrize("columns", ["40", "60"])
def test_narrow_windows_hold_every_line(columns: str, tiny: Any, run: Run, monkeypatch: Any) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    for words in (("check", "mixed", "--loads", "--all"), ("show", "sport-rod"), ("why", "sport", "quench")):
        out = run(*words, "--shop", tiny.folder).out
        long = [line for line in out.splitlines() if len(line) > int(columns)]
        assert not [line for line in long if " " in line.strip()], long


@pytest.mark.parametrize("columns", ["0", "-3", "wide"])
def test_a_window_of_no_width_is_taken_as_not_said(columns: str, tiny: Any, run: Run, monkeypatch: Any) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert "does NOT go together" in run("check", "mixed", "--shop", tiny.folder).out


# help and completion


@pytest.mark.parametrize("command", ["", "check", "why", "lint", "show", "calc", "schemas"])
def test_help_of_every_command(command: str, run: Run, monkeypatch: Any) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    ran = run(*command.split(), "--help")
    assert (ran.status, ran.err) == (0, "")
    assert "Usage:" in ran.out
    assert command in ran.out


def test_version(run: Run) -> None:
    from compat import __version__

    assert run("--version").out == f"compat {__version__}\n"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script_prints(shell: str) -> None:
    ran = program("--show-completion", shell, _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1")
    assert ran.returncode == 0
    assert re.search(r"(?i)_compat_complete|_python_m_compat|compat", ran.stdout)


def test_completion_gives_the_words_of_the_shop(tiny: Any, monkeypatch: Any) -> None:
    from compat.cli import complete

    monkeypatch.setenv("COMPAT_SHOP", str(tiny.folder))
    assert complete.builds("") == ["hob-13", "hob-15", "mixed", "sport"]
    assert complete.builds("hob") == ["hob-13", "hob-15"]
    assert "quench" in complete.rules("qu")
    assert "sport-rod" in complete.ids("sport")
    assert "swept_volume" in complete.formulas("swept")
    tiny.edit("catalog/shop.yaml", "name: Lantern", "nmae: Lantern")
    assert complete.builds("hob") == ["hob-13", "hob-15"]  # what was kept before the slip
    monkeypatch.setenv("COMPAT_CACHE", "off")
    assert complete.builds("") == []


# JSON


def test_json_of_a_check_says_what_the_text_says(tiny: Any, run: Run) -> None:
    ran = run("check", "mixed", "--shop", tiny.folder, "--json")
    assert (ran.status, ran.err) == (1, "")
    report = json.loads(ran.out)
    found = {finding["rule"]: finding for finding in report["findings"]}
    assert report["summary"]["verdict"] == "conflict"
    assert report["summary"]["conflict"] == 2
    pin = found["pin-running-clearance"]
    assert pin["verdict"] == "conflict"
    assert pin["unit"] == "mm"
    assert pin["value"] == pytest.approx(19.975 - 19.9975, abs=1e-9)
    assert (pin["low"], pin["high"]) == pytest.approx((-0.03, -0.015), abs=1e-9)
    assert [part["part"] for part in report["extra_parts"]] == ["oil-10w40", "hob-gasket"]


NOT_NEEDED = {"matplotlib", "networkx", "numpy", "openpyxl", "ortools", "pint", "pydantic", "typst", "yaml"}
"""Libraries whose import takes as long as a good part of a check."""


@pytest.mark.parametrize("words", ["check hob-13", "check hob-13 --units imperial", "show rod"])
def test_a_plain_command_imports_no_great_library(words: str, tiny: Any) -> None:
    """With the shop kept, and no formula run that is an integration."""
    script = "import sys, compat.cli\ntry: compat.cli.main()\nfinally: print(*sys.modules, file=sys.stderr)"
    command = [sys.executable, "-c", script, *words.split(), "--shop", str(tiny.folder)]
    for _ in range(2):  # the first reads the files
        ran = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8", timeout=30, check=False)
        assert ran.stdout
    assert NOT_NEEDED.isdisjoint(ran.stderr.split())
