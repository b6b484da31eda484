"""The README's second half: from an empty folder to a first verdict, as it is typed there."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from compat.library.library import load
from tests.cli.conftest import run
from tests.look import demo_shop

__all__ = ["run"]

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
SHOWN = re.search(r"<!-- first engine -->\n```console\n(.*?)\n```", README, re.DOTALL)
MOST = 20


def steps() -> list[str]:
    assert SHOWN is not None
    return SHOWN[1].splitlines()


def write_over(folder: Path, place: str, line: str) -> None:
    """Do what a person does in an editor: find the entry, and write the line over the one of that word."""
    file, entry = place.split(", ")
    path = folder / file
    before, head, rest = path.read_text(encoding="utf-8").partition(f": {entry}\n")
    assert head, f"{file} holds no {entry}"
    own, cut, later = rest.partition("\n- ")
    key = line.partition(":")[0]
    own, number = re.subn(rf"^( +){key}:.*$", lambda found: found[1] + line, own, count=1, flags=re.MULTILINE)
    if not number:
        own = f"{own.rstrip()}\n  {line}\n"
    path.write_text(before + head + own + cut + later, encoding="utf-8")


def test_it_is_typed_in_few_lines() -> None:
    typed = [line for line in steps() if line.startswith(("$ ", "> "))]
    assert 5 < len(typed) <= MOST


def test_what_is_typed_brings_the_verdict_that_is_shown(
    run: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder, place = tmp_path, ""
    lines = steps()
    checks = 0
    while lines:
        line = lines.pop(0)
        if line.startswith("$ cd "):
            folder = folder / line.removeprefix("$ cd ")
            monkeypatch.chdir(folder)
        elif line.startswith("$ compat "):
            said = []
            while lines and not lines[0].startswith(("$ ", "> ", "in ")):
                said.append(lines.pop(0))
            printed = [each.rstrip() for each in run(*shlex.split(line)[2:]).out.splitlines()]
            if said:
                checks += 1
                assert printed[: len(said) - 1] == said[:-1]
                assert said[-1] == "..."
        elif line.startswith("in "):
            place = line.removeprefix("in ").removesuffix(":")
        else:
            assert line.startswith("> "), line
            write_over(folder, place, line.removeprefix("> "))
    assert checks
    library = load(folder)
    measures = {
        (round(library.shop.specs[block]["bore_diameter"].value.nominal, 6), crank)
        for block in library.shop.fillers["block"]
        for crank in (library.shop.specs["our-crankshaft"]["stroke"].value.nominal,)
    }
    demo = demo_shop().shop
    theirs = {
        (round(demo.specs[block]["bore_diameter"].value.nominal, 6), demo.specs[crank]["stroke"].value.nominal)
        for block in demo.fillers["block"]
        for crank in demo.fillers["crankshaft"]
    }
    assert measures.isdisjoint(theirs), "an engine of the demo"
