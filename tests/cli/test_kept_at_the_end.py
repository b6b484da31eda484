"""What a command asked of heavy formulas is kept at the program's end, once its answer is out."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.test_commands import ROOT, program

TINY = ROOT / "tests" / "tiny"


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    return tmp_path / "cache"


def answers(cache: Path) -> set[str]:
    """Keys of what is kept."""
    (path,) = cache.glob("*.answers")
    with closing(sqlite3.connect(path)) as connection:
        return {key for (key,) in connection.execute("SELECT key FROM answers")}


def test_what_trying_remedies_asked_is_kept(cache: Path) -> None:
    """It is asked after the report is begun: the next one that tries them runs no cycle."""
    program("check", "first-draft", "--quick", COMPAT_CACHE=str(cache))
    quick = answers(cache)
    program("check", "first-draft", COMPAT_CACHE=str(cache))
    tried = answers(cache)
    assert quick < tried
    program("check", "first-draft", COMPAT_CACHE=str(cache))
    assert answers(cache) == tried


@pytest.mark.parametrize(
    "words", ["why street-turbo piston-crown-heat", "plot street-turbo cycle", "quote street-turbo --draft"]
)
def test_whatever_a_command_asked_is_kept(words: str, cache: Path) -> None:
    first = program(*words.split(), COMPAT_CACHE=str(cache))
    kept = answers(cache)
    assert kept, first.stderr
    again = program(*words.split(), COMPAT_CACHE=str(cache))
    assert (again.stdout, again.returncode) == (first.stdout, first.returncode)
    assert answers(cache) == kept


@pytest.mark.parametrize(
    "words",
    [f"show rod --shop {TINY}", f"builds --shop {TINY}", "calc swept_volume", "check street-turbo --no-cache"],
)
def test_nothing_is_written_where_nothing_was_asked_or_may_be_kept(words: str, cache: Path) -> None:
    ran = program(*words.split(), COMPAT_CACHE=str(cache))
    assert ran.stdout
    assert list(cache.glob("*.answers")) == []


def test_an_answer_that_cannot_be_kept_is_given(cache: Path) -> None:
    """Another writes to the file all the while."""
    whole = program("check", "street-turbo", "--brief", "--quick", COMPAT_CACHE=str(cache))
    (path,) = cache.glob("*.answers")
    path.unlink()
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("CREATE TABLE answers (key TEXT UNIQUE, value BLOB)")
        other.execute("BEGIN IMMEDIATE")
        held = program("check", "street-turbo", "--brief", "--quick", COMPAT_CACHE=str(cache))
        other.execute("ROLLBACK")
    assert (held.stdout, held.stderr, held.returncode) == (whole.stdout, whole.stderr, whole.returncode)
    assert answers(cache) == set()


def test_the_answer_is_out_before_anything_is_kept(cache: Path) -> None:
    """What is written where things are kept stands behind all that was printed, in the same pipe."""
    script = (
        "import os\n"
        "from compat.cli.app import run\n"
        "from compat.library import kept_answers\n"
        "kept_answers.KeptAnswers.write = lambda _: os.write(1, b'KEPT')\n"
        "run()"
    )
    words = ["check", "hob-13", "--shop", str(TINY), "--quick"]
    ran = subprocess.run(
        [sys.executable, "-c", script, *words],
        env={"PYTHONPATH": str(ROOT), "COMPAT_CACHE": str(cache), "PATH": ""},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        timeout=30,
        check=False,
    )
    assert ran.stdout.startswith("hob-13 ")
    assert ran.stdout.endswith("\nKEPT")
    assert ran.stdout.count("KEPT") == 1
