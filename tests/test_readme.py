"""What the README shows of the Python interface, and of the command line, is what comes out."""

from __future__ import annotations

import doctest
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import run

__all__ = ["run"]

README = Path(__file__).parents[1] / "README.md"


def test_the_examples_of_the_readme_are_true() -> None:
    found = doctest.testfile(str(README), module_relative=False, encoding="utf-8")
    assert found.attempted > 8
    assert not found.failed


def test_the_mapping_that_the_readme_shows_is_the_one_it_brings_a_list_by() -> None:
    mapping = (README.parent / "tests/readme/northgate.yaml").read_text(encoding="utf-8")
    assert f"```yaml\n{mapping}```" in README.read_text(encoding="utf-8")


SHOWN = re.findall(r"```text\n\$ compat (.*?)\n(.*?)\n```", README.read_text(encoding="utf-8"), re.DOTALL)


@pytest.mark.parametrize(("words", "says"), SHOWN, ids=[words for words, _ in SHOWN])
def test_what_the_readme_shows_of_a_command_is_what_it_prints(
    run: Callable[..., Any], words: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(Path(__file__).parent / "readme")  # files that it names
    printed = [line.rstrip() for line in run(*shlex.split(words)).out.splitlines()]
    assert stands_in(says.splitlines(), printed), "\n".join(printed)


def stands_in(says: list[str], printed: list[str]) -> bool:
    """Whether lines are what is printed, where a line of three dots stands for any that are left out."""
    if "..." not in says:
        return says == printed
    cut = says.index("...")
    if says[:cut] != printed[:cut]:
        return False
    rest = says[cut + 1 :]
    return not rest or any(stands_in(rest, printed[at:]) for at in range(cut, len(printed)))


def test_lines_may_be_left_out_of_what_is_shown_and_none_made_up() -> None:
    printed = ["a", "b", "c", "d"]
    for says in ("a b c d", "a ... d", "a ...", "... c d", "a ... c ..."):
        assert stands_in(says.split(), printed)
    for says in ("a b c", "a ... c", "b ...", "a ... d c", "a x ..."):
        assert not stands_in(says.split(), printed)
