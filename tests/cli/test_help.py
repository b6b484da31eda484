"""Help as a person reads it: what is typed, in any window, without the names of Python's types."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

COMMANDS = ("check", "why", "lint", "show", "calc", "schemas")


@pytest.mark.parametrize("columns", [30, 40, 80])
@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help(command: str, columns: int, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    for word in ("-h", "--help"):
        ran = run(*command.split(), word)
        assert (ran.status, ran.err) == (0, "")
        assert not re.search(r"[<>{}]|\x1b|\w\.\.\.$|Optional|\bstr\b|\bbool\b", ran.out, re.MULTILINE)
        assert "-h, --help" in ran.out
        for line in ran.out.splitlines():
            assert line == line.rstrip()
            # the name of a long option stands whole
            assert len(line) <= columns or line.lstrip().startswith("--"), line


def test_help_says_what_is_typed(run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    out = run("check", "-h").out
    assert re.match(r"Usage: .*check \[OPTIONS\] BUILD\n", out)
    assert "--units metric|imperial  Units of the output. [default: metric]" in out
    assert re.search(r"^  --all +Show", out, re.MULTILINE)
    assert re.search(r"^  --only WORD +Keep", out, re.MULTILINE)
    assert "- to read one from standard" in out
    assert re.match(r"Usage: .*calc \[OPTIONS\] \[FORMULA\] \[NAME=VALUE\]\.\.\.\n", run("calc", "-h").out)
    assert "[default: None]" not in "".join(run(command, "-h").out for command in COMMANDS)


def test_the_program_names_all_its_commands_in_full(run: Callable[..., Any], monkeypatch: Any) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    whole = run("-h").out
    for command in COMMANDS:
        first = run(command, "-h").out.split("\n\n")[1].strip()
        assert re.search(rf"^  {command} +{re.escape(first)}$", whole, re.MULTILINE)


@pytest.mark.parametrize("columns", [30, 80])
@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("check", "Missing argument 'BUILD'."),
        ("check first-draft --unit imperial", "--units"),
        ("check first-draft --units inches", "--units: 'inches' is neither metric nor imperial"),
        ("chekc first-draft", "No such command 'chekc'. Did you mean 'check'?"),
        ("why first-draft", "Missing argument 'RULE'."),
        ("why first-draft quench --depth deep", "'deep' is neither a number of levels, 1 to 99, nor 'all'"),
        ("why first-draft deck-clearance --depth 0", "'0' is neither a number of levels"),
        ("check first-draft --only", "requires an argument"),
        ("check first-draft --brief --json", "--json gives the whole report"),
        ("check first-draft --only lubrification --only conflicts",
         "--only: 'lubrification' is no rule, position, verdict or system; did you mean 'lubrication'?"),
        ("check first-draft --only lubrification --only conflicts", "did you mean 'conflict'?"),
    ],
)  # fmt: skip
def test_a_slip_of_the_hand(
    words: str, says: str, columns: int, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    ran = run(*words.split())
    assert (ran.status, ran.out) == (2, "")
    assert says in ran.err


def test_units_are_taken_in_any_case(run: Callable[..., Any]) -> None:
    assert "hp at" in run("check", "tarn-20-base", "--units", "Imperial").out
