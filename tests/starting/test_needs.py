"""What is worth measuring: the specs that rules ask, and which of those that are wanting decides most."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from compat.checking.worth import asked_at, most_telling
from compat.library.library import Library, load
from compat.library.starting import start
from tests.cli.conftest import run
from tests.look import check

__all__ = ["run"]


def test_a_spec_is_asked_by_as_many_rules_as_fall_silent_without_it(tmp_path: Path) -> None:
    """Counted the other way round: take the spec out, and see which verdicts go."""
    folder = tmp_path / "shop"
    start(folder, "short-block")
    whole = load(folder)
    before = {finding.rule for finding in check(whole.shop, whole.book, "as-it-stands").report.findings}
    asked = {each.spec: set(each.rules) for each in asked_at(whole.shop, whole.book, "crankshaft")}
    cards = folder / "catalog/parts/rotating_assembly.yaml"
    text = cards.read_text(encoding="utf-8")
    for spec in ("stroke", "rod_journal_diameter", "thrust_width"):
        head, cut, rest = text.partition(f"    {spec}:")
        assert cut
        cards.write_text(head + rest.partition("\n")[2], encoding="utf-8")
        less = load(folder)
        report = check(less.shop, less.book, "as-it-stands").report
        moved = {f.rule for f in report.findings if f"crankshaft.{spec}" in f.unstated}
        assert moved
        assert moved <= asked[spec]
        assert (before - {f.rule for f in report.findings}) <= asked[spec]


def test_most_telling_first(demo: Library) -> None:
    counts = [len(each.rules) for each in asked_at(demo.shop, demo.book, "piston")]
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] > 0


def test_what_alone_decides_goes_before_what_needs_others() -> None:
    unknown = {"a.x": ("one", "two"), "a.y": ("one", "two"), "a.z": ("three", "four"), "a.w": ("five",)}
    assert [spec for spec, _ in most_telling(unknown)] == ["a.z", "a.x", "a.y", "a.w"]


def test_every_number_and_word_that_rules_ask_says_what_it_is(demo: Library) -> None:
    """A choice or a yes shows in its words what it is; a size does not say between which faces it is taken."""
    asked = {
        f"{place}.{each.spec}": each.kind
        for place in demo.shop.kinds
        for each in asked_at(demo.shop, demo.book, place)
    }
    plain = {"choice", "flag"}
    said = {name: kind.meaning.removesuffix("always").rstrip("; ") for name, kind in asked.items()}
    assert len(asked) > 1000
    assert [name for name, kind in asked.items() if kind.sort not in plain and not said[name]] == []


def test_needs_says_how(run: Callable[..., Any]) -> None:
    said = run("needs", "rod").out
    assert "centre_length [mm]" in said
    assert "rod gauge" in said
    data = json.loads(run("needs", "rod", "--json").out)
    assert data["specs"][0]["spec"] == "centre_length"
    assert "rod-to-stroke-ratio" in data["specs"][0]["rules"]
    refused = run("needs", "rood")
    assert refused.status == 2
    assert "did you mean 'rod'?" in refused.err


def test_an_unfinished_shop_is_told_what_to_measure_next(run: Callable[..., Any], tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    start(folder, "short-block")
    cards = folder / "catalog/parts/rotating_assembly.yaml"
    lines = cards.read_text(encoding="utf-8").splitlines(keepends=True)
    gone = ("    mass:", "    stroke:", "    yield_strength:", "    compression_height:", "    pin_bore:")
    cards.write_text("".join(line for line in lines if not line.startswith(gone)), encoding="utf-8")
    said = run("check", "as-it-stands", "--shop", str(folder))
    assert said.status == 3
    told = said.out.partition("WORTH MEASURING NEXT")[2].splitlines()[1:6]
    library = load(folder)
    unknown = {
        each.spec: each.rules for each in check(library.shop, library.book, "as-it-stands").report.unknown
    }
    assert {line.split()[1]: int(line.split()[0]) for line in told} == dict(most_telling(unknown))
    assert "crankshaft.stroke" in told[0]
    numbers = [int(line.split()[0]) for line in told]
    assert numbers == sorted(numbers, reverse=True)


def test_a_few_questions_are_only_told_where_they_arise(run: Callable[..., Any]) -> None:
    assert "WORTH MEASURING" not in run("check", "first-draft", "--all", "--quick").out
