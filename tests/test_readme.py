"""What the README shows of the Python interface is what comes out."""

from __future__ import annotations

import doctest
from pathlib import Path

README = Path(__file__).parents[1] / "README.md"


def test_the_examples_of_the_readme_are_true() -> None:
    found = doctest.testfile(str(README), module_relative=False, encoding="utf-8")
    assert found.attempted > 8
    assert not found.failed
