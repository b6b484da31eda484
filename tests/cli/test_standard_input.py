"""A build file from a pipe: read as a file is, and its faults named by where they stand in it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
TINY = Path(__file__).parents[1] / "tiny"
DRAFT = (TINY / "catalog/builds/mixed.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words", [("check",), ("check", "--json"), ("check", "--all", "--loads"), ("why", "quench")]
)
def test_a_build_from_a_pipe_is_that_of_the_file(words: tuple[str, ...], run: Run, tmp_path: Path) -> None:
    file = tmp_path / "draft.yaml"
    file.write_text(DRAFT, encoding="utf-8")
    command, *rest = words
    rest = [*rest, "--shop", str(TINY)]
    piped, read = run(command, "-", *rest, typed=DRAFT), run(command, file, *rest)
    assert piped.out
    assert (piped.status, piped.out, piped.err) == (read.status, read.out, read.err)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (DRAFT.replace("variant: ", "varient: "), "'varient' is not known in a build; did you mean 'variant'?"),
        ("", "1:1: holds 0 builds; a build file holds one"),
        (DRAFT + DRAFT.replace("mixed", "again"), "1:1: holds 2 builds; a build file holds one"),
        (b"- build: x\n  name: \xff\n", "2:9: byte 0xff is not UTF-8; save the file as UTF-8"),
        ("- build: [x\n", "is not valid YAML"),
        ("- build: \x1b[1m\n", "1:10: holds a control character; this is not a text file"),
        ("#" * 2_000_001, "1:1: holds more than 2 MB, the most that a file may have"),
    ],
    ids=["word", "nothing", "two", "letters", "YAML", "control", "size"],
)
def test_faults_stand_where_they_are_in_it(typed: str | bytes, says: str, run: Run) -> None:
    ran = run("check", "-", "--shop", TINY, typed=typed)
    assert (ran.status, ran.out) == (2, "")
    *given, last = ran.err.splitlines()
    assert all(line.startswith("standard input:") for line in given)
    assert any(says in line for line in given)
    assert last.endswith("nothing was checked.")


def test_the_largest_that_a_file_may_have_is_read(run: Run) -> None:
    draft = DRAFT + "#" * (2_000_000 - len(DRAFT.encode()))
    assert run("check", "-", "--shop", TINY, typed=draft).status == 1


def test_what_was_measured_names_where_it_stands(run: Run) -> None:
    line = DRAFT[: DRAFT.index("measured:")].count("\n") + 1
    out = run("why", "-", "skirt-clearance", "--shop", TINY, typed=DRAFT).out
    assert f"measured, standard input:{line})" in " ".join(out.split())


def test_a_real_pipe_and_a_closed_one(tmp_path: Path) -> None:
    root = str(Path(__file__).parents[2])
    program = [sys.executable, "-m", "compat", "check", "-", "--shop", str(TINY)]
    env = {**os.environ, "PYTHONPATH": root}
    how: dict[str, Any] = {"cwd": tmp_path, "env": env, "capture_output": True, "text": True, "timeout": 60}
    ran = subprocess.run(program, input=DRAFT, check=False, **how)
    assert (ran.returncode, ran.stderr) == (1, "")
    assert ran.stdout.startswith("mixed does NOT go together: ")
    assert list(tmp_path.iterdir()) == []
