"""Broken files: each ends with status 2 and one plain line for every fault, at its own line and column."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml

if TYPE_CHECKING:
    from collections.abc import Callable

HERE = Path(__file__).parent / "bad"


def cases(name: str) -> list[Any]:
    found = yaml.safe_load((HERE / f"{name}.yaml").read_text(encoding="utf-8"))
    return [pytest.param(case, id=case["case"]) for case in found]


def grown(text: str) -> str:
    """Write out `{400 zeros}`, `{700 minus}` and `{600 +0}`."""
    marks = {"zeros": "0", "minus": "-"}
    return re.sub(r"\{(\d+) (\S+)\}", lambda found: marks.get(found[2], found[2]) * int(found[1]), text)


def hold(ran: Any, tiny: Any, case: dict[str, Any]) -> None:
    """Hold what was printed against what the case asks: these faults, at these places, and no others."""
    wanted = []
    for word, message in case["says"].items():
        elsewhere = word.startswith(("catalog/", "rules/"))
        file, rest = word.split(": ", 1) if elsewhere else (case["in"], word)
        wanted.append((tiny.place(file, rest), message))
    *given, last = ran.err.splitlines()
    assert len(given) == len(wanted), ran.err
    for place, message in wanted:
        line = next((line for line in given if line.startswith(f"{place}: ")), None)
        assert line is not None, f"no fault at {place}:\n{ran.err}"
        assert message in line
    assert re.fullmatch(r"\d+ faults?; nothing was checked\.", last)
    assert ran.out == ""
    assert ran.status == 2


@pytest.mark.parametrize("case", [*cases("values"), *cases("links"), *cases("rules"), *cases("sheets")])
def test_broken_shop(case: dict[str, Any], tiny: Any, run: Callable[..., Any]) -> None:
    tiny.edit(case["in"], case["for"], grown(case["put"]))
    started = time.process_time()
    ran = run("lint", "--shop", tiny.folder)
    assert time.process_time() - started < 5
    hold(ran, tiny, case)


@pytest.mark.parametrize("case", cases("builds"))
def test_broken_build(
    case: dict[str, Any], tiny: Any, run: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    tiny.edit(case["in"], case["for"], grown(case["put"]))
    # the file lies outside the shop's own folder, and is named as the person names it
    text = tiny.text(case["in"])
    (tiny.folder / case["in"]).unlink()
    tiny.write("draft.yaml", text)
    monkeypatch.chdir(tiny.folder)
    ran = run("check", "draft.yaml")
    hold(ran, tiny, {**case, "in": "draft.yaml"})
