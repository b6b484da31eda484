"""The shop that the benchmarks measure is a sound one, and checks as the demo shop does."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from compat.library.library import Library, load
from compat.words.report import Finding
from tests.bench.big_shop import A_FILE, edit_one, write_shop
from tests.look import check


@pytest.fixture(scope="module")
def big(tmp_path_factory) -> Path:
    return write_shop(tmp_path_factory.mktemp("big") / "shop", 1000)


def texts(folder: Path) -> dict[str, list[str]]:
    paths = sorted(folder.rglob("*.yaml"))
    return {str(path.relative_to(folder)): path.read_text("utf-8").splitlines() for path in paths}


def test_it_has_its_parts_and_checks_as_the_demo_does(demo: Library, big: Path) -> None:
    library = load(big)
    parts = library.shop.parts
    assert len(parts) == 1000
    assert set(demo.shop.parts) < set(parts)
    for part in parts:
        original = part.partition("-lot-")[0]
        assert library.shop.least_price(part) >= library.shop.least_price(original), part
        assert parts[part].fills == parts[original].fills
    assert sum(parts[p].specs != parts[p.partition("-lot-")[0]].specs for p in parts) > 30
    for name in ("street-turbo", "first-draft"):
        here, there = check(library.shop, library.book, name), check(demo.shop, demo.book, name)
        assert [told(finding) for finding in here.report.findings] == [told(f) for f in there.report.findings]
        assert here.report.extra_parts == there.report.extra_parts


def told(finding: Finding) -> Finding:
    """A finding without its remedies: of a part of which the demo shop has no other, a great shop has more."""
    return replace(finding, remedies=())


def test_one_number_gives_the_same_files(big: Path, tmp_path: Path) -> None:
    assert texts(write_shop(tmp_path / "shop", 1000)) == texts(big)


def test_many_parts_stand_in_many_files(tmp_path: Path) -> None:
    lots = write_shop(tmp_path / "shop", 3000) / "catalog" / "parts" / "lots"
    ids = [line for lines in texts(lots).values() for line in lines if line.startswith("- part: ")]
    assert len(set(ids)) == len(ids)
    assert len(texts(lots)) == -(-len(ids) // A_FILE) > 10


def test_an_edit_is_one_line(tmp_path: Path) -> None:
    folder = write_shop(tmp_path / "shop", 900)
    before = texts(folder)
    name = edit_one(folder)
    after = texts(folder)
    moved = [
        (file, old, new)
        for file in before
        for old, new in zip(before[file], after[file], strict=True)
        if old != new
    ]
    ((file, old, new),) = moved
    assert f"- part: {name}" in before[file]
    assert "price: " in old
    assert len(old) <= len(new) <= len(old) + 1
    assert edit_one(folder) == name
    assert texts(folder) != after


def test_a_shop_is_no_smaller_than_the_demo(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="the demo shop alone has"):
        write_shop(tmp_path / "shop", 100)
