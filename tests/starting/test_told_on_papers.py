"""Scope and the shop's own rules: quotes, orders and sheets tell them as the report does; letters do not."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from compat.library.starting import start
from tests.cli.conftest import run
from tests.look import published

__all__ = ["run"]

Run = Callable[..., Any]
WHY = "our long strokes live with less"
TOLD = (
    "Scope: short block.",
    "Judged by the program's sets",
    f"Left out by the shop: rod-to-stroke-ratio: {WHY}.",
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop that leaves a rule out, with a build whose scope is less than a vehicle."""
    monkeypatch.setenv("COMPAT_QUOTES", str(tmp_path / "quotes"))
    monkeypatch.setenv("COLUMNS", "400")
    folder = tmp_path / "shop"
    start(folder, "long-block")
    file = folder / "catalog" / "shop.yaml"
    text = file.read_text(encoding="utf-8")
    old = '# leave_out: {rod-to-stroke-ratio: "we build long strokes and know what they wear"}'
    assert old in text
    file.write_text(text.replace(old, f"leave_out: {{rod-to-stroke-ratio: {WHY}}}"), encoding="utf-8")
    build = folder / "catalog" / "builds" / "as-it-stands.yaml"
    text = build.read_text(encoding="utf-8")
    build.write_text(text.replace("  goal:", "  scope: short_block\n  goal:"), encoding="utf-8")
    return folder


@pytest.mark.parametrize("paper", ["quote", "order", "sheet"])
def test_every_paper_tells_them(run: Run, shop: Path, paper: str) -> None:
    more = {"quote": ["--draft"], "order": ["--draft", "--accept-unknown"], "sheet": []}[paper]
    words = (paper, "as-it-stands", "--shop", shop, *more)
    said = run(*words)
    assert (said.status, said.err) == (0, "")
    printed = " ".join(said.out.split())
    report = " ".join(run("check", "as-it-stands", "--shop", shop).out.split())
    for sentence in TOLD:
        assert sentence in printed
        assert sentence in report
    data = json.loads(run(*words, "--json").out)
    assert next(Draft202012Validator(published()[paper]).iter_errors(data), None) is None
    held = data["builds"][0]["judged_by"] if paper == "order" else data["judged_by"]
    assert all(line in report for line in held)
    assert [any(line.startswith(sentence) for line in held) for sentence in TOLD] == [True] * 3


@pytest.mark.parametrize("words", [("quote", "street-turbo", "--draft"), ("sheet", "street-turbo")])
def test_a_whole_vehicle_by_all_rules_needs_no_word_of_it(run: Run, words: tuple[str, ...]) -> None:
    said = run(*words, "--json")
    assert json.loads(said.out)["judged_by"] == []


def test_lint_tells_for_which_sets_rules_wait_and_names_them_when_asked(run: Run, shop: Path) -> None:
    beyond = json.loads(run("lint", "--json", "--shop", shop).out)["beyond"]
    waiting = sum("front_drive" in sets for sets in beyond.values())
    told = " ".join(run("lint", "--shop", shop).out.split())
    assert f"{len(beyond)} rules of the sets in use look into others as well" in told
    assert f"{waiting} into front_drive" in told
    assert "damper-slips" in beyond
    assert "damper-slips" not in told
    named = run("lint", "--notes", "--shop", shop).out
    assert all(rule in named for rule in beyond)
